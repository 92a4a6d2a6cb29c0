//! Dial: the indicator itself is checked on gauge blocks.

mod screen;
mod sheet;

use super::used::{counting, value};
use super::{
    Asked, CommonOptions, Next, NoOutcome, Occasion, Refused, Said, Step, StepKind, Subject, Taught,
};
use crate::api::Refusal;
use crate::evidence::{Evidence, Mark, Place};
use crate::place;
use clap::Args;
use metrology::Length;
use metrology::dial::{self, DialOutcome, DialPoint, Direction};
use metrology::setup::Setup;
use serde::{Deserialize, Serialize};

/// The plan of a dial step.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct DialPlan {
    /// The arithmetic's.
    #[serde(flatten)]
    pub dial: dial::DialOptions,
    /// The known steps by rising length, each read going up and then coming down.
    #[serde(rename = "nominals_mm", skip_serializing_if = "Vec::is_empty")]
    pub nominals: Vec<Length>,
}

/// The options of `step dial`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct DialOptions {
    /// Of every kind that reads an indicator.
    #[command(flatten)]
    #[serde(flatten)]
    pub common: CommonOptions,
    /// The known steps, rising: 0,0.5,1; with a kit, steps that it makes
    #[arg(
        long,
        value_name = "LENGTHS",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub nominals: Vec<String>,
    /// Those that `analyse dial` takes too.
    #[command(flatten)]
    #[serde(flatten)]
    pub analysis: DialAnalysis,
}

/// The options of `analyse dial`: what the step computes.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct DialAnalysis {
    /// Make a correction that every later step applies, with its date
    #[arg(long)]
    pub correct: bool,
}

with_common_options!(DialOptions, DialAnalysis, usual: ["nominals", "correct"], limits: []);

impl Step for DialPlan {
    const KIND: StepKind = StepKind::Dial;
    const NAME: &'static str = "dial";
    const SUBJECT: Subject = Subject::Indicator;
    const PURPOSE: &'static str = "check the indicator on gauge blocks";
    const HELP: &'static str = "Check the indicator itself on gauge blocks";
    const EXAMPLES: &'static str = "\
Examples:
  conewright step dial --nominals 0,0.5,1,1.5,2
  conewright step dial --nominals 0,1,2 --correct

Mark each step, going up and then down again: conewright mark";
    const TASK: &'static str = "Check the indicator on gauge blocks, going up and then down.";
    const MARKED: &'static str = "at known steps";
    const HOW_TO_MARK: &'static str =
        "mark each known step, going up and then down: conewright mark 1.5";
    const OCCASIONS: &'static [Occasion] = &[Occasion::Measure];

    type Options = DialOptions;
    type Inputs = Vec<DialPoint>;
    type Outcome = DialOutcome;

    fn first(&self, _setup: &Setup) -> Option<Place> {
        Some(Place::Nominal {
            nominal: *self.nominals.first()?,
            direction: Direction::Up,
        })
    }

    fn next(&self, _setup: &Setup, _counting: &[&Mark], last: &Mark) -> Option<Next> {
        if self.nominals.is_empty() {
            return Some(Next {
                place: None,
                round: last.round,
            });
        }
        Some(Next::at(next_nominal(&self.nominals, last)?, last.round))
    }

    fn named(&self, asked: &Asked<'_>) -> Result<Place, Refusal> {
        let nominal = place::length("known step", asked.text, "1.5")?;
        Ok(Place::Nominal {
            nominal,
            direction: direction(asked.marks, nominal),
        })
    }

    fn instruction(&self, next: &str) -> String {
        format!("bring the indicator to {next}, let it settle, and mark")
    }

    fn place_wanted(&self) -> Refusal {
        place::bad(
            "the step names no known steps, so the mark needs one",
            "name the block under the indicator: `conewright mark 1.5mm`",
        )
    }

