//! What the states of every step have in common.

use crate::watch::state::Watch;
use crate::watch::view::golden::{NOW_S, cable, mm, setup};
use metrology::setup::{BigEnd, IndicatorSide, Sense, Setup, Station};
use protocol::api::{
    CableState, Live, LiveReading, MarkLine, SessionLabel, SoFar, Status, StepLabel,
};
use protocol::evidence::{MarkValue, Place, Time};
use protocol::plan::{Plan, Work};
use protocol::step::Step;

pub(super) fn opened(work: impl Into<Work>) -> Status {
    let plan = Plan::of(work.into());
    Status {
        session: Some(SessionLabel {
            id: 3,
            name: "spindle seat".to_owned(),
        }),
        step: Some(StepLabel {
            kind: plan.kind(),
            number: 2,
        }),
        plan: Some(plan),
        cables: vec![cable(CableState::Live, "0.0125", 0.03)],
        indicator: Some("bench".to_owned()),
        setup: Some(set_up()),
        next_round: Some(1),
        ..Status::default()
    }
}

pub(super) fn set_up() -> Setup {
    Setup {
        sense: Some(Sense {
            big_end: BigEnd::A,
            indicator: IndicatorSide::Wheel,
        }),
        ..setup()
    }
}

/// What the inputs come to in a step with these options.
pub(super) fn with<S: Step>(mut status: Status, step: &S, inputs: &S::Inputs) -> Status {
    match step.compute(&set_up(), inputs) {
        Ok(outcome) => status.outcome = Some(outcome.into()),
        Err(why) => status.no_outcome = Some(why.to_string()),
    }
    status
}

pub(super) fn mark(number: u32, at: Place, value_mm: Option<f64>) -> MarkLine {
    MarkLine {
        number,
        station: match &at {
            Place::Station(station) => Some(station.name.clone()),
            _ => None,
        },
        place: at.to_string(),
        at: Some(at),
        round: 1,
        value: value_mm.map(|value_mm| MarkValue {
            value_mm,
            spread_um: 1.0,
            sd_um: Some(0.4),
            readings: 24,
            resolution: mm("0.001"),
        }),
    }
}

pub(super) fn next(mut status: Status, place: Place) -> Status {
    status.next_mark = Some(place.to_string());
    status.next_station = match &place {
        Place::Station(station) => Some(station.name.clone()),
        _ => None,
    };
    status.next_place = Some(place);
    status
}

pub(super) fn station(name: &str, at: &str) -> Station {
    Station {
        name: name.to_owned(),
        position: mm(at),
    }
}

/// A reading that comes while it records.
pub(super) fn so_far(watch: &mut Watch, value: &str, so_far: SoFar) {
    let reading = LiveReading {
        cable: "bench".to_owned(),
        seq: 8,
        t: Time(0),
        value: mm(value),
        resolution: mm("0.001"),
        settled: false,
        so_far: Some(so_far),
    };
    watch.on_live(Live::Reading(reading), NOW_S);
}
