//! The one table of verbs and options: it gives the parser, the help, the completions and the man page.

mod alone;
mod analyse;
mod cable;
mod configuration;
mod foreign;
mod key;
mod kind;
mod mark;
mod page;
mod service;
mod session;
mod step;
mod store;
mod style;
mod taper;

pub use analyse::{Analysis, TableHelp};
pub use cable::{CableVerb, PedalVerb};
pub use configuration::ConfigVerb;
pub use foreign::foreign_option;
pub use key::KeyVerb;
pub use mark::MarkArgs;
pub use page::{PageOnArgs, PageVerb};
pub use service::ServiceVerb;
pub use session::{ListArgs, SessionVerb, StartArgs};
pub use step::StepVerb;
pub use store::StoreVerb;
pub use style::{DecimalSign, DocumentArgs, LengthUnit};
pub use taper::{RegrindArgs, TaperArgs};

use clap::builder::OsStringValueParser;
use clap::{Args, Parser, Subcommand};
use std::ffi::OsString;
use std::path::PathBuf;

const LONG_ABOUT: &str = "\
Sets and checks machine tapers beside the grinder: says how far off the angle is, what that is worth on this \
part, and what to tap to which reading; and keeps the set-up on record.

A bare length is in mm; 2.5um, 0.0001in and -3.5div are lengths too. Angles: 1.431deg, 1d25m51s, 12arcsec, \
40urad, 1:12 (the half angle of that cone), 0.6in/ft.";

const AFTER: &str = "\
Exit codes: 0 done; 1 failed; 2 wrong usage; 3 done, and the answer is \"out of tolerance\".

Examples:
  conewright demo
  conewright taper morse-2
  conewright stack --angle 1:12 --bar 100 --kit metric-88
  conewright session open \"spindle 7\" --taper 1:12 --length 30 --tolerance 5arcsec --span 80
  conewright step zero
  conewright mark A
  conewright watch";

/// The command line.
#[derive(Debug, Parser)]
#[command(
    name = "conewright",
    version,
    about = "Sets and checks machine tapers: the angle, the tap, the record",
    long_about = LONG_ABOUT,
    after_help = AFTER,
    arg_required_else_help = true,
    infer_long_args = false
)]
pub struct Cli {
    /// Options of every verb.
    #[command(flatten)]
    pub global: Global,
    /// The verb.
    #[command(subcommand)]
    pub verb: Verb,
}

/// Options of every verb.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Options of every verb")]
pub struct Global {
    /// Print exactly one JSON document on stdout
    #[arg(long, global = true)]
    pub json: bool,
    /// The configuration file
    #[arg(long, global = true, value_name = "FILE", env = "CONEWRIGHT_CONFIG", value_parser = path())]
    pub config: Option<OsString>,
    /// The data directory
    #[arg(long, global = true, value_name = "DIR", env = "CONEWRIGHT_DATA", value_parser = path())]
    pub data: Option<OsString>,
    /// The daemon's socket
    #[arg(long, global = true, value_name = "PATH", env = "CONEWRIGHT_SOCKET", value_parser = path())]
    pub socket: Option<OsString>,
    /// The unit in which lengths are told; without it the configuration's, or that of the session's gauge blocks
    #[arg(long, global = true, value_name = "UNIT")]
    pub unit: Option<LengthUnit>,
}

/// A path may be empty, as a variable of the environment that was cleared: it then counts as not named.
fn path() -> OsStringValueParser {
    OsStringValueParser::new()
}

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// A whole job on a virtual bench: the part as found, the set-up, the grind, the part as left, the record
    #[command(after_help = "Examples:\n  conewright demo\n  conewright demo --fast --to seat.html")]
    Demo(DemoOptions),
    /// The live view: reading, residual, tap; keys mark, undo, next step, note
    #[command(after_help = "Quitting it leaves the daemon running.")]
    Watch,
    /// The live page, for tablets and telephones: open it, close it, or print its links
    #[command(after_help = page::HELP)]
    Page {
        /// What to do
        #[command(subcommand)]
        verb: Option<PageVerb>,
    },
    /// Open, list, show or close a session: one set-up of one part
    #[command(subcommand)]
    Session(SessionVerb),
    /// Open a step of the current session, or close it
    #[command(subcommand)]
    Step(Box<StepVerb>),
    /// Mark: "this one", the place with the settled reading there
    #[command(after_help = mark::HELP)]
    Mark(MarkArgs),
    /// Take back the last mark; it is kept as taken back
    Undo,
    /// Write a note into the session
    #[command(after_help = "Example:\n  conewright note \"new wheel, dressed twice\"")]
    Note {
        /// The note
        #[arg(required = true, num_args = 1.., value_name = "TEXT")]
        text: Vec<String>,
    },
    /// Say that the clamp was tightened: the next round measures the shift
    #[command(after_help = "Examples:\n  conewright clamp\n  conewright clamp --loosen")]
    Clamp {
        /// The clamp was loosened
        #[arg(long)]
        loosen: bool,
    },
    /// Say that the part was ground: what is measured from now on is of a new state of it
    #[command(after_help = "\
