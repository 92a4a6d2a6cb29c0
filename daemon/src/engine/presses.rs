//! Presses: in a cable that sends when the instrument's key is pressed, each reading is itself a mark while a step is
//! open.
//!
//! Two presses in quick succession are one that was felt twice, or two that were meant, and nothing in the bytes tells
//! which. The first is a mark; about the last of them the user is asked. Nothing waits for the answer: the next press,
//! another mark, a change of the clamp or the end of the step is the answer that it was none. Its reading is stored
//! with the others, and the session's notes say that it was asked about and what became of it.

use super::change::Pending;
use super::session::{Session, Worked};
use super::{Engine, marks};
use protocol::api::{self, Code, Done, MarkRequest, Marked, Refusal};
use protocol::evidence::{MarkSource, Reading};
use protocol::record::EventKind;
use std::sync::Arc;

/// Presses closer than this are asked about.
const DOUBLE_PRESS_S: f64 = 0.3;

/// Presses that followed each other too closely.
pub(super) struct DoublePress {
    pub cable: Arc<str>,
    /// The count of the press that was taken as a mark.
    first_seq: u64,
    /// The one that is asked about.
    pub last: Reading,
    presses: u32,
}

impl DoublePress {
    pub fn shown(&self) -> api::DoublePress {
        api::DoublePress {
            cable: self.cable.to_string(),
            presses: self.presses,
            reading: self.last.value,
            resolution: self.last.resolution,
        }
    }

    /// What a change of the session says about it, when it says something.
    fn answer(&self, before: Option<&Session>, after: Option<&Session>) -> Option<Answered> {
        let at_step = |session: Option<&Session>| {
            let session = session?;
            Some((session.step.as_ref()?.id, session.setting))
        };
        if at_step(before) != at_step(after) {
            return Some(Answered::Left("the step or the clamp was changed"));
        }
        let marks = |session: Option<&Session>| {
            let step = session.and_then(|session| session.step.as_ref());
            step.map_or(0, |step| step.evidence.marks.len())
        };
        if marks(before) == marks(after) {
            return None;
        }
        let step = after.and_then(|session| session.step.as_ref())?;
        match step.evidence.marks.last().map(|mark| &mark.source) {
            Some(MarkSource::Dwell {
                cable, last_seq, ..
            }) if **cable == *self.cable => match *last_seq {
                seq if seq == self.last.seq => Some(Answered::Marked),
                // The mark of the first press was still on its way to the disk.
                seq if seq <= self.first_seq => None,
                _ => Some(Answered::Left("another mark was made")),
            },
            _ => Some(Answered::Left("another mark was made")),
        }
    }
}

/// What became of a press that was asked about.
enum Answered {
    Marked,
    Left(&'static str),
}

/// Undo could mean the press that is asked about, or the mark before it.
pub(super) fn is_asked() -> Refusal {
    Refusal::new(
        Code::PressAsked,
        "a second press is being asked about, and it is no mark yet",
    )
    .hint("answer that first: mark takes it, leave does not")
}

impl Engine {
    pub(super) fn on_press(&mut self, name: Arc<str>, reading: Reading) {
        let last = self.last_press.replace((Arc::clone(&name), reading));
        let before = last
            .filter(|(cable, last)| *cable == name && reading.t.since_s(last.t) < DOUBLE_PRESS_S)
            .map(|(_, last)| last);
        let Some(before) = before else {
            self.leave_double_press("another press came");
            self.presses.push_back((name, reading));
            return;
        };
        if let Some(double) = &mut self.double_press {
            double.last = reading;
            double.presses = double.presses.saturating_add(1);
            // An instrument that streams, declared as one that is pressed, comes here with every reading.
            self.unshown = true;
            return;
        }
        self.note(
            EventKind::Cable,
            format!(
                "`{name}` was pressed twice within 0.3 s; whether the second press, {}, is a mark was asked",
                reading.value
            ),
        );
        self.double_press = Some(DoublePress {
            cable: name,
            first_seq: before.seq,
            last: reading,
            presses: 2,
        });
        self.show();
    }

    /// The user says that the press is no mark.
    pub(super) fn leave_asked_press(&mut self) -> Result<Done, Refusal> {
        if self.drop_waiting("the user said so") {
            self.show();
            return Ok(Done {});
        }
        if self.double_press.is_none() {
            return Err(Refusal::new(Code::NoPress, "no press is being asked about")
                .hint("nothing has to be done; undo takes the last mark back"));
        }
        self.leave_double_press("the user said so");
        self.show();
        Ok(Done {})
    }

    /// The press that is asked about is no mark, and why.
    pub(super) fn leave_double_press(&mut self, why: &str) {
        if let Some(double) = self.double_press.take() {
            let more = match double.presses {
                2 => String::new(),
                presses => format!(" the last of {presses},"),
            };
            self.note(
                EventKind::Cable,
                format!(
                    "the second press of `{}`,{more} {}, was left: {why}",
                    double.cable, double.last.value
                ),
            );
        }
    }

    /// A change comes into force, and may say what the press was that is asked about.
    pub(super) fn settle_double_press(&mut self, after: Option<&Session>) {
        let before = self.session.as_ref();
        let step = |session: Option<&Session>| Some(session?.step.as_ref()?.id);
        if step(before) != step(after) {
            self.last_press = None;
        }
        let answered = self
            .double_press
            .as_ref()
            .and_then(|double| double.answer(before, after));
        match answered {
            Some(Answered::Marked) => self.double_press = None,
            Some(Answered::Left(why)) => self.leave_double_press(why),
            None => {}
        }
    }

    /// Begins the next press that waits to become a mark.
    pub(super) fn mark_presses(&mut self) {
        while self.ledger.is_idle()
            && let Some((name, reading)) = self.presses.pop_front()
        {
            let Some(session) = &self.session else {
                continue;
            };
            let Some(served) = self.roster.find(&name) else {
                continue;
            };
            let worked = marks::press(session, served, &reading, &MarkRequest::default());
            self.begin_press(worked);
        }
    }

    fn begin_press(&mut self, worked: Worked<Marked>) {
        match worked {
            Ok((draft, _)) => {
                // Nobody waits for the answer; a refusal is told by `on_stored`.
                let pending = Pending::new(draft, "the press was not stored", Box::new(|_| {}));
                self.ledger.send_change(pending);
            }
            Err(refusal) => self.tell(&format!("the press is no mark: {refusal}")),
        }
    }
}
