//! Zeroing, the main step: the reference edge is made to lie along the table's travel.
//!
//! A larger reading means the plunger pushed further in: the surface nearer to the indicator. One round is one pass over
//! the stations; its slope is the residual angle. Between rounds the set-up is tapped, and what the taps did tells where
//! it turns; tightening the clamp moves it again, and that is learned too.

mod budget;
mod clamp;
pub(crate) mod judged;
pub mod level;
mod outcome;
mod pivot;
mod round;
mod scatter;
pub(crate) mod tap;

pub use outcome::{ClampShift, Pivot, Round, Sloping, Tap, ZeroOutcome};

use crate::fit::FitError;
use crate::setup::{BigEnd, IndicatorSide, Sense, Setup, Station};
use crate::tolerance::ToleranceError;
use crate::{Angle, Length};
use round::RoundLine;
use scatter::Scatter;
use std::borrow::Cow;
use std::fmt;

/// A mark of a zero step: the mean of the settled readings at a station.
#[derive(Debug, Clone, PartialEq)]
pub struct ZeroMark {
    /// The pass that it belongs to.
    pub round: u32,
    /// The station's name.
    pub station: String,
    /// Its place from A along the travel, mm.
    pub position_mm: f64,
    /// The mean of the readings as shown, mm.
    pub value_mm: f64,
    /// Standard deviation of a single reading, mm; absent for one reading.
    pub sd_mm: Option<f64>,
    /// How many readings.
    pub readings: usize,
    /// One step of the display.
    pub resolution: Length,
    /// When, s from any start; absent when not known.
    pub time_s: Option<f64>,
    /// Whether the clamp was tight.
    pub clamped: bool,
    /// Counts the times that clamp or part were changed before it.
    pub setting: u32,
}

/// Why a zero step has no outcome.
#[derive(Debug, Clone, PartialEq)]
pub enum ZeroError {
    /// A value, place or time that is no number.
    NotFinite {
        /// The mark's index, from 0.
        mark: usize,
    },
    /// The line of a round cannot be fitted.
    Fit {
        /// Which round.
        round: u32,
        /// Why.
        error: FitError,
    },
    /// The tolerance cannot be made into limits of the half angle.
    Tolerance(ToleranceError),
    /// A diameter or length from which the worth of a level axis follows is not above zero.
    Level,
}

impl fmt::Display for ZeroError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFinite { mark } => write!(f, "mark {} is no number", mark + 1),
            Self::Fit { round, error } => write!(f, "round {round}: {error}"),
            Self::Tolerance(error) => error.fmt(f),
            Self::Level => f.write_str(
                "wheel's diameter, part's diameter and part's length must be above 0 mm",
            ),
        }
    }
}

impl std::error::Error for ZeroError {}

impl Sense {
    /// Whether a rising reading from A to B means a steeper cone: `1` if so, else `-1`.
    ///
    /// Seen with the wheel at the far side and A on the left, turning the set-up counter-clockwise brings its far side at
    /// B nearer to the wheel. With the big end at A the axis then leans further from the travel: steeper. An indicator
    /// on the wheel's side sees that as a rise from A to B, one on the opposite side as a fall.
    #[must_use]
    pub const fn steeper_sign(self) -> f64 {
        match (self.big_end, self.indicator) {
            (BigEnd::A, IndicatorSide::Wheel) | (BigEnd::B, IndicatorSide::Opposite) => 1.0,
            (BigEnd::A, IndicatorSide::Opposite) | (BigEnd::B, IndicatorSide::Wheel) => -1.0,
        }
    }
}

/// What rounding, indicator, travel and places are known to add, and how readings become lengths.
struct Known<'a> {
    setup: &'a Setup,
    /// Cosine of a lever-type indicator's lever angle: `true = shown · cos φ`.
    lever: f64,
}

/// The marks with the correction of the indicator's last check made, where there is one.
fn corrected<'a>(setup: &Setup, marks: &'a [ZeroMark]) -> Cow<'a, [ZeroMark]> {
    let check = setup.indicator.check.as_ref();
    let Some(check) = check.filter(|check| !check.correction.is_empty()) else {
        return Cow::Borrowed(marks);
    };
    let made = |mark: &ZeroMark| ZeroMark {
        value_mm: mark.value_mm + check.correction_mm(mark.value_mm),
        ..mark.clone()
    };
    Cow::Owned(marks.iter().map(made).collect())
}

/// The tap in what the indicator will show, since that is what is looked at.
fn as_shown(setup: &Setup, tap: Tap) -> Tap {
    let Some(check) = &setup.indicator.check else {
        return tap;
    };
    let now_mm = check.uncorrected_mm(tap.target_mm - tap.move_um * 1e-3);
    let target_mm = check.uncorrected_mm(tap.target_mm);
    Tap {
        target_mm,
        move_um: (target_mm - now_mm) * 1e3,
        ..tap
    }
}

/// The stations that marks were made at, by position.
fn stations(marks: &[ZeroMark]) -> Vec<Station> {
    let mut stations: Vec<Station> = marks
        .iter()
        .filter_map(|mark| {
            let position = Length::from_mm(mark.position_mm)?;
            Some(Station {
                name: mark.station.clone(),
                position,
            })
        })
        .collect();
    stations.sort_by_key(|station| station.position);
    stations.dedup_by_key(|station| station.position);
    stations
}

