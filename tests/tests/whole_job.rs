//! Every kind of step through the real daemon and the real command line, its readings typed; then the record in each form,
//! computed again by `verify`, and the same numbers from a table by `analyse`.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]
#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::toolroom::Toolroom;
use daemon::bench::SetUp;
use serde_json::Value;
use std::time::Instant;

const SEAT: &str = "[taper.seat]\nratio = \"1:12\"\ngauge_diameter = \"40\"\nlength = \"30\"\n";

fn near(found: &Value, expected: f64, within: f64) {
    let value = found
        .as_f64()
        .unwrap_or_else(|| panic!("{found} is not a number"));
    assert!(
        (value - expected).abs() <= within,
        "{value} is not {expected} ± {within}"
    );
}

/// Opens a step, marks typed values at the places that come next or at those that are named, and closes it.
fn step(room: &Toolroom, opening: &[&str], marks: &[&[&str]]) -> Value {
    let opened = room.json(&[&["step"], opening].concat());
    assert_eq!(opened["kind"], opening[0]);
    for mark in marks {
        let _ = room.mark(mark);
    }
    let status = room.json(&["status"]);
    let closed = room.json(&["step", "close"]);
    assert_eq!(
        closed["outcome"], status["outcome"],
        "{opening:?}: closed as it stood"
    );
    let outcome = closed["outcome"].clone();
    assert_eq!(outcome["kind"], opening[0], "{closed:#}");
    outcome
}

/// Twelve positions of the clock, off centre by `off_um` with the high spot at four o'clock.
fn round(off_um: f64) -> Vec<String> {
    (0..12_i32)
        .map(|hour| {
            let t = f64::from(hour - 4) * 30_f64.to_radians();
            format!("--value={:.5}", off_um * 1e-3 * t.cos())
        })
        .collect()
}

