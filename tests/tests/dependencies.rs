//! docs/dependencies.md against cargo's account: every library that a room names has its row, and no row says what is not so.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::pages::read;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

/// What can be known of a library without judging it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Facts {
    /// Whether the program has it, and not the tests alone.
    in_program: bool,
    unsafe_code: bool,
    builds: &'static str,
}

/// The libraries that rooms name, by cargo.
fn named() -> BTreeMap<String, Facts> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--offline", "--locked"])
        .args(["--filter-platform", "host-tuple"])
        .current_dir(top)
        .output()
        .unwrap();
    let talk = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{talk}");
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let list = |value: &Value| value.as_array().unwrap().clone();
    let packages: BTreeMap<String, Value> = list(&json["packages"])
        .into_iter()
        .map(|package| (package["id"].as_str().unwrap().to_owned(), package))
        .collect();
    let rooms = list(&json["workspace_members"]);
    let mut found: BTreeMap<String, Facts> = BTreeMap::new();
    for node in list(&json["resolve"]["nodes"]) {
        if !rooms.contains(&node["id"]) {
            continue;
        }
        let tests = packages[node["id"].as_str().unwrap()]["name"] == "conewright-tests";
        for dependency in list(&node["deps"]) {
            if rooms.contains(&dependency["pkg"]) {
                continue;
            }
            let package = &packages[dependency["pkg"].as_str().unwrap()];
            let kinds = list(&dependency["dep_kinds"]);
            let in_program = !tests && kinds.iter().any(|kind| kind["kind"].is_null());
            let name = package["name"].as_str().unwrap().to_owned();
            let facts = found.entry(name).or_insert_with(|| facts(package));
            facts.in_program |= in_program;
        }
    }
    found
}

fn facts(package: &Value) -> Facts {
    let targets = package["targets"].as_array().unwrap();
    let has = |kind: &str| {
        let of = |target: &Value| target["kind"].as_array().unwrap().contains(&kind.into());
        targets.iter().any(of)
    };
    let manifest = Path::new(package["manifest_path"].as_str().unwrap());
    Facts {
        in_program: false,
        unsafe_code: has_unsafe(&manifest.with_file_name("src")),
        builds: match (has("custom-build"), has("proc-macro")) {
            (true, _) => "script",
            (false, true) => "macro",
            (false, false) => "",
        },
    }
}

/// Whether the word begins a block, a function or an implementation outside of a comment.
fn has_unsafe(folder: &Path) -> bool {
    let begins = |line: &str| {
        let code = line.split("//").next().unwrap_or_default();
        let after = code.split_once("unsafe ").map(|(before, after)| {
            let bounded = before.ends_with(|c: char| c.is_whitespace() || "({=|&!;".contains(c));
            (before.is_empty() || bounded)
                && ["{", "fn", "impl"].iter().any(|w| after.starts_with(w))
        });
        after.unwrap_or(false)
    };
    fs::read_dir(folder).unwrap().any(|entry| {
        let path = entry.unwrap().path();
        if path.is_dir() {
            return has_unsafe(&path);
        }
        let rust = path.extension().is_some_and(|ending| ending == "rs");
        rust && fs::read_to_string(&path).unwrap().lines().any(begins)
    })
}

/// The rows of the page.
fn told() -> BTreeMap<String, Facts> {
    let page = read("docs/dependencies.md");
    let mut found = BTreeMap::new();
    let mut in_program = false;
    for line in page.lines() {
        if let Some(heading) = line.strip_prefix("## ") {
            in_program = heading == "In the program";
        }
        let Some(row) = line.strip_prefix("| `") else {
            continue;
        };
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        let [name, why, keeper, unsafe_code, builds, ..] = cells[..] else {
            panic!("a row without its cells: {line}");
        };
        assert!(!why.is_empty() && !keeper.is_empty(), "{line}");
        let facts = Facts {
            in_program,
            unsafe_code: match unsafe_code {
                "yes" => true,
                "no" => false,
                other => panic!("unsafe is yes or no, not `{other}`: {line}"),
            },
            builds: match builds {
                "" => "",
                "script" => "script",
                "macro" => "macro",
                other => panic!("a build is by script or macro, not `{other}`: {line}"),
            },
        };
        let name = name.trim_end_matches('`').to_owned();
        assert_eq!(found.insert(name, facts), None, "twice: {line}");
    }
    found
}

#[test]
fn every_library_has_its_row_and_no_row_is_stale() {
    let (named, told) = (named(), told());
    assert!(named.len() > 40, "{named:?}");
    let differ = named
        .iter()
        .filter(|(name, is)| told.get(*name) != Some(is));
    let differ: Vec<_> = differ
        .map(|(name, is)| (name, is, told.get(name)))
        .collect();
    assert!(
        differ.is_empty(),
        "what is, and what the page has: {differ:#?}"
    );
    for name in told.keys() {
        assert!(
            named.contains_key(name),
            "{name} is on the page, and no room names it"
        );
    }
}

#[test]
fn unsafe_code_is_found_where_it_is_code() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("lib.rs");
    for (text, is) in [
        ("unsafe { x }", true),
        ("    let a = unsafe { x };", true),
        ("pub unsafe fn f() {}", true),
        ("// unsafe { x }", false),
        ("/// An unsafe fn is one", false),
        ("#![forbid(unsafe_code)]", false),
        ("let unsafe_impl = 1;", false),
    ] {
        fs::write(&file, text).unwrap();
        assert_eq!(has_unsafe(folder.path()), is, "{text}");
    }
}
