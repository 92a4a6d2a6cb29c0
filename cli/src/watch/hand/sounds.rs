//! Sound is turned on and off, and the user is told what became of it.

use crate::watch::state::Watch;
use protocol::said;

impl Watch {
    pub(super) fn turn_sound(&mut self) {
        self.sound = !self.sound;
        if !self.sound {
            let style = self.style();
            self.done(said!(style, "watch-sound-off"), None);
        }
    }

    /// Sound is on, through this program.
    pub fn sound_began(&mut self, player: &str) {
        let style = self.style();
        self.done(
            said!(style, "watch-sound-on", player = player),
            Some(&said!(style, "watch-sound-means")),
        );
    }

    /// There is no sound, or no more.
    pub fn sound_failed(&mut self, why: &str, hint: &str) {
        self.sound = false;
        let style = self.style();
        self.refuse(&said!(style, "watch-no-sound", why = why), Some(hint));
    }

    /// The player ended by itself.
    pub fn sound_ended(&mut self, why: &str) {
        let style = self.style();
        let again = said!(style, "watch-sound-again");
        self.sound_failed(why, &again);
    }
}
