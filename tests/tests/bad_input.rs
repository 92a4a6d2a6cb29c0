//! Bad input, as users type it: each has a clear message with what to do, exit 1 or 2, and nothing is stored.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::toolroom::Toolroom;
use daemon::bench::SetUp;
use serde_json::Value;

/// A command line, and what its message must hold, parted by `; `.
type Case = (String, &'static str);

/// Runs the cases as a person would, and again for a program.
fn check(room: &Toolroom, cases: &[Case]) {
    for (line, words) in cases {
        let args: Vec<&str> = line.split(' ').collect();
        let output = room.run(&args);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(
            matches!(output.status.code(), Some(1 | 2)),
            "{args:?}: {said}"
        );
        assert!(
            output.stdout.is_empty(),
            "{args:?}: data where there is none"
        );
        assert!(said.starts_with("error: "), "{args:?}: {said}");
        let lower = said.to_lowercase();
        for word in words.split("; ") {
            assert!(
                lower.contains(&word.to_lowercase()),
                "{args:?} lacks `{word}`: {said}"
            );
        }
        let json = room.command(&args).arg("--json").output().unwrap();
        let document: Value = serde_json::from_slice(&json.stdout)
            .unwrap_or_else(|e| panic!("{args:?}: {e}: {}", String::from_utf8_lossy(&json.stdout)));
        assert!(
            document["error"]["message"].is_string(),
            "{args:?}: {document}"
        );
    }
}

#[test]
fn what_needs_no_daemon() {
    let room = Toolroom::new(SetUp::default(), 1);
    let table = |name: &str, text: &str| {
        std::fs::write(room.file(name), text).unwrap();
        room.file(name).to_str().unwrap().to_owned()
    };
    let column = table("column.csv", "round,station_mm,raeding_mm\n1,0,0\n");
    let cell = table(
        "cell.csv",
        "round,station_mm,reading_mm\n1,0,0\n1,80,zero\n",
    );
    let nan = table("nan.csv", "round,station_mm,reading_mm\n1,0,0\n1,80,NaN\n");
    let one = table("one.csv", "round,station_mm,reading_mm\n1,0,0\n1,0,0.001\n");
    let empty = table("empty.csv", "");
    let newer = table(
        "newer.json",
        "{\"format\": \"conewright-record\", \"version\": 99}",
    );
    let other = table("other.json", "{\"format\": \"something\"}");
    check(
        &room,
        &[
            ("messure".into(), "messure"),
            ("taper morse-9".into(), "morse-9; morse-"),
            ("taper 0deg".into(), "90"),
            ("taper 90deg".into(), "90"),
            ("taper 1:0".into(), "1:0"),
            ("taper 3furlongs".into(), "furlongs"),
            ("stack -4".into(), "-4"),
            ("stack 0".into(), "0"),
            ("stack 12.5furlong".into(), "furlong"),
            ("stack 4.163 --kit metric-99".into(), "metric-99; metric-"),
            ("stack 5000".into(), "5000"),
            ("stack --angle 95deg --bar 100".into(), "90"),
            ("stack --angle 1:12 --bar 0".into(), "0"),
            (format!("analyse zero {column}"), "raeding_mm; reading_mm"),
            (format!("analyse zero {cell}"), "zero; line 3; reading_mm"),
            (format!("analyse zero {nan}"), "NaN; reading_mm"),
            (format!("analyse zero {one}"), "station"),
            (format!("analyse zero {empty}"), "column"),
            ("analyse zero no-such.csv".into(), "no-such.csv"),
            (format!("verify {newer}"), "99; 1"),
            (format!("verify {other}"), "something"),
            ("verify no-such.json".into(), "no-such.json"),
        ],
    );
    assert!(
        !room.data().exists(),
        "none of these needs the data directory"
    );
}

#[test]
fn what_the_daemon_refuses() {
    let room = Toolroom::new(SetUp::default(), 2);
    check(
        &room,
        &[
            ("mark".into(), "session"),
            ("mark --value 0.012".into(), "session"),
            ("undo".into(), "session"),
            ("note x".into(), "session"),
            ("step zero".into(), "session"),
            ("step close".into(), "session"),
            ("session close".into(), "session"),
            ("session show 7".into(), "7"),
            ("export --to x.json".into(), "session"),
            ("session open x --taper morse-9".into(), "morse-9; morse-"),
            ("session open x --taper 0deg".into(), "90"),
            ("session open x --taper 1:12 --length=-3".into(), "-3"),
            ("session open x --span 0".into(), "span"),
            ("session open x --span eighty".into(), "eighty"),
            ("session open x --kit metric-99".into(), "metric-99"),
            ("session open x --tolerance AT13".into(), "AT1"),
            ("session open x --cable bunch".into(), "bunch; bench"),
            ("session open x --span 80 --pass AXA".into(), "X"),
            ("session open x --span 80 --station A=10".into(), "A"),
        ],
    );
    assert_eq!(
        room.json(&["session", "list"])["sessions"]
            .as_array()
            .unwrap()
            .len(),
        0
    );

    room.must(&["session", "open", "seat", "--span", "80", "--taper", "1:12"]);
    check(
        &room,
        &[
            ("session open second".into(), "open; close"),
            ("mark".into(), "step"),
            ("undo".into(), "step"),
            ("step zeor".into(), "zeor"),
        ],
    );
    room.must(&["step", "zero"]);
    check(
        &room,
        &[
            ("step zero".into(), "open"),
            ("mark Q".into(), "Q"),
            ("mark A --value twelve".into(), "twelve"),
            ("mark A --value 3.5div".into(), "division"),
            ("undo".into(), "mark"),
        ],
    );
    assert!(
        room.json(&["status"]).get("marks").is_none(),
        "nothing was stored"
    );
}

/// A mark while the set-up moves says what moved; while the cable is silent it says so. Neither is stored.
#[test]
fn a_mark_that_cannot_be_believed() {
    let more = "[settle]\nhold = \"2s\"\nlongest = \"3s\"\nleast_readings = 5\n";
    let room = Toolroom::with(SetUp::default(), 3, more);
    room.must(&["session", "open", "seat", "--span", "80"]);
    room.must(&["step", "zero"]);
    let _ = room.mark(&["A"]);
    room.cable.bench(|bench| bench.move_to(80.0)).unwrap();
    room.until("the reading moved", || {
        room.json(&["status"])["cables"][0]["reading_mm"]
            .as_f64()
            .unwrap()
            > 0.2
    });
    let moved = room.run(&["mark", "B"]);
    let said = String::from_utf8_lossy(&moved.stderr);
    assert_eq!(moved.status.code(), Some(1), "{said}");
    assert!(
        said.contains("have not settled") && said.contains("µm"),
        "{said}"
    );
    room.cable.silence(true).unwrap();
    room.until("stale", || {
        room.json(&["status"])["cables"][0]["state"] == "stale"
    });
    let stale = room.run(&["mark", "B"]);
    let said = String::from_utf8_lossy(&stale.stderr);
    assert_eq!(stale.status.code(), Some(1), "{said}");
    assert!(said.contains("stale") || said.contains("stopped"), "{said}");
    let status = room.json(&["status"]);
    assert_eq!(status["marks"].as_array().unwrap().len(), 1, "{status}");
    assert!(status["cables"][0]["age_s"].as_f64().unwrap() > 0.0);
}

#[test]
fn places_that_cannot_be_used() {
    let room = Toolroom::new(SetUp::default(), 4);
    std::fs::write(room.file("a-file"), "").unwrap();
    let below_a_file = room.file("a-file").join("data");
    let output = room
        .command(&["status"])
        .env("CONEWRIGHT_DATA", &below_a_file)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("a-file"), "{said}");

    std::fs::write(
        room.file("broken.toml"),
        "[cable.bench]\nport = \"/dev/x\"\ncadense = \"streams\"\n",
    )
    .unwrap();
    let broken = room.file("broken.toml");
    let output = room.run(&["--config", broken.to_str().unwrap(), "taper", "1:12"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    for word in ["broken.toml:3", "cadense", "cadence"] {
        assert!(said.contains(word), "{word}: {said}");
    }
}

#[test]
fn two_daemons_on_one_data_directory() {
    let mut room = Toolroom::new(SetUp::default(), 5);
    room.start_daemon();
    let second = room
        .command(&["daemon", "run"])
        .env("CONEWRIGHT_SOCKET", room.file("other"))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&second.stderr);
    assert_eq!(second.status.code(), Some(1), "{said}");
    assert!(
        said.contains("process"),
        "it says which process holds it: {said}"
    );
    assert!(room.run(&["status"]).status.success(), "the first goes on");
}
