//! Reads a command line with the one verb that it names.
//!
//! The parser's library makes all verbs and all their options before it reads a word, which takes longer than most verbs do their
//! work. So a verb that is called often, or by a key, is first read by a parser that knows this verb alone. Where that parser
//! refuses anything, or is asked for help, the one with all verbs decides.

use super::{
    Cli, DaemonVerb, ExportArgs, Global, MarkArgs, StackArgs, StepVerb, TaperArgs, Verb, WheelArgs,
};
use clap::{Args, Command, FromArgMatches, Parser, Subcommand};
use std::convert::identity;
use std::ffi::OsString;

impl Cli {
    /// Reads a command line; the first word is the program's name.
    ///
    /// # Errors
    /// It is no command line of this program, or asks for help or the version. The parser tells in words.
    pub fn read(words: &[OsString]) -> Result<Self, clap::Error> {
        let alone = words
            .get(1)
            .and_then(|verb| Self::alone(verb.to_str()?, words));
        alone.map_or_else(|| Self::try_parse_from(words), Ok)
    }

    /// The command line by its verb alone; none where all verbs are needed.
    fn alone(verb: &str, words: &[OsString]) -> Option<Self> {
        let command = Global::augment_args(Command::new("conewright")).subcommand(only(verb)?);
        let mut matches = command.try_get_matches_from(words).ok()?;
        Some(Self {
            global: Global::from_arg_matches_mut(&mut matches).ok()?,
            verb: Verb::from_arg_matches_mut(&mut matches).ok()?,
        })
    }
}

/// What gives a command its arguments.
type Arguments = fn(Command) -> Command;

/// The verbs that are worth it.
const ALONE: [(&str, Arguments); 10] = [
    ("daemon", DaemonVerb::augment_subcommands),
    ("export", ExportArgs::augment_args),
    ("mark", MarkArgs::augment_args),
    ("stack", StackArgs::augment_args),
    ("status", identity),
    ("step", StepVerb::augment_subcommands),
    ("taper", TaperArgs::augment_args),
    ("undo", identity),
    ("watch", identity),
    ("wheel", WheelArgs::augment_args),
];

/// A verb's command without the words of its help; none where it is not worth it.
fn only(verb: &str) -> Option<Command> {
    let (name, with_arguments) = ALONE.iter().find(|(name, _)| *name == verb)?;
    Some(with_arguments(Command::new(*name)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    /// The same arguments, with all that decides how they are read, and the same subcommands, all the way down.
    fn assert_same(one: &Command, other: &Command) {
        let name = one.get_name();
        assert_eq!(name, other.get_name());
        let arguments = |command: &Command| {
            let arguments = command.get_arguments().map(|a| format!("{a:?}"));
            let groups = command.get_groups().map(|g| format!("{g:?}"));
            arguments.chain(groups).collect::<Vec<_>>()
        };
        assert_eq!(arguments(one), arguments(other), "{name}");
        let mut others = other.get_subcommands();
        for verb in one.get_subcommands() {
            assert_same(verb, others.next().unwrap());
        }
        assert!(others.next().is_none(), "{name}");
    }

    #[test]
    fn a_verb_alone_has_the_same_options() {
        let all = Cli::command();
        for (name, _) in ALONE {
            assert_same(&only(name).unwrap(), all.find_subcommand(name).unwrap());
        }
        let global = Global::augment_args(Command::new("conewright"));
        let of_all = all.get_arguments().map(|a| format!("{a:?}"));
        assert!(of_all.eq(global.get_arguments().map(|a| format!("{a:?}"))));
    }

    #[test]
    fn what_it_does_not_take_is_left_to_the_parser_of_all() {
        let words = |line: &str| -> Vec<OsString> { line.split(' ').map(OsString::from).collect() };
        for line in [
            "conewright status --help",
            "conewright status --sttaus",
            "conewright daemon",
            "conewright step height",
            "conewright --json status",
            "conewright help status",
            "conewright",
        ] {
            let words = words(line);
            let verb = words.get(1).and_then(|word| word.to_str());
            let alone = verb.and_then(|verb| Cli::alone(verb, &words));
            assert!(alone.is_none(), "{line}");
            let read = Cli::read(&words).map_err(|refused| refused.to_string());
            let by_all = Cli::try_parse_from(&words).map_err(|refused| refused.to_string());
            assert_eq!(format!("{read:?}"), format!("{by_all:?}"), "{line}");
        }
        for line in [
            "conewright status --json",
            "conewright mark -40 --value -3.5div --unit in",
            "conewright step zero --as left",
            "conewright step close",
            "conewright stack 4.159 --wear --socket run/socket",
            "conewright daemon run --detached",
        ] {
            let words = words(line);
            let alone = Cli::alone(words[1].to_str().unwrap(), &words);
            let by_all = Cli::try_parse_from(&words).unwrap();
            assert_eq!(
                format!("{alone:?}"),
                format!("{:?}", Some(by_all)),
                "{line}"
            );
        }
    }
}
