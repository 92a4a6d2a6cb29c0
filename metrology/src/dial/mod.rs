//! The indicator itself: checked on gauge blocks before it is trusted.
//!
//! Readings over known steps, upward and downward, tell its error of indication, its hysteresis and how it repeats (terms of
//! ISO 463 and ISO 13102). A constant error does not count, because an indicator is set to zero wherever it is used: errors
//! count from their mean.

mod error;
mod nominal;
mod outcome;
mod reading;
mod repeats;
mod swing;

pub use crate::indicator::{Correction, IndicatorCheck};
pub use error::DialError;
pub use outcome::{DialOutcome, Step};

use crate::setup::Setup;
use crate::spread::range;
use crate::uncertainty::Undecided;
use nominal::{Nominal, by_nominal, mean_of};
use reading::SingleReading;
use repeats::Repeats;
use serde::{Deserialize, Serialize};

/// Which way the plunger came to a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Direction {
    /// Pushed in further: readings rise.
    Up,
    /// Let out: readings fall.
    Down,
}

/// A reading on a known step.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DialPoint {
    /// The step: a block, a stack, or zero.
    pub nominal_mm: f64,
    /// What the indicator shows.
    pub reading_mm: f64,
    /// Which way the plunger moved to it.
    pub direction: Direction,
}

/// What is asked for beyond the plain figures.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct DialOptions {
    /// Make a correction table that later steps apply.
    pub correct: bool,
}

/// Computes the outcome of a dial step.
///
/// # Errors
/// [`DialError`]: which row, what, and what is needed.
///
/// ```
/// use conewright_metrology::dial::{self, DialOptions, DialPoint, Direction};
/// use conewright_metrology::setup::Setup;
/// let point = |nominal_mm, reading_mm, direction| DialPoint { nominal_mm, reading_mm, direction };
/// let points = [
///     point(0.0, 0.0, Direction::Up),
///     point(1.0, 1.003, Direction::Up),
///     point(2.0, 2.001, Direction::Up),
///     point(1.0, 1.005, Direction::Down),
/// ];
/// let outcome = dial::outcome(&Setup::default(), DialOptions::default(), &points)?;
/// assert!((outcome.error_span_um - 5.0).abs() < 1e-9);
/// assert!((outcome.hysteresis_um.unwrap() - 2.0).abs() < 1e-9);
/// assert!(outcome.repeatability_um.is_none() && outcome.expanded_um.is_none(), "nothing was repeated");
/// assert!(dial::outcome(&Setup::default(), DialOptions::default(), &points[..1]).is_err());
/// # Ok::<(), dial::DialError>(())
/// ```
pub fn outcome(
    setup: &Setup,
    options: DialOptions,
    points: &[DialPoint],
) -> Result<DialOutcome, DialError> {
    let lever = setup.indicator.lever_factor();
    let nominals = by_nominal(setup, lever, points)?;
    if nominals.len() < 2 {
        return Err(DialError::OneNominal { rows: points.len() });
    }
    let repeats = Repeats::of(setup, &nominals);
    let reading = SingleReading::of(&nominals, &repeats, points.len(), options.correct);
    let limit = setup.indicator.error_limit;
    let (verdict, undecided_because) = Undecided::decided(
        limit.map(|limit| reading.verdict(limit.um())),
        repeats.counted().is_some(),
    );
    let mut remarks = Vec::from_iter(repeats.remark());
    if setup.kit.is_none() {
        remarks.push("no kit is stated: the blocks' own errors are not counted".into());
    }
    Ok(DialOutcome {
        points: points.len(),
        error_span_um: range(nominals.iter().flat_map(Nominal::ways).flatten().copied()),
        hysteresis_um: nominals
            .iter()
            .filter_map(Nominal::hysteresis)
            .map(f64::abs)
            .reduce(f64::max),
        repeatability_um: repeats.range_um,
        repeatability_sd_um: repeats.seen.map(|(sd, _)| sd),
        steps: nominals
            .iter()
            .map(|n| Step {
                nominal_mm: n.nominal_mm,
                up_um: mean_of(&n.up),
                down_um: mean_of(&n.down),
            })
            .collect(),
        check: IndicatorCheck {
            u_um: reading.u_um(),
            correction: reading.correction(lever),
            repeatability_sd_um: repeats.seen.map(|(sd, _)| sd),
            repeatability_degrees_of_freedom: repeats.seen.map(|(_, dof)| dof),
            checked_utc_ns: None,
        },
        expanded_um: reading.expanded_um(),
        verdict,
        undecided_because,
        budget: reading.budget().components(),
        remarks,
    })
}
