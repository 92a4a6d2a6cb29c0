//! `analyse`: a table, the options of a set-up, and those of the step.

use super::kind::{kind_of, with_kinds};
use clap::{ArgMatches, Args, Command, FromArgMatches, Subcommand};
use protocol::api::SetupOptions;
use protocol::for_kind;
use protocol::step::{Options, Step, StepKind, StepOptions};
use std::path::PathBuf;

const TABLES: &str = "\
The columns may stand in any order; their names are in the first line. Comma or semicolon between them; with \
semicolons, numbers may have decimal commas. Exit code 3 when the verdict is \"out\".";

/// How the help of `analyse KIND` presents the kind. Each says it beside what reads its table.
pub trait TableHelp: Step {
    /// What its table is of, with its columns.
    const HELP: &'static str;
    /// What else there is to know of the columns, and examples.
    const EXAMPLES: &'static str;
}

/// A table and the set-up it was taken in.
#[derive(Debug, Args)]
pub struct TableArgs {
    /// The table of readings
    #[arg(value_name = "FILE.csv")]
    pub file: PathBuf,
    #[command(flatten)]
    pub setup: Box<SetupOptions>,
}

/// What is to be analysed: a subcommand for each kind, with a table, a set-up and what the kind computes.
#[derive(Debug)]
pub struct Analysis {
    /// The table.
    pub file: PathBuf,
    /// What is stated of the set-up.
    pub setup: SetupOptions,
    /// What is stated of the step.
    pub step: StepOptions,
}

impl FromArgMatches for Analysis {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let (kind, own) = kind_of(matches)?;
        let table = TableArgs::from_arg_matches(own)?;
        // What else a step has is said by the table.
        let step = for_kind!(kind, StepKind => S, {
            type Own = <S as Step>::Options;
            let analysis = <Own as Options>::Analysis::from_arg_matches(own);
            analysis.map(|analysis| Own::of_analysis(analysis).into())
        })?;
        Ok(Self {
            file: table.file,
            setup: *table.setup,
            step,
        })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl Subcommand for Analysis {
    fn augment_subcommands(command: Command) -> Command {
        with_kinds(command, |kind, command| {
            let command = TableArgs::augment_args(command);
            for_kind!(kind, StepKind => S, {
                let command = <<S as Step>::Options as Options>::Analysis::augment_args(command);
                let more = format!("{TABLES}\n\n{}", <S as TableHelp>::EXAMPLES);
                command.about(<S as TableHelp>::HELP).after_help(more)
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
