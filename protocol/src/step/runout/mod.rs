//! Run-out: readings round a turn.

mod options;
mod screen;
mod sheet;

pub use options::{RunoutAnalysis, RunoutOptions};

use super::stretches::{cable, stretches, timed_readings, until_its_end};
use super::used::{counting, round_of, value};
use super::{Asked, Next, NoOutcome, Occasion, Recorded, Refused, Said, Step, StepKind};
use crate::api::Refusal;
use crate::evidence::{Evidence, Mark, Place};
use crate::place;
use metrology::runout::{self, Readings, RunoutOutcome, RunoutPoint, TimedReading};
use metrology::setup::Setup;
use metrology::{Angle, Length};
use serde::{Deserialize, Serialize};

/// Where the angles of a run-out come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AnglesFrom {
    /// The user stops at positions of the clock and marks each.
    #[default]
    Clock,
    /// The part turns, and the user marks each time that a line on it comes by.
    Turns,
    /// The part turns at a steady speed between two marks; the period is found from the readings.
    Steady,
}

/// The plan of a run-out step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RunoutPlan {
    /// The arithmetic's.
    #[serde(flatten)]
    pub runout: runout::RunoutOptions,
    /// Where the angles come from.
    pub angles: AnglesFrom,
    /// Positions of the clock in one turn.
    pub per_turn: u32,
    /// The planes across the axis, in the order in which they are read; empty for one without a name.
    #[serde(rename = "planes_mm", skip_serializing_if = "Vec::is_empty")]
    pub planes: Vec<Length>,
    /// Round 1 is as chucked; round 2 with the part turned half a turn and the indicator moved across.
    pub reversal: bool,
}

impl Default for RunoutPlan {
    fn default() -> Self {
        Self {
            runout: runout::RunoutOptions::default(),
            angles: AnglesFrom::Clock,
            per_turn: 12,
            planes: Vec::new(),
            reversal: false,
        }
    }
}

/// What a run-out's arithmetic takes: readings round a turn.
#[derive(Debug, Clone, PartialEq)]
pub struct RunoutInputs {
    /// As chucked.
    pub first: Turning,
    /// With the part turned half a turn and the indicator moved across, at the same angles of the part.
    pub turned: Option<Vec<RunoutPoint>>,
}

/// Readings round a turn, and how they know their angle.
#[derive(Debug, Clone, PartialEq)]
pub enum Turning {
    /// Each has its own.
    Angles(Vec<RunoutPoint>),
    /// It runs evenly from mark to mark.
    TurnMarks {
        /// The readings.
        readings: Vec<TimedReading>,
        /// The marks' times, s.
        marks_s: Vec<f64>,
    },
    /// It is found from the readings.
    Steady(Vec<TimedReading>),
}

impl Turning {
    /// As the arithmetic takes them.
    #[must_use]
    pub fn readings(&self) -> Readings<'_> {
        match self {
            Self::Angles(points) => Readings::Angles(points),
            Self::TurnMarks { readings, marks_s } => Readings::TurnMarks { readings, marks_s },
            Self::Steady(readings) => Readings::Steady(readings),
        }
    }
}

impl Step for RunoutPlan {
    const KIND: StepKind = StepKind::Runout;
    const NAME: &'static str = "runout";
    const WORD: &'static str = "run-out";
    const PURPOSE: &'static str = "how it runs, and its high spot";
    const HELP: &'static str =
        "Read round a turn: run-out, eccentricity and high spot, roundness, the axis";
    const EXAMPLES: &'static str = "\
Examples:
  conewright step runout                       twelve positions of the clock
  conewright step runout --planes 5,45 --limit 2um
  conewright step runout --angles turns        mark each time that a line on the part comes by
  conewright step runout --angles steady --filter 50
  conewright step runout --reversal            part and spindle apart, in two set-ups

By the clock: conewright mark 4h, conewright mark 120deg. Turn the part by hand, with the wheel stopped.";
    const TASK: &'static str =
        "Turn the part by hand and mark round a turn: run-out, high spot, where to true it.";
    const MARKED: &'static str = "by its turns";
    const HOW_TO_MARK: &'static str = "mark hours of the clock or angles: conewright mark 4h";
    const OCCASIONS: &'static [Occasion] = &[Occasion::RunOut, Occasion::Measure];

    type Options = RunoutOptions;
    type Inputs = RunoutInputs;
    type Outcome = RunoutOutcome;

