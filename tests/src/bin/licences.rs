//! Writes the licence texts of everything that is linked into the executable to a file.

use conewright_tests::licences::{copyright, linked};
use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let Some(file) = std::env::args_os().nth(1).map(PathBuf::from) else {
        eprintln!("usage: licences FILE");
        return ExitCode::from(2);
    };
    let linked = linked();
    let without: Vec<&str> = linked
        .iter()
        .filter(|of| of.texts.is_empty())
        .map(|of| of.name.as_str())
        .collect();
    if !without.is_empty() {
        eprintln!("no licence text for: {}", without.join(", "));
        return ExitCode::FAILURE;
    }
    if let Err(error) = std::fs::write(&file, copyright(&linked)) {
        eprintln!("{}: {error}", file.display());
        return ExitCode::FAILURE;
    }
    println!(
        "licence texts of {} libraries: {}",
        linked.len(),
        file.display()
    );
    ExitCode::SUCCESS
}
