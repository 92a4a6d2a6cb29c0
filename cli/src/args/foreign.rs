//! A flag that only other kinds of step take.

use super::Cli;
use crate::Failure;
use clap::CommandFactory;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use protocol::plan::StepKind;
use protocol::step::only_for;
use std::ffi::OsString;

/// What to say of an unknown flag of `step KIND` or `analyse KIND` that other kinds take. The parser itself would only suggest the
/// flag that is spelled most like it.
pub fn foreign_option(refused: &clap::Error, command_line: &[OsString]) -> Option<Failure> {
    if refused.kind() != ErrorKind::UnknownArgument {
        return None;
    }
    let Some(ContextValue::String(flag)) = refused.get(ContextKind::InvalidArg) else {
        return None;
    };
    let flag = flag.strip_prefix("--")?;
    let mut command = Cli::command().ignore_errors(true);
    let matches = command.try_get_matches_from_mut(command_line).ok()?;
    let verb = command.find_subcommand(matches.subcommand_name()?)?;
    let takes = |kind: &StepKind| {
        let mut kinds = verb.get_subcommands();
        let found = kinds.find(|command| command.get_name() == kind.name());
        found.is_some_and(|command| command.get_arguments().any(|a| a.get_long() == Some(flag)))
    };
    let kinds: Vec<StepKind> = StepKind::ALL.into_iter().filter(takes).collect();
    if kinds.is_empty() {
        return None;
    }
    let refusal = only_for(flag, verb.get_name(), &kinds);
    let hint = refusal.hint.unwrap_or_default();
    Some(Failure::usage(refusal.message).hint(hint))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(words: &[&str]) -> Option<String> {
        let words: Vec<_> = ["conewright"]
            .iter()
            .chain(words)
            .map(OsString::from)
            .collect();
        let refused = Cli::read(&words).expect_err("a wrong command line");
        let failure = foreign_option(&refused, &words)?;
        Some(format!("{} ({})", failure.message, failure.hint?))
    }

    #[test]
    fn names_the_kinds_that_take_the_flag() {
        let size = "`--pass-depth` applies only to size steps (leave it out, or use `conewright";
        for words in [
            &["step", "zero", "--pass-depth", "0.01"][..],
            &["step", "zero", "--pass-depth=0.01"],
            &[
                "--json",
                "step",
                "zero",
                "--as",
                "left",
                "--pass-depth",
                "0.01",
            ],
            &["--config", "zero", "step", "dial", "--pass-depth"],
        ] {
            let expected = format!("{size} step size`)");
            assert_eq!(said(words).as_deref(), Some(expected.as_str()), "{words:?}");
        }
        for verb in ["analyse", "analyze"] {
            let expected = format!("{size} analyse size`)");
            let words = [verb, "zero", "t.csv", "--pass-depth", "0.01"];
            assert_eq!(
                said(&words).as_deref(),
                Some(expected.as_str()),
                "{words:?}"
            );
        }
        assert_eq!(
            said(&["step", "contact", "--cable", "bench"]).as_deref(),
            Some(
                "`--cable` applies only to zero, sweep, run-out, size and dial steps (leave it out, or use another \
                 kind: `conewright step --help` lists them)"
            )
        );
    }

    #[test]
    fn leaves_other_mistakes_to_the_parser() {
        for words in [
            &["step", "size", "--pass-dept", "0.01"][..],
            // The table says it.
            &["analyse", "runout", "t.csv", "--reversal"],
            &["note", "step", "zero", "--pass-depth"],
            &["step", "height", "--pass-depth", "0.01"],
            &["step", "size", "--pass-depth"],
        ] {
            assert_eq!(said(words), None, "{words:?}");
        }
    }
}
