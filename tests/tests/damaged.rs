//! A store that was damaged behind the daemon's back, after a kill: told by every door, kept aside, and brought back.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::client::Client;
use conewright_tests::kept::{Kept, found};
use conewright_tests::script::{Act, Kind, typed};
use conewright_tests::toolroom::Toolroom;
use daemon::bench::SetUp;
use daemon::store::FILE_NAME;
use serde_json::Value;
use std::fs;
use std::os::unix::fs::FileExt;

const MARKS: usize = 30;
const DAMAGED: usize = 4096;

/// Thirty marks, a kill, and 4 KiB in the middle of the log overwritten.
fn damaged() -> (Toolroom, Kept) {
    let mut room = Toolroom::new(SetUp::default(), 11);
    room.start_daemon();
    let client = Client::new(&room.file("socket"));
    let mut kept = Kept::default();
    let mut acts = vec![Act::Open, Act::Step(Kind::Zero)];
    acts.extend((0..MARKS).map(|n| typed(&format!("0.{n:03}"))));
    for act in &acts {
        let (status, answer) = act.with(&client).unwrap();
        assert_eq!(status, 200, "{act:?}: {answer}");
        assert!(kept.after(act, &answer), "{act:?}: {answer}");
    }
    room.kill_daemon();
    let log = room.data().join(format!("{FILE_NAME}-wal"));
    let log = fs::File::options().write(true).open(log).unwrap();
    let middle = log.metadata().unwrap().len() / 2;
    log.write_all_at(&[0x5a; DAMAGED], middle).unwrap();
    (room, kept)
}

/// The number before these words.
fn count(text: &str, words: &str) -> usize {
    let before = text.split(words).next().unwrap();
    let number = before.split_whitespace().next_back().unwrap();
    number.parse().unwrap_or_else(|_| panic!("{text}"))
}

#[test]
fn a_damaged_log_is_told_by_the_check_at_the_start_and_in_the_session() {
    let (mut room, kept) = damaged();
    let check = room.run(&["store", "check"]);
    assert_eq!(check.status.code(), Some(1));
    let said = String::from_utf8(check.stdout).unwrap();
    let missing = count(&said, " acknowledged marks are missing");
    assert!((1..MARKS).contains(&missing), "{said}");

    room.start_daemon();
    let status = room.json(&["status"]);
    let notice = status["notice"].as_str().unwrap();
    assert_eq!(count(notice, " acknowledged marks"), missing, "{notice}");
    assert_eq!(status["marks"].as_array().unwrap().len(), MARKS - missing);
    let shown = String::from_utf8(room.run(&["session", "show"]).stdout).unwrap();
    assert_eq!(
        count(&shown, " acknowledged marks of this session"),
        missing
    );
    room.must(&["daemon", "stop"]);
    // It stays told until it is settled.
    let check = room.run(&["store", "check"]);
    assert_eq!(check.status.code(), Some(1));

    let offered = room.json(&["store", "restore"]);
    let session = &offered["sessions"][0];
    assert_eq!(session["how"], "completed", "{offered}");
    assert_eq!(session["marks"], MARKS);
    assert_eq!(session["marks_here"], MARKS - missing);
    room.must(&["store", "restore", "--yes"]);
    room.must(&["store", "check"]);
    assert_eq!(found(&room.data()).unwrap(), kept);
}

#[test]
fn a_running_daemon_keeps_its_store_to_itself_and_an_archive_is_read_without_it() {
    let mut room = Toolroom::new(SetUp::default(), 12);
    room.start_daemon();
    room.must(&[
        "session",
        "open",
        "spindle 7",
        "--span",
        "80",
        "--cable",
        "typed",
        "--resolution",
        "0.001",
    ]);
    room.must(&["step", "zero"]);
    for value in ["0.010", "0.110", "0.010"] {
        room.must(&["mark", "--value", value]);
    }
    let refused = |room: &Toolroom, verb: &[&str], code: &str| {
        let output = room.command(verb).arg("--json").output().unwrap();
        let said: Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(said["error"]["code"], code, "{said}");
        assert!(said["error"]["hint"].is_string(), "{said}");
    };
    let archive = room.file("seats.db");
    let archive = archive.to_str().unwrap().to_owned();
    refused(
        &room,
        &["store", "archive", "1", "--to", &archive],
        "session_open",
    );
    room.must(&["session", "close"]);
    room.must(&["store", "archive", "1", "--to", &archive]);
    for verb in [
        &["store", "delete", "1", "--yes"][..],
        &["store", "compact"],
        &["store", "restore", "--yes"],
    ] {
        refused(&room, verb, "daemon_running");
    }
    let (live, again) = (room.file("live.json"), room.file("again.json"));
    room.must(&["export", "1", "--to", live.to_str().unwrap()]);
    room.must(&["daemon", "stop"]);
    room.must(&[
        "export",
        "1",
        "--from",
        &archive,
        "--to",
        again.to_str().unwrap(),
    ]);
    assert_eq!(fs::read(live).unwrap(), fs::read(again).unwrap());
    room.must(&["verify", &archive]);
    room.must(&["store", "check", &archive]);

    let listed = room.command(&["store", "delete", "1"]).output().unwrap();
    assert_eq!(listed.status.code(), Some(1), "nothing is deleted unasked");
    room.must(&["store", "delete", "1", "--yes"]);
    room.must(&["store", "compact"]);
    let list = room.json(&["session", "list"]);
    assert_eq!(list["sessions"].as_array().unwrap().len(), 0);
    room.must(&["daemon", "stop"]);
    room.must(&["store", "restore", "--from", &archive, "--yes"]);
    let list = room.json(&["session", "list"]);
    assert_eq!(list["sessions"][0]["session"], 1);
    room.must(&["daemon", "stop"]);
}
