//! Drafts of marks: what a mark is about, and what follows from it.

use super::draft::{Draft, Drafted};
use super::roster::{Roster, ServedCable};
use super::session::Session;
use super::source::{self, NotMarked, Source};
use super::step::Step;
use crate::store::{ReadingRow, Row};
use metrology::setup::Setup;
use protocol::api::{Code, MarkRequest, Marked, Refusal};
use protocol::evidence::{Mark, MarkSource, Place, Reading, Time};
use protocol::{fold, pass};
use std::sync::Arc;

/// Drafts a mark that the user asked for at `at`. `roster` has the cables.
pub(crate) fn mark(
    session: &Session,
    roster: &Roster,
    request: &MarkRequest,
    at: Time,
) -> Result<(Draft, Marked), NotMarked> {
    let step = session.open_step()?;
    let (place, round) = place(session, step, request)?;
    let source = if step.plan.records() {
        source::moment(session, step, roster, &place, request, at)?
    } else if step.plan.kind().by_eye() {
        source::judged(request)?
    } else {
        match &request.value {
            Some(text) => source::read(step, &session.setup, text)?,
            None => source::settled(&step.plan, &session.setup, roster, at)?,
        }
    };
    let mut after = step.clone();
    let mut early = Vec::new();
    if step.plan.records() && matches!(place, Place::Begin { .. } | Place::Turn { .. }) {
        if step.recording.is_none() {
            early = arrived_since(step, &session.setup, roster, at);
        }
        after.begin_recording(&session.setup, at, |cable| {
            roster
                .find(cable)
                .map_or(&[], |served| served.ring.since(at))
        });
    }
    let (mut draft, marked) = marked(session, after, (place, round), source, at);
    draft.write.readings.extend(early);
    Ok((draft, marked))
}

/// The readings since the moment of a beginning. That moment may lie before the step's own commit, when the mark waited for it; the
/// readings between count, and nobody has stored them with this step.
fn arrived_since(step: &Step, setup: &Setup, roster: &Roster, at: Time) -> Vec<ReadingRow> {
    let cables = step.plan.recorded_cables(setup).into_iter();
    let served = cables.filter_map(|cable| roster.find(cable));
    let rows = served.flat_map(|served| {
        served.ring.since(at).iter().map(|reading| ReadingRow {
            step: step.id,
            cable: Arc::clone(&served.name),
            reading: *reading,
        })
    });
    rows.collect()
}

/// Drafts the mark of a press of the instrument's key. `request` names the place, if the user does. In a step that records, a
/// press is a reading and no mark.
pub(crate) fn press(
    session: &Session,
    indicator: &ServedCable,
    reading: &Reading,
    request: &MarkRequest,
) -> Drafted<Marked> {
    let step = session.open_step()?;
    if step.plan.kind().by_eye() {
        return Err(step.plan.work.place_wanted());
    }
    let (place, round) = place(session, step, request)?;
    let source = Source::dwell(indicator, &[*reading]).ok_or_else(source::no_reading)?;
    let after = step.clone();
    Ok(marked(session, after, (place, round), source, reading.t))
}

/// The place and the round of a mark: as named, or the next of the pass.
fn place(session: &Session, step: &Step, request: &MarkRequest) -> Result<(Place, u32), Refusal> {
    let (setup, marks, plan) = (&session.setup, &step.evidence.marks, &step.plan);
    let next = if request.new_round {
        pass::new_round(plan, setup, marks, session.setting)
    } else {
        pass::next(plan, setup, marks, session.setting)
    };
    let text = match (&request.station, &request.angle) {
        (Some(_), Some(_)) => {
            return Err(
                Refusal::new(Code::BadValue, "a mark takes a place or an angle, not both")
                    .hint("leave one out"),
            );
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

/// Adds the mark to the step, and computes what follows from it.
fn marked(
    session: &Session,
    mut step: Step,
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
    step.keep(mark.clone(), &source.used);
    // A mark that shows that the set-up was moved opens the next round.
    let moved = fold::moved(&step.plan, &session.setup, &step.evidence);
    if let Some(moved) = &moved {
        mark.round = moved.round;
        step.set_last_round(moved.round);
    }
    let marked = Marked {
        number: mark.number,
        station: mark.station().map(|station| station.name.clone()),
        place: mark.place.to_string(),
        at: Some(mark.place.clone()),
        round: mark.round,
        value: source.value,
        note: moved.map(|moved| moved.to_string()),
    };
    let learned = step.compute(&session.setup);
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

#[cfg(test)]
mod tests;
