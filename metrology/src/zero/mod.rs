//! Zeroing, the main step: the reference edge is made to lie along the table's travel.
//!
//! A larger reading means the plunger pushed further in: the surface nearer to the indicator. One round is one pass over
//! the stations; its slope is the residual angle. Between rounds the set-up is tapped, and what the taps did tells where
//! it turns; tightening the clamp moves it again, and that is learned too.

mod budget;
mod capability;
mod clamp;
pub(crate) mod judged;
pub mod level;
mod moved;
mod outcome;
mod pivot;
mod round;
mod scatter;
mod stated;
pub(crate) mod tap;
mod told;

pub use capability::{capability, of_setup};
pub use moved::{Moved, opens_a_round};
pub use outcome::{Capability, ClampShift, Pivot, Round, Sloping, Tap, ZeroOutcome};

use crate::fit::FitError;
use crate::setup::{BigEnd, IndicatorSide, Sense, Setup, Station};
use crate::spread::extremes;
use crate::tolerance::ToleranceError;
use crate::uncertainty::{Undecided, Verdict};
use crate::{Angle, Length};
use moved::State;
use round::{RoundLine, Workspace};
use scatter::{Evidence, Scatter};
use std::borrow::Cow;
use told::Told;

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
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ZeroError {
    /// A value, place or time that is not a number.
    #[error("mark {} is not a number", mark + 1)]
    NotFinite {
        /// The mark's index, from 0.
        mark: usize,
    },
    /// The line of a round cannot be fitted.
    #[error("round {round}: {error}")]
    Fit {
        /// Which round.
        round: u32,
        /// Why.
        error: FitError,
    },
    /// The tolerance cannot be made into limits of the half angle.
    #[error(transparent)]
    Tolerance(#[from] ToleranceError),
    /// A diameter or length from which the worth of a level axis follows is not above zero.
    #[error("wheel's diameter, part's diameter and part's length must be above 0 mm")]
    Level,
}

impl ZeroError {
    /// The row of the table that it is about, from 1: none, as the messages name mark or round.
    #[must_use]
    pub const fn row(&self) -> Option<usize> {
        None
    }
}

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

/// The stations that marks were made at, by position; of two names of one place the first.
fn stations(marks: &[ZeroMark]) -> Vec<Station> {
    let mut stations: Vec<Station> = Vec::new();
    for mark in marks {
        let Some(position) = Length::from_mm(mark.position_mm) else {
            continue;
        };
        if let Err(place) = stations.binary_search_by_key(&position, |station| station.position) {
            let name = mark.station.clone();
            stations.insert(place, Station { name, position });
        }
    }
    stations
}

/// Computes the outcome of a zero step from its marks, in the order they were made.
///
/// Rounds with marks at one station only are left out: they have no slope yet. Without a complete round the outcome is
/// empty. Lengths and angles of the outcome carry their unit in the name.
///
/// # Errors
/// A mark that is not a number, or a tolerance that does not fit the taper.
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
    let in_rounds = moved::in_rounds(&marks);
    let states = moved::states(setup, &in_rounds);
    let latest = states.last().map_or(0, |state| state.round);
    let doubtful: Vec<f64> = states
        .iter()
        .filter_map(|state| state.doubtful_mm)
        .collect();
    let moved = states.last().and_then(|state| state.opened_by.clone());
    let mut influence = vec![0.0; marks.len()];
    let lines = fitted(&states, &mut influence)?;
    let known = Known {
        setup,
        lever: setup.indicator.lever_factor(),
    };
    let mut outcome = ZeroOutcome {
        capability: known.capability(&marks)?,
        corrections: setup.indicator.corrections(),
        ..ZeroOutcome::default()
    };
    if let Some(moved) = &moved {
        outcome.remarks.push(moved.to_string());
    }
    outcome.moved = moved;
    if let Some(capability) = outcome.capability.as_ref().filter(|it| !it.provable) {
        outcome.remarks.push(capability.words());
    }
    let Some(current) = lines.last() else {
        return Ok(outcome);
    };
    let evidence = Evidence::of(setup, &lines, &doubtful);
    let told = known.told(&evidence, &lines);
    let span = known.span(&marks);
    let mut of_stations = Vec::new();
    outcome.rounds = lines
        .iter()
        .zip(&told)
        .map(|(line, told)| known.reported(line, told, span[0], &mut of_stations))
        .collect();
    outcome.clamp_shift = known.clamp_shift(&lines);
    let (pivot, remarks) = known.pivot(&lines, &told, span);
    outcome.remarks.extend(remarks);
    outcome.pivot = pivot;
    if outcome.moved.is_some() && current.round < latest {
        // What was found before the move is of a state that is no more: there is no residual now.
        let limits = setup.limits_arcsec()?;
        outcome.verdict = limits.map(|_| Verdict::Undecided);
        outcome.undecided_because = limits.map(|_| Undecided::Moved);
        outcome.limits_arcsec = limits;
        return Ok(outcome);
    }
    known.judge(&mut outcome, current, &told[told.len() - 1])?;
    outcome.over_span_um = Some(known.lever * current.slope * (span[1] - span[0]) * 1e3);
    known.advise(&mut outcome, current, &stations(&marks));
    Ok(outcome)
}

/// The lines of the states that have one. `influence` has a place for each mark.
fn fitted<'a>(
    states: &[State<'a>],
    influence: &'a mut [f64],
) -> Result<Vec<RoundLine<'a>>, ZeroError> {
    let mut workspace = Workspace::default();
    let mut lines = Vec::with_capacity(states.len());
    let mut free = influence;
    for state in states {
        let (own, rest) = free.split_at_mut(state.marks.len());
        free = rest;
        lines.extend(RoundLine::fit(state, own, &mut workspace)?);
    }
    Ok(lines)
}

