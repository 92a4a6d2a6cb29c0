//! The licence texts of everything that is linked into the executable, as one file for a package.

#![allow(clippy::unwrap_used, reason = "a panic is a tool's message")]

use crate::pages::{read, top};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Command;

/// A crate from outside that is linked in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Linked {
    /// Its name and version, `serde 1.0.0`.
    pub name: String,
    /// The expression of its licences (SPDX).
    pub license: String,
    /// The texts: a licence may come with a notice.
    pub texts: Vec<String>,
}

fn cargo(arguments: &[&str]) -> String {
    let output = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .args(arguments)
        .args(["--offline", "--locked"])
        .current_dir(top())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

/// Every crate that is linked in, with its texts, by name.
///
/// # Panics
/// cargo does not answer.
#[must_use]
pub fn linked() -> Vec<Linked> {
    // Only cargo's tree knows which features are on: its account of the workspace lists more.
    let tree = cargo(&[
        "tree",
        "-p",
        "conewright",
        "--edges",
        "normal",
        "--prefix",
        "none",
        "--format",
        "{p}",
    ]);
    let used: BTreeSet<(&str, &str)> = tree
        .lines()
        .filter_map(|line| {
            let mut words = line.split(' ');
            Some((words.next()?, words.next()?.strip_prefix('v')?))
        })
        .collect();
    let account: Value =
        serde_json::from_str(&cargo(&["metadata", "--format-version", "1"])).unwrap();
    let mut found: Vec<Linked> = Vec::new();
    for package in account["packages"].as_array().unwrap() {
        let text = |key: &str| package[key].as_str().unwrap_or_default();
        let (name, version) = (text("name"), text("version"));
        if package["source"].is_null() || !used.contains(&(name, version)) {
            continue;
        }
        let folder = Path::new(text("manifest_path")).parent().unwrap();
        found.push(Linked {
            name: format!("{name} {version}"),
            license: text("license").to_owned(),
            texts: texts(folder, text("license"), &authors(package)),
        });
    }
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

/// Who holds a crate's rights, as its manifest says.
fn authors(package: &Value) -> String {
    let authors = package["authors"].as_array().into_iter().flatten();
    let authors: Vec<&str> = authors.filter_map(Value::as_str).collect();
    authors.join(", ")
}

/// The licence texts in a crate's folder. Where its author packed none and allows Apache-2.0, that licence's text says it all: it
/// names no holder. Where MIT alone is allowed, its text gets the `holders` that the manifest names.
///
/// # Panics
/// The folder cannot be read.
#[must_use]
pub fn texts(folder: &Path, license: &str, holders: &str) -> Vec<String> {
    let starts = [
        "LICENSE",
        "LICENCE",
        "UNLICENSE",
        "COPYING",
        "COPYRIGHT",
        "NOTICE",
    ];
    let mut files: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            let name = path.file_name().unwrap().to_string_lossy().to_uppercase();
            path.is_file() && starts.iter().any(|start| name.starts_with(start))
        })
        .collect();
    files.sort();
    let texts = files
        .iter()
        .filter_map(|file| fs::read_to_string(file).ok());
    let mut texts: Vec<String> = texts.filter(|text| text.len() > 100).collect();
    if texts.is_empty() && license.split([' ', '/']).any(|word| word == "Apache-2.0") {
        texts.push(read("LICENSE-APACHE"));
    } else if texts.is_empty() && license == "MIT" && !holders.is_empty() {
        let own = read("LICENSE-MIT");
        let grant = own.find("Permission is hereby granted").unwrap();
        texts.push(format!("Copyright (c) {holders}\n\n{}", &own[grant..]));
    }
    texts
}

/// The whole file: the program's own licences, then each text once with what it belongs to.
#[must_use]
pub fn copyright(linked: &[Linked]) -> String {
    let mut file = String::from(
        "Conewright: MIT or Apache-2.0, as you choose. It is built from Rust's standard library (MIT or Apache-2.0), from SQLite,\n\
         which is in the public domain, and from the libraries named below, each under its licence.\n",
    );
    let mut crates_of: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let own = ["LICENSE-MIT", "LICENSE-APACHE"].map(|name| ("Conewright".to_owned(), read(name)));
    let font = "cli/src/document/pdf/font/LICENSE";
    let font = (
        "the font DejaVu Sans in PDF documents".to_owned(),
        read(font),
    );
    let named = |of: &Linked| format!("{} ({})", of.name, of.license);
    let theirs = linked
        .iter()
        .flat_map(|of| of.texts.iter().map(move |text| (named(of), text.clone())));
    for (name, text) in own.into_iter().chain([font]).chain(theirs) {
        let text = text.replace("\r\n", "\n").trim().to_owned();
        crates_of.entry(text).or_default().insert(name);
    }
    for (text, names) in crates_of {
        let names = names.into_iter().collect::<Vec<_>>().join("\n  ");
        write!(file, "\n{}\nFor:\n  {names}\n\n{text}\n", "=".repeat(78)).unwrap();
    }
    file
}
