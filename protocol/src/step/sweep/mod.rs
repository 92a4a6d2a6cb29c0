//! Sweep: the line of a cone or an edge, and how straight it is.

mod screen;
mod sheet;

use super::form::Words;
use super::stretches::{cable, stretches, until_its_end};
use super::used::{counting, value};
use super::{
    Asked, CommonOptions, ConeFound, Next, NoOutcome, Occasion, Recorded, Refused, Said, Step,
    StepKind,
};
use crate::api::Refusal;
use crate::evidence::{Evidence, Mark, Place};
use crate::{gaps, place};
use clap::Args;
use metrology::Angle;
use metrology::setup::{Setup, Station};
use metrology::sweep::{
    self, PositionsFrom, SweepOutcome, SweepPoint, Timed, by_cable, by_steady_feed,
};
use serde::{Deserialize, Serialize};

/// The plan of a sweep.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct SweepPlan {
    /// The arithmetic's.
    #[serde(flatten)]
    pub sweep: sweep::SweepOptions,
    /// The cable that reports the table's position, when the positions come from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub position_cable: Option<String>,
}

/// What a sweep's arithmetic takes: readings along the travel.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepInputs {
    /// Each at its place.
    pub points: Vec<SweepPoint>,
    /// How many readings had no place.
    pub unplaced: usize,
}

/// The options of `step sweep`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct SweepOptions {
    /// Of every kind that reads an indicator.
    #[command(flatten)]
    #[serde(flatten)]
    pub common: CommonOptions,
    /// Where positions come from: `stations`, `cable` or `feed`
    #[arg(long, value_name = "FROM", hide_possible_values = true, value_parser = Words(&["stations", "cable", "feed"]))]
    pub positions: Option<String>,
    /// The cable that reports the table's position; the configured one unless stated
    #[arg(long, value_name = "NAME")]
    pub position_cable: Option<String>,
    /// Those that `analyse sweep` takes too.
    #[command(flatten)]
    #[serde(flatten)]
    pub analysis: SweepAnalysis,
}

/// The options of `analyse sweep`: what the step computes.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct SweepAnalysis {
    /// Cut-off of a Gaussian profile filter for straightness and bow, a length; no filter unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub filter: Option<String>,
    /// Leave flagged outliers out; they are only counted unless asked for
    #[arg(long)]
    pub reject_outliers: bool,
    /// What the slope judges: `setup` (what is swept is right) or `part` (the set-up is right)
    #[arg(long, value_name = "SUBJECT", hide_possible_values = true, value_parser = Words(&["setup", "part"]))]
    pub subject: Option<String>,
}

with_common_options!(SweepOptions, SweepAnalysis, usual: ["positions", "subject", "condition"], limits: []);

impl Step for SweepPlan {
    const KIND: StepKind = StepKind::Sweep;
    const NAME: &'static str = "sweep";
    const PURPOSE: &'static str = "how straight it is, and its slope";
    const HELP: &'static str = "Sweep a cone or an edge: its line, and how straight it is";
    const EXAMPLES: &'static str = "\
Examples:
  conewright step sweep                        station by station
  conewright step sweep --positions cable      a second cable reports the table's position
  conewright step sweep --positions feed       a steady feed from A to B, marked at both ends
  conewright step sweep --subject part --filter 0.8 --as left

By cable or by feed, the first mark begins the recording and the second ends it.";
    const TASK: &'static str = "Sweep the cone from end to end: half angle, straightness and bow.";
    const MARKED: &'static str = "at stations";
    const HOW_TO_MARK: &'static str = place::UNPLANNED_STATION;
    const OCCASIONS: &'static [Occasion] = &[Occasion::Measure];

    type Options = SweepOptions;
    type Inputs = SweepInputs;
    type Outcome = SweepOutcome;

