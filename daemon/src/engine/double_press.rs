//! Two presses in quick succession: the first is a mark, and the user is asked about the last.

use super::session::Session;
use protocol::api::{self, Code, Refusal};
use protocol::evidence::{MarkSource, Reading};
use std::sync::Arc;

/// Presses that followed each other too closely.
pub(super) struct DoublePress {
    pub cable: Arc<str>,
    /// The count of the press that became a mark.
    pub first_seq: u64,
    /// The press that the user is asked about.
    pub last: Reading,
    pub presses: u32,
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

    /// What a change of the session means for it; `None` when the question stays open.
    pub fn answer(&self, before: Option<&Session>, after: Option<&Session>) -> Option<Answered> {
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
                // The mark of the first press had not been committed yet.
                seq if seq <= self.first_seq => None,
                _ => Some(Answered::Left("another mark was made")),
            },
            _ => Some(Answered::Left("another mark was made")),
        }
    }
}

/// What became of the press that the user was asked about.
pub(super) enum Answered {
    Marked,
    Left(&'static str),
}

/// Undo is rejected while the user is asked: it could mean that press, or the mark before it.
pub(super) fn is_asked() -> Refusal {
    Refusal::new(
        Code::PressAsked,
        "the second of two quick presses waits for your answer",
    )
    .hint("answer first: `conewright mark` keeps it, `conewright undo` drops it")
}
