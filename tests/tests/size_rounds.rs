//! A size that is measured again, and a part that is ground between, through the real daemon and the real command line.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::toolroom::Toolroom;
use daemon::bench::SetUp;
use serde_json::Value;

const SEAT: &str = "[taper.seat]\nratio = \"1:12\"\ngauge_diameter = \"40\"\nlength = \"30\"\n";

/// A size step at the planes 0 and 24 mm, its readings typed.
fn room(seed: u64) -> Toolroom {
    let mut room = Toolroom::with(SetUp::default(), seed, SEAT);
    room.start_daemon();
    room.must(&[
        "session",
        "open",
        "seat",
        "--taper",
        "seat",
        "--tolerance",
        "60arcsec",
        "--cable",
        "typed",
        "--resolution",
        "0.001",
    ]);
    room.must(&["step", "size", "--planes", "0,24"]);
    room
}

/// Measures both planes, so many µm above what they are to be, and gives the outcome.
fn round(room: &Toolroom, off_um: [i32; 2]) -> Value {
    for (wanted_um, off_um) in [40_000, 38_000].into_iter().zip(off_um) {
        let mm = f64::from(wanted_um + off_um) * 1e-3;
        let _ = room.mark(&[&format!("--value={mm:.3}")]);
    }
    outcome(room)
}

fn outcome(room: &Toolroom) -> Value {
    room.json(&["status"])["outcome"].clone()
}

fn stock(outcome: &Value) -> f64 {
    outcome["stock_on_diameter_um"].as_f64().unwrap()
}