    fn recorded(&self) -> Option<Recorded<'_>> {
        let position_cable = self.position_cable.as_deref();
        (self.sweep.positions != PositionsFrom::Stations)
            .then_some(Recorded::Travel { position_cable })
    }

    fn first(&self, setup: &Setup) -> Option<Place> {
        match self.sweep.positions {
            PositionsFrom::Stations => along(setup).into_iter().next().map(Place::Station),
            PositionsFrom::Cable => Some(begin(None)),
            PositionsFrom::Feed => ends(setup).map(|[a, _]| begin(Some(a))),
        }
    }

    fn next(&self, setup: &Setup, _counting: &[&Mark], last: &Mark) -> Option<Next> {
        if self.sweep.positions == PositionsFrom::Stations {
            return Some(Next::at(next_station(setup, last)?, last.round));
        }
        let feeds = self.sweep.positions == PositionsFrom::Feed;
        match &last.place {
            Place::Begin { station, .. } => {
                let end = |station| Some(Place::End { station });
                let place = match (feeds, ends(setup)) {
                    (false, _) => end(None),
                    (true, Some([a, b])) => {
                        let at_b = station.as_ref().is_some_and(|s| s.position == b.position);
                        end(Some(if at_b { a } else { b }))
                    }
                    (true, None) => None,
                };
                Some(Next {
                    place,
                    round: last.round,
                })
            }
            // The table stands where the feed ended, and goes back.
            Place::End { station } if feeds => {
                Some(Next::at(begin(station.clone()), last.round + 1))
            }
            _ => None,
        }
    }

    fn named(&self, asked: &Asked<'_>) -> Result<Place, Refusal> {
        match self.sweep.positions {
            PositionsFrom::Stations => place::station(asked.setup, asked.text).map(Place::Station),
            PositionsFrom::Cable => place::word(asked.next, asked.text),
            PositionsFrom::Feed => {
                let station = Some(place::station(asked.setup, asked.text)?);
                Ok(match asked.next {
                    Some(Place::End { .. }) => Place::End { station },
                    _ => begin(station),
                })
            }
        }
    }

    fn instruction(&self, next: &str) -> String {
        match self.recorded() {
            Some(_) => until_its_end(next),
            None => place::stand_at(next),
        }
    }

    fn place_wanted(&self) -> Refusal {
        place::station_wanted()
    }

    fn inputs(&self, evidence: &Evidence) -> Result<SweepInputs, NoOutcome> {
        match self.sweep.positions {
            PositionsFrom::Stations => stations(evidence),
            PositionsFrom::Cable => {
                let position = self
                    .position_cable
                    .as_deref()
                    .ok_or(NoOutcome::NoPositionCable)?;
                swept_by_cable(evidence, position)
            }
            PositionsFrom::Feed => swept_by_feed(evidence),
        }
    }

    fn compute(&self, setup: &Setup, inputs: &SweepInputs) -> Result<SweepOutcome, Refused> {
        let mut found = sweep::outcome(setup, &self.sweep, &inputs.points)?;
        if inputs.unplaced > 0 {
            found.remarks.push(format!(
                "{} readings were taken where the table's position is not known, and are not counted",
                inputs.unplaced
            ));
        }
        Ok(found)
    }

    fn said(outcome: &SweepOutcome) -> Said<'_> {
        Said {
            verdict: outcome.verdict,
            undecided_because: outcome.undecided_because,
            budget: &outcome.budget,
            corrections: &outcome.corrections,
            remarks: &outcome.remarks,
            disagrees_from_round: None,
        }
    }

    fn remarks_mut(outcome: &mut SweepOutcome) -> &mut Vec<String> {
        &mut outcome.remarks
    }

    /// A sweep of the part in a set-up that is right; that of the edge is of the set-up.
    fn cone_found(&self, setup: &Setup, outcome: &SweepOutcome) -> Option<ConeFound> {
        if self.sweep.subject != sweep::Subject::Part {
            return None;
        }
        let error = Angle::from_arcsec(outcome.half_angle_error_arcsec?);
        let expanded = outcome.half_angle_expanded_arcsec.map(Angle::from_arcsec);
        Some(ConeFound {
            half_angle: Some((setup.taper.as_ref()?.half_angle + error, expanded)),
            ..ConeFound::default()
        })
    }

    fn half_angle_found(outcome: &SweepOutcome) -> Option<[f64; 2]> {
        Some([
            outcome.half_angle_error_arcsec?,
            outcome.half_angle_expanded_arcsec?,
        ])
    }
}

const fn begin(station: Option<Station>) -> Place {
    Place::Begin {
        station,
        plane: None,
    }
}

