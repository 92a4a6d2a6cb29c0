//! The live view.
//!
//! [`state`] is what it knows, [`hand`] what its user does with [`keys`], and [`view`] draws what [`protocol::screen`] says of
//! it. All of these are pure: only [`run`] and [`terminal`] have a terminal, a connection and a clock.

mod bar;
mod digits;
mod hand;
mod help;
mod keys;
mod look;
mod practice;
mod run;
mod sound;
mod state;
mod terminal;
mod view;

use crate::client::{Client, block_on};
use crate::{Exit, Failure};
use config::Config;
pub use practice::{Act, Practising, Standing};
pub use run::{Ended, Hands, show};
pub use state::Steering;
use std::io::IsTerminal;

/// Whether there is a terminal to show the live view in and to take its keys from.
#[must_use]
pub fn possible() -> bool {
    std::io::stdin().is_terminal()
        && std::io::stdout().is_terminal()
        && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
}

/// Shows the live view until the user quits it; a daemon is started when none is running.
///
/// # Errors
/// When the terminal or the daemon cannot be used.
pub fn run(client: Client, config: &Config) -> Result<Exit, Failure> {
    if !possible() {
        return Err(Failure::new(
            "no_terminal",
            "the live view needs a terminal for screen and keys",
        )
        .hint("without one: conewright status"));
    }
    block_on(async {
        client.ensure_daemon().await?;
        match show(client, config.screen, config.document.words(), Hands::Users).await? {
            Ended::Quit | Ended::Finished => Ok(Exit::Done),
            Ended::Signal(name) => Err(Failure::new("ended", format!("ended by {name}"))),
        }
    })
}
