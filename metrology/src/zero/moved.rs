//! Which marks were made in one state of the set-up.
//!
//! After a mark at B the user may come back to A to close the round, or tap first and then go to A: both are normal
//! practice. The mark itself tells which it was. A return that differs from the mark before it at its station by more than
//! scatter and a plausible drift was made after a move, so it opens the next round. Where it could be either it stays in
//! its round, and [`super::scatter`] counts the difference as scatter: the interval then covers both.

use super::ZeroMark;
use super::stated::stated;
use crate::setup::Setup;
use crate::uncertainty::t_factor;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Drift that a return may show, µm a minute. *Common practice*: what a grinder does at most while it warms up.
const DRIFT_UM_PER_MIN: f64 = 4.0;
/// And the least and the most of it, mm, however the marks are timed.
const DRIFT_MM: [f64; 2] = [1.5e-3, 5e-3];
/// The time that a round takes where the marks have no times, s.
const USUAL_S: f64 = 60.0;
/// What a return may differ by while nothing tells how readings repeat: so many mm, or so many steps of the display.
const UNKNOWN_MM: f64 = 5e-3;
const UNKNOWN_STEPS: f64 = 5.0;
/// The share of returns without a move that are not taken for one.
const SURE: f64 = 0.999;

/// A mark that showed that the set-up was moved.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Moved {
    /// The round that the mark opens.
    pub round: u32,
    /// The station.
    pub station: String,
    /// The reading there since the last mark at this station, µm.
    pub by_um: f64,
}

impl fmt::Display for Moved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            round,
            station,
            by_um,
        } = self;
        write!(
            f,
            "{station} reads {by_um:+.1} µm from the mark before it: the set-up was moved, so this mark opens round {round}"
        )
    }
}

/// Marks of one state of the set-up, in the order they were made.
#[derive(Debug, Clone)]
pub(super) struct State<'a> {
    pub round: u32,
    pub marks: &'a [&'a ZeroMark],
    /// Whether a mark showed that it had ended.
    pub ended_by_a_move: bool,
    /// What showed that the state before it had ended, when a mark did.
    pub opened_by: Option<Moved>,
    /// By how much, mm, where it is so little that it may be scatter after all.
    pub doubtful_mm: Option<f64>,
}

/// What the marks so far say of their repeatability. Only earlier marks count: a later one never changes what a mark was.
#[derive(Default)]
struct Seen {
    dwell_squares: f64,
    dwell_dof: f64,
    return_squares: f64,
    returns: f64,
}

/// The marks by rounds, and within each in the order they were made.
pub(super) fn in_rounds(marks: &[ZeroMark]) -> Vec<&ZeroMark> {
    let mut in_rounds: Vec<&ZeroMark> = marks.iter().collect();
    in_rounds.sort_by_key(|mark| mark.round);
    in_rounds
}

/// Splits the rounds of the marks where the set-up was moved within one.
///
/// A state has the number of its round, or the next free one where it was split off.
pub(super) fn states<'a>(setup: &Setup, in_rounds: &'a [&'a ZeroMark]) -> Vec<State<'a>> {
    let mut seen = Seen::default();
    let mut states: Vec<State<'a>> = Vec::new();
    let mut made = 0;
    for of_round in in_rounds.chunk_by(|a, b| a.round == b.round) {
        let first = of_round[0];
        let before = states.last();
        if !before.is_some_and(|state| state.goes_on_with(first)) {
            // A mark that showed a move was given the next round when it was made.
            let left = before.filter(|state| state.awaits_a_return(setup, first));
            let left = left.and_then(|state| state.last_at(first.position_mm));
            let left = left.filter(|before| seen.moved(setup, before, first));
            State::open(&mut states, first.round, left, first);
        }
        for &mark in of_round {
            made += 1;
            let before = states
                .last()
                .and_then(|state| state.last_at(mark.position_mm));
            match before {
                Some(before) if seen.moved(setup, before, mark) => {
                    State::open(&mut states, 0, Some(before), mark);
                }
                Some(before) => {
                    seen.return_squares += (mark.value_mm - before.value_mm).powi(2) / 2.0;
                    seen.returns += 1.0;
                }
                None => {}
            }
            if let Some(state) = states.last_mut() {
                // The marks of a state follow one another.
                state.marks = &in_rounds[made - state.marks.len() - 1..made];
            }
            seen.dwell(mark);
        }
    }
    states
}

impl<'a> State<'a> {
    /// Opens a state without marks yet, of a given round or the next free one. A mark that showed a move since the one
    /// `before` it at its station ends the state before.
    fn open(states: &mut Vec<Self>, given: u32, before: Option<&ZeroMark>, mark: &ZeroMark) {
        let free = states.last().map_or(0, |state| state.round) + 1;
        let round = given.max(free);
        let by_mm = before.map(|before| mark.value_mm - before.value_mm);
        if let Some(last) = states.last_mut() {
            last.ended_by_a_move = before.is_some();
        }
        states.push(Self {
            round,
            marks: &[],
            ended_by_a_move: false,
            opened_by: by_mm.map(|by_mm| Moved {
                round,
                station: mark.station.clone(),
                by_um: by_mm * 1e3,
            }),
            doubtful_mm: by_mm.filter(|by_mm| by_mm.abs() <= UNKNOWN_MM),
        });
    }

    fn last_at(&self, position_mm: f64) -> Option<&'a ZeroMark> {
        let mut latest = self.marks.iter().rev();
        latest.find(|mark| mark.position_mm == position_mm).copied()
    }

    /// Whether the pass still wants a return to this mark's station.
    fn awaits_a_return(&self, setup: &Setup, mark: &ZeroMark) -> bool {
        let named = |name: &&String| **name == mark.station;
        let made = self.marks.iter().filter(|own| own.station == mark.station);
        made.count() < setup.pass.iter().filter(named).count() && self.is_of(mark)
    }

    fn is_of(&self, mark: &ZeroMark) -> bool {
        let mut own = self.marks.iter();
        own.all(|own| (own.setting, own.clamped) == (mark.setting, mark.clamped))
    }

    /// Whether a state that a move opened at the end of one round goes on with the first mark of the next.
    fn goes_on_with(&self, mark: &ZeroMark) -> bool {
        let mut own = self.marks.iter();
        self.opened_by.is_some()
            && self.is_of(mark)
            && own.all(|own| own.position_mm != mark.position_mm)
    }
}

