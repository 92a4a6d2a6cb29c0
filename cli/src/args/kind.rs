//! A subcommand for each kind of step.

use clap::error::ErrorKind;
use clap::{ArgMatches, Command};
use protocol::step::StepKind;

/// The command with a subcommand for each kind, which `of` describes.
pub(super) fn with_kinds(command: Command, of: impl Fn(StepKind, Command) -> Command) -> Command {
    let kinds = StepKind::ALL.map(|kind| of(kind, Command::new(kind.name())).long_about(None));
    command.subcommands(kinds)
}

/// The kind that the command line names, and what it says of it.
///
/// # Errors
/// The command line names none. The parser asks for one itself, and knows no others.
pub(super) fn kind_of(matches: &ArgMatches) -> Result<(StepKind, &ArgMatches), clap::Error> {
    let named = matches.subcommand();
    named
        .and_then(|(name, own)| Some((StepKind::named(name)?, own)))
        .ok_or_else(|| clap::Error::new(ErrorKind::MissingSubcommand))
}
