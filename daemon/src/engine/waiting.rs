//! A mark that waits: it was requested while the reading still moved, and the engine makes it when the reading has settled.
//!
//! There is no mark until then, and its time is that of the reading that completed the settled stretch. Nothing else waits with
//! it: readings go on, and other clients get their answers.

use super::draft::Draft;
use super::marks;
use super::request::Answer;
use super::session::{Session, no_session};
use super::source::NotMarked;
use super::state::Engine;
use super::waiting_mark::{WaitingMark, dropped, overtaken};
use protocol::api::{Code, MarkRequest, Marked, Refusal};
use protocol::evidence::Time;

/// How long a mark waits unless its request says otherwise, s.
const USUAL_WAIT_S: u32 = 5;
/// The longest wait, s. A client gives up after 30 s without an answer.
const LONGEST_WAIT_S: u32 = 20;

impl Engine {
    /// Makes the mark, or lets it wait when only the reading has not settled.
    pub(super) fn on_mark(&mut self, request: MarkRequest, at: Time, answer: Answer<Marked>) {
        let wait_s = request.wait_s.unwrap_or(USUAL_WAIT_S);
        if wait_s > LONGEST_WAIT_S {
            let refusal = Refusal::new(
                Code::BadValue,
                format!("`wait_s` is {wait_s}, and a mark waits at most {LONGEST_WAIT_S} s"),
            );
            drop(answer.send(Err(refusal.hint("give 0 to 20"))));
            return;
        }
        match self.draft_mark(&request, at) {
            Err(NotMarked::NotAtRest(_)) if wait_s > 0 => {
                self.drop_waiting("another mark was asked for");
                self.waiting = Some(WaitingMark {
                    request,
                    asked_at: at,
                    deadline: at.plus_s(f64::from(wait_s)),
                    answer,
                });
                self.show();
            }
            tried => self.commit(
                tried.map_err(Refusal::from),
                answer,
                "the mark was not stored",
            ),
        }
    }

    /// Makes the waiting mark when the reading has settled, or rejects it when its time is over.
    pub(super) fn retry_waiting_mark(&mut self) {
        if !self.writes.is_idle() {
            return;
        }
        let Some(waiting) = self.waiting.take() else {
            return;
        };
        if waiting.answer.is_closed() {
            // The client has gone, and would not learn that the mark was made.
            self.show();
            return;
        }
        let served = self
            .indicator_name()
            .and_then(|name| self.roster.find(name));
        let newest = served.and_then(|served| served.ring.last());
        let at = newest.map_or(waiting.asked_at, |reading| reading.t);
        // However late this runs, only readings within the waiting time count.
        let at = at.max(waiting.asked_at).min(waiting.deadline);
        match self.draft_mark(&waiting.request, at) {
            Err(NotMarked::NotAtRest(_))
                if self.timeline.now(&*self.clock).t < waiting.deadline =>
            {
                self.waiting = Some(waiting);
            }
            tried => {
                let refused = tried.is_err();
                let drafted = tried.map_err(|why| waiting.refusal(why));
                self.commit(drafted, waiting.answer, "the mark was not stored");
                if refused {
                    self.show();
                }
            }
        }
    }

    fn draft_mark(
        &mut self,
        request: &MarkRequest,
        at: Time,
    ) -> Result<(Draft, Marked), NotMarked> {
        let session = self.session.as_ref().ok_or_else(no_session)?;
        let roster = &self.roster;
        // A mark without a typed value is the user's answer about the second press.
        let pressed = self
            .double_press
            .as_ref()
            .filter(|_| request.value.is_none());
        let pressed = pressed.and_then(|double| Some((roster.find(&double.cable)?, &double.last)));
        let made = match pressed {
            Some((served, last)) => marks::press(session, served, last, request)?,
            None => marks::mark(session, roster, request, at)?,
        };
        let cable = pressed
            .map(|(served, _)| &*served.config.name)
            .or_else(|| self.indicator_name())
            .filter(|_| request.value.is_none());
        if let Some(doubt) = cable.and_then(|cable| self.doubt(cable, &made.1)) {
            return Err(doubt.into());
        }
        self.not_before = self.not_before.max(Time(at.0 + 1));
        Ok(made)
    }

    /// Cancels the waiting mark, and reports why. True when there was one.
    pub(super) fn drop_waiting(&mut self, why: &str) -> bool {
        let waiting = self.waiting.take();
        let waited = waiting.is_some();
        if let Some(waiting) = waiting {
            // A client that has gone does not need its answer.
            drop(waiting.answer.send(Err(dropped(why))));
        }
        waited
    }

    /// Cancels the waiting mark when a change that comes into force overtakes it. Returns what the screens say then.
    pub(super) fn settle_waiting(&mut self, after: Option<&Session>) -> Option<String> {
        self.waiting.as_ref()?;
        let why = overtaken(self.session.as_ref(), after)?;
        self.drop_waiting(why);
        Some(dropped(why).message)
    }
}
