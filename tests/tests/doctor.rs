//! The doctor and the list of pedals as a user meets them: what is printed, and how the verb ends.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::toolroom::Toolroom;
use daemon::bench::SetUp;
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Output;

/// A computer of files, without a port; the toolroom's own directory is its runtime directory.
fn doctor(room: &Toolroom, more: &[&str]) -> Output {
    let root = room.file("root");
    let mut command = room.command(&["doctor", "--root", root.to_str().unwrap()]);
    let runtime = room.file("runtime");
    command.args(more).env("XDG_RUNTIME_DIR", runtime);
    command.output().unwrap()
}

fn said(output: &Output) -> (Option<i32>, String) {
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    (output.status.code(), text)
}

#[test]
fn it_says_what_needs_attention_and_ends_with_1() {
    let room = Toolroom::new(SetUp::default(), 51);
    fs::create_dir_all(room.file("root")).unwrap();
    let (code, text) = said(&doctor(&room, &[]));
    assert_eq!(code, Some(1), "{text}");
    let (first, rest) = text.split_once('\n').unwrap();
    assert!(first.starts_with("ATTENTION runtime: "), "{text}");
    assert!(rest.trim_start().starts_with("remedy: "), "{text}");
    assert!(text.ends_with("one thing needs attention\n"), "{text}");

    let (code, text) = said(&doctor(&room, &["--json"]));
    let document: Value = serde_json::from_str(&text).unwrap();
    assert_eq!((code, &document["well"]), (Some(1), &false.into()));

    make_private(&room.file("runtime"));
    let (code, text) = said(&doctor(&room, &[]));
    assert_eq!(code, Some(0), "{text}");
    assert!(text.ends_with("nothing needs attention\n"), "{text}");
}

fn make_private(folder: &Path) {
    use std::os::unix::fs::DirBuilderExt;
    fs::DirBuilder::new().mode(0o700).create(folder).unwrap();
}

#[test]
fn it_prints_the_rules_and_puts_them_in_place() {
    let room = Toolroom::with(
        SetUp::default(),
        52,
        "[cable.adapter]\nusb = \"0403:6001:BENCH\"\ncadence = \"press\"\nframe = \"text\"\n",
    );
    fs::create_dir_all(room.file("root")).unwrap();
    make_private(&room.file("runtime"));
    let (code, rules) = said(&doctor(&room, &["--rules"]));
    assert_eq!(code, Some(0), "{rules}");
    assert!(rules.contains("ATTRS{serial}==\"BENCH\""), "{rules}");
    let (code, text) = said(&doctor(&room, &["--install"]));
    assert_eq!(code, Some(0), "{text}");
    let file = room.file("root/etc/udev/rules.d/70-conewright.rules");
    assert_eq!(fs::read_to_string(&file).unwrap(), rules);
    // The doctor knows them, and knows when they are no longer what is needed.
    let (_, text) = said(&doctor(&room, &[]));
    assert!(text.contains("is what the configuration needs"), "{text}");
    fs::write(&file, "# by hand\n").unwrap();
    let (code, text) = said(&doctor(&room, &[]));
    assert_eq!(code, Some(1));
    assert!(text.starts_with("ATTENTION rules: "), "{text}");
}

#[test]
fn the_list_of_pedals_is_printed_on_every_computer() {
    let room = Toolroom::new(SetUp::default(), 53);
    let listed = room.json(&["cable", "pedal", "list"]);
    let devices = listed["devices"].as_array().unwrap();
    assert!(
        devices.iter().all(|device| device["path"].is_string()),
        "{listed}"
    );
}