/// The word on a repeatability that nothing tells.
fn words_of_unknown(display_arcsec: f64) -> String {
    format!(
        "nothing tells how the readings repeat, so there is no 95 % interval; the display alone allows ± {display_arcsec:.1} arcsec. Mark two more rounds A B A without touching the set-up, or state --repeatability"
    )
}

impl Known<'_> {
    /// The outer stations that were marked, mm from A.
    fn span(&self, marks: &[ZeroMark]) -> [f64; 2] {
        extremes(marks.iter().map(|mark| mark.position_mm))
    }

    /// Whether the set-up can prove its tolerance, over its stated stations, else over those that were marked.
    fn capability(&self, marks: &[ZeroMark]) -> Result<Option<Capability>, ZeroError> {
        let stations = &self.setup.stations;
        let [low, high] = if stations.len() >= 2 {
            extremes(stations.iter().map(|station| station.position.mm()))
        } else {
            self.span(marks)
        };
        let shown = marks.iter().map(|mark| mark.resolution).min();
        let step = self.setup.indicator.resolution.or(shown);
        match step {
            Some(step) if high > low => {
                capability(self.setup, high - low, step).map_err(ZeroError::Tolerance)
            }
            _ => Ok(None),
        }
    }

    /// The residual of a round, what it is worth, and the verdict.
    fn judge(
        &self,
        outcome: &mut ZeroOutcome,
        current: &RoundLine<'_>,
        told: &Told,
    ) -> Result<(), ZeroError> {
        let setup = self.setup;
        let residual = Angle::from_rad((self.lever * current.slope).atan());
        let budget = self.residual_budget(told, current);
        let sign = setup.sense.map(Sense::steeper_sign);
        let signed = residual * sign.unwrap_or(1.0);
        let judged = judged::judge(setup, signed, sign.is_some(), &budget)?;
        let repeats = told.scatter != Scatter::Unknown;
        let claimed = |expanded: f64| repeats.then_some(expanded);
        outcome.residual_arcsec = Some(residual.arcsec());
        outcome.residual_expanded_arcsec = claimed(judged.residual_expanded_arcsec);
        outcome.cone = judged.cone;
        outcome.over_taper_um = judged.over_taper_um;
        if let Some(part) = &judged.half_angle {
            outcome.half_angle_error_arcsec = Some(part.error_arcsec);
            outcome.half_angle_expanded_arcsec = claimed(part.expanded_arcsec);
        }
        outcome.limits_arcsec = judged.limits_arcsec;
        (outcome.verdict, outcome.undecided_because) = Undecided::decided(judged.verdict, repeats);
        outcome.budget = judged.components;
        if sign.is_none() && setup.stack.is_some() {
            outcome.remarks.push(
                "the sense is not stated, so the stack's own error is judged either way: state the big end and the indicator's side"
                    .into(),
            );
        }
        if !repeats {
            outcome.display_expanded_arcsec = Some(judged.residual_expanded_arcsec);
            outcome
                .remarks
                .push(words_of_unknown(judged.residual_expanded_arcsec));
        }
        Ok(())
    }

    /// What tightening the clamp did in this step and in those that the fixture remembers.
    fn clamp_shift(&self, lines: &[RoundLine<'_>]) -> Option<ClampShift> {
        let seen = lines
            .windows(2)
            .filter(|pair| !pair[0].last().clamped && pair[1].marks[0].clamped)
            .map(|pair| self.lever * (pair[1].slope - pair[0].slope))
            .collect();
        let fixture = self.setup.fixture.as_ref();
        clamp::shift(fixture.map_or(&[][..], |f| f.clamp_shifts.as_slice()), seen)
    }

    /// The tap to the wanted half angle: the stack's known error is taken back where the sense tells which way it is seen,
    /// and a clamp that shifts regularly is aimed off for.
    fn advise(&self, outcome: &mut ZeroOutcome, current: &RoundLine<'_>, stations: &[Station]) {
        let wanted = self.setup.sense.map_or(0.0, |sense| {
            let error = judged::wanted_error_arcsec(outcome.limits_arcsec);
            let stack = capability::stack_error_arcsec(self.setup).unwrap_or(0.0);
            sense.steeper_sign() * (error - stack)
        });
        let loose = !current.last().clamped;
        let shift = outcome
            .clamp_shift
            .as_ref()
            .filter(|shift| shift.agree && loose);
        let aim = Angle::from_arcsec(wanted).tan() - shift.map_or(0.0, |shift| shift.slope);
        let tap = tap::advise(&tap::Aim {
            at_zero_mm: current.reading_at(0.0),
            slope_now: current.slope,
            standing_mm: current.last().position_mm,
            stations,
            pivot: outcome.pivot.as_ref(),
            slope: aim / self.lever,
        });
        let Some(tap) = tap else {
            return;
        };
        let tap = Tap {
            // The target is a reading, but what is aimed at is an angle.
            aim_arcsec: (aim != 0.0).then(|| Angle::from_rad(aim.atan()).arcsec()),
            wanted_arcsec: (wanted != 0.0).then_some(wanted),
            ..as_shown(self.setup, tap)
        };
        if tap.move_um.abs() * 1e-3 < self.step_mm(current) / 2.0 {
            outcome.at_target = true;
            outcome.remarks.push(format!(
                "{} stands within half a step of the display of its target: there is nothing to tap",
                tap.station
            ));
        } else {
            outcome.tap = Some(tap);
        }
    }
}
