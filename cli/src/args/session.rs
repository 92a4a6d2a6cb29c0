//! `session`, and which sessions its list shows.

use super::DocumentArgs;
use clap::{Args, Subcommand};
use protocol::api::SetupOptions;
use std::path::PathBuf;

/// What `session` does.
#[derive(Debug, Subcommand)]
pub enum SessionVerb {
    /// Open a session: state the part and the set-up, get the plan
    #[command(after_help = "\
Example:
  conewright session open \"spindle 7\" --taper 1:12 --length 30 --tolerance 5arcsec \\
      --bar 100 --bar-kind sine --kit metric-88 --span 80 --fixture table")]
    Open {
        /// What the part is called
        name: String,
        #[command(flatten)]
        setup: Box<SetupOptions>,
    },
    /// List the sessions, newest first
    #[command(after_help = "\
Examples:
  conewright session list
  conewright session list --part spindle --verdict out
  conewright session list --since 2026-01-01 --until 2026-03-31 --fixture table")]
    List(ListArgs),
    /// Show a session: the current one, or the latest, unless named; and beside it the last one of its part or fixture
    #[command(after_help = "\
Examples:
  conewright session show
  conewright session show 12
  conewright session show 12 --beside 7")]
    Show {
        /// Its number
        session: Option<String>,
        /// The number of the session to set beside it; the last earlier one of the same part, or else in the same fixture,
        /// unless stated
        #[arg(long, value_name = "SESSION")]
        beside: Option<String>,
    },
    /// Write a card to take to the machine: what to set, where to measure, the steps to tick; one page
    #[command(after_help = "\
Examples:
  conewright session card --to card.pdf        the current session, or the latest
  conewright session card 7 --to card.pdf --paper letter")]
    Card {
        /// Its number; the current one, or the latest, unless stated
        session: Option<String>,
        /// The file, a .pdf
        #[arg(long, value_name = "FILE")]
        to: PathBuf,
        #[command(flatten)]
        written: DocumentArgs,
    },
    /// Close the current session
    Close,
}

/// Which sessions are listed; every one unless stated.
#[derive(Debug, Clone, Default, Args)]
pub struct ListArgs {
    /// Whose part's name contains this; capitals do not matter
    #[arg(long, value_name = "TEXT")]
    pub part: Option<String>,
    /// With this taper
    #[arg(long, value_name = "NAME")]
    pub taper: Option<String>,
    /// In this fixture
    #[arg(long, value_name = "NAME")]
    pub fixture: Option<String>,
    /// Opened on this day or later, in this computer's time: 2026-03-31, or 2026-03-31T14:00
    #[arg(long, value_name = "DATE")]
    pub since: Option<String>,
    /// Opened on this day or earlier
    #[arg(long, value_name = "DATE")]
    pub until: Option<String>,
    /// Whose last verdict is this: in, out or undecided
    #[arg(long, value_name = "VERDICT")]
    pub verdict: Option<String>,
}
