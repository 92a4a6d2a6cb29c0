//! The README and the reference against the program: the first set-up works as printed, and every verb, option, frame and key of the
//! configuration is named.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use clap::CommandFactory;
use cli::Cli;
use conewright_tests::pages::{blocks, code_spans, read};
use conewright_tests::toolroom::executable;
use protocol::frame::Frame;
use protocol::plan::StepKind;
use std::collections::BTreeSet;
use std::process::Command;

/// A user's home with nothing in it. Its daemon is stopped at the end.
struct Home(tempfile::TempDir);

impl Home {
    fn run(&self, command: &str) -> String {
        let folder = executable().parent().unwrap().display().to_string();
        let usual = std::env::var("PATH").unwrap_or_default();
        let output = Command::new("sh")
            .args(["-c", command])
            .current_dir(self.0.path())
            .env_clear()
            .env("PATH", format!("{folder}:{usual}"))
            .env("HOME", self.0.path())
            .env("XDG_RUNTIME_DIR", self.0.path())
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(
            output.status.success() || output.status.code() == Some(3),
            "{command}: {said}"
        );
        format!("{said}{}", String::from_utf8_lossy(&output.stdout))
    }
}

impl Drop for Home {
    fn drop(&mut self) {
        self.run("conewright daemon stop || true");
    }
}

/// The commands of a block with what is printed below each. A command goes on behind a backslash.
fn commands(lines: &[&str]) -> Vec<(String, Vec<String>)> {
    let mut commands: Vec<(String, Vec<String>)> = Vec::new();
    for line in lines {
        match (line.strip_prefix("$ "), commands.last_mut()) {
            (Some(command), _) => commands.push((command.to_owned(), Vec::new())),
            (None, Some((command, printed))) if command.ends_with('\\') && printed.is_empty() => {
                command.push('\n');
                command.push_str(line);
            }
            (None, Some((_, printed))) => printed.push((*line).to_owned()),
            (None, None) => panic!("`{line}` stands before a command"),
        }
    }
    commands
}

#[test]
fn the_first_set_up_works_as_printed() {
    let home = Home(tempfile::tempdir().unwrap());
    let readme = read("README.md");
    let mut run = 0;
    for (word, lines) in blocks(&readme) {
        if word != "console" {
            continue;
        }
        for (command, printed) in commands(&lines) {
            let output = home.run(&command);
            run += 1;
            let mut rest = output.lines();
            // `…` stands for lines that are left out.
            for expected in printed.iter().filter(|line| *line != "…") {
                assert!(
                    rest.any(|line| line.trim_end() == expected.trim_end()),
                    "README.md: `{command}` does not print\n{expected}\nbut\n{output}"
                );
            }
        }
    }
    assert!(run > 15, "only {run} commands were found");
    assert!(home.0.path().join("spindle-7.html").is_file());
}

