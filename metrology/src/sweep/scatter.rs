//! How well a sweep's slope repeats: by what the line leaves, or by what is known of the indicator where that is little.

use super::alike::{self, Alike};
use super::fitted::{BOW_OUT_FROM, Fitted};
use crate::indicator::Indicator;
use crate::uncertainty::{COVERAGE, f_limit, rectangular, t_factor};

/// With so many degrees of freedom the line's own scatter tells enough, and what is known of the indicator elsewhere is
/// not asked: Student's factor is then within 14 % of its least.
const ENOUGH: f64 = 10.0;

/// A bow is taken out when it stands out of the scatter with this probability.
const BOW_STANDS_OUT: f64 = 0.99;

/// The share of the variance about the line that a plain bow leaves at most.
const BOW_LEAVES: f64 = 0.1;

/// What rounding alone leaves about a fit, in steps of the display: half a step and what the fit is off by.
const ROUNDING_STEPS: f64 = 0.6;

/// Degrees of freedom of a statement, which is taken at its word.
const STATED: f64 = 1e6;

/// How a single reading and the slope repeat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scatter {
    /// Standard deviation of a reading, mm, the display's rounding in it when the readings tell it.
    pub reading_sd: f64,
    /// Standard uncertainty of the slope by it.
    pub slope_u: f64,
    /// Its degrees of freedom; absent where they are infinite.
    pub degrees_of_freedom: Option<f64>,
    /// As how many independent readings they count, where neighbours err alike.
    pub counts_as: Option<f64>,
    /// Where it comes from.
    pub from: From,
}

/// Where a scatter comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum From {
    /// The readings about their line.
    Readings,
    /// What is known of the indicator, alone or pooled with the readings.
    Indicator,
}

impl From {
    pub(super) const fn component(self) -> &'static str {
        match self {
            Self::Readings => "scatter about the line",
            Self::Indicator => "repeatability of the indicator",
        }
    }
}

/// A standard deviation of a single reading, mm, and its degrees of freedom: as stated, else as last checked.
fn known(indicator: &Indicator) -> Option<(f64, f64)> {
    let stated = indicator.repeatability.map(|sd| (sd.mm(), STATED));
    let checked = || indicator.check.as_ref()?.repeatability_mm();
    stated
        .or_else(checked)
        .map(|(sd, dof)| (sd * indicator.lever_factor(), dof))
}

/// The scatter of independent readings, or that of readings that err alike where it is wider.
fn wider(white: Scatter, degrees_of_freedom: usize, alike: Option<Alike>) -> Scatter {
    let t = t_factor(COVERAGE, degrees_of_freedom as f64);
    match alike.filter(|alike| alike.expanded() > t * white.slope_u) {
        Some(alike) => Scatter {
            slope_u: alike.slope_u,
            degrees_of_freedom: Some(alike.degrees_of_freedom),
            counts_as: Some(
                (degrees_of_freedom + 2) as f64 * (white.slope_u / alike.slope_u).powi(2),
            ),
            ..white
        },
        None => white,
    }
}

impl Fitted {
    /// How the slope repeats; none where nothing tells it. `step` is one step of the display, mm.
    pub(super) fn scatter(&self, indicator: &Indicator, step: f64) -> Option<Scatter> {
        let own = self.own_scatter(step);
        let Some((known_sd, known_dof)) = known(indicator) else {
            return own;
        };
        let rounding = step * step / 12.0;
        let of_known = |variance: f64, dof: f64| Scatter {
            reading_sd: variance.sqrt(),
            slope_u: variance.sqrt() * self.influence(),
            degrees_of_freedom: (dof < STATED).then_some(dof),
            counts_as: None,
            from: From::Indicator,
        };
        let Some((own, dof)) = own.and_then(|own| Some((own, own.degrees_of_freedom?))) else {
            return Some(of_known(known_sd * known_sd, known_dof));
        };
        let seen = own.reading_sd.powi(2);
        // Form between a few stations, or a poor seat, scatters more than the indicator does.
        let agree = seen <= (known_sd * known_sd + rounding) * f_limit(dof, known_dof);
        if dof >= ENOUGH || !agree {
            return Some(own);
        }
        if known_dof >= STATED {
            return Some(of_known(known_sd * known_sd, known_dof));
        }
        let before = (seen - rounding).max(0.0);
        let pooled = (dof * before + known_dof * known_sd * known_sd) / (dof + known_dof);
        Some(of_known(pooled, dof + known_dof))
    }