impl Seen {
    /// Whether a return differs by more than scatter and drift can explain.
    fn moved(&self, setup: &Setup, before: &ZeroMark, mark: &ZeroMark) -> bool {
        let by_mm = (mark.value_mm - before.value_mm).abs();
        let shown = before.resolution.max(mark.resolution);
        let step = setup.indicator.resolution.unwrap_or(shown).mm();
        let Some((sd, dof)) = self.sd_mm(setup, before.readings.min(mark.readings)) else {
            return by_mm > UNKNOWN_MM.max(UNKNOWN_STEPS * step);
        };
        let sd = sd * 2.0_f64.sqrt();
        let drift = plausible_drift_mm(before, mark);
        // Most returns need no scatter to explain them: Student's factor is asked for only where it matters.
        if sd >= 0.0 && by_mm <= step + drift {
            return false;
        }
        // Few returns say little of their scatter: a move of many micrometres is one all the same.
        let most = (4.0 * sd).max(UNKNOWN_MM);
        by_mm > (t_factor(SURE, dof) * sd).min(most) + step + drift
    }

    fn dwell(&mut self, mark: &ZeroMark) {
        if let Some(sd) = mark.sd_mm {
            let dof = (mark.readings - 1) as f64;
            self.dwell_squares += dof * sd * sd;
            self.dwell_dof += dof;
        }
    }

    /// The largest standard deviation of a mark that anything tells so far, mm, with its degrees of freedom.
    fn sd_mm(&self, setup: &Setup, readings: usize) -> Option<(f64, f64)> {
        let stated = stated(setup).map(|stated| (stated.sd_mm, stated.dof));
        let dwell = (self.dwell_dof > 0.0).then(|| {
            let variance = self.dwell_squares / self.dwell_dof / readings as f64;
            (variance.sqrt(), self.dwell_dof)
        });
        let returned = (self.returns >= 2.0)
            .then(|| ((self.return_squares / self.returns).sqrt(), self.returns));
        [stated, dwell, returned]
            .into_iter()
            .flatten()
            .max_by(|a, b| a.0.total_cmp(&b.0))
    }
}

fn plausible_drift_mm(before: &ZeroMark, mark: &ZeroMark) -> f64 {
    let between = before.time_s.zip(mark.time_s).map(|(from, to)| to - from);
    let minutes = between.filter(|s| *s > 0.0).unwrap_or(USUAL_S) / 60.0;
    (DRIFT_UM_PER_MIN * 1e-3 * minutes).clamp(DRIFT_MM[0], DRIFT_MM[1])
}

/// What the last mark showed, when the set-up was moved before it within its round: it then opens the next one.
///
/// `marks` are those of the step so far in the order they were made, the last one with the round that it would close.
#[must_use]
pub fn opens_a_round(setup: &Setup, marks: &[ZeroMark]) -> Option<Moved> {
    let last = marks.last()?;
    let corrected = super::corrected(setup, marks);
    let in_rounds = in_rounds(&corrected);
    let states = states(setup, &in_rounds);
    let holding = states.into_iter().find(|state| {
        state
            .marks
            .first()
            .is_some_and(|first| std::ptr::eq(*first, &corrected[marks.len() - 1]))
    })?;
    holding.opened_by.filter(|moved| moved.round > last.round)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Length;

    /// A dwell of twenty readings that scatter by 0.1 µm, on a display of 0.1 µm.
    fn dwell(station: &str, um: f64, time_s: f64) -> ZeroMark {
        ZeroMark {
            round: 1,
            station: station.to_owned(),
            position_mm: if station == "A" { 0.0 } else { 80.0 },
            value_mm: um * 1e-3,
            sd_mm: Some(0.1e-3),
            readings: 20,
            resolution: Length::from_pm(100_000),
            time_s: Some(time_s),
            clamped: false,
            setting: 0,
        }
    }

    /// In half a minute 2 µm of drift are plausible. To that come a step of 0.1 µm and, from 38 degrees of freedom,
    /// 3.57 · √2 · 0.1 µm / √20.
    #[test]
    fn a_return_may_differ_by_drift_step_and_scatter() {
        for (um, states_wanted) in [(1.9, 1), (2.05, 1), (2.2, 1), (2.23, 2), (3.5, 2)] {
            for sign in [1.0, -1.0] {
                let marks = [("A", 0.0, 0.0), ("B", 5.0, 15.0), ("A", sign * um, 30.0)]
                    .map(|(station, um, time_s)| dwell(station, um, time_s));
                let in_rounds = in_rounds(&marks);
                let states = states(&Setup::default(), &in_rounds);
                assert_eq!(states.len(), states_wanted, "{um}");
                assert_eq!(states[0].ended_by_a_move, states_wanted == 2);
                let made: Vec<usize> = states.iter().map(|state| state.marks.len()).collect();
                assert_eq!(made, [&[3][..], &[2, 1]][states_wanted - 1]);
            }
        }
    }
}
