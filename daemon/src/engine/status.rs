//! The state of everything, as screens need it.

use super::recording::Recording;
use super::state::{Engine, Notice};
use protocol::api::{ConfigStatus, Live, Status};
use protocol::evidence::{Place, Time};
use protocol::pass;
use std::time::Duration;
use tokio::time::Instant;

/// How long something that has just happened is shown.
const NOTICE_LASTS: Duration = Duration::from_secs(20);

impl Engine {
    /// The state of everything at `now`.
    pub(super) fn status(&self, now: Time) -> Status {
        let session = self.session.as_ref();
        let step = session.and_then(|session| session.step.as_ref());
        let recording = step.and_then(|step| step.recording.as_ref());
        let marks = step.map(|step| step.evidence.lines()).unwrap_or_default();
        let next = session.zip(step).map(|(session, step)| {
            let marks = &step.evidence.marks;
            pass::next(&step.plan, &session.setup, marks, session.setting)
        });
        Status {
            session: session.map(|session| session.label()),
            step: step.map(|step| step.label()),
            plan: step.map(|step| (*step.plan).clone()),
            cables: self
                .roster
                .served
                .iter()
                .map(|served| served.status(now))
                .collect(),
            config: Some(ConfigStatus {
                file: self.config_file.as_ref().map(|p| p.display().to_string()),
                trouble: self.config_trouble.clone(),
            }),
            pedal: self.pedal.status(),
            indicator: self.indicator_name().map(str::to_owned),
            setup: session.map(|session| (*session.setup).clone()),
            outcome: step.and_then(|step| step.outcome().cloned()),
            // Before the first mark nobody expects an outcome.
            no_outcome: step
                .filter(|_| !marks.is_empty())
                .and_then(|step| step.no_outcome())
                .map(ToString::to_string),
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
            recording: recording.is_some_and(Recording::is_open),
            so_far: recording.and_then(Recording::so_far),
            next_round: next.map(|next| next.round),
            double_press: self.double_press.as_ref().map(|double| double.shown()),
            waiting: self.waiting.as_ref().map(|waiting| waiting.shown(now)),
            clamped: session.is_some_and(|session| session.clamped),
            ground: step.is_some_and(|step| step.evidence.is_ground_since()),
            notice: self.current_notice(),
        }
    }

    /// What the user should know now. First what keeps marks from being stored, then what has just happened (a press has no
    /// other answer), then what lasts.
    fn current_notice(&self) -> Option<String> {
        let store = self.writes.refusing().map(|why| {
            format!(
                "the store rejects marks: {why}; the live view goes on, and marks work again when this is mended"
            )
        });
        store
            .or_else(|| self.notice.as_ref().map(|notice| notice.words.clone()))
            .or_else(|| self.room.short().map(str::to_owned))
            .or_else(|| self.lost.clone())
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

    /// Shows the clients the state of everything.
    pub(super) fn show(&mut self) {
        self.unshown = false;
        if self.feed.has_listeners() {
            let now = self.timeline.now(&*self.clock).t;
            self.feed.send(&Live::Snapshot(Box::new(self.status(now))));
        }
    }

    /// Shows the user something that has just happened.
    pub(super) fn notify(&mut self, words: &str) {
        self.notices.0 += 1;
        self.notice = Some(Notice {
            number: self.notices.0,
            words: words.to_owned(),
            until: Instant::now() + NOTICE_LASTS,
        });
        self.show();
    }
}
