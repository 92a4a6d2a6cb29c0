//! How the demo tells what happens: a line per event, or as the caption of the live view.

use super::place::Place;
use crate::Failure;
use crate::watch::Steering;
use std::io::Write;
use std::time::Duration;
use tokio::sync::watch;

/// Tells what happens.
#[derive(Debug)]
pub struct Narrator {
    /// The live view's caption, while there is one.
    view: Option<watch::Sender<Steering>>,
    /// Lines go to stdout as they come.
    at_once: bool,
    /// What was told, for the end.
    told: Vec<String>,
}

impl Narrator {
    /// Tells nothing: there is one document at the end.
    pub const fn silent() -> Self {
        Self {
            view: None,
            at_once: false,
            told: Vec::new(),
        }
    }

    /// One line per event.
    pub const fn lines() -> Self {
        Self {
            view: None,
            at_once: true,
            told: Vec::new(),
        }
    }

    /// Captions of the live view; the lines come at the end.
    pub fn captions() -> Self {
        let first = Steering {
            caption: "a virtual bench is set up, and the daemon is started".to_owned(),
            stands_at: None,
        };
        Self {
            view: Some(watch::channel(first).0),
            at_once: false,
            told: Vec::new(),
        }
    }

    /// What the live view is steered by.
    pub fn steering(&self) -> Option<watch::Receiver<Steering>> {
        self.view.as_ref().map(watch::Sender::subscribe)
    }

    /// Tells an event, which the lines keep.
    ///
    /// # Errors
    /// When nobody reads the lines any more.
    pub fn event(&mut self, label: &str, text: &str) -> Result<(), Failure> {
        let line = format!("{label:9} {text}");
        if self.at_once {
            writeln!(std::io::stdout(), "{line}").map_err(|e| Failure::output(&e))?;
        }
        self.told.push(line);
        Ok(())
    }

    /// Says what goes on, in the live view only, and leaves time to read it.
    pub async fn caption(&self, text: impl Into<String>, stands_at: Option<&str>, pause: Duration) {
        let Some(view) = &self.view else { return };
        let steering = Steering {
            caption: text.into(),
            stands_at: stands_at.map(str::to_owned),
        };
        // The view may have been left already.
        let _ = view.send(steering);
        tokio::time::sleep(pause).await;
    }

    /// After the live view: everything that was told, as lines.
    pub fn at_the_end(&self, place: &Place) {
        self.rest(&format!(
            "all of it is kept in {}",
            place.directory.display()
        ));
    }

    /// After a failure: what was told, and where to look.
    pub fn at_a_failure(&self, place: &Place) {
        self.rest(&format!(
            "what there is lies in {}",
            place.directory.display()
        ));
    }

    fn rest(&self, last: &str) {
        let mut out = std::io::stdout().lock();
        let lines: &[String] = if self.view.is_some() { &self.told } else { &[] };
        let spoken = self.view.is_some() || self.at_once;
        let last = spoken.then(|| format!("{:9} {last}", "place"));
        for line in lines.iter().chain(last.iter()) {
            // Nobody left to read them is no failure of the demo.
            if writeln!(out, "{line}").is_err() {
                return;
            }
        }
    }
}
