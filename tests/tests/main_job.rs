//! The main job, end to end: a pty in place of the instrument, the real daemon and the real command line as separate
//! processes, from `session open` to a verified record.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::toolroom::{QUICK, Toolroom};
use daemon::bench::SetUp;
use serde_json::Value;

const OPEN: [&str; 16] = [
    "session",
    "open",
    "spindle seat",
    "--taper",
    "1:12",
    "--length",
    "30",
    "--tolerance",
    "5arcsec",
    "--bar",
    "100",
    "--bar-kind",
    "sine",
    "--kit",
    "metric-88",
    "--span=80",
];

fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("a number, not {value}"))
}

/// Rounds and taps until the verdict is `in`; at most eight rounds. Where no tap is advised, because what is left is less than
/// the display can tell, another round decides.
fn zero(room: &Toolroom) -> Value {
    for _ in 0..8 {
        let outcome = room.round();
        if outcome["verdict"] == "in" {
            return outcome;
        }
        if !outcome["tap"].is_null() {
            room.follow(&outcome);
        }
    }
    panic!(
        "not in tolerance after eight rounds: {}",
        room.json(&["status"])
    );
}

/// The record that `export` writes, after `verify` found nothing.
fn verified_record(room: &Toolroom) -> Value {
    let file = room.file("record.json");
    let path = file.to_str().unwrap();
    room.must(&["export", "--to", path]);
    let verified = room.run(&["verify", path]);
    assert!(
        verified.status.success(),
        "{}",
        String::from_utf8_lossy(&verified.stderr)
    );
    serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}

