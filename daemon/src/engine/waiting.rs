//! A mark that waits for rest: it was asked for while the reading still moved, and is made when the reading rests.
//!
//! Nothing is made now and put right later. There is no mark until the readings have held, and its time is that of the reading
//! that completed the hold. Nothing else waits with it: readings go on, and other clients are answered.

use super::Engine;
use super::change::Answer;
use super::marks::{self, Unmade};
use super::session::Session;
use protocol::api::{Code, MarkRequest, Marked, Refusal, WaitingMark};
use protocol::evidence::Time;
use std::time::Duration;

/// How long a mark waits unless its request says otherwise, s.
const USUAL_WAIT_S: u32 = 5;
/// A client gives an answer up after 30 s.
const LONGEST_WAIT_S: u32 = 20;
/// How often the time of a mark that waits is looked at when nothing else happens.
pub(super) const LOOK_AGAIN: Duration = Duration::from_millis(50);

/// The mark that waits.
pub(super) struct Waiting {
    request: MarkRequest,
    asked_at: Time,
    deadline: Time,
    answer: Answer<Marked>,
}

impl Waiting {
    pub fn shown(&self, now: Time) -> WaitingMark {
        WaitingMark {
            place: self.request.station.clone(),
            left_s: self.deadline.since_s(now).max(0.0),
        }
    }

    /// What became of it when it was not made.
    fn refusal(&self, unmade: Unmade) -> Refusal {
        match unmade {
            Unmade::Refused(refusal) => refusal,
            Unmade::NotAtRest(mut refusal) => {
                let waited_s = self.deadline.since_s(self.asked_at);
                refusal.message = format!("waited {waited_s:.0} s: {}", refusal.message);
                refusal
            }
        }
    }
}

/// A mark that waited and is not made.
fn dropped(why: &str) -> Refusal {
    Refusal::new(
        Code::Cancelled,
        format!("the mark that waited for rest was dropped: {why}"),
    )
    .hint("mark again when the reading rests")
}

/// Undo could mean the mark that waits, or the one before it.
pub(super) fn is_waiting() -> Refusal {
    Refusal::new(
        Code::PressAsked,
        "a mark is waiting for rest, so there is nothing to take back yet",
    )
    .hint("`conewright undo` drops it; so does u or esc in the live view")
}

/// What a change of the session means for a mark that waits: why it is dropped.
fn overtaken(before: Option<&Session>, after: Option<&Session>) -> Option<&'static str> {
    let (before, after) = match (before, after) {
        (_, None) => return Some("the session was closed"),
        (None, _) => return Some("a session was opened"),
        (Some(before), Some(after)) => (before, after),
    };
    let id = |session: &Session| (session.id, session.step.as_ref().map(|step| step.id));
    let marks = |session: &Session| {
        let step = session.step.as_ref();
        step.map(|step| {
            step.evidence
                .marks
                .iter()
                .map(|mark| mark.taken_back)
                .collect::<Vec<_>>()
        })
    };
    if id(before) != id(after) {
        Some("the step was closed")
    } else if (before.clamped, before.setting) != (after.clamped, after.setting) {
        Some("the clamp was changed")
    } else if marks(before) != marks(after) {
        Some("another mark was made or taken back")
    } else {
        None
    }
}

impl Engine {
    /// Makes the mark, or has it wait when all that is missing is rest.
    pub(super) fn on_mark(&mut self, request: MarkRequest, at: Time, answer: Answer<Marked>) {
        let wait_s = request.wait_s.unwrap_or(USUAL_WAIT_S);
        if wait_s > LONGEST_WAIT_S {
            let refusal = Refusal::new(
                Code::BadValue,
                format!("wait_s is {wait_s}, and a mark waits at most {LONGEST_WAIT_S} s"),
            );
            drop(answer.send(Err(refusal.hint("ask again when it was answered"))));
            return;
        }
        match self.try_mark(&request, at) {
            Err(Unmade::NotAtRest(_)) if wait_s > 0 => {
                self.drop_waiting("another mark was asked for");
                self.waiting = Some(Waiting {
                    request,
                    asked_at: at,
                    deadline: at.plus_s(f64::from(wait_s)),
                    answer,
                });
                self.show();
            }
            tried => self.begin(
                tried.map_err(Refusal::from),
                answer,
                "the mark was not stored",
            ),
        }
    }

    /// Looks whether the mark that waits can be made now, or has to be refused.
    pub(super) fn work_waiting(&mut self) {
        if !self.ledger.is_idle() {
            return;
        }
        let Some(waiting) = self.waiting.take() else {
            return;
        };
        if waiting.answer.is_closed() {
            // Whoever asked has gone, and would not learn that it was made.
            self.show();
            return;
        }
        let served = self
            .indicator_name()
            .and_then(|name| self.roster.find(name));
        let newest = served.and_then(|served| served.ring.last());
        let at = newest.map_or(waiting.asked_at, |reading| reading.t);
        // However late this comes, what counts is what was read in its time.
        let at = at.max(waiting.asked_at).min(waiting.deadline);
        match self.try_mark(&waiting.request, at) {
            Err(Unmade::NotAtRest(_)) if self.timeline.now(&*self.clock).t < waiting.deadline => {
                self.waiting = Some(waiting);
            }
            tried => {
                let refused = tried.is_err();
                let worked = tried.map_err(|unmade| waiting.refusal(unmade));
                self.begin(worked, waiting.answer, "the mark was not stored");
                if refused {
                    self.show();
                }
            }
        }
    }

    fn try_mark(
        &mut self,
        request: &MarkRequest,
        at: Time,
    ) -> Result<(super::change::Draft, Marked), Unmade> {
        let session = self
            .session
            .as_ref()
            .ok_or_else(super::session::no_session)?;
        let (roster, recording) = (&self.roster, &mut self.recording);
        // The user's word on the press that is asked about.
        let pressed = self
            .double_press
            .as_ref()
            .filter(|_| request.value.is_none());
        let pressed = pressed.and_then(|double| Some((roster.find(&double.cable)?, &double.last)));
        let made = match pressed {
            Some((served, last)) => marks::press(session, served, last, request)?,
            None => marks::mark(session, roster, recording, request, at)?,
        };
        self.marked_at = self.marked_at.max(Time(at.0 + 1));
        Ok(made)
    }

    /// The mark that waits is none, and why. True when one waited.
    pub(super) fn drop_waiting(&mut self, why: &str) -> bool {
        let waiting = self.waiting.take();
        let waited = waiting.is_some();
        if let Some(waiting) = waiting {
            // A client that has gone does not need its answer.
            drop(waiting.answer.send(Err(dropped(why))));
        }
        waited
    }

    /// A change comes into force, and may drop the mark that waits: what the screens say then.
    pub(super) fn settle_waiting(&mut self, after: Option<&Session>) -> Option<String> {
        self.waiting.as_ref()?;
        let why = overtaken(self.session.as_ref(), after)?;
        self.drop_waiting(why);
        Some(dropped(why).message)
    }
}
