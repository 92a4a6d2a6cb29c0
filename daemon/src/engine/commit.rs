//! What happens to a draft: the engine hands its rows to the store, and puts it in force when they are committed.

use super::draft::{Draft, Drafted, Pending};
use super::request::Answer;
use super::state::Engine;
use super::write_queue::WriteOutcome;
use crate::store::Write;
use protocol::api::Refusal;
use protocol::evidence::Reading;

impl Engine {
    /// Sends a draft to the store. A change that is rejected, or that changes nothing, is answered at once.
    pub(super) fn commit<T: Send + 'static>(
        &mut self,
        drafted: Drafted<T>,
        answer: Answer<T>,
        not_done: &'static str,
    ) {
        // A client that has gone does not need its answer; what it asked for is done all the same.
        match drafted {
            Err(refusal) => drop(answer.send(Err(refusal))),
            Ok((draft, reply)) if draft.write == Write::default() => drop(answer.send(Ok(reply))),
            Ok((draft, reply)) => {
                let answer = |result: Result<(), Refusal>| {
                    drop(answer.send(result.map(|()| reply)));
                };
                self.send_change(Pending::new(draft, not_done, Box::new(answer)));
            }
        }
    }

    pub(super) fn send_change(&mut self, pending: Pending) {
        self.notices.1 = self.notices.0;
        self.writes.send_change(pending);
    }

    /// Adds a reading that has arrived to what is recorded: to the session in force, and to the draft that may replace it.
    pub(super) fn record(&mut self, cable: &str, reading: &Reading) {
        let sessions = self.session.iter_mut();
        let mut full = false;
        for session in sessions.chain(self.writes.session_under_way()) {
            full |= session.take(cable, reading);
        }
        let step = self.session.as_ref().and_then(|s| s.step.as_ref());
        if let Some(recording) = step
            .and_then(|step| step.recording.as_ref())
            .filter(|_| full)
        {
            let words = format!(
                "the recording has {} readings of `{cable}`, the most that the live view computes from: mark the end; the \
                 daemon stores further readings",
                recording.most()
            );
            self.notify(&words);
        }
    }

    pub(super) fn on_stored(&mut self, outcome: WriteOutcome) {
        match outcome {
            WriteOutcome::Nothing => {}
            WriteOutcome::Stored(pending) => {
                self.install(pending.draft);
                (pending.answer)(Ok(()));
            }
            WriteOutcome::Refused(pending, error) => {
                let refusal = error.refusal(pending.not_done);
                self.notify(&refusal.message);
                (pending.answer)(Err(refusal));
            }
        }
        self.forget_given_up();
        self.note_lost_readings();
        let refuses = self.writes.refusing().is_some();
        if refuses != self.store_refuses {
            self.store_refuses = refuses;
            self.show();
        }
    }

    /// Puts a draft in force.
    fn install(&mut self, draft: Draft) {
        self.checked.extend(draft.checked);
        if let Some(session) = &draft.after {
            self.next_session = self.next_session.max(session.id + 1);
            if let Some(step) = &session.step {
                self.next_step = self.next_step.max(step.id + 1);
            }
        }
        if let Some(change) = draft.learned {
            let steps = self.learned.entry(change.fixture).or_default();
            match change.what {
                Some(what) => steps.insert(change.step, what),
                None => steps.remove(&change.step),
            };
        }
        self.settle_double_press(draft.after.as_ref());
        let dropped = self.settle_waiting(draft.after.as_ref());
        self.settle_doubt(draft.after.as_ref());
        self.session = draft.after;
        // What has happened since the change was sent, the user has not seen yet.
        self.notice = self
            .notice
            .take()
            .filter(|notice| notice.number > self.notices.1);
        self.take_instrument(draft.accepted.as_deref());
        match dropped {
            Some(words) => self.notify(&words),
            None => self.show(),
        }
    }

    /// Removes the readings that were dropped before the store accepted them: they count nowhere.
    pub(super) fn forget_given_up(&mut self) {
        let given_up = self.writes.take_given_up();
        if given_up.is_empty() {
            return;
        }
        let sessions = self.session.iter_mut();
        for session in sessions.chain(self.writes.session_under_way()) {
            session.forget(&given_up);
        }
    }
}