fn help(verb: &[&str]) -> String {
    let output = Command::new(executable())
        .arg("help")
        .args(verb)
        .output()
        .unwrap();
    assert!(output.status.success(), "help {verb:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// The verbs that a help lists, without `help` itself.
fn verbs(help: &str) -> Vec<String> {
    let list = help.split("\nCommands:\n").nth(1).unwrap_or_default();
    let list = list.split("\n\n").next().unwrap();
    let verb = |line: &str| {
        let line = line.strip_prefix("  ")?;
        let word = line.split(' ').next()?;
        (!word.is_empty() && word != "help").then(|| word.to_owned())
    };
    list.lines().filter_map(verb).collect()
}

/// The long options that a help describes.
fn options(help: &str) -> Vec<String> {
    let described = help.split("\nExample").next().unwrap();
    let option = |line: &str| {
        // What follows the options is prose, and begins at the margin.
        let line = line.strip_prefix("  ")?.trim_start();
        let line = line
            .strip_prefix("-h, ")
            .or_else(|| line.strip_prefix("-V, "))
            .unwrap_or(line);
        let name = line.strip_prefix("--")?.split([' ', '[', '=']).next()?;
        (!["help", "version"].contains(&name)).then(|| format!("--{name}"))
    };
    described.lines().filter_map(option).collect()
}

#[test]
fn the_reference_names_every_verb_and_every_option() {
    let reference = read("docs/commands.md");
    let spans = code_spans(&reference);
    let mut lacking = BTreeSet::new();
    let mut verbs_seen = 0;
    let mut next: Vec<Vec<String>> = vec![Vec::new()];
    while let Some(verb) = next.pop() {
        let words: Vec<&str> = verb.iter().map(String::as_str).collect();
        let help = help(&words);
        for option in options(&help) {
            let named = |span: &String| span.split([' ', '`']).any(|word| word == option);
            if !spans.iter().any(named) {
                lacking.insert(option);
            }
        }
        let below = verbs(&help);
        let name = words.join(" ");
        // The kinds of step and of analysis are rows of a table of their own.
        let kind = matches!(words[..], ["step" | "analyse", _]) && words[1] != "close";
        let wanted = if kind { words[1] } else { name.as_str() };
        let named = |span: &&String| **span == wanted || span.starts_with(&format!("{wanted} "));
        if below.is_empty() && !spans.iter().any(|span| named(&span)) {
            lacking.insert(format!("the verb `{name}`"));
        }
        verbs_seen += usize::from(below.is_empty());
        next.extend(below.into_iter().map(|word| {
            let mut verb = verb.clone();
            verb.push(word);
            verb
        }));
    }
    assert!(lacking.is_empty(), "docs/commands.md lacks {lacking:#?}");
    assert!(verbs_seen > 30, "only {verbs_seen} verbs were found");
}

/// The table of the options of steps, as the program declares them: a row for each option, with the kinds of step that take it and
/// whether `analyse` takes it as well.
fn step_options() -> Vec<String> {
    let program = Cli::command();
    let command = |verb: &str, kind: StepKind| {
        let verb = program.find_subcommand(verb).unwrap();
        verb.find_subcommand(kind.name()).unwrap().clone()
    };
    let mut rows: Vec<([String; 3], Vec<&str>)> = Vec::new();
    for kind in StepKind::ALL {
        let analyse = command("analyse", kind);
        for option in command("step", kind).get_arguments() {
            let flag = option.get_long().unwrap();
            let option_words = match option.get_value_names() {
                Some([value]) if option.get_action().takes_values() => format!("--{flag} {value}"),
                _ => format!("--{flag}"),
            };
            let help = option.get_help().unwrap().to_string();
            // An option of the set-up may have the same flag.
            let in_analyse = analyse.get_arguments().any(|known| {
                known.get_long() == Some(flag) && known.get_help() == option.get_help()
            });
            let in_analyse = if in_analyse { "yes" } else { "no" };
            let cells = [option_words, in_analyse.to_owned(), help];
            match rows.iter_mut().find(|(known, _)| *known == cells) {
                Some((_, kinds)) => kinds.push(kind.name()),
                None => rows.push((cells, vec![kind.name()])),
            }
        }
    }
    let row = |([option, in_analyse, help], kinds): &([String; 3], Vec<&str>)| {
        format!(
            "| `{option}` | {} | {in_analyse} | {help} |",
            kinds.join(", ")
        )
    };
    rows.iter().map(row).collect()
}

#[test]
fn the_reference_has_the_table_of_step_options() {
    let expected = step_options();
    let reference = read("docs/commands.md");
    let head = "| option | kinds | in `analyse` | what it does |";
    let mut lines = reference.lines().skip_while(|line| *line != head);
    let table: Vec<&str> = lines
        .by_ref()
        .skip(2)
        .take_while(|line| line.starts_with('|'))
        .collect();
    assert!(
        table.iter().eq(expected.iter()),
        "docs/commands.md: below {head} there must be\n{}",
        expected.join("\n")
    );
}

#[test]
fn the_reference_names_every_frame_and_every_key_of_the_configuration() {
    let cables = code_spans(&read("docs/cables.md"));
    for name in Frame::names() {
        assert!(
            cables.iter().any(|span| span == name),
            "docs/cables.md lacks the frame `{name}`"
        );
    }
    let configuration = code_spans(&read("docs/configuration.md"));
    let example: toml::Table = read("config/conewright.example.toml").parse().unwrap();
    let mut keys = BTreeSet::new();
    for (section, value) in &example {
        let tables = value.as_table().unwrap();
        // Sections with names hold a table for each name, and a frame is a table of its own.
        let named = ["cable", "kit", "bar", "fixture", "taper"].contains(&section.as_str());
        let of = |table: &toml::Table| table.keys().cloned().collect::<Vec<_>>();
        if named {
            for table in tables.values().map(|value| value.as_table().unwrap()) {
                keys.extend(of(table));
                keys.extend(
                    table
                        .get("frame")
                        .and_then(toml::Value::as_table)
                        .map(of)
                        .unwrap_or_default(),
                );
            }
        } else {
            keys.extend(of(tables));
        }
    }
    assert!(keys.len() > 40, "only {} keys were found", keys.len());
    let lacking: Vec<_> = keys
        .iter()
        .filter(|key| {
            !configuration
                .iter()
                .any(|span| span.split(' ').next() == Some(key))
        })
        .collect();
    assert!(
        lacking.is_empty(),
        "docs/configuration.md lacks {lacking:?}"
    );
}
