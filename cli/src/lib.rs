//! The one executable: its verbs, the client of the daemon, the live view, the record's renderers, the demo.

mod answer;
mod args;
pub mod client;
mod demo;
pub mod document;
mod failure;
mod keys;
mod layout;
mod outcome_text;
mod paths;
mod shown;
mod verb;
mod watch;

pub use answer::Answer;
pub use args::{Cli, DemoOptions};
pub use failure::{Exit, Failure};
pub use paths::Paths;
pub use verb::run;

use std::ffi::OsString;
use std::process::ExitCode;

/// Runs the command line that the process was started with.
#[must_use]
pub fn main() -> ExitCode {
    let words: Vec<OsString> = std::env::args_os().collect();
    let cli = match Cli::read(&words) {
        Ok(cli) => cli,
        Err(refused) => return usage(&refused, &words),
    };
    let json = cli.global.json;
    match run(cli) {
        Ok(exit) => exit.into(),
        Err(failure) => {
            answer::tell_failure(&failure, json);
            failure.exit.into()
        }
    }
}

/// What the parser has to say: help and version on stdout, a mistake on stderr, and with `--json` as JSON.
fn usage(refused: &clap::Error, words: &[OsString]) -> ExitCode {
    let mut options = words.iter().skip(1).take_while(|word| *word != "--");
    let json = options.any(|word| word == "--json");
    if let Some(failure) = args::foreign_option(refused, words) {
        answer::tell_failure(&failure, json);
        return failure.exit.into();
    }
    // A reader that went away needs no help text.
    let _ = refused.print();
    if !refused.use_stderr() {
        return Exit::Done.into();
    }
    if json {
        let message = refused.to_string();
        let message = message.trim_start_matches("error: ").trim_end();
        println!("{:#}", Failure::usage(message).json());
    }
    Exit::Usage.into()
}
