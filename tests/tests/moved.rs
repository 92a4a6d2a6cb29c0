//! A set-up that was moved between two marks of one round, by real processes: a tap before the round is closed is noticed when the
//! next mark is made, and a drift is none.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::toolroom::Toolroom;
use daemon::bench::SetUp;
use serde_json::Value;

const OPEN: [&str; 9] = [
    "session",
    "open",
    "spindle seat",
    "--taper",
    "1:12",
    "--length=30",
    "--tolerance=5arcsec",
    "--cable=bench",
    "--span=80",
];

fn opened(set_up: SetUp, seed: u64) -> Toolroom {
    let room = Toolroom::new(set_up, seed);
    room.must(&OPEN);
    room.must(&["step", "zero"]);
    room
}

fn outcome(room: &Toolroom) -> Value {
    room.json(&["status"])["outcome"].clone()
}

fn true_arcsec(room: &Toolroom) -> f64 {
    room.cable
        .bench(|bench| bench.reading_at(80.0) - bench.reading_at(0.0))
        .map(|rise| (rise / 80.0).atan().to_degrees() * 3600.0)
        .unwrap()
}

/// Tapped before the close of its round, at B and before B, far off and near: the A that was once the close opens the next
/// round, and the B after it tells the truth.
#[test]
fn a_tap_before_the_close_opens_the_next_round() {
    for (slope_um, by_um, before_b) in
        [(300.0, 80.0, false), (2.0, 12.0, false), (2.0, -30.0, true)]
    {
        let room = opened(
            SetUp {
                slope: slope_um * 1e-3 / 80.0,
                pivot_mm: 35.0,
                ..SetUp::default()
            },
            7,
        );
        let tap = || {
            room.at_bench(move |bench| {
                bench.move_to(80.0);
                let _ = bench.tap(80.0, by_um * 1e-3);
            });
        };
        let first = room.mark_at(0.0);
        if before_b {
            tap();
        }
        let _ = room.mark_at(80.0);
        if !before_b {
            // There is advice from the moment on that a slope is known.
            assert!(outcome(&room)["tap"].is_object());
            tap();
        }
        let back = room.mark_at(0.0);
        assert_eq!(
            (&first["round"], &back["round"]),
            (&1.into(), &2.into()),
            "{back}"
        );
        assert!(
            back["note"].as_str().unwrap().contains("opens round 2"),
            "{back}"
        );
        let status = room.json(&["status"]);
        assert_eq!(status["next_station"], "B");
        let moved = &status["outcome"];
        assert_eq!(moved["undecided_because"], "moved", "{moved}");
        assert!(
            moved["residual_arcsec"].is_null() && moved["tap"].is_null(),
            "{moved}"
        );
        let _ = room.mark_at(80.0);
        let now = outcome(&room);
        let residual = now["residual_arcsec"].as_f64().unwrap();
        let expanded = now["residual_expanded_arcsec"].as_f64().unwrap();
        let truth = true_arcsec(&room);
        // Twice the interval, so that the test does not fail once in twenty runs.
        assert!(
            (residual - truth).abs() < 2.0 * expanded,
            "{residual}, true {truth}: {now}"
        );
    }
}

/// A machine that warms up drifts from mark to mark, and nothing was moved.
#[test]
fn a_drift_closes_its_round() {
    let room = opened(
        SetUp {
            drift_um_per_min: 30.0,
            slope: 1e-5,
            ..SetUp::default()
        },
        7,
    );
    for _ in 0..2 {
        let closed = room.round();
        assert!(closed["moved"].is_null(), "{closed}");
    }
    let rounds = outcome(&room)["rounds"].as_array().unwrap().len();
    assert_eq!(rounds, 2);
}

/// Typed readings that nobody repeats prove nothing, and the answer says what to do; a statement makes them count.
#[test]
fn typed_readings_decide_nothing_until_something_tells_their_repeatability() {
    let verdict = |more: &[&str]| {
        let room = Toolroom::new(SetUp::default(), 1);
        let mut open = OPEN.to_vec();
        open[7] = "--cable=typed";
        open.extend(["--resolution=0.1um", "--pass=A B"]);
        open.extend(more);
        room.must(&open);
        room.must(&["step", "zero"]);
        for (station, value) in [("A", "0.0100"), ("B", "0.0101")] {
            room.must(&["mark", station, "--value", value]);
        }
        outcome(&room)
    };
    let unknown = verdict(&[]);
    assert_eq!(unknown["verdict"], "undecided");
    assert_eq!(unknown["undecided_because"], "repeatability_unknown");
    assert!(unknown["residual_expanded_arcsec"].is_null(), "{unknown}");
    assert!(
        unknown["remarks"].to_string().contains("--repeatability"),
        "{unknown}"
    );
    assert_eq!(verdict(&["--repeatability=0.1um"])["verdict"], "in");
}

/// A set-up that cannot prove its tolerance says so when the session is opened, and what would do.
#[test]
fn a_session_says_at_opening_whether_it_can_prove_its_tolerance() {
    let room = Toolroom::new(SetUp::default(), 1);
    let open = [
        "session",
        "open",
        "seat",
        "--taper=1:12",
        "--length=100",
        "--tolerance=2.06arcsec",
        "--cable=typed",
        "--resolution=0.0001in",
        "--span=4in",
    ];
    let text = String::from_utf8(room.run(&open).stdout).unwrap();
    assert!(text.contains("cannot prove its tolerance"), "{text}");
    assert!(text.contains("--span 200"), "{text}");
    room.must(&["session", "close"]);
    let opened = room.json(&open);
    assert_eq!(opened["capability"]["provable"], false, "{opened}");
}