    fn inputs(&self, evidence: &Evidence) -> Result<Vec<DialPoint>, NoOutcome> {
        let point = |mark: &Mark| {
            let Place::Nominal { nominal, direction } = &mark.place else {
                return Err(NoOutcome::misplaced(
                    mark,
                    "an indicator is checked at known steps",
                ));
            };
            Ok(DialPoint {
                nominal_mm: nominal.mm(),
                reading_mm: value(evidence, mark)?.value_mm,
                direction: *direction,
            })
        };
        counting(evidence).map(point).collect()
    }

    fn compute(&self, setup: &Setup, points: &Vec<DialPoint>) -> Result<DialOutcome, Refused> {
        dial::outcome(setup, self.dial, points).map_err(Into::into)
    }

    fn said(outcome: &DialOutcome) -> Said<'_> {
        Said {
            verdict: outcome.verdict,
            undecided_because: outcome.undecided_because,
            budget: &outcome.budget,
            remarks: &outcome.remarks,
            ..Said::default()
        }
    }

    fn remarks_mut(outcome: &mut DialOutcome) -> &mut Vec<String> {
        &mut outcome.remarks
    }

    fn teaches(&self, outcome: &DialOutcome) -> Taught {
        Taught {
            check: Some(outcome.check.clone()),
            ..Taught::default()
        }
    }
}

/// Up through all known steps and down again: the highest is come to from below and then from above.
fn next_nominal(nominals: &[Length], last: &Mark) -> Option<Place> {
    let Place::Nominal { nominal, direction } = &last.place else {
        return None;
    };
    let (nominal, direction) = match direction {
        Direction::Up => match nominals.iter().filter(|n| *n > nominal).min() {
            Some(above) => (*above, Direction::Up),
            None => (*nominals.iter().max()?, Direction::Down),
        },
        Direction::Down => {
            let below = nominals.iter().filter(|n| *n < nominal).max()?;
            (*below, Direction::Down)
        }
    };
    Some(Place::Nominal { nominal, direction })
}

/// Which way a step is come to: as the way from the last one goes, and the first upward.
fn direction(marks: &[&Mark], nominal: Length) -> Direction {
    let counting = marks.iter().rev().filter(|mark| !mark.taken_back);
    let mut nominals = counting.filter_map(|mark| match &mark.place {
        Place::Nominal { nominal, direction } => Some((*nominal, *direction)),
        _ => None,
    });
    match nominals.next() {
        None => Direction::Up,
        Some((last, _)) if nominal > last => Direction::Up,
        Some((last, _)) if nominal < last => Direction::Down,
        Some((_, direction)) => direction,
    }
}

#[cfg(test)]
mod tests {
    use crate::evidence::{Mark, MarkSource, Place, Time};
    use crate::plan::Plan;
    use crate::step::StepKind;
    use crate::step::naming::{named, next};
    use metrology::dial::Direction;
    use metrology::setup::Setup;

    #[test]
    fn a_known_step_above_the_last_is_come_to_upward() {
        let plan = Plan::usual(StepKind::Dial);
        let mut marks: Vec<Mark> = Vec::new();
        let mut ways = String::new();
        for (number, text) in ["1", "2", "2", "1.5", "1.5", "1.6"].iter().enumerate() {
            let place = named(&plan, &Setup::default(), &marks, &next(None), text).unwrap();
            ways.push(match place {
                Place::Nominal {
                    direction: Direction::Up,
                    ..
                } => 'u',
                _ => 'd',
            });
            marks.push(Mark {
                number: number as u32 + 1,
                t: Time(0),
                place,
                round: 1,
                clamped: false,
                setting: 0,
                source: MarkSource::Judged,
                taken_back: false,
            });
        }
        assert_eq!(ways, "uuuddu");
        // What was taken back says nothing about the way.
        marks.last_mut().unwrap().taken_back = true;
        let again = named(&plan, &Setup::default(), &marks, &next(None), "1.5").unwrap();
        assert_eq!(again.to_string(), "1.5 mm down");
    }
}