#[test]
fn the_whole_job_typed() {
    let room = Toolroom::with(SetUp::default(), 21, SEAT);
    room.must(&[
        "session",
        "open",
        "spindle seat",
        "--taper",
        "seat",
        "--tolerance",
        "20arcsec",
        "--span=80",
        "--station",
        "C=40",
        "--cable",
        "typed",
        "--resolution",
        "0.0001",
    ]);

    let dial = step(
        &room,
        &["dial", "--nominals", "0,1,2"],
        &[
            &["--value=0"],
            &["--value=1.0004"],
            &["--value=2.0002"],
            &["1", "--value=1.0006"],
            &["0", "--value=0.0001"],
        ],
    );
    near(&dial["error_span_um"], 0.6, 1e-6);

    let level = step(
        &room,
        &[
            "zero", "--about", "level", "--wheel", "250", "--as", "found",
        ],
        &[
            &["A", "--value=0"],
            &["C", "--value=0.01"],
            &["B", "--value=0.02"],
            &["A", "--value=0"],
        ],
    );
    near(&level["level"]["rise_um"], 7.5, 0.01);

    let sweep = step(
        &room,
        &["sweep", "--subject", "part"],
        &[&["--value=0"], &["--value=0.0030"], &["--value=0.0040"]],
    );
    near(&sweep["slope"], 50e-6, 1e-9);
    assert_eq!(sweep["points"], 3);

    let clock = |off_um, state| {
        let values = round(off_um);
        let marks: Vec<[&str; 1]> = values.iter().map(|v| [v.as_str()]).collect();
        let marks: Vec<&[&str]> = marks.iter().map(|m| m.as_slice()).collect();
        step(&room, &["runout", "--as", state, "--limit", "5um"], &marks)
    };
    let found = clock(3.0, "found");
    near(&found["eccentricity_um"], 3.0, 0.02);
    near(&found["high_spot_deg"], 120.0, 0.5);
    assert_eq!(found["verdict"], "out");
    let left = clock(1.0, "left");
    assert_eq!(left["verdict"], "in");
    assert!(
        left["corrections"].is_null() || dial["check"]["correction"].is_null(),
        "a correction was not asked for"
    );

    let size = step(
        &room,
        &[
            "size",
            "--planes",
            "0,24",
            "--pass-depth",
            "10um",
            "--allowance",
            "5um",
        ],
        &[&["--value=40.06"], &["--value=38.06"]],
    );
    near(&size["stock_on_diameter_um"], 60.0, 1e-3);
    assert_eq!(size["passes"]["count"], 3);

    let contact = step(&room, &["contact", "--film", "2um,5um"], &[&["90,80,85"]]);
    assert_eq!(contact["bearing"], "full");

    // The same marks from a table give the same run-out; the indicator's check is the session's and not the table's.
    let table: String = round(1.0).iter().enumerate().fold(
        "angle_deg,reading_mm\n".to_owned(),
        |table, (hour, value)| {
            table + &format!("{},{}\n", hour * 30, value.trim_start_matches("--value="))
        },
    );
    std::fs::write(room.file("clock.csv"), table).unwrap();
    let path = room.file("clock.csv");
    let tabled = room.json(&[
        "analyse",
        "runout",
        path.to_str().unwrap(),
        "--limit",
        "5um",
        "--resolution",
        "0.0001",
    ]);
    // A mark's angle is kept in radians, so that the last bit may differ.
    for field in [
        "tir_um",
        "eccentricity_um",
        "high_spot_deg",
        "roundness_mz_um",
    ] {
        near(&tabled[field], left[field].as_f64().unwrap(), 1e-9);
    }

    room.must(&["session", "close"]);
    for (wanted, count) in [
        (["--part", "SEAT"], 1),
        (["--part", "chuck & co"], 0),
        (["--taper", "seat"], 1),
        (["--since", "2001-01-01"], 1),
        (["--until", "2001-01-01"], 0),
    ] {
        let list = room.json(&[&["session", "list"][..], &wanted].concat());
        assert_eq!(
            list["sessions"].as_array().unwrap().len(),
            count,
            "{wanted:?}"
        );
    }

    let record = room.file("record.json");
    for name in ["record.json", "record.csv", "record.html", "record.pdf"] {
        room.must(&["export", "1", "--to", room.file(name).to_str().unwrap()]);
    }
    let verified = room.run(&["verify", record.to_str().unwrap()]);
    let said = String::from_utf8_lossy(&verified.stderr);
    assert!(verified.status.success(), "{said}");
    let record: Value = serde_json::from_str(&std::fs::read_to_string(record).unwrap()).unwrap();
    let kinds: Vec<&str> = record["steps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| step["kind"].as_str().unwrap())
        .collect();
    assert_eq!(
        kinds,
        [
            "dial", "zero", "sweep", "runout", "runout", "size", "contact"
        ]
    );
    let schema: Value = serde_json::from_str(protocol::record::SCHEMA).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = schema.iter_errors(&record).map(|e| e.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
}

/// A steady feed through the cable: every reading between the two marks counts.
#[test]
fn a_sweep_by_feed_through_a_cable() {
    let room = Toolroom::new(SetUp::default(), 22);
    room.must(&["session", "open", "edge", "--span=80"]);
    room.must(&["step", "sweep", "--positions", "feed"]);
    let begin = room.mark(&[]);
    assert!(
        begin["place"].as_str().unwrap().contains("begin"),
        "{begin}"
    );
    let until = Instant::now() + conewright_tests::toolroom::DEADLINE;
    loop {
        let status = room.json(&["status"]);
        assert_eq!(status["recording"], true);
        if status["so_far"]["points"].as_u64().unwrap_or(0) > 50 {
            break;
        }
        assert!(Instant::now() < until, "{status:#}");
    }
    let _ = room.mark(&[]);
    let outcome = room.json(&["step", "close"])["outcome"].clone();
    assert!(outcome["points"].as_u64().unwrap() > 50, "{outcome:#}");
    // The table of the model stands still, so that the edge reads the same all along: a slope of nothing.
    near(&outcome["slope"], 0.0, 1e-4);
}

/// What a step refuses names the option and says what to write; nothing is opened.
#[test]
fn options_of_a_step_that_cannot_be() {
    let room = Toolroom::new(SetUp::default(), 23);
    room.must(&["session", "open", "edge", "--cable", "typed"]);
    for (arguments, message) in [
        (
            &["runout", "--per-turn", "2"][..],
            "--per-turn: `2` is out of range: a whole number from 3 to 360",
        ),
        (
            &["runout", "--angles", "turns"],
            "--angles: this records every reading of a stretch of time, and the readings are typed",
        ),
        (
            &["sweep", "--positions", "cable"],
            "--positions cable: no cable of the configuration reports the table's position",
        ),
        (
            &["size", "--rollers", "6"],
            "--rollers: this needs the taper's half angle, and no taper is stated",
        ),
        (
            &["contact"],
            "a contact print needs the length of the taper, and none is stated",
        ),
        (
            &["dial", "--nominals", "1,0"],
            "--nominals: 0 mm does not lie above 1 mm",
        ),
        (
            &["zero", "--height", "1"],
            "`--height` applies only to zero steps about level",
        ),
    ] {
        let output = room.run(&[&["step"], arguments].concat());
        let told = String::from_utf8_lossy(&output.stderr);
        assert!(
            told.starts_with(&format!("error: {message}\nhint: ")),
            "{arguments:?}: {told}"
        );
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    }
    assert!(room.json(&["status"])["step"].is_null());
}
