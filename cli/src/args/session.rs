//! `session`, and which sessions its list shows.

use super::{DocumentArgs, RegrindArgs};
use clap::{Args, Subcommand};
use protocol::api::SetupOptions;
use std::path::PathBuf;

/// What `session` does.
#[derive(Debug, Subcommand)]
pub enum SessionVerb {
    /// Open a session: state the part and the set-up, get the plan
    #[command(after_help = "\
In a terminal it asks for what a set-up needs and is not stated: enter takes what is offered, esc leaves without opening anything.

Examples:
  conewright session open \"spindle 7\" --taper 1:12 --length 30 --tolerance 5arcsec \\
      --bar 100 --bar-kind sine --kit metric-88 --span 80 --fixture table
  conewright session open \"spindle 8\" --like \"spindle 7\"
  conewright session open \"spindle 9\" --job seat.toml --fixture plate
  conewright session open \"plug 9\" --mate \"spindle 9\" --length 30 --span 80
  conewright session open \"spindle 10\" --taper session:9 --length 30 --span 80")]
    Open {
        /// What the part is called
        name: String,
        #[command(flatten)]
        start: StartArgs,
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
    /// Write a session's set-up into a file for `session open --job`
    #[command(after_help = "\
Examples:
  conewright session job --to seat.toml        the current session, or the latest
  conewright session job 7 --to seat.toml")]
    Job {
        /// Its number or its part's name; the current one, or the latest, unless stated
        session: Option<String>,
        /// The file, a .toml
        #[arg(long, value_name = "FILE")]
        to: PathBuf,
    },
    /// Which taper the part of a session has, as found by its size or its sweep, and what it takes to regrind it
    #[command(after_help = "\
The cone comes from the session's measurement as found (--as found), or else its first: a size step gives diameters and \
angle; a sweep of the part gives a surer angle. With both, the surer angle counts.

Examples:
  conewright session found
  conewright session found 7 --to 1:12 --clean-up 0.03")]
    Found {
        /// Its number; the current one, or the latest, unless stated
        session: Option<String>,
        #[command(flatten)]
        regrind: RegrindArgs,
    },
    /// Close the current session
    Close,
}

/// What a set-up begins with. Options beside it win.
#[derive(Debug, Clone, Default, Args)]
pub struct StartArgs {
    /// Begin with the set-up of an earlier session, by its number or its part's name; the indicator and the fixture are as they are now
    #[arg(long, value_name = "SESSION", conflicts_with = "job")]
    pub like: Option<String>,
    /// Begin with the set-up in a file, as `session job` writes it
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    /// The taper that is wanted is that of a mating part, as an earlier session measured its half angle
    #[arg(long, value_name = "SESSION", conflicts_with = "taper")]
    pub mate: Option<String>,
    /// Ask nothing, in a terminal too
    #[arg(long)]
    pub no_questions: bool,
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
