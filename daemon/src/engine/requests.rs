//! What clients ask: changes, each worked out against the state that the one before left, and queries.

use super::change::{Answer, Change, Pending, Query, Subscription};
use super::session::{self, Session, Worked, no_session};
use super::{Engine, feed, presses, waiting};
use crate::store::Write;
use protocol::api::{Code, Live, OpenSession, Refusal, SessionOpened, StepOpened};
use protocol::step::StepOptions;

impl Engine {
    pub(super) fn on_change(&mut self, change: Change) {
        if let Change::Mark(..) = &change {
            // What came before the mark is taken before it: its readings are those up to its moment.
            while let Ok(event) = self.events.try_recv() {
                self.on_cable(event);
            }
        }
        self.notice_sleep();
        let now = self.timeline.now(&*self.clock);
        let session = self.session.as_ref().ok_or_else(no_session);
        match change {
            Change::OpenSession(request, answer) => {
                let worked = self.open_session(&request);
                self.begin(worked, answer, "the session was not opened");
            }
            Change::CloseSession(answer) => {
                let worked = session.and_then(|s| s.close(now));
                self.begin(worked, answer, "the session was not closed");
            }
            Change::OpenStep(request, answer) => {
                let worked = self.open_step(&request);
                self.begin(worked, answer, "the step was not opened");
            }
            Change::CloseStep(answer) => {
                let worked = session.and_then(|s| s.close_step(now));
                self.begin(worked, answer, "the step was not closed");
            }
            Change::Mark(request, steady_ns, answer) => {
                let at = self.timeline.at(steady_ns);
                self.on_mark(request, at, answer);
            }
            Change::Undo(answer) => {
                let worked = match (&self.double_press, &self.waiting) {
                    (Some(_), _) => Err(presses::is_asked()),
                    (None, Some(_)) => Err(waiting::is_waiting()),
                    (None, None) => session.and_then(|s| s.undo(self.recording.as_mut())),
                };
                self.begin(worked, answer, "the mark was not taken back");
            }
            Change::LeavePress(answer) => {
                let left = session.map(|_| ()).and_then(|()| self.leave_asked_press());
                // A client that has gone does not need its answer.
                drop(answer.send(left));
            }
            Change::Clamp(request, answer) => {
                let worked = session.and_then(|s| s.clamp(request, now));
                self.begin(worked, answer, "the clamp was not noted");
            }
            Change::Ground(request, answer) => {
                let recording = self.recording.as_mut();
                let worked = session.and_then(|s| s.ground(request, recording, now));
                self.begin(worked, answer, "the grinding was not noted");
            }
            Change::Note(request, answer) => {
                let worked = session.and_then(|s| s.note(&request, now));
                self.begin(worked, answer, "the note was not stored");
            }
            Change::Flush(answer) => self.ledger.send_group(Some(answer)),
        }
    }

    fn open_session(&mut self, request: &OpenSession) -> Worked<Box<SessionOpened>> {
        if let Some(session) = &self.session {
            return Err(Refusal::new(
                Code::SessionOpen,
                format!("session {} ({}) is open", session.id, session.name),
            )
            .hint("close it first: `conewright session close`"));
        }
        // What the user has written a moment ago counts.
        self.take_configuration();
        let mut setup = config::resolve(&self.config, &request.options)?;
        session::remember(&mut setup, &self.learned);
        let cables = self
            .config
            .cables
            .iter()
            .map(crate::record::settings)
            .collect();
        let now = self.timeline.now(&*self.clock);
        Session::open(self.next_session, &request.name, setup, cables, now)
    }

    fn open_step(&mut self, request: &StepOptions) -> Worked<StepOpened> {
        let session = self.session.as_ref().ok_or_else(no_session)?;
        session.may_open_step()?;
        // What the user has written a moment ago counts.
        self.take_configuration();
        let session = self.session.as_ref().ok_or_else(no_session)?;
        let mut plan = config::resolve_step(&self.config, &session.setup, request)?;
        session.complete(&mut plan, &self.checked);
        let now = self.timeline.now(&*self.clock);
        session.open_step(self.next_step, plan, now)
    }

    /// Sends a change to the store; what is refused is answered at once.
    pub(super) fn begin<T: Send + 'static>(
        &mut self,
        worked: Worked<T>,
        answer: Answer<T>,
        not_done: &'static str,
    ) {
        match worked {
            // A client that has gone does not need its answer; what it asked for is done all the same.
            Err(refusal) => drop(answer.send(Err(refusal))),
            Ok((draft, reply)) => {
                if draft.write == Write::default() {
                    // Nothing changes.
                    drop(answer.send(Ok(reply)));
                    return;
                }
                let answer = |result: Result<(), Refusal>| {
                    drop(answer.send(result.map(|()| reply)));
                };
                self.ledger
                    .send_change(Pending::new(draft, not_done, Box::new(answer)));
            }
        }
    }

    pub(super) fn on_query(&mut self, query: Query) {
        let now = self.timeline.now(&*self.clock).t;
        // A client that has gone does not need its answer.
        match query {
            Query::StopWaiting => {
                self.drop_waiting("the daemon is stopping");
            }
            Query::Status(answer) => drop(answer.send(Box::new(self.status(now)))),
            Query::Subscribe(answer) => {
                let subscription = Subscription {
                    snapshot: feed::event(&Live::Snapshot(Box::new(self.status(now)))),
                    events: self.feed.subscribe(),
                };
                drop(answer.send(subscription));
            }
        }
    }
}
