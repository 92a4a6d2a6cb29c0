//! A profile with its line and what is known of its uncertainty.

use super::rounding::slope_rounding;
use super::scatter::{From, Scatter};
use super::{SweepError, SweepSums};
use crate::domain::Unusable;
use crate::filter;
use crate::fit::{FitError, Line, line};
use crate::setup::Setup;
use crate::uncertainty::{Budget, rectangular, rounding_left};
use crate::{Angle, Length};

/// Below this many points a bow is not taken out before the scatter is judged: it would cost too much of what little
/// tells it.
pub(super) const BOW_OUT_FROM: usize = 10;

/// From this many places on a sweep is even enough for the rounding of a line; below it is that of its places.
const MANY_PLACES: usize = 6;

/// Places nearer to each other than this, mm, are one: a picometre.
const ONE_PLACE: f64 = 1e-9;

/// Why the points make no line, in a sweep's words.
pub(super) fn refused(error: &FitError, x: &[f64]) -> SweepError {
    match error {
        FitError::TooFew { points, .. } => SweepError::TooFew { points: *points },
        FitError::NotFinite { index } => SweepError::Unusable {
            row: index + 1,
            column: "reading_mm",
            why: Unusable::NotANumber,
        },
        FitError::Degenerate => SweepError::OnePlace {
            position_mm: x.first().copied().unwrap_or(f64::NAN),
            points: x.len(),
        },
    }
}

/// A profile with its line and its sums.
pub(super) struct Fitted {
    pub x: Vec<f64>,
    pub y: Vec<f64>,
    pub line: Line,
    pub sums: SweepSums,
}

impl Fitted {
    pub(super) fn of(x: Vec<f64>, y: Vec<f64>) -> Result<Self, SweepError> {
        let line = line(&x, &y).map_err(|error| refused(&error, &x))?;
        if x.iter().all(|place| (place - x[0]).abs() < ONE_PLACE) {
            return Err(refused(&FitError::Degenerate, &x));
        }
        let mut sums = SweepSums::default();
        for (x, y) in x.iter().zip(&y) {
            sums.push(*x, *y);
        }
        Ok(Self { x, y, line, sums })
    }

    /// What line, or for many points the parabola, leaves of each reading.
    pub(super) fn rest(&self) -> Vec<f64> {
        let parabola = self
            .sums
            .so_far()
            .and_then(|so_far| so_far.parabola)
            .filter(|_| self.x.len() >= BOW_OUT_FROM);
        let fitted = |x: f64| match parabola {
            Some(coefficients) => self.sums.parabola_mm(coefficients, x),
            None => self.line.intercept + self.line.slope * x,
        };
        self.x
            .iter()
            .zip(&self.y)
            .map(|(x, y)| y - fitted(*x))
            .collect()
    }

    pub(super) fn span(&self) -> [f64; 2] {
        self.sums
            .so_far()
            .map_or([f64::NAN; 2], |so_far| so_far.span_mm)
    }

    /// Peak to valley about the line, along the reading.
    pub(super) fn height_mm(&self) -> f64 {
        let rest = self
            .x
            .iter()
            .zip(&self.y)
            .map(|(x, y)| y - self.line.slope * x);
        let (low, high) = rest.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), r| {
            (l.min(r), h.max(r))
        });
        high - low
    }

    /// The profile behind the filter, in order of position, without the ends at which it cannot be filtered.
    pub(super) fn filtered(
        &self,
        cut_off: Length,
    ) -> Result<(Vec<f64>, Vec<f64>), filter::FilterError> {
        let order = self.by_place();
        let x: Vec<f64> = order.iter().map(|i| self.x[*i]).collect();
        let y: Vec<f64> = order.iter().map(|i| self.y[*i]).collect();
        let smooth = filter::open(&x, &y, cut_off.mm())?;
        Ok((x[smooth.kept].to_vec(), smooth.values))
    }

    /// The points' indices by rising place.
    pub(super) fn by_place(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.x.len()).collect();
        order.sort_by(|i, j| self.x[*i].total_cmp(&self.x[*j]));
        order
    }

    /// The budget of the residual, arc-seconds. Errors that do not average out over many points (of the indicator over
    /// its range, of the travel) count as they would for two marks at the ends: one error at each.
    pub(super) fn budget(&self, setup: &Setup, step: f64, scatter: Option<&Scatter>) -> Budget {
        let mut budget = Budget::new("arcsec");
        let slope = self.line.slope;
        let arcsec = Angle::from_rad(1.0 / (1.0 + slope * slope)).arcsec();
        let [low, high] = self.span();
        let span = high - low;
        if let Some(scatter) = scatter {
            let component = scatter.from.component();
            budget.add(
                component,
                scatter.slope_u * arcsec,
                scatter.degrees_of_freedom,
            );
        }
        let ends = |u_mm: f64| [u_mm / span * arcsec; 2];
        if step > 0.0 {
            // The readings' own scatter holds part of their rounding; what is known of the indicator holds none of it.
            let sd = scatter
                .filter(|scatter| scatter.from == From::Readings)
                .map_or(0.0, |scatter| scatter.reading_sd);
            // Sheppard's correction: the scatter of rounded readings holds the rounding's own q²/12.
            let before = (sd * sd - step * step / 12.0).max(0.0).sqrt();
            if self.places() < MANY_PLACES {
                let u = rounding_left(step, before);
                budget.add_rectangular("resolution of the indicator", &ends(u));
            } else {
                let u = step / span * slope_rounding(slope * span / step, before / step);
                budget.add("resolution of the indicator", u * arcsec, None);
            }
        }
        if let Some(error) = setup.indicator.error() {
            let u = error.u_mm * setup.indicator.lever_factor();
            budget.add_rectangular(error.component, &ends(u));
        }
        if let Some(straightness) = setup.straightness {
            // Peak to valley: each place lies within half of it to either side.
            let u = rectangular(straightness.mm() / 2.0);
            budget.add_rectangular("straightness of the travel", &ends(u));
        }
        if let Some(limit) = setup.station_error {
            let u = rectangular(limit.mm()) * slope.abs();
            budget.add_rectangular("places on the travel", &ends(u));
        }
        budget
    }

    /// The slope's standard deviation for a scatter of 1.
    pub(super) fn influence(&self) -> f64 {
        let n = self.x.len() as f64;
        let mean = self.x.iter().sum::<f64>() / n;
        1.0 / self
            .x
            .iter()
            .map(|x| (x - mean).powi(2))
            .sum::<f64>()
            .sqrt()
    }

    /// How many different places there are, counted no further than it matters.
    fn places(&self) -> usize {
        let mut places: Vec<f64> = Vec::new();
        for x in &self.x {
            if places.len() < MANY_PLACES && !places.contains(x) {
                places.push(*x);
            }
        }
        places.len()
    }
}