/// The record, after `verify` found that every result follows from its readings; it keeps to its schema.
fn record(room: &Toolroom) -> Value {
    let file = room.file("record.json");
    let path = file.to_str().unwrap();
    room.must(&["export", "--to", path]);
    room.must(&["verify", path]);
    let record = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let schema: Value = serde_json::from_str(protocol::record::SCHEMA).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = schema.iter_errors(&record).map(|e| e.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    record
}

#[test]
fn measured_again_it_is_pooled_and_ground_it_is_new() {
    let mut room = room(51);
    let once = round(&room, [60, 60]);
    assert!(once["stock_expanded_um"].is_null(), "{once:#}");
    assert_eq!(once["undecided_because"], "repeatability_unknown");
    assert!(once["finish"].is_null());

    let twice = round(&room, [62, 60]);
    assert!((stock(&twice) - 60.0).abs() < 1e-6, "{twice:#}");
    assert!(twice["stock_expanded_um"].as_f64().unwrap() < 10.0);
    assert_eq!(twice["finish"], "left");

    // Said twice without a mark between it is said once.
    for _ in 0..2 {
        let said = room.json(&["ground"]);
        assert_eq!(said["ground"]["before_mark"], 5);
        assert_eq!(said["ground"]["next"], true);
    }
    let status = room.json(&["status"]);
    assert_eq!(status["ground"], true);
    assert_eq!(status["next_round"], 3);
    assert!(
        status["outcome"]["remarks"]
            .to_string()
            .contains("was ground after this"),
        "{status:#}"
    );

    // It is on the disk: the daemon goes on with it.
    room.kill_daemon();
    room.start_daemon();
    assert_eq!(room.json(&["status"])["ground"], true);
    let ground = round(&room, [20, 21]);
    assert!((stock(&ground) - 20.0).abs() < 1e-6, "{ground:#}");
    assert!(ground["rounds_disagree"].is_null());
    assert_eq!(ground["undecided_because"], "repeatability_unknown");
    assert!(
        ground["remarks"]
            .to_string()
            .contains("its 4 marks before that are not counted"),
        "{ground:#}"
    );

    // Said by mistake it is taken back, and the question is put.
    room.must(&["ground", "--not"]);
    assert_eq!(outcome(&room)["undecided_because"], "rounds_disagree");
    assert_eq!(room.run(&["ground", "--not"]).status.code(), Some(2));
    let record = record(&room);
    let events = record["events"].as_array().unwrap();
    let ground = events.iter().filter(|event| event["what"] == "ground");
    assert_eq!(ground.count(), 2);
}

/// What is left, and whether that is known, is what the machinist looks at between two passes.
#[test]
fn the_next_pass_is_told_and_those_before_it_beside_what_was_expected() {
    let room = room(54);
    room.must(&["step", "close"]);
    let size = "step size --planes 0,24 --pass-depth 10um --allowance 4um --within 3um --diameter-u 0.3um --plane-u 0.01";
    room.must(&size.split(' ').collect::<Vec<_>>());
    let found = round(&room, [60, 60]);
    assert_eq!(found["next_pass"]["pass"], "rough", "{found:#}");
    let near = |value: &Value, expected: f64| {
        let value = value.as_f64().unwrap();
        assert!((value - expected).abs() < 1e-6, "{value} {expected}");
    };
    near(&found["next_pass"]["infeed_um"], 10.0);
    near(&found["next_pass"]["expects_um"], 40.0);
    assert!(found["ground"].is_null());
    let told = |room: &Toolroom| {
        let output = room.run(&["status"]);
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    let status = told(&room);
    assert!(
        status.contains("rough it: infeed 10.00 µm, should leave 40.00 µm on diameter"),
        "{status}"
    );

    // Ground: the next is told once the part is measured again.
    room.must(&["ground"]);
    assert!(outcome(&room)["next_pass"].is_null());
    let second = round(&room, [44, 44]);
    let pass = &second["ground"][0];
    near(&pass["expected_um"], 40.0);
    near(&pass["after_um"], 44.0);
    // It took 16 µm of 20 and holds two of the infeed, so that the same infeed takes more.
    let expects = second["next_pass"]["expects_um"].as_f64().unwrap();
    assert!((expects - 24.8).abs() < 0.5, "{second:#}");
    let status = told(&room);
    assert!(status.contains("Passes so far"), "{status}");

    room.must(&["ground"]);
    let last = round(&room, [2, 2]);
    assert_eq!(last["ground"].as_array().unwrap().len(), 2);
    assert_eq!(last["next_pass"]["pass"], "at_size", "{last:#}");
    let record = record(&room);
    assert_eq!(record["steps"][1]["outcome"]["ground"], last["ground"]);
}

#[test]
fn rounds_that_disagree_are_asked_about_and_ground_answers() {
    let room = room(52);
    let _ = round(&room, [60, 60]);
    let asked = round(&room, [20, 21]);
    assert_eq!(asked["verdict"], "undecided", "{asked:#}");
    assert_eq!(asked["undecided_because"], "rounds_disagree");
    assert_eq!(asked["rounds_disagree"]["from_round"], 2);
    assert!(asked["finish"].is_null());
    let told = room.run(&["status"]);
    let told = String::from_utf8_lossy(&told.stdout).into_owned();
    assert!(told.contains("Was the part ground between?"), "{told}");
    assert!(told.contains("`conewright ground`"), "{told}");

    // Said now it answers what was asked: ground before the round that disagrees.
    let said = room.json(&["ground"]);
    assert_eq!(said["ground"]["before_mark"], 3);
    assert_eq!(said["ground"]["next"], false);
    let answered = outcome(&room);
    assert!(answered["rounds_disagree"].is_null(), "{answered:#}");
    assert!((stock(&answered) - 20.0).abs() < 1e-6);
    let pooled = round(&room, [21, 21]);
    assert!((stock(&pooled) - 20.5).abs() < 1e-6, "{pooled:#}");
    assert_eq!(pooled["finish"], "left");
    let record = record(&room);
    assert_eq!(record["steps"][0]["ground_before"], serde_json::json!([3]));
}

#[test]
fn ground_says_nothing_without_a_step_or_a_part() {
    let room = Toolroom::with(SetUp::default(), 53, SEAT);
    room.must(&[
        "session", "open", "seat", "--taper", "seat", "--cable", "typed",
    ]);
    let refused = |arguments: &[&str], message: &str| {
        let output = room.run(arguments);
        let told = String::from_utf8_lossy(&output.stderr);
        assert!(told.starts_with(&format!("error: {message}")), "{told}");
        assert!(told.contains("hint: "), "{told}");
    };
    refused(&["ground"], "no step is open");
    for (options, message) in [
        (
            ["--rollers", "6", "--planes", "0,24"],
            "`--planes` does not apply over rollers",
        ),
        (
            ["--rollers", "6", "--plane-u", "0.02"],
            "--plane-u: `0.02` is stated, and over rollers nothing is measured at planes",
        ),
    ] {
        refused(&[&["step", "size"], &options[..]].concat(), message);
    }
    room.must(&["step", "dial", "--nominals", "0,1"]);
    refused(
        &["ground"],
        "a dial step is about the indicator, and grinding the part does not change that",
    );
}