#[test]
fn from_opening_to_a_verified_record() {
    // No daemon runs yet: the first verb that needs it starts it.
    let room = Toolroom::new(SetUp::default(), 11);
    let opened = room.json(&OPEN);
    assert_eq!(opened["session"], 1);
    room.must(&["step", "zero"]);
    let outcome = zero(&room);
    assert!(number(&outcome["residual_arcsec"]).abs() < 5.0);

    // What the program says is what the model knows, here to twice the stated interval: one run is no statistic.
    let truth = room.cable.truth().unwrap().slope.atan().to_degrees() * 3600.0;
    let told = number(&outcome["residual_arcsec"]);
    let expanded = number(&outcome["residual_expanded_arcsec"]);
    assert!(
        (told - truth).abs() < 2.0 * expanded,
        "told {told} ± {expanded}, true {truth}"
    );

    // A slip: a mark that is taken back, and made again, loses nothing.
    let slip = room.mark_at(80.0);
    let undone = room.json(&["undo"]);
    assert_eq!(undone["number"], slip["number"]);
    room.must(&["note", "wheel dressed before this"]);
    room.must(&["step", "close"]);
    room.must(&["session", "close"]);

    let record = verified_record(&room);
    assert_eq!(record["steps"][0]["outcome"]["verdict"], "in");
    let marks = record["steps"][0]["marks"].as_array().unwrap();
    assert!(marks.last().unwrap()["taken_back"].as_bool().unwrap());
    let schema: Value = serde_json::from_str(protocol::record::SCHEMA).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = schema.iter_errors(&record).map(|e| e.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    for other in ["record.csv", "record.html", "record.pdf"] {
        let path = room.file(other);
        room.must(&["export", "1", "--to", path.to_str().unwrap()]);
        assert!(std::fs::metadata(&path).unwrap().len() > 1_000, "{other}");
    }

    // A changed digit: the reading in the middle of the first mark's dwell.
    let text = std::fs::read_to_string(room.file("record.json")).unwrap();
    let first = &record["steps"][0]["marks"][0]["source"]["first_seq"];
    let line = text
        .lines()
        .find(|l| l.trim_start().starts_with(&format!("[{first},")))
        .unwrap();
    let digit = line.rfind(|c: char| ('1'..='8').contains(&c)).unwrap();
    let changed = format!("{}{}{}", &line[..digit], "9", &line[digit + 1..]);
    std::fs::write(room.file("changed.json"), text.replacen(line, &changed, 1)).unwrap();
    let verified = room.run(&["verify", room.file("changed.json").to_str().unwrap()]);
    assert_eq!(verified.status.code(), Some(3));
}

#[test]
fn the_clamp_is_learned_and_aimed_off() {
    let fixture = "[fixture.plate]\nclamp_shifts = [\"2.1um/80mm\", \"1.9um/80mm\"]\n";
    let room = Toolroom::with(SetUp::default(), 5, &format!("{}{fixture}", QUICK));
    let mut open = OPEN.to_vec();
    open.extend(["--fixture", "plate"]);
    room.must(&open);
    room.must(&["step", "zero"]);
    // With two shifts remembered the advice does not aim off yet.
    let loose = zero(&room);
    // It aims at the wanted half angle alone: the stack's known error is taken back.
    let (aim, wanted) = (&loose["tap"]["aim_arcsec"], &loose["tap"]["wanted_arcsec"]);
    assert!(
        aim.is_null() || (number(aim) - number(wanted)).abs() < 1e-9,
        "{loose}"
    );
    room.at_bench(|bench| bench.clamp());
    room.must(&["clamp"]);
    let tight = room.round();
    assert_eq!(tight["clamp_shift"]["count"], 3);
    assert_eq!(tight["clamp_shift"]["agree"], true);
    assert!(
        (number(&tight["clamp_shift"]["slope"]) - 2.5e-5).abs() < 1e-5,
        "{tight}"
    );
    // Loosened, the third shift makes the advice aim off by their median.
    room.at_bench(|bench| bench.loosen());
    room.must(&["clamp", "--loosen"]);
    let aimed = room.round();
    assert!(number(&aimed["tap"]["aim_arcsec"]) < -4.0, "{aimed}");
    room.follow(&aimed);
    let _ = room.round();
    room.at_bench(|bench| bench.clamp());
    room.must(&["clamp"]);
    let last = room.round();
    assert!(number(&last["residual_arcsec"]).abs() < 4.0, "{last}");
    room.must(&["session", "close"]);
    // What was learned is offered to the next session of the fixture.
    let next = room.json(&open);
    let shifts = next["setup"]["fixture"]["clamp_shifts"].as_array().unwrap();
    assert!(shifts.len() >= 4, "{next}");
    assert!(
        next["setup"]["fixture"]["learned_pivot"].is_object(),
        "{next}"
    );
}

#[test]
fn killed_in_the_middle_and_gone_on() {
    let mut room = Toolroom::new(SetUp::default(), 23);
    room.start_daemon();
    room.must(&OPEN);
    room.must(&["step", "zero"]);
    let first = room.round();
    let marks_before = room.json(&["status"])["marks"].clone();
    room.kill_daemon();
    room.start_daemon();
    let status = room.json(&["status"]);
    assert_eq!(
        status["marks"], marks_before,
        "every acknowledged mark is there, exactly once"
    );
    assert_eq!(
        status["outcome"], first,
        "the same outcome without the kill"
    );
    assert_eq!(status["step"]["kind"], "zero");
    // Half a round, killed again, and the round goes on where it was.
    room.follow(&first);
    let _ = room.mark_at(0.0);
    room.kill_daemon();
    room.start_daemon();
    let b = room.mark_at(80.0);
    assert_eq!(
        (&b["station"], &b["round"]),
        (&Value::from("B"), &Value::from(2))
    );
    let _ = room.mark_at(0.0);
    let outcome = room.json(&["status"])["outcome"].clone();
    room.follow(&outcome);
    let _ = zero(&room);
    room.must(&["session", "close"]);
    let record = verified_record(&room);
    let gaps = record["events"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|e| e["what"] == "gap")
        .count();
    assert!(
        gaps >= 2,
        "the record tells when the program was not running: {}",
        record["events"]
    );
}

#[test]
fn a_cable_pulled_and_put_back_goes_on_by_itself() {
    let room = Toolroom::new(SetUp::default(), 31);
    room.must(&OPEN);
    room.must(&["step", "zero"]);
    let _ = room.mark_at(0.0);
    let state = |wanted: &str| room.json(&["status"])["cables"][0]["state"] == wanted;
    room.cable.unplug().unwrap();
    room.until("gone", || state("gone"));
    let refused = room.run(&["mark", "--json"]);
    assert_eq!(refused.status.code(), Some(1));
    let said: Value = serde_json::from_slice(&refused.stdout).unwrap();
    assert_eq!(said["error"]["code"], "cable_not_live");
    room.cable.plug().unwrap();
    room.until("live again", || state("live"));
    let b = room.mark_at(80.0);
    assert_eq!(b["station"], "B");
    room.must(&["session", "close"]);
    let record = verified_record(&room);
    let cable: Vec<&Value> = record["events"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|e| e["what"] == "cable")
        .collect();
    assert!(cable.len() >= 2, "left and came back: {}", record["events"]);
}