/// The lines of the complete rounds, in order.
fn lines(marks: &[ZeroMark]) -> Result<Vec<RoundLine<'_>>, ZeroError> {
    let mut numbers: Vec<u32> = marks.iter().map(|mark| mark.round).collect();
    numbers.dedup();
    numbers.sort_unstable();
    numbers.dedup();
    let mut lines = Vec::with_capacity(numbers.len());
    for number in numbers {
        let of_round = marks.iter().filter(|mark| mark.round == number).collect();
        lines.extend(RoundLine::fit(number, of_round)?);
    }
    Ok(lines)
}

/// Computes the outcome of a zero step from its marks, in the order they were made.
///
/// Rounds with marks at one station only are left out: they have no slope yet. Without a complete round the outcome is
/// empty. Lengths and angles of the outcome carry their unit in the name.
///
/// # Errors
/// A mark that is no number, or a tolerance that does not fit the taper.
///
/// ```
/// use conewright_metrology::{Length, setup::Setup, zero::{self, ZeroMark}};
/// let mark = |station: &str, position_mm, value_mm| ZeroMark {
///     round: 1, station: station.into(), position_mm, value_mm, sd_mm: None, readings: 1,
///     resolution: Length::from_um(1), time_s: None, clamped: false, setting: 0,
/// };
/// let outcome = zero::outcome(&Setup::default(), &[mark("A", 0.0, 0.0), mark("B", 80.0, 0.3)])?;
/// let tap = outcome.tap.unwrap();
/// // Nothing is known of the pivot yet: a trial at B, where the indicator stands, away from it.
/// assert!(tap.trial && !tap.toward && tap.station == "B" && tap.target_mm.abs() < 1e-12);
/// # Ok::<(), zero::ZeroError>(())
/// ```
pub fn outcome(setup: &Setup, marks: &[ZeroMark]) -> Result<ZeroOutcome, ZeroError> {
    let finite = |mark: &ZeroMark| {
        mark.value_mm.is_finite()
            && mark.position_mm.is_finite()
            && mark.time_s.is_none_or(f64::is_finite)
            && mark.sd_mm.is_none_or(f64::is_finite)
    };
    if let Some(mark) = marks.iter().position(|mark| !finite(mark)) {
        return Err(ZeroError::NotFinite { mark });
    }
    let marks = corrected(setup, marks);
    let lines = lines(&marks)?;
    let Some(current) = lines.last() else {
        return Ok(ZeroOutcome::default());
    };
    let scatter = Scatter::of(&lines);
    let known = Known {
        setup,
        lever: setup.indicator.lever_angle.map_or(1.0, Angle::cos),
    };
    let stations = stations(&marks);
    let ends = [&stations[0], &stations[stations.len() - 1]];
    let span = ends.map(|station| station.position.mm());

    let residual = Angle::from_rad((known.lever * current.slope).atan());
    let budget = known.residual_budget(&scatter, current);
    let sign = setup.sense.map(Sense::steeper_sign);
    let signed = residual * sign.unwrap_or(1.0);
    let judged =
        judged::judge(setup, signed, sign.is_some(), &budget).map_err(ZeroError::Tolerance)?;

    let seen = lines
        .windows(2)
        .filter(|pair| !pair[0].last().clamped && pair[1].marks[0].clamped)
        .map(|pair| known.lever * (pair[1].slope - pair[0].slope))
        .collect();
    let remembered = setup
        .fixture
        .as_ref()
        .map_or(&[][..], |f| f.clamp_shifts.as_slice());
    let clamp_shift = clamp::shift(remembered, seen);
    let loose = !current.last().clamped;
    let aim_slope = match &clamp_shift {
        Some(shift) if shift.agree && loose => -shift.slope,
        _ => 0.0,
    };
    let (pivot, mut remarks) = known.pivot(&lines, &scatter, span);
    let tap = tap::advise(&tap::Aim {
        at_zero_mm: current.reading_at(0.0),
        slope_now: current.slope,
        standing_mm: current.last().position_mm,
        stations: &stations,
        pivot: pivot.as_ref(),
        slope: aim_slope / known.lever,
    })
    .map(|tap| Tap {
        // The target is a reading, but what is aimed off by is an angle.
        aim_arcsec: tap
            .aim_arcsec
            .map(|_| Angle::from_rad(aim_slope.atan()).arcsec()),
        ..as_shown(setup, tap)
    });
    if sign.is_none() && setup.stack.is_some() {
        remarks.push(
            "the sense is not stated, so the stack's own error is judged either way: state the big end and the indicator's side"
                .into(),
        );
    }
    if scatter == Scatter::Unknown {
        remarks.push(
            "single readings, each station once a round: how well they repeat is not known".into(),
        );
    }
    Ok(ZeroOutcome {
        rounds: lines
            .iter()
            .map(|line| known.told(line, &scatter, span[0]))
            .collect(),
        residual_arcsec: Some(residual.arcsec()),
        residual_expanded_arcsec: Some(judged.residual_expanded_arcsec),
        cone: judged.cone,
        over_span_um: Some(residual.tan() * (span[1] - span[0]) * 1e3),
        over_taper_um: judged.over_taper_um,
        half_angle_error_arcsec: judged.half_angle.as_ref().map(|part| part.error_arcsec),
        half_angle_expanded_arcsec: judged.half_angle.as_ref().map(|part| part.expanded_arcsec),
        limits_arcsec: judged.limits_arcsec,
        verdict: judged.verdict,
        tap,
        pivot,
        clamp_shift,
        level: None,
        corrections: setup.indicator.corrections(),
        budget: judged.components,
        remarks,
    })
}
