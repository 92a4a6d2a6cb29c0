//! What the program is built from: the rules of `deny.toml`, held against cargo's own account of every crate, so that they hold on a machine
//! that has nothing but cargo.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;
use toml::Table;

/// Where crates may come from.
const REGISTRY: &str = "registry+https://github.com/rust-lang/crates.io-index";

struct Crate {
    name: String,
    version: String,
    license: String,
    source: Option<String>,
}

fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap()
}

/// Every crate that a build of the program on this kind of machine takes in.
fn crates() -> Vec<Crate> {
    let output = Command::new(env!("CARGO"))
        .args([
            "metadata",
            "--format-version",
            "1",
            "--offline",
            "--locked",
            "--filter-platform",
            "host-tuple",
        ])
        .current_dir(top())
        .output()
        .unwrap();
    let talk = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{talk}");
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let used = used();
    let packages = json["packages"].as_array().unwrap().iter();
    packages
        .filter(|package| {
            let (name, version) = (text(&package["name"]), text(&package["version"]));
            used.contains(&format!("{name} v{version}"))
        })
        .map(|package| Crate {
            name: text(&package["name"]),
            version: text(&package["version"]),
            license: text(&package["license"]),
            source: package["source"].as_str().map(str::to_owned),
        })
        .collect()
}

/// `NAME vVERSION` of each. Only cargo's tree knows which features are on: its account of the workspace lists more.
fn used() -> BTreeSet<String> {
    let output = Command::new(env!("CARGO"))
        .args(["tree", "--offline", "--locked", "--package", "conewright"])
        .args([
            "--edges",
            "normal,build",
            "--prefix",
            "none",
            "--format",
            "{p}",
        ])
        .current_dir(top())
        .output()
        .unwrap();
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).unwrap();
    let first_two = |line: &str| line.split(' ').take(2).collect::<Vec<_>>().join(" ");
    text.lines().map(first_two).collect()
}

fn rules() -> Table {
    let text = std::fs::read_to_string(top().join("deny.toml")).unwrap();
    text.parse().unwrap()
}

fn words(list: &toml::Value) -> BTreeSet<String> {
    let of = |value: &toml::Value| value.as_str().unwrap().to_owned();
    list.as_array().unwrap().iter().map(of).collect()
}

/// Whether a licence expression (SPDX) can be met with the licences that are allowed. `/` is how it was once written for OR.
fn is_met(expression: &str, allowed: &BTreeSet<String>) -> bool {
    let spaced = expression
        .replace('/', " OR ")
        .replace('(', " ( ")
        .replace(')', " ) ");
    let tokens: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    let met = alternatives(&tokens, &mut at, allowed);
    assert_eq!(at, tokens.len(), "`{expression}` is read whole");
    met
}

fn alternatives(tokens: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let mut met = together(tokens, at, allowed);
    while tokens.get(*at) == Some(&"OR") {
        *at += 1;
        met |= together(tokens, at, allowed);
    }
    met
}

fn together(tokens: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let mut met = one(tokens, at, allowed);
    while tokens.get(*at) == Some(&"AND") {
        *at += 1;
        met &= one(tokens, at, allowed);
    }
    met
}

fn one(tokens: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let first = tokens[*at];
    *at += 1;
    if first == "(" {
        let met = alternatives(tokens, at, allowed);
        assert_eq!(tokens.get(*at), Some(&")"));
        *at += 1;
        return met;
    }
    let mut name = first.to_owned();
    if tokens.get(*at) == Some(&"WITH") {
        name = format!("{name} WITH {}", tokens[*at + 1]);
        *at += 2;
    }
    allowed.contains(&name)
}

#[test]
fn licence_expressions_are_read_as_they_are_meant() {
    let allowed = BTreeSet::from(["MIT", "Apache-2.0", "Zlib"].map(str::to_owned));
    for (expression, met) in [
        ("MIT", true),
        ("GPL-3.0", false),
        ("MIT OR GPL-3.0", true),
        ("MIT/Apache-2.0", true),
        ("MIT AND GPL-3.0", false),
        ("GPL-3.0 OR MIT AND Zlib", true),
        ("(MIT OR GPL-3.0) AND GPL-2.0", false),
        ("(GPL-2.0 OR MIT) AND Zlib", true),
        ("Apache-2.0 WITH LLVM-exception", false),
    ] {
        assert_eq!(is_met(expression, &allowed), met, "{expression}");
    }
}

#[test]
fn every_licence_is_allowed_and_every_allowed_one_is_needed() {
    let allowed = words(&rules()["licenses"]["allow"]);
    let crates = crates();
    assert!(crates.len() > 100, "cargo's account is whole");
    for krate in &crates {
        assert!(
            is_met(&krate.license, &allowed),
            "{} {} is under `{}`",
            krate.name,
            krate.version,
            krate.license
        );
    }
    for licence in &allowed {
        let named = crates.iter().any(|krate| krate.license.contains(licence));
        assert!(named, "no crate is under {licence} any more");
    }
}

#[test]
fn every_crate_comes_from_the_registry() {
    for krate in crates() {
        let own = krate.name.starts_with("conewright");
        let from = krate.source.as_deref();
        let expected = if own { None } else { Some(REGISTRY) };
        assert_eq!(from, expected, "{} {}", krate.name, krate.version);
    }
    // What is locked is locked by its content.
    let lock = std::fs::read_to_string(top().join("Cargo.lock")).unwrap();
    let lock: Table = lock.parse().unwrap();
    for package in lock["package"].as_array().unwrap() {
        let checked = package.get("source").is_none() || package.get("checksum").is_some();
        assert!(checked, "{}", package["name"]);
    }
}

#[test]
fn a_crate_is_there_once_or_for_a_reason() {
    let rules = rules();
    let skipped: BTreeMap<String, String> = rules["bans"]["skip"]
        .as_array()
        .unwrap()
        .iter()
        .map(|skip| {
            let text = |key: &str| skip[key].as_str().unwrap().to_owned();
            (text("crate"), text("reason"))
        })
        .collect();
    assert!(skipped.values().all(|reason| reason.len() > 10));
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for krate in crates() {
        versions
            .entry(krate.name)
            .or_default()
            .insert(krate.version);
    }
    let mut needed = BTreeSet::new();
    for (name, of_it) in versions.iter().filter(|(_, of_it)| of_it.len() > 1) {
        let without_reason: Vec<&String> = of_it
            .iter()
            .filter(|version| {
                let skip = skipped.keys().find(|skip| {
                    let (of, begins) = skip.split_once('@').unwrap();
                    of == name && (version.starts_with(&format!("{begins}.")))
                });
                needed.extend(skip.cloned());
                skip.is_none()
            })
            .collect();
        assert!(without_reason.len() <= 1, "{name}: {without_reason:?}");
    }
    let expected: BTreeSet<String> = skipped.into_keys().collect();
    assert_eq!(needed, expected, "every exception is still needed");
}
