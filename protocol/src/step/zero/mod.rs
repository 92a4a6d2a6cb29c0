//! Zero: the reference edge is made to lie along the travel, or the part's axis level.

mod screen;
mod sheet;

use super::form::Words;
use super::used::{counting, round_of, value};
use super::{
    Asked, CommonOptions, Next, NoOutcome, Occasion, Refused, Said, Step, StepKind, Subject, Taught,
};
use crate::api::Refusal;
use crate::evidence::{Evidence, Mark, MarkSource, Place};
use crate::place;
use clap::Args;
use metrology::setup::{LearnedPivot, Setup};
use metrology::zero::level::{self, LevelOptions};
use metrology::zero::{self, Moved, ZeroMark, ZeroOutcome};
use serde::{Deserialize, Serialize};

/// What a zero step makes right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum About {
    /// The half angle: the reference edge along the travel.
    #[default]
    Angle,
    /// The part's axis level, and at the height of the wheel's centre.
    Level,
}

/// The plan of a zero step.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ZeroPlan {
    /// What it makes right.
    pub about: About,
    /// What its worth is computed from when it is about level.
    pub level: LevelOptions,
}

/// The options of `step zero`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct ZeroOptions {
    /// Of every kind that reads an indicator.
    #[command(flatten)]
    #[serde(flatten)]
    pub common: CommonOptions,
    /// Those that `analyse zero` takes too.
    #[command(flatten)]
    #[serde(flatten)]
    pub analysis: ZeroAnalysis,
}

/// The options of `analyse zero`: what the step computes.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct ZeroAnalysis {
    /// What the step sets right: `angle`, or `level` (over the top: the axis level and at the wheel's centre)
    #[arg(long, value_name = "PURPOSE", hide_possible_values = true, value_parser = Words(&["angle", "level"]))]
    pub about: Option<String>,
    /// About level: the wheel's diameter
    #[arg(long = "wheel", value_name = "DIAMETER", allow_hyphen_values = true)]
    pub wheel_diameter: Option<String>,
    /// About level: the part's diameter where it is ground; the taper's gauge diameter unless stated
    #[arg(long = "part", value_name = "DIAMETER", allow_hyphen_values = true)]
    pub part_diameter: Option<String>,
    /// About level: how far the axis lies above the wheel's centre at A; 0 unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub height: Option<String>,
}

with_common_options!(ZeroOptions, ZeroAnalysis, usual: ["about"], limits: []);

impl Step for ZeroPlan {
    const KIND: StepKind = StepKind::Zero;
    const NAME: &'static str = "zero";
    const SUBJECT: Subject = Subject::Setup;
    const PURPOSE: &'static str = "tap until both ends read the same";
    const HELP: &'static str = "Make the reference edge lie along the travel, or the axis level";
    const EXAMPLES: &'static str = "\
Examples:
  conewright step zero
  conewright step zero --about level --wheel 250 --part 40 --height 0.5

Mark the stations of each round: conewright mark, conewright mark A, conewright mark 42.5";
    const TASK: &'static str = "Mark A, B and A again, tap as advised, tighten the clamp and mark once more, until the half angle is in tolerance.";
    const MARKED: &'static str = "at stations";
    const HOW_TO_MARK: &'static str = place::UNPLANNED_STATION;
    const INPUTS_TELL_RESOLUTION: bool = true;
    const OCCASIONS: &'static [Occasion] = &[Occasion::Zero, Occasion::Measure];

    type Options = ZeroOptions;
    type Inputs = Vec<ZeroMark>;
    type Outcome = ZeroOutcome;

