//! The state of everything, as screens need it.

use super::Engine;
use super::recording::Recording;
use protocol::api::Status;
use protocol::evidence::{Place, Time};
use protocol::pass;

impl Engine {
    /// The state of everything at `now`.
    pub(super) fn status(&self, now: Time) -> Status {
        let session = self.session.as_ref();
        let step = session.and_then(|session| session.step.as_ref());
        let marks = step.map(|step| step.evidence.lines()).unwrap_or_default();
        let next = session.zip(step).map(|(session, step)| {
            let marks = &step.evidence.marks;
            pass::next(&step.plan, &session.setup, marks, session.setting)
        });
        Status {
            session: session.map(|session| session.label()),
            step: step.map(|step| step.label()),
            plan: step.map(|step| step.plan.clone()),
            cables: self
                .roster
                .served
                .iter()
                .map(|served| served.status(now))
                .collect(),
            pedal: self.pedal.status(),
            indicator: self.indicator_name().map(str::to_owned),
            setup: session.map(|session| session.setup.clone()),
            outcome: step.and_then(|step| step.outcome.clone()),
            // Before the first mark there is nothing to wonder about.
            no_outcome: step
                .filter(|_| !marks.is_empty())
                .and_then(|step| step.no_outcome.clone()),
            marks,
            next_station: match next.as_ref().and_then(|next| next.place.as_ref()) {
                Some(Place::Station(station)) => Some(station.name.clone()),
                _ => None,
            },
            next_mark: next
                .as_ref()
                .and_then(|next| next.place.as_ref())
                .map(Place::to_string),
            next_place: next.as_ref().and_then(|next| next.place.clone()),
            recording: self.recording.as_ref().is_some_and(Recording::is_open),
            so_far: self.recording.as_ref().and_then(Recording::so_far),
            next_round: next.map(|next| next.round),
            double_press: self.double_press.as_ref().map(|double| double.shown()),
            waiting: self.waiting.as_ref().map(|waiting| waiting.shown(now)),
            clamped: session.is_some_and(|session| session.clamped),
            ground: step.is_some_and(|step| step.evidence.is_ground_since()),
            notice: self.notice(),
        }
    }

    /// What the user should know now: what keeps marks from being stored, then what has just happened and is said only for a
    /// while (a press has no other answer), then what lasts.
    fn notice(&self) -> Option<String> {
        let store = self.ledger.refusing().map(|why| {
            format!(
                "marks are not stored: {why}; the live view goes on, and marks do when this is over"
            )
        });
        store
            .or_else(|| self.passing.as_ref().map(|passing| passing.words.clone()))
            .or_else(|| self.config_trouble.clone())
            .or_else(|| self.pedal.trouble())
    }

    /// The cable whose readings are marked: the step's, the session's, or the first of the part when no session says otherwise.
    pub(super) fn indicator_name(&self) -> Option<&str> {
        match &self.session {
            Some(session) => match &session.step {
                Some(step) => step.plan.cable(&session.setup),
                None => session.setup.indicator.cable.as_deref(),
            },
            None => self.config.indicator_cable().map(|cable| &*cable.name),
        }
    }
}
