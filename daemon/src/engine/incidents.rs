//! What happens beside readings and requests: cables leave and come back, the computer sleeps, its clock is set,
//! the configuration changes. The engine reports each to the clients, and notes it in the open session.

use super::roster::{is_away, reason_suffix};
use super::state::Engine;
use metrology::Counted;
use metrology::Unit;
use protocol::api::CableState;
use protocol::evidence::Time;
use protocol::record::EventKind;
use tokio::time::Instant;

/// The engine reports changes of a cable's unit at most this often, s.
const UNIT_REPORTED_EVERY_S: f64 = 1.0;

const fn unit_word(unit: Unit) -> &'static str {
    match unit {
        Unit::Mm => "millimetres",
        Unit::Um => "micrometres",
        Unit::In => "inches",
    }
}

/// How long the daemon was not running, and why.
fn gap_text(from: Option<Time>, now: Time, clean: bool) -> String {
    let how = if clean {
        "the daemon was stopped and restarted"
    } else {
        "the daemon stopped unexpectedly and was restarted"
    };
    match from {
        Some(from) => format!("no readings for {:.1} s: {how}", now.since_s(from).max(0.0)),
        None => how.to_owned(),
    }
}

impl Engine {
    /// Notes something in the open session, if there is one.
    pub(super) fn note(&mut self, what: EventKind, text: String) {
        if let Some(session) = &self.session {
            let now = self.timeline.now(&*self.clock);
            self.writes.row(session.event(what, text, now));
        }
    }

    /// Notes that the daemon was restarted while the session was open.
    pub(super) fn note_restart(&mut self, last: Option<Time>, clean: bool) {
        let now = self.timeline.now(&*self.clock).t;
        let text = gap_text(last, now, clean);
        tracing::info!(text, "the open session was resumed");
        self.note(EventKind::Gap, text);
    }

    pub(super) fn on_state(&mut self, index: usize, state: CableState, detail: Option<String>) {
        let served = &mut self.roster.served[index];
        let (state, detail) = served
            .fitted
            .state(&served.name, state, detail, is_away(state));
        if served.state == state && served.detail == detail {
            return;
        }
        let name = served.config.name.clone();
        let (was_away, away) = (is_away(served.state), is_away(state));
        served.reported(state, detail.clone());
        tracing::info!(cable = name, ?state, detail, "cable");
        if away && !was_away {
            served.fitted.left(served.ring.last().copied());
            served.ring.break_here();
            let why = reason_suffix(detail);
            self.note(EventKind::Cable, format!("the cable `{name}` left{why}"));
        } else if was_away && !away {
            self.note(EventKind::Cable, format!("the cable `{name}` is back"));
        }
        self.show();
    }

    /// Reports that the unit of a cable's readings has changed. The value is right either way; but the instrument's display now
    /// shows other digits than the screens, and the user has to know why.
    pub(super) fn on_unit(&mut self, index: usize, stated: Option<Unit>, steady_ns: i64) {
        let t = self.timeline.at(steady_ns);
        let served = &mut self.roster.served[index];
        let unit = stated.unwrap_or(served.config.unit);
        let Some((before, since)) = served.sends_in else {
            served.sends_in = Some((unit, t));
            return;
        };
        // A noisy line that garbles the unit must not fill the session with notes.
        if before == unit || t.since_s(since) < UNIT_REPORTED_EVERY_S {
            return;
        }
        served.sends_in = Some((unit, t));
        let text = format!(
            "the cable `{}` now sends {} instead of {}; the daemon converts the values",
            served.config.name,
            unit_word(unit),
            unit_word(before)
        );
        tracing::info!(text, "unit");
        self.note(EventKind::Cable, text.clone());
        self.notify(&text);
    }

    /// Notices a sleep of the computer before the next regular check, so that no reading or mark is joined to those before it.
    pub(super) fn notice_sleep(&mut self) {
        if self.clock_watch.has_slept(&*self.clock) {
            self.look_at_clocks();
        }
    }

