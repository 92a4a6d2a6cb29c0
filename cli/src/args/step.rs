//! `step`: each kind, and how its step is opened.

use super::kind::{kind_of, with_kinds};
use clap::{ArgMatches, Args, Command, FromArgMatches, Subcommand};
use protocol::for_kind;
use protocol::step::{Step, StepKind, StepOptions};

/// What `step` does.
#[derive(Debug, Clone, Subcommand)]
#[allow(
    clippy::large_enum_variant,
    reason = "one is held at a time, as the command line was read"
)]
pub enum StepVerb {
    /// Open a step.
    #[command(flatten)]
    Open(Opening),
    /// Close the open step
    Close,
}

/// The step that is to be opened: a subcommand for each kind, with the kind's own options, help and examples.
#[derive(Debug, Clone)]
pub struct Opening(StepOptions);

impl FromArgMatches for Opening {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let (kind, own) = kind_of(matches)?;
        let options = for_kind!(kind, StepKind => S, {
            <S as Step>::Options::from_arg_matches(own).map(Into::into)
        });
        options.map(Self)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl Subcommand for Opening {
    fn augment_subcommands(command: Command) -> Command {
        with_kinds(command, |kind, command| {
            for_kind!(kind, StepKind => S, {
                let command = <S as Step>::Options::augment_args(command);
                command.about(S::HELP).after_help(S::EXAMPLES)
            })
        })
    }

    fn augment_subcommands_for_update(command: Command) -> Command {
        Self::augment_subcommands(command)
    }

    fn has_subcommand(name: &str) -> bool {
        StepKind::named(name).is_some()
    }
}

impl StepVerb {
    /// What is to be opened; none to close.
    pub fn opening(self) -> Option<StepOptions> {
        match self {
            Self::Open(Opening(options)) => Some(options),
            Self::Close => None,
        }
    }
}