    fn recorded(&self) -> Option<Recorded<'_>> {
        (self.angles != AnglesFrom::Clock).then_some(Recorded::Turn)
    }

    fn takes_angles(&self) -> bool {
        self.angles == AnglesFrom::Clock
    }

    fn first(&self, _setup: &Setup) -> Option<Place> {
        let plane = self.planes.first().copied();
        Some(match self.angles {
            AnglesFrom::Clock => Place::Angle {
                angle: Angle::ZERO,
                plane,
            },
            AnglesFrom::Turns => Place::Turn { plane },
            AnglesFrom::Steady => Place::Begin {
                station: None,
                plane,
            },
        })
    }

    fn next(&self, _setup: &Setup, counting: &[&Mark], last: &Mark) -> Option<Next> {
        if self.angles == AnglesFrom::Clock {
            return Some(next_angle(self, last, &round_of(last, counting)));
        }
        match &last.place {
            Place::Turn { plane } => Some(Next::at(Place::Turn { plane: *plane }, last.round)),
            Place::Begin { .. } => Some(Next::at(Place::End { station: None }, last.round)),
            Place::End { .. } => Some(Next::at(self.next_plane(counting)?, last.round + 1)),
            _ => None,
        }
    }

    fn named(&self, asked: &Asked<'_>) -> Result<Place, Refusal> {
        match self.angles {
            AnglesFrom::Clock => {
                let plane = match asked.next {
                    Some(Place::Angle { plane, .. }) => *plane,
                    _ => self.planes.first().copied(),
                };
                let angle = place::angle(asked.text)?;
                Ok(Place::Angle { angle, plane })
            }
            AnglesFrom::Turns => place::word(asked.next, asked.text),
            AnglesFrom::Steady => match (place::word(asked.next, asked.text), asked.next) {
                (Err(_), Some(Place::Begin { .. })) => Ok(Place::Begin {
                    station: None,
                    plane: Some(place::length("plane", asked.text, "5")?),
                }),
                (said, _) => said,
            },
        }
    }

    fn instruction(&self, next: &str) -> String {
        match self.angles {
            AnglesFrom::Clock => format!("turn the part to {next}, let it settle, and mark"),
            AnglesFrom::Turns => {
                format!("{next}: mark each time that the line on the part comes by")
            }
            AnglesFrom::Steady => until_its_end(next),
        }
    }

    fn place_wanted(&self) -> Refusal {
        place::bad(
            "the mark needs an angle",
            "name it: `conewright mark 120deg`, or `conewright mark 4h` by the clock",
        )
    }

    fn inputs(&self, evidence: &Evidence) -> Result<RunoutInputs, NoOutcome> {
        match self.angles {
            AnglesFrom::Clock => clock(evidence, self.reversal),
            AnglesFrom::Turns => turns(evidence),
            AnglesFrom::Steady => steady(evidence),
        }
    }

    fn compute(&self, setup: &Setup, inputs: &RunoutInputs) -> Result<RunoutOutcome, Refused> {
        let mut found = runout::outcome(setup, &self.runout, inputs.first.readings())?;
        if let (Turning::Angles(first), Some(turned)) = (&inputs.first, &inputs.turned) {
            let parted = runout::reversal(setup, &self.runout, first, turned)?;
            found.reversal = Some(Box::new(parted));
        }
        Ok(found)
    }

    fn said(outcome: &RunoutOutcome) -> Said<'_> {
        Said {
            verdict: outcome.section.verdict,
            undecided_because: outcome.section.undecided_because,
            budget: &outcome.section.budget,
            corrections: &outcome.corrections,
            remarks: &outcome.remarks,
            disagrees_from_round: None,
        }
    }

    fn remarks_mut(outcome: &mut RunoutOutcome) -> &mut Vec<String> {
        &mut outcome.remarks
    }
}

impl RunoutPlan {
    /// The beginning in the plane after that of the last one, where a turning part is read in several.
    fn next_plane(&self, counting: &[&Mark]) -> Option<Place> {
        let last = counting.iter().rev().find_map(|mark| match &mark.place {
            Place::Begin { plane, .. } => Some(*plane),
            _ => None,
        })??;
        Some(Place::Begin {
            station: None,
            plane: Some(place::after(&self.planes, last)?),
        })
    }
}

/// Angles closer than this, degrees, are one position of the clock.
const ONE_ANGLE_DEG: f64 = 1e-6;

