//! By ear: what [`protocol::screen::sound`] says, played while the view is open. Off until asked for.

mod mixer;
mod player;
#[cfg(test)]
mod tests;

use super::state::{Link, Watch};
use mixer::Mixer;
use player::{NoPlayer, Player};
use protocol::screen::sound::Event;
use protocol::screen::{self, Heard};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::mpsc;

/// What is heard of the live view, while sound is wanted.
#[derive(Default)]
pub struct Ears {
    playing: Option<Sound>,
    /// What became of the player, should it end by itself.
    reports: Option<mpsc::Receiver<String>>,
}

/// Sound that is on. Dropping it ends the player.
struct Sound {
    mixer: Arc<Mutex<Mixer>>,
    heard: Heard,
    /// Held for its end.
    _player: Player,
}

impl Ears {
    /// Turns the sound on or off as it is wanted, and plays what this moment brings.
    pub fn follow(&mut self, view: &mut Watch, now_s: f64) {
        if !view.sound {
            self.playing = None;
            self.reports = None;
        } else if self.playing.is_none() {
            match self.start() {
                Ok(player) => view.sound_began(player),
                Err(none) => view.sound_failed(&none.to_string(), &NoPlayer::hint()),
            }
        }
        if let Some(sound) = &mut self.playing {
            sound.hear(view, now_s);
        }
    }

    fn start(&mut self) -> Result<&'static str, NoPlayer> {
        let (ended, reports) = mpsc::channel(1);
        let mixer = Arc::new(Mutex::new(Mixer::default()));
        let path = std::env::var_os("PATH").unwrap_or_default();
        let player = Player::start(&path, Arc::clone(&mixer), ended)?;
        let name = player.name();
        self.reports = Some(reports);
        self.playing = Some(Sound {
            mixer,
            heard: Heard::default(),
            _player: player,
        });
        Ok(name)
    }

    /// Waits until no player is left, and says why; for ever while all is well.
    pub async fn ended(&mut self) -> String {
        if let Some(reports) = &mut self.reports
            && let Some(why) = reports.recv().await
        {
            return why;
        }
        std::future::pending().await
    }

    /// Sounds that something was not done; false where sound is off.
    pub fn refused(&self) -> bool {
        let Some(sound) = &self.playing else {
            return false;
        };
        sound.mixer().play(Event::Refused.tones());
        true
    }
}

impl Sound {
    fn mixer(&self) -> MutexGuard<'_, Mixer> {
        self.mixer.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn hear(&mut self, view: &Watch, now_s: f64) {
        let screen = screen::of(&view.seen(now_s));
        let connected = !matches!(view.link, Link::Lost { .. });
        let status = view.known.status.as_ref();
        let events = self.heard.hear(&screen, status, connected);
        let mut mixer = self.mixer();
        for event in events {
            mixer.play(event.tones());
        }
        mixer.follow(screen.advice.count.map(|count| count.beat));
    }
}
