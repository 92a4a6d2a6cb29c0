//! Marks: where they are, and what they are made of.

use super::change::Draft;
use super::roster::{Served, is_away};
use super::session::{Session, Worked, no_step};
use super::step::Step;
use crate::store::{ReadingRow, Row};
use metrology::setup::{Setup, Station};
use metrology::{Length, Shown, Unit};
use protocol::api::{CableState, Code, MarkRequest, Marked, Refusal};
use protocol::evidence::{Mark, MarkSource, MarkValue, Place, Reading, Time};
use protocol::{dwell, pass};
use std::sync::Arc;

/// What a mark is made of, and the readings for it.
struct Source {
    source: MarkSource,
    value: MarkValue,
    cable: Option<Arc<str>>,
    used: Vec<Reading>,
}

impl Source {
    /// Some readings of a cable; none for no readings.
    fn dwell(served: &Served, used: &[Reading]) -> Option<Self> {
        Some(Self {
            source: MarkSource::Dwell {
                cable: served.config.name.clone(),
                first_seq: used.first()?.seq,
                last_seq: used.last()?.seq,
            },
            value: MarkValue::of(used)?,
            cable: Some(Arc::clone(&served.name)),
            used: used.to_vec(),
        })
    }
}

/// Works a mark out that the user asked for at `at`. `indicator` is the session's cable, when it is served.
pub(crate) fn mark(
    session: &Session,
    indicator: Option<&Served>,
    request: &MarkRequest,
    at: Time,
) -> Worked<Marked> {
    let step = session.step.as_ref().ok_or_else(no_step)?;
    if request.angle.is_some() {
        return Err(Refusal::new(
            Code::BadValue,
            format!(
                "a {} step is marked at stations, not at angles",
                step.plan.kind().name()
            ),
        )
        .hint("mark a station: `conewright mark A`"));
    }
    let (station, round) = place(session, step, request)?;
    let source = match &request.value {
        Some(text) => typed(&session.setup, text)?,
        None => settled(&session.setup, indicator, at)?,
    };
    Ok(made(session, step, (station, round), source, at))
}

/// Works the mark out that a press of the instrument's key is. `request` says where, when the user does.
pub(crate) fn press(
    session: &Session,
    indicator: &Served,
    reading: &Reading,
    request: &MarkRequest,
) -> Worked<Marked> {
    let step = session.step.as_ref().ok_or_else(no_step)?;
    let (station, round) = place(session, step, request)?;
    let source = Source::dwell(indicator, &[*reading]).ok_or_else(no_reading)?;
    Ok(made(session, step, (station, round), source, reading.t))
}

/// The station and the round: named, or the next of the pass.
fn place(session: &Session, step: &Step, request: &MarkRequest) -> Result<(Station, u32), Refusal> {
    let (setup, marks) = (&session.setup, &step.evidence.marks);
    let next = pass::next(setup, marks, session.setting);
    let round = pass::round_for(setup, marks, session.setting, request.new_round);
    if let Some(text) = &request.station {
        return Ok((named(setup, text)?, round));
    }
    let station = if round == next.round {
        next.station
    } else {
        // A new round was asked for, and a pass begins with its first station.
        let first = setup.pass.first();
        first.and_then(|name| setup.stations.iter().find(|s| s.name == *name).cloned())
    };
    let station = station.ok_or_else(|| {
        Refusal::new(
            Code::BadValue,
            "the session names no stations, so the mark needs one",
        )
        .hint("name a distance from A: `conewright mark 40mm`; or open the session with --span")
    })?;
    Ok((station, round))
}

/// A station by its name, or by its distance from A.
fn named(setup: &Setup, text: &str) -> Result<Station, Refusal> {
    let text = text.trim();
    let by_name = setup
        .stations
        .iter()
        .find(|station| station.name.eq_ignore_ascii_case(text));
    if let Some(station) = by_name {
        return Ok(station.clone());
    }
    let Ok(position) = Length::parse(text, Unit::Mm) else {
        let names: Vec<&str> = setup.stations.iter().map(|s| &*s.name).collect();
        let known = if names.is_empty() {
            "the session names none".to_owned()
        } else {
            format!("there are {}", names.join(", "))
        };
        return Err(Refusal::new(
            Code::UnknownName,
            format!("`{text}` is no station: {known}"),
        )
        .hint("name a station, or a distance from A such as 40mm"));
    };
    let known = setup.stations.iter().find(|s| s.position == position);
    Ok(known.cloned().unwrap_or_else(|| Station {
        name: position.decimal(Unit::Mm),
        position,
    }))
}

