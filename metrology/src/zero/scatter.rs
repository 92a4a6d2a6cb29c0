//! How well a mark repeats, from all the marks of the step.
//!
//! Two sources tell it. Within a dwell the readings scatter about their mean; between marks the rounds that hold more
//! marks than unknowns leave residuals. The first has many degrees of freedom but does not see that a station is never
//! found again quite the same; the second sees all but has few. Where an F test finds no difference they are pooled;
//! where it does, the residuals alone count.

use super::round::RoundLine;
use crate::uncertainty::{f_limit, rounding_left};

/// The scatter of the step's marks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scatter {
    /// Each mark's variance is the within-dwell variance over its number of readings, times `factor`.
    Within {
        variance: f64,
        factor: f64,
        degrees_of_freedom: f64,
    },
    /// Each mark has this variance.
    Between {
        variance: f64,
        degrees_of_freedom: f64,
    },
    /// Single readings, and no more marks than unknowns: nothing tells.
    Unknown,
}

impl Scatter {
    pub(super) fn of(rounds: &[RoundLine<'_>]) -> Self {
        let marks = || rounds.iter().flat_map(|round| round.marks.iter());
        let mut within_squares = 0.0;
        let mut within_dof = 0.0;
        for mark in marks() {
            if let Some(sd) = mark.sd_mm {
                let dof = (mark.readings - 1) as f64;
                within_squares += dof * sd * sd;
                within_dof += dof;
            }
        }
        let between_squares: f64 = rounds.iter().map(|round| round.residual_squares).sum();
        let between_dof = rounds
            .iter()
            .map(|round| round.degrees_of_freedom)
            .sum::<usize>() as f64;
        let between = Self::Between {
            variance: between_squares / between_dof,
            degrees_of_freedom: between_dof,
        };
        match (within_dof > 0.0, between_dof > 0.0) {
            (false, false) => Self::Unknown,
            (false, true) => between,
            (true, false) => Self::Within {
                variance: within_squares / within_dof,
                factor: 1.0,
                degrees_of_freedom: within_dof,
            },
            (true, true) => {
                let variance = within_squares / within_dof;
                let count = marks().count() as f64;
                let expected = marks()
                    .map(|mark| variance / mark.readings as f64)
                    .sum::<f64>()
                    / count;
                let ratio = between_squares / between_dof / expected;
                // Equal readings throughout leave 0/0: then there is no scatter on either side.
                if between_squares > 0.0 && ratio > f_limit(between_dof, within_dof) {
                    return between;
                }
                let ratio = if ratio.is_nan() { 1.0 } else { ratio };
                Self::Within {
                    variance,
                    factor: (between_dof * ratio + within_dof) / (between_dof + within_dof),
                    degrees_of_freedom: between_dof + within_dof,
                }
            }
        }
    }

    /// Standard uncertainty of a round's slope from this scatter, with its degrees of freedom; `None` when unknown.
    pub(super) fn slope_u(&self, round: &RoundLine<'_>) -> Option<(f64, f64)> {
        let squares = |variance: &dyn Fn(usize) -> f64| -> f64 {
            round
                .influence
                .iter()
                .enumerate()
                .map(|(i, c)| c * c * variance(i))
                .sum::<f64>()
                .sqrt()
        };
        match *self {
            Self::Within {
                variance,
                factor,
                degrees_of_freedom,
            } => {
                let u = squares(&|i| factor * variance / round.marks[i].readings as f64);
                Some((u, degrees_of_freedom))
            }
            Self::Between {
                variance,
                degrees_of_freedom,
            } => Some((squares(&|_| variance), degrees_of_freedom)),
            Self::Unknown => None,
        }
    }

    /// What the display's rounding leaves in a mark's value, mm: scatter wipes it out.
    pub(super) fn rounding_mm(&self, step_mm: f64) -> f64 {
        let variance = match *self {
            Self::Within { variance, .. } | Self::Between { variance, .. } => variance,
            Self::Unknown => 0.0,
        };
        // Sheppard's correction: the scatter of rounded readings holds the rounding's own q²/12.
        rounding_left(
            step_mm,
            (variance - step_mm * step_mm / 12.0).max(0.0).sqrt(),
        )
    }
}
