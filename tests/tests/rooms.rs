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

/// What cargo prints, without the network.
fn cargo(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO"))
        .args(arguments)
        .args(["--offline", "--locked"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

/// Direct dependencies of each workspace member, development ones left out.
fn direct() -> BTreeMap<String, BTreeSet<String>> {
    let metadata = cargo(&["metadata", "--format-version", "1", "--no-deps"]);
    let json: Value = serde_json::from_str(&metadata).unwrap();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let packages = json["packages"].as_array().unwrap().iter();
    let of = |package: &Value| {
        let dependencies = package["dependencies"].as_array().unwrap().iter();
        let normal = dependencies.filter(|d| d["kind"].is_null());
        (
            text(&package["name"]),
            normal.map(|d| text(&d["name"])).collect(),
        )
    };
    packages.map(of).collect()
}

/// Every package that a room is built from, however indirectly, with the features that this room turns on: those that another
/// room turns on are not its own.
fn built_from(room: &str) -> BTreeSet<String> {
    let tree = cargo(&[
        "tree",
        "--package",
        room,
        "--edges",
        "normal",
        "--prefix",
        "none",
        "--format",
        "{p}",
    ]);
    let name = |line: &str| line.split(' ').next().unwrap().to_owned();
    tree.lines().skip(1).map(name).collect()
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
    let direct = direct();
    let rooms: BTreeSet<&str> = ARROWS.iter().map(|(room, _)| *room).collect();
    assert_eq!(
        rooms,
        direct.keys().map(String::as_str).collect(),
        "the rooms"
    );
    for (room, allowed) in ARROWS {
        for dependency in &direct[room] {
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
    for room in ["conewright-metrology", "conewright-protocol"] {
        let packages = built_from(room);
        assert!(packages.len() > 3, "{room}: {packages:?}");
        for package in &packages {
            assert!(
                !IMPURE.contains(&package.as_str()),
                "{room} reaches {package}"
            );
        }
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

/// A product file is read as a whole; what is long is two thoughts. Clippy holds the length of functions (`clippy.toml`).
#[test]
fn no_product_file_is_longer_than_400_lines() {
    let top = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut long = Vec::new();
    let mut files = 0;
    for room in ["metrology", "protocol", "config", "daemon", "cli"] {
        let mut folders = vec![top.join(room).join("src")];
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_str().unwrap().to_owned();
                if path.is_dir() && name != "tests" {
                    folders.push(path);
                } else if name.ends_with(".rs") && name != "tests.rs" {
                    files += 1;
                    let lines = std::fs::read_to_string(&path).unwrap().lines().count();
                    if lines > 400 {
                        long.push(format!("{}: {lines}", path.display()));
                    }
                }
            }
        }
    }
    assert!(files > 300, "{files} files were found");
    assert!(long.is_empty(), "{long:#?}");
}
