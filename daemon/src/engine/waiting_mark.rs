//! The mark that waits until the reading has settled.

use super::request::Answer;
use super::session::Session;
use super::source::NotMarked;
use protocol::api::{self, Code, MarkRequest, Marked, Refusal};
use protocol::evidence::Time;
use std::time::Duration;

/// How often the engine checks a waiting mark when nothing else happens.
pub(super) const LOOK_AGAIN: Duration = Duration::from_millis(50);

/// A mark that was requested, and waits until the reading has settled.
pub(super) struct WaitingMark {
    pub request: MarkRequest,
    pub asked_at: Time,
    pub deadline: Time,
    pub answer: Answer<Marked>,
}

impl WaitingMark {
    pub fn shown(&self, now: Time) -> api::WaitingMark {
        api::WaitingMark {
            place: self.request.station.clone(),
            left_s: self.deadline.since_s(now).max(0.0),
        }
    }

    /// Why it was not made.
    pub fn refusal(&self, why: NotMarked) -> Refusal {
        match why {
            NotMarked::Refused(refusal) => refusal,
            NotMarked::NotAtRest(mut refusal) => {
                let waited_s = self.deadline.since_s(self.asked_at);
                refusal.message = format!("waited {waited_s:.0} s: {}", refusal.message);
                refusal
            }
        }
    }
}

/// The answer to a client whose waiting mark was cancelled.
pub(super) fn dropped(why: &str) -> Refusal {
    Refusal::new(
        Code::Cancelled,
        format!("the mark that waited for the reading to settle was cancelled: {why}"),
    )
    .hint("mark again when the reading has settled")
}

/// Undo is rejected while a mark waits: it could mean that one, or the one before it.
pub(super) fn is_waiting() -> Refusal {
    Refusal::new(
        Code::PressAsked,
        "a mark still waits for the reading to settle",
    )
    .hint("`conewright undo` cancels it; so does u or esc in the live view")
}

/// Why a change of the session cancels a waiting mark; `None` when it does not.
pub(super) fn overtaken(before: Option<&Session>, after: Option<&Session>) -> Option<&'static str> {
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
