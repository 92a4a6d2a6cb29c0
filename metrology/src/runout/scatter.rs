//! How well the readings round a turn repeat, and what that leaves of the eccentricity.
//!
//! One turn does not show which of its unevenness is the part and which is scatter. What a profile of few harmonics leaves
//! is taken for scatter: it is never too small, for lobes above them count in it. Over five turns or more the eccentricities
//! of the turns themselves tell how far the eccentricity can be trusted, whatever the scatter is like.

use super::Scale;
use super::angles::{Angled, distinct};
use super::repeatability::Repeatability;
use crate::fit::{Limacon, limacon};
use crate::harmonics::{Harmonics, USUAL_ORDER, highest_order};
use crate::setup::Setup;
use crate::uncertainty::{Budget, COVERAGE, before_rounding, rounding_left};

/// From this many turns on their own spread is the better witness.
const TURNS_TELL: usize = 5;

/// What readings round a turn tell of their scatter.
pub(super) struct Scatter {
    /// Standard deviation of a single reading, mm.
    pub sd: f64,
    pub dof: f64,
    /// Standard uncertainty of each component of the centre, with its degrees of freedom.
    centre: (f64, f64),
    /// What uneven angles let leak into the centre, mm.
    leak: f64,
    /// What lobes that the places do not show may make of the centre, mm.
    hidden: f64,
    places: usize,
}

/// What the indicator adds.
pub(super) struct Indicator {
    /// One step of the display as a radial movement, mm.
    step_mm: f64,
    /// Whether the readings move over so few steps that their rounding does not average out.
    few_steps: bool,
    /// Component and standard uncertainty of its own error, mm.
    error: Option<(&'static str, f64)>,
}

impl Indicator {
    pub(super) fn of(setup: &Setup, scale: Scale, height_mm: f64) -> Self {
        let error = setup.indicator.error();
        let factor = scale.factor * setup.indicator.lever_factor();
        Self {
            step_mm: scale.step_mm,
            few_steps: height_mm < 2.0 * scale.step_mm,
            error: error.map(|error| (error.component, error.u_mm * factor)),
        }
    }

    /// What rounding leaves in one place of a profile, mm, before it is averaged over places.
    fn rounding(&self, sd: f64) -> f64 {
        rounding_left(self.step_mm, before_rounding(self.step_mm, sd))
    }

    /// The budget, µm, of the centre's place square to the eccentricity: two opposite places with one reading, which the
    /// indicator's error leaves alike.
    pub(super) fn sideways(&self, angled: &Angled, scatter: Option<&Scatter>) -> Budget {
        let mut budget = Budget::new("um");
        if let Some(scatter) = scatter {
            let (u, dof) = scatter.centre;
            budget.add("scatter of the readings", u * 1e3, Some(dof));
            budget.add("uneven angles", scatter.leak * 1e3, None);
            budget.add("lobes between the places", scatter.hidden * 1e3, None);
        }
        let sd = scatter.map_or(0.0, |s| s.sd);
        let places = scatter.map_or(angled.y.len(), |s| s.places);
        let averaged = if self.few_steps {
            1.0
        } else {
            (2.0 / places as f64).sqrt()
        };
        budget.add(
            "resolution of the indicator",
            self.rounding(sd) * averaged * 1e3,
            None,
        );
        budget
    }

    /// What the indicator adds to an amount between two places or more, mm, 95 %: `parts` are the places' shares, and
    /// `averaged` is the variance of the amount over that of a single reading.
    pub(super) fn adds(&self, scatter: &Scatter, averaged: f64, parts: &[f64]) -> f64 {
        let mut budget = Budget::new("mm");
        let averaged = if self.few_steps {
            2.0
        } else {
            averaged.min(2.0)
        };
        budget.add(
            "resolution of the indicator",
            self.rounding(scatter.sd) * averaged.sqrt(),
            None,
        );
        if let Some((component, u)) = self.error {
            let parts: Vec<f64> = parts.iter().map(|part| part * u).collect();
            budget.add_rectangular(component, &parts);
        }
        budget.expanded(COVERAGE)
    }

