//! A mark asked for while the table moves, with the real daemon and the real command line on a virtual cable.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::toolroom::Toolroom;
use daemon::bench::{Bench, SetUp};
use serde_json::Value;
use std::process::{Child, Stdio};

/// A toolroom with the usual hold of half a second.
fn toolroom(seed: u64) -> Toolroom {
    Toolroom::with(SetUp::default(), seed, "")
}

/// To B, within three seconds.
const TO_B: (f64, u32) = (80.0, 600);
/// Far on, for forty seconds.
const ON: (f64, u32) = (800.0, 8_000);

/// The table moves to a place over so many readings, two hundred a second, and a mark is asked for meanwhile.
fn asked_while_moving(room: &Toolroom, (x_mm, readings): (f64, u32)) -> Child {
    room.must(&["session", "open", "seat", "--span", "80"]);
    room.must(&["step", "zero"]);
    let _ = room.mark(&["A"]);
    let go = move |bench: &mut Bench| bench.move_over(x_mm, readings);
    room.cable.bench(go).unwrap();
    // It was at rest until now, and could be marked there.
    room.until("the table moves", || {
        let status = room.json(&["status"]);
        status["cables"][0]["reading_mm"].as_f64().unwrap() > 0.03
    });
    let mark = room
        .command(&["mark", "B", "--json"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    room.until("the mark waits", || waits(room));
    mark
}

fn waits(room: &Toolroom) -> bool {
    room.json(&["status"])["waiting"]["left_s"].is_f64()
}

/// What `mark` printed, and its exit code.
fn answer(mark: Child) -> (Value, Option<i32>) {
    let output = mark.wait_with_output().unwrap();
    let said = serde_json::from_slice(&output.stdout).unwrap();
    (said, output.status.code())
}

fn marks(room: &Toolroom) -> usize {
    room.json(&["status"])["marks"].as_array().unwrap().len()
}

#[test]
fn mark_blocks_until_the_table_rests_and_reads_only_where_it_rests() {
    let room = toolroom(5);
    let mark = asked_while_moving(&room, TO_B);
    let (marked, code) = answer(mark);
    assert_eq!(
        (code, &marked["station"]),
        (Some(0), &"B".into()),
        "{marked}"
    );
    let at_b = room.cable.bench(|bench| bench.reading_at(80.0)).unwrap();
    let off = marked["value_mm"].as_f64().unwrap() - at_b;
    // The display has steps of 1 µm; on the way it was off by tens of them.
    assert!(off.abs() < 0.002, "{off}: {marked}");
    assert!(!waits(&room));
    assert_eq!(marks(&room), 2);
}

#[test]
fn undo_drops_a_mark_that_waits_and_takes_nothing_back() {
    let room = toolroom(6);
    let mark = asked_while_moving(&room, ON);
    let said = String::from_utf8(room.run(&["status"]).stdout).unwrap();
    assert!(said.contains("a mark waits for rest"), "{said}");
    room.must(&["undo"]);
    let (refused, code) = answer(mark);
    assert_eq!(
        (code, &refused["error"]["code"]),
        (Some(1), &"cancelled".into()),
        "{refused}"
    );
    assert_eq!(marks(&room), 1);
}

#[test]
fn a_mark_that_waits_is_refused_after_its_time_with_what_moved() {
    let room = toolroom(7);
    let mark = asked_while_moving(&room, ON);
    let (refused, code) = answer(mark);
    assert_eq!(
        (code, &refused["error"]["code"]),
        (Some(1), &"not_settled".into())
    );
    let said = refused["error"]["message"].as_str().unwrap();
    assert!(
        said.contains("waited 5 s") && said.contains("moved by"),
        "{said}"
    );
    assert_eq!(marks(&room), 1);
}

#[test]
fn a_daemon_killed_while_a_mark_waits_acknowledges_nothing() {
    let mut room = toolroom(8);
    room.start_daemon();
    let mark = asked_while_moving(&room, ON);
    room.kill_daemon();
    let (_, code) = answer(mark);
    assert_eq!(code, Some(1));
    room.start_daemon();
    assert_eq!(marks(&room), 1);
}
