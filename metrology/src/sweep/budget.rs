//! The uncertainty budget of a sweep's residual.

use super::fitted::Fitted;
use super::rounding::slope_rounding;
use super::scatter::{From, Scatter};
use crate::Angle;
use crate::setup::Setup;
use crate::uncertainty::{Budget, before_rounding, rectangular, rounding_left};

/// From this many places on a sweep is even enough for the rounding of a line; below it is that of its places.
const MANY_PLACES: usize = 6;

impl Fitted {
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
            let before = before_rounding(step, sd);
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
