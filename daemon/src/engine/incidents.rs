//! What happens beside readings and requests: cables leave and come back, the computer sleeps, its clock is set,
//! the configuration changes. Each is told, and noted in the open session.

use super::roster::is_away;
use super::session::gap_text;
use super::{Engine, Instant};
use metrology::Counted;
use metrology::Unit;
use protocol::api::CableState;
use protocol::evidence::Time;
use protocol::record::EventKind;

/// Changes of a cable's unit are told no faster than this.
const UNIT_TOLD_EVERY_S: f64 = 1.0;

const fn unit_word(unit: Unit) -> &'static str {
    match unit {
        Unit::Mm => "millimetres",
        Unit::Um => "micrometres",
        Unit::In => "inches",
    }
}

/// A reason, to be put behind what happened.
pub(super) fn because(detail: Option<String>) -> String {
    detail.map_or_else(String::new, |detail| format!(": {detail}"))
}

impl Engine {
    /// Notes something in the open session, if there is one.
    pub(super) fn note(&mut self, what: EventKind, text: String) {
        if let Some(session) = &self.session {
            let now = self.timeline.now(&*self.clock);
            self.ledger.row(session.event(what, text, now));
        }
    }

    /// The session was open when the daemon was last there.
    pub(super) fn note_restart(&mut self, last: Option<Time>, clean: bool) {
        let now = self.timeline.now(&*self.clock).t;
        let text = gap_text(last, now, clean);
        tracing::info!(text, "the open session goes on");
        self.note(EventKind::Gap, text);
    }

    pub(super) fn on_state(&mut self, place: usize, state: CableState, detail: Option<String>) {
        let served = &mut self.roster.served[place];
        if served.state == state && served.detail == detail {
            return;
        }
        let name = served.config.name.clone();
        let (was_away, away) = (is_away(served.state), is_away(state));
        served.state = state;
        served.detail.clone_from(&detail);
        tracing::info!(cable = name, ?state, detail, "cable");
        if away && !was_away {
            served.ring.break_here();
            let why = because(detail);
            self.note(EventKind::Cable, format!("the cable `{name}` left{why}"));
        } else if was_away && !away {
            self.note(EventKind::Cable, format!("the cable `{name}` is back"));
        }
        self.show();
    }

    /// The unit that a reading came in. Its value is right whatever it is; a display that was switched shows other
    /// digits than the screens, and the user has to know why.
    pub(super) fn on_unit(&mut self, place: usize, stated: Option<Unit>, steady_ns: i64) {
        let t = self.timeline.at(steady_ns);
        let served = &mut self.roster.served[place];
        let unit = stated.unwrap_or(served.config.unit);
        let Some((before, since)) = served.sends_in else {
            served.sends_in = Some((unit, t));
            return;
        };
        // A line that garbles its unit must not fill the session with notes.
        if before == unit || t.since_s(since) < UNIT_TOLD_EVERY_S {
            return;
        }
        served.sends_in = Some((unit, t));
        let text = format!(
            "the cable `{}` sends {} now and sent {} before; values are converted, nothing has to be done",
            served.config.name,
            unit_word(unit),
            unit_word(before)
        );
        tracing::info!(text, "unit");
        self.note(EventKind::Cable, text.clone());
        self.tell(&text);
    }

    /// After a sleep a reading or a mark may come before the next look round: it is not joined to what was before.
    pub(super) fn notice_sleep(&mut self) {
        if self.watch.has_slept(&*self.clock) {
            self.look_at_clocks();
        }
    }

    fn look_at_clocks(&mut self) {
        let irregular = self.watch.look(&*self.clock);
        if let Some((slept, woke)) = irregular.slept_ns.zip(irregular.woke_ns) {
            self.roster.break_rings(self.timeline.at(woke));
            let text = format!(
                "no readings for {:.1} s: the computer slept",
                slept as f64 * 1e-9
            );
            tracing::info!(text, "sleep");
            self.note(EventKind::Gap, text.clone());
            self.tell(&text);
        }
        if let Some(set) = irregular.set_ns {
            let seconds = set as f64 * 1e-9;
            let text = format!(
                "the computer's clock was set by {seconds:+.3} s; times between readings are not touched by it"
            );
            tracing::info!(text, "clock");
            self.note(EventKind::Clock, text.clone());
            self.tell(&text);
        }
    }

    /// A look round, once a second.
    pub(super) fn look(&mut self) {
        self.look_at_clocks();
        for name in self.roster.revive() {
            tracing::error!(
                cable = name,
                "the cable's task ended by a fault and was begun anew"
            );
            self.note(
                EventKind::Cable,
                format!("the cable `{name}` was begun anew after a fault of the program"),
            );
            self.unshown = true;
        }
        if self.pedal.revive() {
            tracing::error!("the pedal's task ended by a fault and was begun anew");
            self.unshown = true;
        }
        self.take_configuration();
        if self
            .passing
            .as_ref()
            .is_some_and(|passing| passing.until <= Instant::now())
        {
            self.passing = None;
            self.unshown = true;
        }
        if self.unshown {
            self.show();
        }
    }

    /// Takes the configuration when it has changed, or keeps what there is and says why.
    pub(super) fn take_configuration(&mut self) {
        let Some(read) = (self.source)() else {
            return;
        };
        match read {
            Err(why) => {
                tracing::warn!(why, "the configuration was not taken");
                self.config_trouble = Some(format!(
                    "the configuration was not taken, what was read before is kept: {why}"
                ));
            }
            Ok(config) => {
                self.config_trouble = None;
                if config == self.config {
                    self.unshown = true;
                    return;
                }
                let changed = self.roster.configure(&config.cables);
                self.pedal.configure(config.pedal.as_ref());
                self.config = config;
                tracing::info!(cables = ?changed, "the configuration was taken");
                for name in changed {
                    let text = match self.roster.find(&name) {
                        Some(served) => {
                            let now = crate::record::settings(&served.config);
                            format!(
                                "the cable `{name}` was configured anew: {}, {}, {}, frame {}",
                                now.port, now.settings, now.cadence, now.frame
                            )
                        }
                        None => format!("the cable `{name}` was taken out of the configuration"),
                    };
                    self.note(EventKind::Cable, text);
                }
            }
        }
        self.unshown = true;
    }

    /// Once the store takes again, the session says what it could not take.
    pub(super) fn note_lost_readings(&mut self) {
        if let Some(lost) = self.ledger.take_lost() {
            self.note(
                EventKind::Gap,
                format!(
                    "not stored while the store refused: {}",
                    Counted(lost, "reading")
                ),
            );
        }
    }
}