    /// The least amplitude, mm, that the indicator itself may not have made: half a step of its display, and its error.
    pub(super) fn least_amplitude(&self) -> f64 {
        let error = self.error.map_or(0.0, |(_, u)| u);
        (self.step_mm / 2.0).hypot(error)
    }

    /// The budget of the eccentricity, µm: half a difference of two opposite places, each with its own error.
    pub(super) fn budget(&self, angled: &Angled, scatter: Option<&Scatter>) -> Budget {
        let mut budget = self.sideways(angled, scatter);
        if let Some((component, u)) = self.error {
            budget.add_rectangular(component, &[u / 2.0 * 1e3; 2]);
        }
        budget
    }
}

impl Scatter {
    /// `None` when there are no more readings than unknowns, and nothing is known beside.
    pub(super) fn of(
        angled: &Angled,
        whole: &Limacon,
        known: Option<Repeatability>,
    ) -> Option<Self> {
        let places = distinct(&angled.angles);
        let all = highest_order(&angled.angles).min(USUAL_ORDER);
        // Where turns repeat, what differs at one place is scatter and no lobe.
        let most = if angled.y.len() >= 2 * (2 * all + 1) {
            all
        } else {
            all.min(places / 4)
        };
        let fullest = (1..=most.max(1))
            .rev()
            .filter_map(|order| Harmonics::fit(&angled.angles, &angled.y, order).ok())
            .find(|fit| fit.degrees_of_freedom() > 0);
        let (squares, own) = fullest.as_ref().map_or((0.0, 0.0), |fit| {
            (fit.residual_squares, fit.degrees_of_freedom() as f64)
        });
        let beside = known.map_or(0.0, |known| known.dof);
        let dof = own + beside;
        if dof <= 0.0 {
            return None;
        }
        let sd = ((squares + known.map_or(0.0, |k| k.sd * k.sd * beside)) / dof).sqrt();
        let of_limacon = sd * ((whole.cofactors[1][1] + whole.cofactors[2][2]) / 2.0).sqrt();
        let leak = fullest
            .and_then(|fit| fit.terms.first().copied())
            .map_or(0.0, |[a, b]| {
                ((a - whole.a).powi(2) + (b - whole.b).powi(2)).sqrt() / 2.0_f64.sqrt()
            });
        Some(Self {
            centre: turn_by_turn(angled).unwrap_or((of_limacon, dof)),
            // What differs by less than the scatter is scatter.
            leak: if leak > of_limacon * 1e-6 { leak } else { 0.0 },
            hidden: 0.0,
            sd,
            dof,
            places,
        })
    }

    /// Counts lobes that these places show as eccentricity: with 12 of them, those of 11 and 13.
    pub(super) fn with_hidden(&mut self, centre_squares: f64) {
        if self.places <= USUAL_ORDER + 1 {
            let beyond = centre_squares - self.centre.0.powi(2);
            self.hidden = beyond.max(0.0).sqrt();
        }
    }
}

/// Standard uncertainty of the mean eccentricity's components by the spread of the turns' own, and its degrees of freedom.
fn turn_by_turn(angled: &Angled) -> Option<(f64, f64)> {
    if angled.turns < TURNS_TELL {
        return None;
    }
    let mut turns = vec![(Vec::new(), Vec::new()); angled.turns];
    for ((angle, y), turn) in angled.angles.iter().zip(&angled.y).zip(&angled.turn) {
        // A turn that was begun and not gone round is none.
        if let Some((angles, readings)) = turns.get_mut(*turn) {
            angles.push(*angle);
            readings.push(*y);
        }
    }
    let mut centres: Vec<[f64; 2]> = Vec::with_capacity(turns.len());
    for (angles, readings) in &turns {
        let fit = limacon(angles, readings).ok()?;
        centres.push([fit.a, fit.b]);
    }
    let n = centres.len() as f64;
    let squares: f64 = [0, 1]
        .map(|axis| {
            let mean = centres.iter().map(|c| c[axis]).sum::<f64>() / n;
            centres
                .iter()
                .map(|c| (c[axis] - mean).powi(2))
                .sum::<f64>()
        })
        .iter()
        .sum();
    let dof = 2.0 * (n - 1.0);
    Some(((squares / dof / n).sqrt(), dof))
}