/// A turn goes on from wherever the user began it, and is whole when it comes to a position that is marked already.
fn next_angle(options: &RunoutPlan, last: &Mark, round: &[&Mark]) -> Next {
    let Place::Angle { angle, plane } = &last.place else {
        return Next {
            place: None,
            round: last.round,
        };
    };
    let further = angle.deg() + 360.0 / f64::from(options.per_turn.max(1));
    let deg = (further.rem_euclid(360.0) * 1e9).round() * 1e-9;
    // Twelve steps of 30° must come to 0° and not to a hair below 360°.
    let deg = if deg > 360.0 - ONE_ANGLE_DEG {
        0.0
    } else {
        deg
    };
    let is_marked = round.iter().any(|mark| match &mark.place {
        Place::Angle { angle, plane: own } if own == plane => {
            let apart = (angle.deg() - deg).rem_euclid(360.0);
            apart.min(360.0 - apart) < ONE_ANGLE_DEG
        }
        _ => false,
    });
    let angle = Angle::from_deg(deg);
    let at = |plane, round| Next {
        place: Some(Place::Angle { angle, plane }),
        round,
    };
    if !is_marked {
        return at(*plane, last.round);
    }
    match plane.and_then(|plane| place::after(&options.planes, plane)) {
        Some(plane) => at(Some(plane), last.round),
        None => at(options.planes.first().copied(), last.round + 1),
    }
}

fn clock(evidence: &Evidence, reversal: bool) -> Result<RunoutInputs, NoOutcome> {
    let point = |mark: &Mark| {
        let Place::Angle { angle, plane } = &mark.place else {
            return Err(NoOutcome::misplaced(
                mark,
                "a run-out by the clock needs an angle",
            ));
        };
        Ok(RunoutPoint {
            angle_deg: angle.deg(),
            reading_mm: value(evidence, mark)?.value_mm,
            plane_mm: plane.map(Length::mm),
        })
    };
    let of = |rounds: &dyn Fn(u32) -> bool| {
        counting(evidence)
            .filter(|mark| rounds(mark.round))
            .map(point)
            .collect::<Result<Vec<_>, NoOutcome>>()
    };
    if !reversal {
        return Ok(RunoutInputs {
            first: Turning::Angles(of(&|_| true)?),
            turned: None,
        });
    }
    // A part that was ground is measured anew, and its rounds go on counting.
    let first = counting(evidence).map(|mark| mark.round).min();
    let turned = of(&|round| Some(round) > first)?;
    Ok(RunoutInputs {
        first: Turning::Angles(of(&|round| Some(round) == first)?),
        // Half a set-up tells nothing yet; the first stands alone until the second is whole.
        turned: (!turned.is_empty()).then_some(turned),
    })
}

fn turns(evidence: &Evidence) -> Result<RunoutInputs, NoOutcome> {
    let marks: Vec<&Mark> = counting(evidence).collect();
    let (Some(first), Some(last)) = (marks.first(), marks.last()) else {
        return Err(NoOutcome::NoTurn);
    };
    let mut readings = Vec::new();
    let mut marks_s = Vec::with_capacity(marks.len());
    for mark in &marks {
        if !matches!(mark.place, Place::Turn { .. }) {
            return Err(NoOutcome::misplaced(
                mark,
                "a run-out by turns is marked once a turn",
            ));
        }
        marks_s.push(mark.t.since_s(first.t));
    }
    let plane = match &first.place {
        Place::Turn { plane } => *plane,
        _ => None,
    };
    readings.extend(timed_readings(
        evidence,
        cable(first)?,
        (first.t, last.t),
        first.t,
        plane,
    ));
    Ok(RunoutInputs {
        first: Turning::TurnMarks { readings, marks_s },
        turned: None,
    })
}

fn steady(evidence: &Evidence) -> Result<RunoutInputs, NoOutcome> {
    let mut readings = Vec::new();
    let stretches = stretches(evidence)?;
    let Some(origin) = stretches.first().map(|stretch| stretch.begin.t) else {
        return Err(NoOutcome::NothingRecorded);
    };
    for stretch in stretches {
        let plane = match &stretch.begin.place {
            Place::Begin { plane, .. } => *plane,
            _ => None,
        };
        readings.extend(timed_readings(
            evidence,
            cable(stretch.begin)?,
            (stretch.begin.t, stretch.end.t),
            origin,
            plane,
        ));
    }
    Ok(RunoutInputs {
        first: Turning::Steady(readings),
        turned: None,
    })
}

#[cfg(test)]
mod tests;
