//! Marks: what they are about, and what they are made of.

use super::change::Draft;
use super::recording::Recording;
use super::roster::{Roster, Served, is_away};
use super::session::{Session, Worked, no_step};
use super::step::Step;
use crate::store::{ReadingRow, Row};
use metrology::setup::Setup;
use metrology::{Shown, Unit};
use protocol::api::{CableState, Code, MarkRequest, Marked, Refusal};
use protocol::evidence::{Mark, MarkSource, MarkValue, Place, Reading, Time};
use protocol::plan::Plan;
use protocol::{dwell, fold, pass, typed};
use std::sync::Arc;

/// What a mark is made of, and the readings that have to be stored with it.
struct Source {
    source: MarkSource,
    value: Option<MarkValue>,
    used: Vec<(Arc<str>, Vec<Reading>)>,
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
            value: Some(MarkValue::of(used)?),
            used: vec![(Arc::clone(&served.name), used.to_vec())],
        })
    }

    const fn without_value(source: MarkSource) -> Self {
        Self {
            source,
            value: None,
            used: Vec::new(),
        }
    }
}

/// Why a mark is not made.
pub(crate) enum Unmade {
    /// Nothing that comes by itself would change that.
    Refused(Refusal),
    /// The readings have not settled, and may do so.
    NotAtRest(Refusal),
}

