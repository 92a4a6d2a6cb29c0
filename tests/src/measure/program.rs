//! The executable: its size, a clean build of it, and the test suite.

use super::Line;
use super::stats::timed;
use super::tools::run;
use crate::toolroom::executable;
use std::path::Path;
use std::process::{Command, Stdio};

const MOST_MB: f64 = 20.0;
const BUILD_MIN: f64 = 5.0;
const TESTS_MIN: f64 = 8.0;

fn cargo(arguments: &[&str]) -> Command {
    let mut command = Command::new(std::env::var("CARGO").unwrap_or_else(|_| "cargo".into()));
    command
        .args(arguments)
        .args(["--locked", "--quiet"])
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."))
        .stdin(Stdio::null());
    command
}

/// Size of the executable that was measured, and a build from nothing in a folder of its own.
pub(super) fn build() -> Vec<Line> {
    let mb = std::fs::metadata(executable()).unwrap().len() as f64 / 1e6;
    let folder = tempfile::tempdir().unwrap();
    let (took, ()) =
        timed(|| run(cargo(&["build", "--release"]).env("CARGO_TARGET_DIR", folder.path())));
    let minutes = took.as_secs_f64() / 60.0;
    vec![
        Line::told("the executable", format!("{mb:.1} MB"))
            .reach(format!("under {MOST_MB} MB"), mb < MOST_MB),
        Line::told("a clean build of it", format!("{minutes:.1} min"))
            .reach(format!("under {BUILD_MIN} min"), minutes < BUILD_MIN),
    ]
}

/// The whole suite, built before the clock starts.
pub(super) fn tests() -> Vec<Line> {
    run(&mut cargo(&["test", "--workspace", "--no-run"]));
    let (took, ()) = timed(|| run(&mut cargo(&["test", "--workspace"])));
    let minutes = took.as_secs_f64() / 60.0;
    vec![
        Line::told("the test suite, built before", format!("{minutes:.1} min"))
            .reach(format!("under {TESTS_MIN} min"), minutes < TESTS_MIN),
    ]
}
