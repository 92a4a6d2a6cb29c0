//! The rooms, the top folder, and the arrows between the rooms, which are read from cargo itself.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// What each room may depend on among the rooms: `metrology ← protocol ← config ← daemon ← cli`, and `tests` sees all.
const ARROWS: [(&str, &[&str]); 6] = [
    ("conewright-metrology", &[]),
    ("conewright-protocol", &["conewright-metrology"]),
    (
        "conewright-config",
        &["conewright-metrology", "conewright-protocol"],
    ),
    (
        "conewright-daemon",
        &[
            "conewright-metrology",
            "conewright-protocol",
            "conewright-config",
        ],
    ),
    (
        "conewright",
        &[
            "conewright-metrology",
            "conewright-protocol",
            "conewright-config",
            "conewright-daemon",
        ],
    ),
    (
        "conewright-tests",
        &[
            "conewright-metrology",
            "conewright-protocol",
            "conewright-config",
            "conewright-daemon",
            "conewright",
        ],
    ),
];

/// What may stand in the top folder. Hidden files belong to tools, and `target` is what cargo builds.
const TOP: [&str; 16] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "cli",
    "clippy.toml",
    "config",
    "daemon",
    "deny.toml",
    "docs",
    "metrology",
    "protocol",
    "rustfmt.toml",
    "tests",
];

/// Libraries that no pure room may know, however indirectly: tasks, files, ports, processes.
const IMPURE: [&str; 8] = [
    "tokio",
    "axum",
    "hyper",
    "rusqlite",
    "serialport",
    "rustix",
    "tracing",
    "jiff",
];

struct Metadata {
    /// Direct dependencies of each workspace member, development ones left out.
    direct: BTreeMap<String, BTreeSet<String>>,
    /// Dependencies of every package by its id, development ones left out.
    resolved: BTreeMap<String, Vec<String>>,
    names: BTreeMap<String, String>,
}

fn metadata() -> Metadata {
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
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let members: BTreeSet<String> = json["workspace_members"]
        .as_array()
        .unwrap()
        .iter()
        .map(text)
        .collect();
    let mut direct = BTreeMap::new();
    let mut names = BTreeMap::new();
    for package in json["packages"].as_array().unwrap() {
        names.insert(text(&package["id"]), text(&package["name"]));
        if members.contains(&text(&package["id"])) {
            let dependencies = package["dependencies"].as_array().unwrap().iter();
            let normal = dependencies
                .filter(|d| d["kind"].is_null())
                .map(|d| text(&d["name"]));
            direct.insert(text(&package["name"]), normal.collect());
        }
    }
    let mut resolved = BTreeMap::new();
    for node in json["resolve"]["nodes"].as_array().unwrap() {
        let normal = node["deps"].as_array().unwrap().iter().filter(|dep| {
            dep["dep_kinds"]
                .as_array()
                .unwrap()
                .iter()
                .any(|kind| kind["kind"].is_null())
        });
        resolved.insert(
            text(&node["id"]),
            normal.map(|dep| text(&dep["pkg"])).collect(),
        );
    }
    Metadata {
        direct,
        resolved,
        names,
    }
}

#[test]
fn the_top_folder_holds_the_rooms_and_the_documents_only() {
    let top = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let found: BTreeSet<String> = std::fs::read_dir(top)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.starts_with('.') && name != "target")
        .collect();
    let allowed: BTreeSet<String> = TOP.iter().map(|&name| name.to_owned()).collect();
    assert_eq!(found, allowed, "found in the top folder, and allowed there");
}

#[test]
fn arrows_run_one_way() {
    let metadata = metadata();
    let rooms: BTreeSet<&str> = ARROWS.iter().map(|(room, _)| *room).collect();
    assert_eq!(
        rooms,
        metadata.direct.keys().map(String::as_str).collect(),
        "the rooms"
    );
    for (room, allowed) in ARROWS {
        for dependency in &metadata.direct[room] {
            let is_room = rooms.contains(dependency.as_str());
            assert!(
                !is_room || allowed.contains(&dependency.as_str()),
                "{room} → {dependency}"
            );
        }
    }
}

#[test]
fn the_pure_rooms_know_no_tasks_files_or_ports() {
    let metadata = metadata();
    for room in ["conewright-metrology", "conewright-protocol"] {
        let start = metadata
            .names
            .iter()
            .find(|(_, name)| *name == room)
            .unwrap()
            .0;
        let mut seen = BTreeSet::from([start]);
        let mut next = vec![start];
        while let Some(id) = next.pop() {
            for dependency in &metadata.resolved[id] {
                let name = metadata.names[dependency].as_str();
                assert!(!IMPURE.contains(&name), "{room} reaches {name}");
                if seen.insert(dependency) {
                    next.push(dependency);
                }
            }
        }
        assert!(seen.len() > 3, "the walk went somewhere");
    }
}

/// What the standard library offers is not in the metadata: the pure rooms must not name it either.
#[test]
fn the_pure_rooms_name_no_clock_file_or_environment() {
    for room in ["metrology", "protocol"] {
        let source = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("..")
            .join(room)
            .join("src");
        let mut folders = vec![source];
        let mut files = 0;
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                    continue;
                }
                files += 1;
                let text = std::fs::read_to_string(&path).unwrap();
                for word in [
                    "std::fs",
                    "std::env",
                    "std::net",
                    "std::process",
                    "std::thread",
                    "SystemTime",
                    "Instant::now",
                ] {
                    assert!(!text.contains(word), "{} names {word}", path.display());
                }
            }
        }
        assert!(files > 5);
    }
}