impl From<Refusal> for Unmade {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

impl From<Unmade> for Refusal {
    fn from(unmade: Unmade) -> Self {
        match unmade {
            Unmade::Refused(refusal) | Unmade::NotAtRest(refusal) => refusal,
        }
    }
}

/// Works a mark out that the user asked for at `at`. `roster` has the cables, `recording` what is recorded so far.
pub(crate) fn mark(
    session: &Session,
    roster: &Roster,
    recording: &mut Option<Recording>,
    request: &MarkRequest,
    at: Time,
) -> Result<(Draft, Marked), Unmade> {
    let step = session.step.as_ref().ok_or_else(no_step)?;
    let (place, round) = place(session, step, request)?;
    let source = if step.plan.records() {
        moment(session, step, roster, &place, request, at)?
    } else if let Place::Print(_) = place {
        judged(request)?
    } else {
        match &request.value {
            Some(text) => read(step, &session.setup, text)?,
            None => settled(&step.plan, &session.setup, roster, at)?,
        }
    };
    if step.plan.records() && matches!(place, Place::Begin { .. } | Place::Turn { .. }) {
        Recording::begin(recording, session, step, roster, at);
    }
    Ok(made(session, step, recording, (place, round), source, at))
}

/// Works the mark out that a press of the instrument's key is. `request` says where, when the user does. In a step that
/// records, a press is a reading and no mark.
pub(crate) fn press(
    session: &Session,
    indicator: &Served,
    reading: &Reading,
    request: &MarkRequest,
) -> Worked<Marked> {
    let step = session.step.as_ref().ok_or_else(no_step)?;
    if step.plan.kind().by_eye() {
        return Err(step.plan.work.place_wanted());
    }
    let (place, round) = place(session, step, request)?;
    let source = Source::dwell(indicator, &[*reading]).ok_or_else(no_reading)?;
    Ok(made(
        session,
        step,
        &mut None,
        (place, round),
        source,
        reading.t,
    ))
}

/// What it is about and its round: named, or the next of the pass.
fn place(session: &Session, step: &Step, request: &MarkRequest) -> Result<(Place, u32), Refusal> {
    let (setup, marks, plan) = (&session.setup, &step.evidence.marks, &step.plan);
    let next = if request.new_round {
        pass::new_round(plan, setup, marks, session.setting)
    } else {
        pass::next(plan, setup, marks, session.setting)
    };
    let text = match (&request.station, &request.angle) {
        (Some(_), Some(_)) => {
            return Err(Refusal::new(
                Code::BadValue,
                "a mark is at a place or at an angle, not both",
            )
            .hint("leave one out"));
        }
        (None, Some(_)) if !plan.work.takes_angles() => {
            let message = format!(
                "this {} step is marked {}, not at angles",
                plan.kind().word(),
                plan.kind().marked()
            );
            return Err(Refusal::new(Code::BadValue, message).hint("leave the angle out"));
        }
        (station, angle) => station.as_ref().or(angle.as_ref()),
    };
    let place = match text {
        Some(text) => plan.work.named(setup, marks, next.place.as_ref(), text)?,
        None => next.place.ok_or_else(|| plan.work.place_wanted())?,
    };
    Ok((place, next.round))
}

/// A typed reading: all that the instrument shows, where its step is not stated.
fn read(step: &Step, setup: &Setup, text: &str) -> Result<Source, Refusal> {
    let plan = &step.plan;
    let indicator = &plan.setup(setup).indicator;
    let (division, stated) = (indicator.division, indicator.resolution.is_some());
    let shown = Shown::parse(text, Unit::Mm, division).map_err(|error| {
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
    typed::within_reach(plan.kind(), text, shown.value)?;
    if !stated {
        let marks = step.evidence.marks.iter();
        let finest = marks.filter(|mark| !mark.taken_back).filter_map(|mark| {
            let MarkSource::Typed { resolution, .. } = mark.source else {
                return None;
            };
            Some(resolution)
        });
        typed::all_digits(text, shown, finest.min())?;
    }
    Ok(Source {
        source: MarkSource::Typed {
            value: shown.value,
            resolution: shown.resolution,
        },
        value: Some(MarkValue::typed(shown)),
        used: Vec::new(),
    })
}

fn judged(request: &MarkRequest) -> Result<Source, Refusal> {
    match &request.value {
        None => Ok(Source::without_value(MarkSource::Judged)),
        Some(_) => Err(Refusal::new(
            Code::BadValue,
            "a print has no reading: its three percentages say all of it",
        )
        .hint("leave the value out: `conewright mark 90,40,0`")),
    }
}

/// A moment of a stretch that is recorded.
fn moment(
    session: &Session,
    step: &Step,
    roster: &Roster,
    place: &Place,
    request: &MarkRequest,
    at: Time,
) -> Result<Source, Refusal> {
    if request.value.is_some() {
        return Err(Refusal::new(
            Code::BadValue,
            "in this step every reading of the cable counts, and none is typed",
        )
        .hint(
            "leave the value out; or open the step with `--positions stations` or `--angles clock`",
        ));
    }
    let counting = step
        .evidence
        .marks
        .iter()
        .rev()
        .find(|mark| !mark.taken_back);
    if let Some(last) = counting
        && at <= last.t
    {
        return Err(Refusal::new(
            Code::BadValue,
            format!("mark {} is of this very moment", last.number),
        )
        .hint("mark again when time has gone by"));
    }
    let cables = step.plan.recorded_cables(&session.setup);
    let Some(indicator) = cables.first() else {
        return Err(no_cable(None));
    };
    if !matches!(place, Place::End { .. }) {
        for name in &cables {
            let served = roster.find(name).ok_or_else(|| no_cable(Some(name)))?;
            let recorded = step.plan.work.recorded();
            let positions = recorded.is_some_and(|recorded| recorded.position_cable().is_some());
            if served.presses() && (*name != *indicator || !positions) {
                return Err(Refusal::new(
                    Code::CableNotLive,
                    format!(
                        "`{name}` sends when its key is pressed, and here the readings have to come by themselves"
                    ),
                )
                .hint("name another cable for the step; or mark place by place"));
            }
            // The first turn's mark needs it; a part that goes on turning is marked while the cable is away, too.
            if served.state != CableState::Live
                && !served.presses()
                && counting.is_none_or(|last| !matches!(last.place, Place::Turn { .. }))
            {
                return Err(not_live(served));
            }
        }
    }
    Ok(Source::without_value(MarkSource::Moment {
        cable: (*indicator).to_owned(),
    }))
}

fn no_cable(name: Option<&str>) -> Refusal {
    let what = match name {
        Some(name) => format!("the step's cable `{name}` is not configured any more"),
        None => "the step has no cable".to_owned(),
    };
    Refusal::new(Code::NoCable, what).hint("open the step with `--cable NAME`")
}

fn settled(plan: &Plan, setup: &Setup, roster: &Roster, at: Time) -> Result<Source, Unmade> {
    let name = plan.cable(setup);
    let Some(served) = name.and_then(|name| roster.find(name)) else {
        let what = match name {
            Some(name) => format!("the session's cable `{name}` is not configured any more"),
            None => "the session has no cable".to_owned(),
        };
        return Err(Refusal::new(Code::NoCable, what)
            .hint("type the reading: `conewright mark --value 0.012`")
            .into());
    };
    let name = &served.config.name;
    if served.presses() {
        return Err(Refusal::new(
            Code::CableNotLive,
            format!("`{name}` sends when the instrument's key is pressed"),
        )
        .hint("press it: each press is a mark")
        .into());
    }
    if served.state != CableState::Live {
        return Err(not_live(served).into());
    }
    let readings = served.ring.unbroken();
    let until = readings.partition_point(|reading| reading.t <= at);
    let dwell = dwell::settle(&readings[..until], at, &setup.settle).map_err(|why| {
        if why == dwell::NotSettled::NoReading {
            return no_reading().into();
        }
        let refusal = Refusal::new(Code::NotSettled, why.to_string());
        Unmade::NotAtRest(refusal.hint("hold still, and mark again when the reading rests"))
    })?;
    let used = served.ring.range(dwell.first_seq, dwell.last_seq);
    Ok(Source::dwell(served, used).ok_or_else(no_reading)?)
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
    recording: &mut Option<Recording>,
    (place, round): (Place, u32),
    source: Source,
    at: Time,
) -> (Draft, Marked) {
    let with_readings = matches!(source.source, MarkSource::Moment { .. });
    let mut mark = Mark {
        number: step.next_number(),
        t: at,
        place,
        round,
        clamped: session.clamped,
        setting: session.setting,
        source: source.source,
        taken_back: false,
    };
    let mut step = step.clone();
    step.keep(mark.clone(), &source.used);
    // A mark that shows that the set-up was moved opens the next round.
    let moved = fold::moved(&step.plan, &session.setup, &step.evidence);
    if let Some(moved) = &moved {
        mark.round = moved.round;
        step.put_last_into(moved.round);
    }
    let marked = Marked {
        number: mark.number,
        station: mark.station().map(|station| station.name.clone()),
        place: mark.place.to_string(),
        round: mark.round,
        value: source.value,
        note: moved.map(|moved| moved.to_string()),
    };
    let learned = step.compute(&session.setup, recording.as_mut());
    let mut rows = vec![Row::Mark {
        step: step.id,
        mark,
    }];
    rows.push(session.verdict_row(Some(&step)));
    let readings = source.used.iter().flat_map(|(cable, used)| {
        used.iter().map(|reading| ReadingRow {
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
    draft.with_readings = with_readings;
    (draft, marked)
}
