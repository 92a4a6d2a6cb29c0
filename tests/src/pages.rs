//! The project's pages of text, for tests that compare them with the program.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use std::fs;
use std::path::{Path, PathBuf};

/// The top folder.
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("..")
        .canonicalize()
        .unwrap()
}

/// A file of the top folder.
pub fn read(name: &str) -> String {
    fs::read_to_string(top().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// All files below a folder with this ending, those that are hidden, built or fetched left out.
pub fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if name.starts_with('.') || name == "target" || name == "node_modules" {
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else if name.ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// The fenced blocks of a page, each with the word behind its opening fence.
pub fn blocks(text: &str) -> Vec<(&str, Vec<&str>)> {
    let mut blocks: Vec<(&str, Vec<&str>)> = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        match line.trim_start().strip_prefix("```") {
            Some(word) => {
                inside = !inside;
                if inside {
                    blocks.push((word, Vec::new()));
                }
            }
            None if inside => blocks.last_mut().unwrap().1.push(line),
            None => {}
        }
    }
    blocks
}

/// A page without its fenced blocks.
pub fn prose(text: &str) -> String {
    let mut inside = false;
    let mut lines = Vec::new();
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            inside = !inside;
        } else if !inside {
            lines.push(line);
        }
    }
    lines.join("\n")
}

/// What stands between backticks.
pub fn code_spans(text: &str) -> Vec<String> {
    let prose = prose(text);
    prose
        .split('`')
        .skip(1)
        .step_by(2)
        .map(str::to_owned)
        .collect()
}