/// The stations in the order of their places.
fn along(setup: &Setup) -> Vec<Station> {
    let mut stations = setup.stations.clone();
    stations.sort_by_key(|station| station.position);
    stations
}

/// The outermost stations, when there are two.
fn ends(setup: &Setup) -> Option<[Station; 2]> {
    let stations = along(setup);
    match (stations.first(), stations.last()) {
        (Some(a), Some(b)) if a.position != b.position => Some([a.clone(), b.clone()]),
        _ => None,
    }
}

/// The station after the place of the last mark; none beyond the last station.
fn next_station(setup: &Setup, last: &Mark) -> Option<Place> {
    let from = last.station()?.position;
    let mut after = along(setup).into_iter();
    after
        .find(|station| station.position > from)
        .map(Place::Station)
}

fn stations(evidence: &Evidence) -> Result<SweepInputs, NoOutcome> {
    let point = |mark: &Mark| {
        let station = mark
            .station()
            .ok_or_else(|| NoOutcome::misplaced(mark, "a sweep by stations needs a station"))?;
        Ok(SweepPoint {
            position_mm: station.position.mm(),
            reading_mm: value(evidence, mark)?.value_mm,
        })
    };
    let points = counting(evidence)
        .map(point)
        .collect::<Result<Vec<_>, NoOutcome>>()?;
    Ok(SweepInputs {
        points,
        unplaced: 0,
    })
}

fn swept_by_cable(evidence: &Evidence, position: &str) -> Result<SweepInputs, NoOutcome> {
    let (mut points, mut unplaced) = (Vec::new(), 0);
    for stretch in stretches(evidence)? {
        let positions = stretch.timed(evidence, position);
        let readings = stretch.timed(evidence, cable(stretch.begin)?);
        let mut placed = 0;
        for (positions, readings) in unbroken(&positions, &readings) {
            let part = by_cable(positions, readings).map_err(Refused::from)?;
            placed += part.points.len();
            points.extend(part.points);
        }
        if placed == 0 {
            // Nothing has a place: the arithmetic says what is missing.
            by_cable(&[], &readings).map_err(Refused::from)?;
        }
        unplaced += readings.len() - placed;
    }
    Ok(SweepInputs { points, unplaced })
}

/// The positions between gaps, each with the readings of its time, where there are any. Over a gap the table may have
/// gone anywhere, so nothing is placed there.
fn unbroken<'a>(positions: &'a [Timed], readings: &'a [Timed]) -> Vec<(&'a [Timed], &'a [Timed])> {
    let limit = gaps::limit_s(positions.iter().map(|p| p.time_s));
    let parts = positions.chunk_by(|a, b| b.time_s - a.time_s <= limit);
    parts
        .filter_map(|part| {
            let (from, to) = (part.first()?.time_s, part.last()?.time_s);
            let first = readings.partition_point(|r| r.time_s < from);
            let end = readings.partition_point(|r| r.time_s <= to);
            let within = readings.get(first..end)?;
            (!within.is_empty()).then_some((part, within))
        })
        .collect()
}

fn swept_by_feed(evidence: &Evidence) -> Result<SweepInputs, NoOutcome> {
    let at = |mark: &Mark| match &mark.place {
        Place::Begin {
            station: Some(station),
            ..
        }
        | Place::End {
            station: Some(station),
            ..
        } => Ok(station.position.mm()),
        _ => Err(NoOutcome::misplaced(
            mark,
            "a sweep at a steady feed needs to know where it begins and ends",
        )),
    };
    let (mut points, mut unplaced) = (Vec::new(), 0);
    for stretch in stretches(evidence)? {
        let ends = [
            Timed {
                time_s: 0.0,
                value_mm: at(stretch.begin)?,
            },
            Timed {
                time_s: stretch.end.t.since_s(stretch.begin.t),
                value_mm: at(stretch.end)?,
            },
        ];
        let readings = stretch.timed(evidence, cable(stretch.begin)?);
        let placed = by_steady_feed(ends, &readings).map_err(Refused::from)?;
        points.extend(placed.points);
        unplaced += placed.unplaced;
    }
    Ok(SweepInputs { points, unplaced })
}
