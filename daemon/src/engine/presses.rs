//! Presses: a cable that sends when the instrument's key is pressed. While a step is open, each of its readings is a mark.
//!
//! Two presses in quick succession may be a bounce of the key or two presses that were meant, and the bytes do not show which.
//! The first is a mark, and the user is asked about the last. Nothing waits for the answer: after the next press, another
//! mark, a change of the clamp or the end of the step the question is closed, and the press is no mark. Its reading is stored
//! with the others. The session's notes say that the user was asked, and the result.

use super::double_press::{Answered, DoublePress};
use super::draft::{Drafted, Pending};
use super::marks;
use super::session::Session;
use super::state::Engine;
use protocol::api::{Code, Done, MarkRequest, Marked, Refusal};
use protocol::evidence::Reading;
use protocol::record::EventKind;
use std::sync::Arc;

/// The user is asked about presses that are closer together than this, s.
const DOUBLE_PRESS_S: f64 = 0.3;

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
            // An instrument that streams, but is configured as one with a key, gets here with every reading.
            self.unshown = true;
            return;
        }
        self.note(
            EventKind::Cable,
            format!(
                "`{name}` was pressed twice within 0.3 s; the user was asked whether the second press, {}, is a mark",
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

    /// The user answers that the press is no mark.
    pub(super) fn leave_asked_press(&mut self) -> Result<Done, Refusal> {
        if self.drop_waiting("the user said so") {
            self.show();
            return Ok(Done {});
        }
        if self.double_press.is_none() {
            return Err(Refusal::new(Code::NoPress, "no press waits for an answer")
                .hint("`conewright undo` takes the last mark back"));
        }
        self.leave_double_press("the user said so");
        self.show();
        Ok(Done {})
    }

    /// Closes the question about the press: it is no mark, and why.
    pub(super) fn leave_double_press(&mut self, why: &str) {
        if let Some(double) = self.double_press.take() {
            let more = match double.presses {
                2 => String::new(),
                presses => format!(" the last of {presses},"),
            };
            self.note(
                EventKind::Cable,
                format!(
                    "the second press of `{}`,{more} {}, was not marked: {why}",
                    double.cable, double.last.value
                ),
            );
        }
    }

    /// Closes the question about a press when a change that comes into force answers it.
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

    /// Makes a mark of the next press that waits.
    pub(super) fn mark_presses(&mut self) {
        while self.writes.is_idle()
            && let Some((name, reading)) = self.presses.pop_front()
        {
            let Some(session) = &self.session else {
                continue;
            };
            let Some(served) = self.roster.find(&name) else {
                continue;
            };
            let drafted = marks::press(session, served, &reading, &MarkRequest::default());
            let drafted = drafted.and_then(|made| match self.doubt(&name, &made.1) {
                Some(doubt) => Err(doubt),
                None => Ok(made),
            });
            self.commit_press(drafted);
        }
    }

    fn commit_press(&mut self, drafted: Drafted<Marked>) {
        match drafted {
            Ok((draft, _)) => {
                // Nobody waits for the answer; `on_stored` shows a refusal to the user.
                let pending = Pending::new(draft, "the press was not stored", Box::new(|_| {}));
                self.send_change(pending);
            }
            Err(refusal) => self.notify(&format!("the press was not marked: {refusal}")),
        }
    }
}
