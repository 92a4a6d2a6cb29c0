//! Drafts of what the user says beside marks: undo, the clamp, grinding, and notes.

use super::draft::{Draft, Drafted};
use super::session::{Session, no_step};
use super::text::plain_text;
use crate::store::Row;
use crate::timeline::Moment;
use protocol::api::{
    ClampRequest, Code, Done, Ground, GroundRequest, NoteRequest, Refusal, Undone,
};
use protocol::record::EventKind;

/// Characters of a note.
const MOST_NOTE: usize = 2_000;

impl Session {
    /// Takes back the last mark that counts. It stays in the store.
    pub fn undo(&self) -> Drafted<Undone> {
        let mut after = self.clone();
        let step = after.step.as_mut().ok_or_else(no_step)?;
        let number = step.number;
        let last = step.take_back().ok_or_else(|| {
            Refusal::new(
                Code::NoMark,
                format!("step {number} has no mark to take back"),
            )
            .hint("there is nothing to undo")
        })?;
        let undone = Undone {
            number: last.number,
            station: last.station().map(|station| station.name.clone()),
            place: last.place.to_string(),
            at: Some(last.place.clone()),
        };
        let row = Row::TakenBack {
            step: step.id,
            number: undone.number,
        };
        let learned = step.compute(&self.setup);
        let rows = vec![row, self.verdict_row(Some(step))];
        Ok((Draft::of(rows, Some(after)).learning(learned), undone))
    }

    /// Notes the clamp. Marks before and after a change of it are not of one round.
    pub fn clamp(&self, request: ClampRequest, now: Moment) -> Drafted<Done> {
        if self.step.is_none() {
            return Err(Refusal::new(
                Code::NoStep,
                "no step is open, and the clamp belongs to a step",
            )
            .hint("open one: `conewright step zero`"));
        }
        let mut after = self.clone();
        if request.tight == self.clamped {
            return Ok((Draft::of(Vec::new(), Some(after)), Done {}));
        }
        after.clamped = request.tight;
        after.setting += 1;
        let text = if request.tight {
            "the clamp was tightened"
        } else {
            "the clamp was loosened"
        };
        let rows = vec![
            Row::Clamp {
                session: self.id,
                clamped: after.clamped,
                setting: after.setting,
            },
            self.event(EventKind::Clamp, text.to_owned(), now),
        ];
        Ok((Draft::of(rows, Some(after)), Done {}))
    }

    /// Notes that the part was ground: before the round that disagrees with those before it, where that is asked, else before
    /// the next mark. Marks before and after it are not of one state of the part.
    pub fn ground(&self, request: GroundRequest, now: Moment) -> Drafted<Ground> {
        let mut after = self.clone();
        let step = after.step.as_mut().ok_or_else(no_step)?;
        step.may_be_ground()?;
        let next = step.next_number();
        let (before_mark, text) = if request.not {
            let last = step.evidence.ground_before.pop().ok_or_else(|| {
                Refusal::new(
                    Code::BadValue,
                    format!("step {} has no grinding to take back", step.number),
                )
                .hint("there is nothing to undo")
            })?;
            (
                last,
                format!("taken back: the part was ground before mark {last}"),
            )
        } else {
            let before = step.disagrees_from().unwrap_or(next);
            let known = &mut step.evidence.ground_before;
            // The user may say it twice. Before the first mark nothing was measured, so grinding changes nothing.
            if known.contains(&before) || step.evidence.marks.iter().all(|mark| mark.taken_back) {
                let reply = Ground {
                    before_mark: before,
                    next: before == next,
                };
                return Ok((Draft::of(Vec::new(), Some(self.clone())), reply));
            }
            known.push(before);
            known.sort_unstable();
            (before, format!("the part was ground before mark {before}"))
        };
        let reply = Ground {
            before_mark,
            next: before_mark == next,
        };
        let row = Row::Ground {
            step: step.id,
            before: step.evidence.ground_before.clone(),
        };
        let learned = step.compute(&self.setup);
        let verdict = self.verdict_row(after.step.as_ref());
        let mut rows = vec![row, verdict, self.event(EventKind::Ground, text, now)];
        if reply.next {
            // The next mark begins a round.
            after.setting += 1;
            rows.push(Row::Clamp {
                session: self.id,
                clamped: after.clamped,
                setting: after.setting,
            });
        }
        Ok((Draft::of(rows, Some(after)).learning(learned), reply))
    }

    pub fn note(&self, request: &NoteRequest, now: Moment) -> Drafted<Done> {
        let text = plain_text("the note", &request.text, MOST_NOTE, true)?;
        let row = self.event(EventKind::Note, text, now);
        Ok((Draft::of(vec![row], Some(self.clone())), Done {}))
    }
}