fn typed(setup: &Setup, text: &str) -> Result<Source, Refusal> {
    let shown = Shown::parse(text, Unit::Mm, setup.indicator.division).map_err(|error| {
        let refusal = Refusal::new(Code::BadValue, error.to_string());
        match error {
            metrology::QuantityError::DivisionUnknown { .. } => {
                refusal.hint("open the session with --division, such as `--division 2um`")
            }
            _ => {
                refusal.hint("type it as the instrument shows it: 0.012, -3um, 0.0005in or -3.5div")
            }
        }
    })?;
    Ok(Source {
        source: MarkSource::Typed {
            value: shown.value,
            resolution: shown.resolution,
        },
        value: MarkValue::typed(shown),
        cable: None,
        used: Vec::new(),
    })
}

fn settled(setup: &Setup, indicator: Option<&Served>, at: Time) -> Result<Source, Refusal> {
    let Some(served) = indicator else {
        let what = match &setup.indicator.cable {
            Some(name) => format!("the session's cable `{name}` is not configured any more"),
            None => "the session has no cable".to_owned(),
        };
        return Err(Refusal::new(Code::NoCable, what)
            .hint("type the reading: `conewright mark --value 0.012`"));
    };
    let name = &served.config.name;
    if served.presses() {
        return Err(Refusal::new(
            Code::CableNotLive,
            format!("`{name}` sends when the instrument's key is pressed"),
        )
        .hint("press it: each press is a mark"));
    }
    if served.state != CableState::Live {
        return Err(not_live(served));
    }
    let readings = served.ring.unbroken();
    let until = readings.partition_point(|reading| reading.t <= at);
    let dwell = dwell::settle(&readings[..until], at, &setup.settle).map_err(|why| {
        if why == dwell::NotSettled::NoReading {
            return no_reading();
        }
        Refusal::new(Code::NotSettled, why.to_string())
            .hint("hold still, and mark again when the reading rests")
    })?;
    let used = served.ring.range(dwell.first_seq, dwell.last_seq);
    Source::dwell(served, used).ok_or_else(no_reading)
}

fn no_reading() -> Refusal {
    Refusal::new(Code::NotSettled, dwell::NotSettled::NoReading.to_string())
        .hint("wait for a reading, and mark again")
}

fn not_live(served: &Served) -> Refusal {
    let state = match served.state {
        CableState::Live => "live",
        CableState::Quiet => "quiet: it has sent nothing yet",
        CableState::Stale => "stale: it has stopped sending",
        CableState::Gone => "gone",
        CableState::Busy => "busy",
        CableState::Denied => "denied",
    };
    let why = served
        .detail
        .as_ref()
        .map(|detail| format!(" ({detail})"))
        .unwrap_or_default();
    let hint = if is_away(served.state) {
        "see `conewright cable list`, or type the reading: `conewright mark --value 0.012`"
    } else {
        "see that the instrument is on and sends, and mark again"
    };
    Refusal::new(
        Code::CableNotLive,
        format!("the cable `{}` is {state}{why}", served.config.name),
    )
    .hint(hint)
}

fn made(
    session: &Session,
    step: &Step,
    (station, round): (Station, u32),
    source: Source,
    at: Time,
) -> (Draft, Marked) {
    let mark = Mark {
        number: step.next_number(),
        t: at,
        place: Place::Station(station.clone()),
        round,
        clamped: session.clamped,
        setting: session.setting,
        source: source.source,
        taken_back: false,
    };
    let marked = Marked {
        number: mark.number,
        station: Some(station.name),
        place: mark.place.to_string(),
        round,
        value: Some(source.value),
    };
    let mut step = step.clone();
    step.keep(mark.clone(), source.cable.as_deref(), &source.used);
    let learned = step.compute(&session.setup);
    let rows = vec![
        Row::Mark {
            step: step.id,
            mark,
        },
        step.verdict_row(session.id),
    ];
    let readings = source.cable.iter().flat_map(|cable| {
        source.used.iter().map(|reading| ReadingRow {
            step: step.id,
            cable: Arc::clone(cable),
            reading: *reading,
        })
    });
    let readings = readings.collect();
    let mut after = session.clone();
    after.step = Some(step);
    let mut draft = Draft::of(rows, Some(after)).learning(learned);
    draft.write.readings = readings;
    (draft, marked)
}