    /// What the readings themselves tell: about the line, or about a parabola where the bow stands out.
    ///
    /// A display hides what is smaller than its step, and a few readings often lie on one line by chance: their scatter is
    /// then counted as that of rounding alone.
    fn own_scatter(&self, step: f64) -> Option<Scatter> {
        let n = self.x.len();
        if n < 3 {
            return None;
        }
        let hidden = rectangular(step / 2.0);
        let white = |sd: f64, unknowns: usize| Scatter {
            reading_sd: sd.max(hidden),
            slope_u: sd.max(hidden) * self.influence(),
            degrees_of_freedom: Some((n - unknowns) as f64),
            counts_as: None,
            from: From::Readings,
        };
        let about_line = white(self.line.residual_sd, 2);
        if let Some(sd) = self.sd_without_bow() {
            // A bow is form, even about the middle, and says nothing of the slope; how alike the rest errs does.
            let rest = self.rest();
            let about_bow = white(sd, 3);
            // The display's rounding errs alike as well, and has a line of its own in the budget.
            let rounding = rest.iter().all(|rest| rest.abs() <= ROUNDING_STEPS * step);
            let Some(alike) = self.alike::<3>(&rest).filter(|_| !rounding) else {
                return Some(about_bow);
            };
            // What is left of a plain bow counts, however alike it errs; a wave or a slow drift leaves more.
            if sd * sd < BOW_LEAVES * self.line.residual_sd.powi(2) {
                return Some(wider(about_bow, n - 3, Some(alike)));
            }
        }
        let line = self.line;
        let rest: Vec<f64> = self
            .x
            .iter()
            .zip(&self.y)
            .map(|(x, y)| (y - line.intercept) - line.slope * x)
            .collect();
        Some(wider(about_line, n - 2, self.alike::<2>(&rest)))
    }

    /// Scatter of a reading about the parabola, when there are points enough and the bow stands out.
    fn sd_without_bow(&self) -> Option<f64> {
        let n = self.x.len();
        if n < BOW_OUT_FROM {
            return None;
        }
        let sd = self.sums.so_far()?.parabola_sd_mm?;
        let squares = sd * sd * (n - 3) as f64;
        let by_the_bow = self.line.residual_sd.powi(2) * (n - 2) as f64 - squares;
        // F of 1 and n − 3 degrees of freedom is the square of Student's t.
        let limit = t_factor(BOW_STANDS_OUT, (n - 3) as f64).powi(2);
        (by_the_bow > limit * sd * sd).then_some(sd)
    }

    /// Neighbours that err alike: in the order in which they were read, and by rising place, which differ when the sweep
    /// went to and fro. The wider answer counts.
    fn alike<const UNKNOWNS: usize>(&self, rest: &[f64]) -> Option<Alike> {
        let as_read = alike::widest::<UNKNOWNS>(&self.x, rest);
        if self.x.is_sorted() || self.x.iter().rev().is_sorted() {
            return as_read;
        }
        let order = self.by_place();
        let sorted = |values: &[f64]| order.iter().map(|i| values[*i]).collect::<Vec<f64>>();
        let by_place = alike::widest::<UNKNOWNS>(&sorted(&self.x), &sorted(rest));
        match (as_read, by_place) {
            (Some(a), Some(b)) if a.expanded() >= b.expanded() => Some(a),
            (a, b) => b.or(a),
        }
    }
}
