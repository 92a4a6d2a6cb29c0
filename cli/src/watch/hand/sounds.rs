//! Sound is turned on and off, and the user is told what became of it.

use crate::watch::state::Watch;

impl Watch {
    pub(super) fn turn_sound(&mut self) {
        self.sound = !self.sound;
        if !self.sound {
            self.done("sound OFF".to_owned(), None);
        }
    }

    /// Sound is on, through this program.
    pub fn sound_began(&mut self, player: &str) {
        self.done(
            format!("sound ON, played by `{player}`"),
            Some("one tone a beat: before the target; two: past it; higher is nearer. b: off"),
        );
    }

    /// There is no sound, or no more.
    pub fn sound_failed(&mut self, why: &str, hint: &str) {
        self.sound = false;
        self.refuse(&format!("no sound: {why}"), Some(hint));
    }
}
