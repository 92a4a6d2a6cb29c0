//! Presses: in a cable that sends when the instrument's key is pressed, each reading is itself a mark while a step is
//! open.

use super::change::Pending;
use super::session::Worked;
use super::{Engine, marks};
use protocol::api::Marked;
use protocol::evidence::Reading;
use std::sync::Arc;

/// Presses closer than this are one press that was felt twice, or a mistake.
const DOUBLE_PRESS_S: f64 = 0.3;
impl Engine {
    pub(super) fn on_press(&mut self, name: Arc<str>, reading: Reading) {
        let twice = self.last_press.as_ref().is_some_and(|(cable, last)| {
            *cable == name && reading.t.since_s(last.t) < DOUBLE_PRESS_S
        });
        if twice {
            self.tell(
                "a second press within 0.3 s was not taken as a mark: press again if it was meant",
            );
            return;
        }
        self.last_press = Some((Arc::clone(&name), reading));
        self.presses.push_back((name, reading));
    }

    /// Begins the next press that waits to become a mark.
    pub(super) fn mark_presses(&mut self) {
        while self.ledger.is_idle()
            && let Some((name, reading)) = self.presses.pop_front()
        {
            let Some(session) = &self.session else {
                continue;
            };
            let Some(served) = self.roster.find(&name) else {
                continue;
            };
            let worked = marks::press(session, served, &reading);
            self.begin_press(worked);
        }
    }

    fn begin_press(&mut self, worked: Worked<Marked>) {
        match worked {
            Ok((draft, _)) => {
                // Nobody waits for the answer; a refusal is told by `on_stored`.
                let pending = Pending::new(draft, "the press was not stored", Box::new(|_| {}));
                self.ledger.send_change(pending);
            }
            Err(refusal) => self.tell(&format!("the press is no mark: {refusal}")),
        }
    }
}