    /// Looks now where nothing has made the engine look for a while.
    pub(super) fn look_if_overdue(&mut self) {
        if self.looks.is_overdue(Instant::now()) {
            self.look();
        }
    }

    fn look_at_clocks(&mut self) {
        let irregular = self.clock_watch.look(&*self.clock);
        if let Some((slept, woke)) = irregular.slept_ns.zip(irregular.woke_ns) {
            self.roster.break_rings(self.timeline.at(woke));
            let text = format!(
                "no readings for {:.1} s: the computer slept",
                slept as f64 * 1e-9
            );
            tracing::info!(text, "sleep");
            self.note(EventKind::Gap, text.clone());
            self.notify(&text);
        }
        if let Some(set) = irregular.set_ns {
            let seconds = set as f64 * 1e-9;
            let text = format!(
                "the computer's clock was set by {seconds:+.3} s; the times between readings stay right"
            );
            tracing::info!(text, "clock");
            self.note(EventKind::Clock, text.clone());
            self.notify(&text);
        }
    }

    /// The regular check.
    pub(super) fn look(&mut self) {
        self.looks.done(Instant::now());
        self.look_at_clocks();
        for name in self.roster.revive() {
            tracing::error!(cable = name, "the cable's task failed and was restarted");
            self.note(
                EventKind::Cable,
                format!("the cable `{name}` was restarted after a fault of the program"),
            );
            self.unshown = true;
        }
        if self.pedal.revive() {
            tracing::error!("the pedal's task failed and was restarted");
            self.unshown = true;
        }
        self.take_configuration();
        self.unshown |= self.room.look(Instant::now());
        if self
            .notice
            .as_ref()
            .is_some_and(|notice| notice.until <= Instant::now())
        {
            self.notice = None;
            self.unshown = true;
        }
        if self.unshown {
            self.show();
        }
    }

    /// Loads the configuration when it has changed. If it is rejected, the one before stays in use and the clients see why.
    pub(super) fn take_configuration(&mut self) {
        let Some(read) = (self.source)() else {
            return;
        };
        match read {
            Err(why) => {
                tracing::warn!(%why, "the configuration was rejected");
                self.config_trouble = Some(format!(
                    "the new configuration was rejected, and the one before stays in use: {why}"
                ));
            }
            Ok(config) => {
                self.config_trouble = None;
                if config == self.config {
                    self.unshown = true;
                    return;
                }
                let waits = self.config.waits(&config, self.session.is_some());
                let changed = self.roster.configure(&config.cables);
                self.pedal.configure(config.pedal.as_ref());
                self.config = config;
                tracing::info!(cables = ?changed, "the configuration was loaded");
                for name in changed {
                    let text = match self.roster.find(&name) {
                        Some(served) => {
                            let now = crate::record::settings(&served.config);
                            format!(
                                "the cable `{name}` has new settings: {}, {}, {}, frame {}",
                                now.port, now.settings, now.cadence, now.frame
                            )
                        }
                        None => format!("the cable `{name}` was removed from the configuration"),
                    };
                    self.note(EventKind::Cable, text);
                }
                let waits = waits.map_or(String::new(), |waits| format!("; {waits}"));
                self.notify(&format!(
                    "the configuration has changed and was loaded{waits}"
                ));
            }
        }
        self.unshown = true;
    }

    /// Once the store accepts writes again, notes in the session how many readings and events were lost.
    pub(super) fn note_lost_readings(&mut self) {
        if let Some(lost) = self.writes.take_lost() {
            let readings =
                (lost.readings > 0).then(|| Counted(lost.readings, "reading").to_string());
            let events = (lost.events > 0).then(|| Counted(lost.events, "event").to_string());
            let what: Vec<String> = readings.into_iter().chain(events).collect();
            self.note(
                EventKind::Gap,
                format!(
                    "not stored while the store rejected writes: {}",
                    what.join(", ")
                ),
            );
        }
    }
}