Where the rounds disagree and it is asked whether the part was ground between them, this says yes.

Examples:
  conewright ground
  conewright ground --not       it was not; takes back what was said last")]
    Ground {
        /// It was not: take back what was said last
        #[arg(long)]
        not: bool,
    },
    /// The current step's outcome, as the live view has it
    Status,
    /// Write a session's record: .json (complete), .csv (its readings), .html (to read and print), .pdf (to hand over)
    #[command(after_help = "\
Examples:
  conewright export --to spindle-7.html        the current session, or the latest
  conewright export 12 --to spindle-7.json     session 12
  conewright export --to spindle-7.csv --decimal comma
  conewright export --to spindle-7.json --sign
  conewright export --to spindle-7.pdf --language de --unit in
  conewright export 12 --from seats.db --to spindle-7.pdf     from an archive")]
    Export(ExportArgs),
    /// Recompute every result of a record from its readings, and compare; in an archive, check every mark
    #[command(
        after_help = "Exit code 3 when a result does not agree, a mark was lost or changed, or a signature does not hold.\n\nExamples:\n  conewright verify spindle-7.json\n  conewright verify spindle-7.json --signed\n  conewright verify seats.db"
    )]
    Verify {
        /// The record, or an archive or a copy of the store
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// The record must be signed, by a key that is known here
        #[arg(long)]
        signed: bool,
    },
    /// The keys that sign records: make the shop's, and know those of others
    #[command(subcommand)]
    Key(KeyVerb),
    /// A step's outcome from a table of readings, without daemon or session
    #[command(subcommand, alias = "analyze")]
    Analyse(Box<Analysis>),
    /// A wheel's surface speed against the speed marked on it
    #[command(after_help = "\
An aid, never permission: the wheel's own marking and its maker's rules prevail. Exit code 3 when it is too fast.

Example:
  conewright wheel --diameter 250 --speed 2600 --marked 35")]
    Wheel(WheelArgs),
    /// The numbers of a taper; without SPEC, the list
    #[command(after_help = "\
Examples:
  conewright taper
  conewright taper morse-2
  conewright taper 7:24-40
  conewright taper 1:12
  conewright taper 1.43deg     a half angle
  conewright taper --find 1.4303deg --uncertainty 0.001deg
  conewright taper --find 1:20.03 --uncertainty 4arcsec --diameter 17.9 --length 60 --to morse-2")]
    Taper(TaperArgs),
    /// A gauge-block stack for a height, or for an angle and a bar, with what it really sets
    #[command(after_help = "\
When the kit cannot make the height, the closest stack is printed and the exit code is 1.

Examples:
  conewright stack 4.159
  conewright stack --angle 1:12 --bar 100
  conewright stack --angle 1.431deg --bar 65 --bar-kind sine --kit metric-88 --wear")]
    Stack(StackArgs),
    /// The cables: what is there, and what they say
    #[command(subcommand)]
    Cable(CableVerb),
    /// The store of all sessions: check it, copy it, archive and delete sessions, bring them back
    #[command(subcommand)]
    Store(StoreVerb),
    /// Check the configuration file, or print what holds
    #[command(subcommand)]
    Config(ConfigVerb),
    /// What this computer does that spoils readings, each with evidence and remedy
    #[command(
        after_help = "Exit code 1 when something needs attention.\n\nExamples:\n  conewright doctor\n  conewright doctor --rules\n  sudo conewright doctor --install"
    )]
    Doctor {
        /// Print the udev rules for the cables of the configuration, and look at nothing
        #[arg(long, conflicts_with = "install")]
        rules: bool,
        /// Put the udev rules in place, which needs root
        #[arg(long)]
        install: bool,
        /// Where the computer's files are: another folder in tests
        #[arg(long, value_name = "DIR", default_value = "/", hide = true)]
        root: PathBuf,
    },
    /// The background process: run it here, or stop it
    #[command(subcommand)]
    Daemon(DaemonVerb),
    /// The daemon as a service of your user, for those who installed no package
    #[command(subcommand, after_help = service::HELP)]
    Service(ServiceVerb),
    /// Print the cautions for all work, and the work that each belongs to
    Cautions,
    /// Print the completions for a shell
    #[command(
        after_help = "Example:\n  conewright completions bash > ~/.local/share/bash-completion/completions/conewright"
    )]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    #[command(after_help = "Example:\n  conewright man | man -l -")]
    Man,
}

