//! How the engine handles requests: it drafts each change from the state that the one before left, and answers queries at once.

use super::configured::Configured;
use super::draft::Drafted;
use super::request::{Change, Query, Subscription};
use super::session::{Session, no_session};
use super::state::Engine;
use super::{double_press, feed, fixture, waiting_mark};
use protocol::api::{Code, Live, OpenSession, Refusal, SessionOpened, StepOpened};
use protocol::step::StepOptions;

impl Engine {
    pub(super) fn on_change(&mut self, change: Change) {
        if let Change::Mark(..) = &change {
            // Readings that arrived before the mark are taken first: it may use all up to its own moment.
            while let Ok(event) = self.cable_events.try_recv() {
                self.on_cable(event);
            }
        }
        self.look_if_overdue();
        self.notice_sleep();
        let now = self.timeline.now(&*self.clock);
        let session = self.session.as_ref().ok_or_else(no_session);
        match change {
            Change::OpenSession(request, answer) => {
                let drafted = self.open_session(&request);
                self.commit(drafted, answer, "the session was not opened");
            }
            Change::CloseSession(answer) => {
                let drafted = session.and_then(|s| s.close(now));
                self.commit(drafted, answer, "the session was not closed");
            }
            Change::OpenStep(request, answer) => {
                let drafted = self.open_step(&request);
                self.commit(drafted, answer, "the step was not opened");
            }
            Change::CloseStep(answer) => {
                let drafted = session.and_then(|s| s.close_step(now));
                self.commit(drafted, answer, "the step was not closed");
            }
            Change::Mark(request, steady_ns, answer) => {
                let at = self.timeline.at(steady_ns);
                self.on_mark(request, at, answer);
            }
            Change::Undo(answer) => {
                let drafted = match (&self.double_press, &self.waiting) {
                    (Some(_), _) => Err(double_press::is_asked()),
                    (None, Some(_)) => Err(waiting_mark::is_waiting()),
                    (None, None) => session.and_then(Session::undo),
                };
                self.commit(drafted, answer, "the mark was not taken back");
            }
            Change::LeavePress(answer) => {
                let left = session.map(|_| ()).and_then(|()| self.leave_asked_press());
                // A client that has gone does not need its answer.
                drop(answer.send(left));
            }
            Change::Clamp(request, answer) => {
                let drafted = session.and_then(|s| s.clamp(request, now));
                self.commit(drafted, answer, "the clamp was not noted");
            }
            Change::Ground(request, answer) => {
                let drafted = session.and_then(|s| s.ground(request, now));
                self.commit(drafted, answer, "the grinding was not noted");
            }
            Change::Note(request, answer) => {
                let drafted = session.and_then(|s| s.note(&request, now));
                self.commit(drafted, answer, "the note was not stored");
            }
            Change::Accept(request, answer) => self.on_accept(request, answer),
            Change::Flush(answer) => self.writes.send_group(Some(answer)),
        }
    }

    fn open_session(&mut self, request: &OpenSession) -> Drafted<Box<SessionOpened>> {
        if let Some(session) = &self.session {
            return Err(Refusal::new(
                Code::SessionOpen,
                format!("session {} ({}) is open", session.id, session.name),
            )
            .hint("close it first: `conewright session close`"));
        }
        // A change of the configuration a moment ago counts.
        self.take_configuration();
        let mut setup = config::resolve(&self.config, &request.options)?;
        fixture::remember(&mut setup, &self.learned);
        let settings = |cable: &config::Cable| {
            let mut settings = crate::record::settings(cable);
            let served = self.roster.find(&cable.name);
            settings.instrument = served.and_then(|served| served.fitted.known_as());
            settings
        };
        let cables: Vec<_> = self.config.cables.iter().map(settings).collect();
        self.cables_at_opening.clone_from(&cables);
        let now = self.timeline.now(&*self.clock);
        Session::open(self.next_session, &request.name, setup, cables, now)
    }

    fn open_step(&mut self, request: &StepOptions) -> Drafted<StepOpened> {
        let session = self.session.as_ref().ok_or_else(no_session)?;
        session.may_open_step()?;
        // A change of the configuration a moment ago counts.
        self.take_configuration();
        let session = self.session.as_ref().ok_or_else(no_session)?;
        let mut plan = config::resolve_step(&self.config, &session.setup, request)?;
        session.complete(&mut plan, &self.checked);
        let now = self.timeline.now(&*self.clock);
        session.with_step(self.next_step, plan, now)
    }

    pub(super) fn on_query(&mut self, query: Query) {
        self.look_if_overdue();
        let now = self.timeline.now(&*self.clock).t;
        // A client that has gone does not need its answer.
        match query {
            Query::StopWaiting => {
                self.drop_waiting("the daemon is stopping");
            }
            Query::Status(answer) => {
                // Every verb asks for this first, and tells what is wrong with the configuration.
                self.take_configuration();
                drop(answer.send(Box::new(self.status(now))));
            }
            Query::Configured(answer) => {
                self.take_configuration();
                let configured = Configured::new(&self.config, &self.learned);
                drop(answer.send(Box::new(configured)));
            }
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