    fn qualifier(&self) -> &'static str {
        match self.about {
            About::Angle => "",
            About::Level => " about level",
        }
    }

    fn first(&self, setup: &Setup) -> Option<Place> {
        of_pass(setup, 0)
    }

    fn next(&self, setup: &Setup, counting: &[&Mark], last: &Mark) -> Option<Next> {
        let place = left_of_pass(setup, &round_of(last, counting))?;
        Some(Next::at(place, last.round))
    }

    fn named(&self, asked: &Asked<'_>) -> Result<Place, Refusal> {
        place::station(asked.setup, asked.text).map(Place::Station)
    }

    fn instruction(&self, next: &str) -> String {
        place::stand_at(next)
    }

    fn place_wanted(&self) -> Refusal {
        place::station_wanted()
    }

    /// The marks that count: their values from their readings, times from the first mark.
    fn inputs(&self, evidence: &Evidence) -> Result<Vec<ZeroMark>, NoOutcome> {
        let counting: Vec<&Mark> = counting(evidence).collect();
        // Marks are made one after the other, so marks that are all of one time are of a table without times. And the time at
        // which a reading was typed is not the time at which it was read.
        let typed = |mark: &&Mark| matches!(mark.source, MarkSource::Typed { .. });
        let timed =
            !counting.iter().any(typed) && counting.windows(2).any(|pair| pair[0].t != pair[1].t);
        let start = counting.first().map(|mark| mark.t).filter(|_| timed);
        let zero_mark = |mark: &&Mark| -> Result<ZeroMark, NoOutcome> {
            let value = value(evidence, mark)?;
            let station = mark
                .station()
                .ok_or_else(|| NoOutcome::misplaced(mark, "a zero step needs a station"))?;
            Ok(ZeroMark {
                round: mark.round,
                station: station.name.clone(),
                position_mm: station.position.mm(),
                value_mm: value.value_mm,
                sd_mm: value.sd_um.map(|sd| sd * 1e-3),
                readings: value.readings,
                resolution: value.resolution,
                time_s: start.map(|start| mark.t.since_s(start)),
                clamped: mark.clamped,
                setting: mark.setting,
            })
        };
        counting.iter().map(zero_mark).collect()
    }

    fn compute(&self, setup: &Setup, marks: &Vec<ZeroMark>) -> Result<ZeroOutcome, Refused> {
        match self.about {
            About::Angle => zero::outcome(setup, marks),
            About::Level => level::outcome(setup, &self.level, marks),
        }
        .map_err(Into::into)
    }

    fn moved(&self, setup: &Setup, evidence: &Evidence) -> Option<Moved> {
        zero::opens_a_round(setup, &self.inputs(evidence).ok()?)
    }

    fn said(outcome: &ZeroOutcome) -> Said<'_> {
        Said {
            verdict: outcome.verdict,
            undecided_because: outcome.undecided_because,
            budget: &outcome.budget,
            corrections: &outcome.corrections,
            remarks: &outcome.remarks,
            disagrees_from_round: None,
        }
    }

    fn remarks_mut(outcome: &mut ZeroOutcome) -> &mut Vec<String> {
        &mut outcome.remarks
    }

    fn half_angle_found(outcome: &ZeroOutcome) -> Option<[f64; 2]> {
        Some([
            outcome.half_angle_error_arcsec?,
            outcome.half_angle_expanded_arcsec?,
        ])
    }

    fn teaches(&self, outcome: &ZeroOutcome) -> Taught {
        // Made level the part turns about another place than it does in the plane of the table.
        if self.about == About::Level {
            return Taught::default();
        }
        let of_rounds = |pivot: &&zero::Pivot| !pivot.from_rounds.is_empty();
        let pivot = outcome.pivot.as_ref().filter(of_rounds).and_then(|pivot| {
            Some(LearnedPivot {
                position_mm: pivot.position_mm,
                u_mm: pivot.u_mm?,
            })
        });
        let clamp_shifts = outcome.clamp_shift.as_ref().map(|shift| shift.seen.clone());
        Taught {
            half_angle_arcsec: Self::half_angle_found(outcome),
            pivot,
            clamp_shifts: clamp_shifts.unwrap_or_default(),
            check: None,
        }
    }
}

/// The station that comes next in a round of which these are marked, in whatever order; none when nothing is left of it.
///
/// Each mark strikes off the next of its station in the pass; one at another place strikes off nothing. It goes on behind the
/// last that was struck off. What lies before it is gone back to only where its station has no mark yet: a round that was
/// begun in the middle of its pass is closed at its end.
fn left_of_pass(setup: &Setup, round: &[&Mark]) -> Option<Place> {
    let mut left: Vec<bool> = vec![true; setup.pass.len()];
    let mut behind = 0;
    let marked = |name: &str| {
        let mut stations = round.iter().filter_map(|mark| mark.station());
        stations.any(|station| station.name == name)
    };
    for station in round.iter().filter_map(|mark| mark.station()) {
        let order = (behind..left.len()).chain(0..behind);
        let mut struck = order.filter(|i| left[*i] && setup.pass[*i] == station.name);
        if let Some(index) = struck.next() {
            left[index] = false;
            behind = index + 1;
        }
    }
    let next = (behind..left.len())
        .find(|i| left[*i])
        .or_else(|| (0..behind).find(|i| left[*i] && !marked(&setup.pass[*i])))?;
    of_pass(setup, next)
}

fn of_pass(setup: &Setup, index: usize) -> Option<Place> {
    let name = setup.pass.get(index)?;
    let mut stations = setup.stations.iter();
    let station = stations.find(|station| station.name == *name)?;
    Some(Place::Station(station.clone()))
}

#[cfg(test)]
mod tests {
    use crate::plan::Plan;
    use crate::step::StepKind;
    use crate::step::naming::{named, next};
    use metrology::Length;
    use metrology::setup::{Setup, Station};

    #[test]
    fn a_station_is_not_farther_outside_than_the_span() {
        let at = |name: &str, um| Station {
            name: name.into(),
            position: Length::from_um(um),
        };
        let spanned = Setup {
            stations: vec![at("A", 0), at("B", 100_000)],
            ..Setup::default()
        };
        let plan = Plan::usual(StepKind::Zero);
        let read = |setup: &Setup, text: &str| named(&plan, setup, &[], &next(None), text);
        for text in ["-100", "200", "50", "B"] {
            assert!(read(&spanned, text).is_ok(), "{text}");
        }
        for (setup, text, limit) in [
            (&spanned, "99999", "200 mm"),
            (&spanned, "200.001", "200 mm"),
            (&spanned, "-100.001", "-100 mm"),
            (&Setup::default(), "20001", "20000 mm"),
        ] {
            let refusal = read(setup, text).unwrap_err();
            let said = &refusal.message;
            assert!(
                said.contains(&format!("{text} mm")) && said.contains(limit),
                "{said}"
            );
            assert!(refusal.hint.unwrap().contains("--span"));
        }
        assert!(read(&Setup::default(), "20000").is_ok());
    }
}
