//! Bad input, as users type it: each has a clear message with what to do, exit 1 or 2, and nothing is stored.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]
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
    let back = table(
        "back.csv",
        "round,station_mm,reading_mm,time_s\n1,0,0.001,10\n1,80,0.002,20\n1,0,0.001,15\n",
    );
    let digits = table(
        "digits.csv",
        "round,station_mm,reading_mm\n1,0,0.0105\n1,80,0.01\n1,0,0\n",
    );
    let far = table(
        "far.csv",
        "round,station_mm,reading_mm\n1,0,0.001\n1,99999,0.002\n",
    );
    let absurd = table(
        "absurd.csv",
        "round,station_mm,reading_mm\n1,0,0.001\n1,80,1e5\n",
    );
    let infinite = table(
        "infinite.csv",
        "position_mm,reading_mm\n0,0.001\n10,inf\n20,0.001\n",
    );
    let sweep_digits = table(
        "sweep_digits.csv",
        "position_mm,reading_mm\n0,0.0105\n10,0.01\n20,0.0102\n",
    );
    let size_digits = table(
        "size_digits.csv",
        "plane_mm,diameter_mm\n0,40.0105\n24,38.01\n",
    );
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
            (
                format!("analyse zero {one}"),
                "round 1; line 2; one station; hint: ",
            ),
            (
                format!("analyse zero {back}"),
                "line 4; time_s; 15 s; 20 s; hint: ",
            ),
            (
                format!("analyse zero {digits}"),
                "line 3; `0.01`; hint: ; 0.0100; --resolution",
            ),
            (
                format!("analyse sweep {sweep_digits}"),
                "line 3; `0.01`; hint: ; 0.0100; --resolution",
            ),
            (
                format!("analyse size {size_digits}"),
                "line 3; `38.01`; hint: ; 38.0100; --resolution",
            ),
            (
                format!("analyse zero {far} --span 100"),
                "line 3; station_mm; 99999 mm; 200 mm; hint: ; --span",
            ),
            (
                format!("analyse zero {far}"),
                "line 3; 99999 mm; 20000 mm; hint: ",
            ),
            (
                format!("analyse zero {absurd}"),
                "line 3; reading_mm; 100000 mm; 1000 mm; hint: ",
            ),
            (format!("analyse sweep {infinite}"), "line 3; `inf`"),
            (
                format!("analyse zero {one} --taper 89deg --bar 100"),
                "--taper 89deg; --bar; 60°; hint: ; complement",
            ),
            (
                "stack --angle 89deg --bar 100".into(),
                "--angle; 89.0; 60°; hint: ; complement",
            ),
            ("stack --angle infdeg --bar 100".into(), "infdeg; hint: "),
            (
                "stack --angle 1e308deg --bar 100".into(),
                "1e308deg; hint: ",
            ),
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
            (
                "session open x --taper 89deg --bar 100".into(),
                "--taper 89deg; --bar; 60°; hint: ; complement",
            ),
            (
                "session open x --span 99999".into(),
                "--span; 99999 mm; 20000 mm; hint: ",
            ),
            ("session open x --span inf".into(), "span; `inf`; hint: "),
            ("session open x --span 1e308".into(), "span; 1e308; hint: "),
            (
                "session open x --length nan".into(),
                "length; `nan`; hint: ",
            ),
            (
                "session open x --length 99999".into(),
                "--length; 99999 mm; hint: ",
            ),
            (
                "session open x --resolution 99".into(),
                "--resolution; 99 mm; 10 mm; hint: ",
            ),
            (
                "session open x --repeatability 1000000".into(),
                "--repeatability; hint: ",
            ),
            ("session open x --taper 1e308deg".into(), "1e308deg; hint: "),
            ("session open x --taper 1:inf".into(), "1:inf; hint: "),
            (
                "session open x --taper 1:12 --tolerance infarcsec".into(),
                "infarcsec; hint: ",
            ),
            ("clamp".into(), "session"),
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
            (
                "clamp".into(),
                "clamp; no step; hint: ; conewright step zero",
            ),
            (
                "clamp --loosen".into(),
                "clamp; no step; hint: ; conewright step zero",
            ),
        ],
    );
    assert!(
        room.json(&["status"])
            .get("clamped")
            .is_none_or(|tight| tight == false),
        "the clamp was not noted"
    );
    room.must(&["step", "zero"]);
    check(
        &room,
        &[
            ("step zero".into(), "open"),
            ("mark Q".into(), "Q"),
            ("mark A --value twelve".into(), "twelve"),
            ("mark A --value 3.5div".into(), "division"),
            ("mark A --value inf".into(), "`inf`; hint: "),
            ("mark A --value NaN".into(), "`NaN`; hint: "),
            ("mark A --value 1e308".into(), "1e308; hint: "),
            (
                "mark A --value 5000".into(),
                "5000 mm; 1000 mm; hint: ; unit",
            ),
            (
                "mark 99999 --value 0".into(),
                "99999 mm; 80 mm; 160 mm; hint: ; --span",
            ),
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
    let moved = room.run(&["mark", "B", "--wait", "0"]);
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

/// A typed reading has all the digits of the one before it, unless the display's step is stated. A bare zero is short for any.
#[test]
fn a_typed_reading_has_all_its_digits() {
    let room = Toolroom::new(SetUp::default(), 6);
    let open = [
        "session", "open", "seat", "--span", "80", "--cable", "typed",
    ];
    room.must(&open);
    room.must(&["step", "zero"]);
    room.must(&["mark", "A", "--value", "0"]);
    room.must(&["mark", "B", "--value", "0.0105"]);
    check(
        &room,
        &[(
            "mark A --value 0.01".into(),
            "`0.01`; hint: ; 0.0100; --resolution 0.0001mm",
        )],
    );
    let marks = |room: &Toolroom| room.json(&["status"])["marks"].as_array().unwrap().len();
    assert_eq!(marks(&room), 2, "nothing was stored");
    room.must(&["mark", "A", "--value", "0.0100"]);
    room.must(&["mark", "B", "--value", "0"]);
    room.must(&["session", "close"]);

    room.must(&[&open[..], &["--resolution", "0.1um"]].concat());
    room.must(&["step", "zero"]);
    room.must(&["mark", "A", "--value", "0.0105"]);
    room.must(&["mark", "B", "--value", "0.01"]);
    assert_eq!(marks(&room), 2);
}