/// How the demo is shown.
#[derive(Debug, Clone, Default, Args)]
pub struct DemoOptions {
    /// At once: one line per event, without pauses and without the live view
    #[arg(long)]
    pub fast: bool,
    /// You set up the virtual bench yourself, in the live view: keys tap, move the indicator, clamp and mark
    #[arg(long, conflicts_with = "fast")]
    pub practice: bool,
    /// Where to write the record: .json, .html, .csv and .pdf are written beside each other under this name
    #[arg(long, value_name = "FILE")]
    pub to: Option<PathBuf>,
    /// The seed of the virtual bench: the same seed gives the same readings
    #[arg(long, value_name = "NUMBER")]
    pub seed: Option<u64>,
    /// Print one JSON document instead; set from the option of every verb.
    #[arg(skip)]
    pub json: bool,
}

/// What is written, and where.
#[derive(Debug, Clone, Args)]
pub struct ExportArgs {
    /// The session's number; the current one, or the latest, unless stated
    pub session: Option<String>,
    /// The file; its ending says what is written: .json, .csv, .html or .pdf
    #[arg(long, value_name = "FILE")]
    pub to: PathBuf,
    /// An archive or a copy of the store to take the session from, without the daemon
    #[arg(long, value_name = "FILE.db")]
    pub from: Option<PathBuf>,
    /// Sign the record with the shop's key; the configuration's [sign] says it for every export
    #[arg(long, conflicts_with = "unsigned")]
    pub sign: bool,
    /// Sign nothing, whatever the configuration says
    #[arg(long)]
    pub unsigned: bool,
    /// In a .csv: decimal commas; the older name of --decimal comma
    #[arg(long, hide = true, conflicts_with = "decimal")]
    pub decimal_comma: bool,
    #[command(flatten)]
    pub written: DocumentArgs,
}

/// A wheel and how fast it is to turn.
#[derive(Debug, Clone, Args)]
pub struct WheelArgs {
    /// The wheel's diameter
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub diameter: String,
    /// The spindle's speed, turns a minute
    #[arg(long, value_name = "RPM", allow_hyphen_values = true)]
    pub speed: f64,
    /// The largest surface speed marked on the wheel, m/s
    #[arg(long, value_name = "M/S", allow_hyphen_values = true)]
    pub marked: f64,
}

/// What a stack is for, and what it may be made of.
#[derive(Debug, Clone, Args)]
pub struct StackArgs {
    /// The height
    #[arg(
        allow_negative_numbers = true,
        required_unless_present = "angle",
        conflicts_with = "angle"
    )]
    pub height: Option<String>,
    /// The half angle to set; 1:12 is the half angle of that cone
    #[arg(long, value_name = "A", allow_hyphen_values = true, requires = "bar")]
    pub angle: Option<String>,
    /// The bar: a name of your own, or its centre distance; of a tangent bar the radii of its discs, 10/25
    #[arg(long, value_name = "C", allow_hyphen_values = true, requires = "angle")]
    pub bar: Option<String>,
    /// What kind of bar it is: sine, hinged or tangent
    #[arg(long, value_name = "KIND", requires = "bar")]
    pub bar_kind: Option<String>,
    /// What the stack must have added for this bar
    #[arg(
        long,
        value_name = "LENGTH",
        allow_hyphen_values = true,
        requires = "bar"
    )]
    pub bar_constant: Option<String>,
    /// The kit of gauge blocks
    #[arg(long, value_name = "KIT")]
    pub kit: Option<String>,
    /// How far off the height the stack may be; 0.5um unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub within: Option<String>,
    /// Blocks that may not be used, by the length marked on them: 1.005,20
    #[arg(long, value_name = "BLOCKS", value_delimiter = ',')]
    pub exclude: Vec<String>,
    /// A wear block at both ends, of 2mm unless stated
    #[arg(
        long,
        value_name = "LENGTH",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "2mm"
    )]
    pub wear: Option<String>,
    /// Two stacks of this height at once, no block twice
    #[arg(long)]
    pub two: bool,
}

/// What `daemon` does.
#[derive(Debug, Subcommand)]
pub enum DaemonVerb {
    /// Run the background process here, until it is stopped
    Run {
        /// Log to daily files beside this one, instead of stderr; the configuration's [log] says it too
        #[arg(long, value_name = "FILE")]
        log: Option<PathBuf>,
        /// Leave the terminal: set by the verbs that start it
        #[arg(long, hide = true)]
        detached: bool,
        /// End when standard input does, with whoever holds its other end: set by the demo
        #[arg(long, hide = true)]
        held: bool,
    },
    /// Stop the background process
    Stop,
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_table_is_sound() {
        Cli::command().debug_assert();
    }
}
