//! Any bytes as a table of readings, through the command line's own `analyse`: an outcome, or a refusal with its place.
//!
//! The first byte chooses the kind of step.

#![no_main]

use clap::{CommandFactory, FromArgMatches};
use conewright::{Cli, run};
use libfuzzer_sys::fuzz_target;
use std::path::PathBuf;
use std::sync::LazyLock;

/// A file that each run writes anew, and one parsed command line for each kind of step.
static PLACE: LazyLock<(PathBuf, Vec<clap::ArgMatches>)> = LazyLock::new(|| {
    let memory = std::path::Path::new("/dev/shm");
    let place = if memory.is_dir() { memory.to_owned() } else { std::env::temp_dir() };
    let file = place.join(format!("conewright-table-{}.csv", std::process::id()));
    let path = file.display().to_string();
    let kinds = Cli::command()
        .find_subcommand("analyse")
        .expect("there is `analyse`")
        .get_subcommands()
        .map(|kind| kind.get_name().to_owned())
        .filter(|kind| kind != "help")
        .collect::<Vec<_>>();
    let parse = |kind: &String| {
        let words = ["conewright", "--json", "--config", "/dev/null", "analyse", kind, &path];
        Cli::command().try_get_matches_from(words).ok()
    };
    let matches: Vec<_> = kinds.iter().filter_map(parse).collect();
    assert!(!matches.is_empty());
    (file, matches)
});

fuzz_target!(|data: &[u8]| {
    let [kind, table @ ..] = data else {
        return;
    };
    let (file, kinds) = &*PLACE;
    std::fs::write(file, table).expect("a temporary file");
    let matches = &kinds[usize::from(*kind) % kinds.len()];
    let cli = Cli::from_arg_matches(matches).expect("it was parsed before");
    if let Err(failure) = run(cli) {
        assert!(!failure.message.is_empty());
        assert!(failure.code != "internal", "{failure}");
    }
});
