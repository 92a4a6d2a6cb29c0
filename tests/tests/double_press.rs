//! A double press of an instrument's key, as a user at the command line meets it: asked about, taken or left, taken back.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::process::Place;
use daemon::bench::{Bench, Manner, SetUp, Speech, VirtualCable};
use protocol::frame::Frame;
use serde_json::Value;
use std::time::{Duration, Instant};

const DEADLINE: Duration = Duration::from_secs(30);
/// Presses further apart than this are two.
const APART: Duration = Duration::from_millis(350);

/// An instrument with a key, a daemon that hears it, and a zero step.
struct Shop {
    place: Place,
    instrument: VirtualCable,
    _directory: tempfile::TempDir,
}

impl Drop for Shop {
    fn drop(&mut self) {
        let _ = self.place.run(&["daemon", "stop"]);
    }
}

impl Shop {
    fn open() -> Self {
        let directory = tempfile::tempdir().unwrap();
        let speech = Speech {
            manner: Manner::Press,
            ..Speech::streams(Frame::shipped("text").unwrap(), 1.0)
        };
        let instrument = VirtualCable::speaking(Bench::new(1, SetUp::default()), speech).unwrap();
        let config = format!(
            "[cable.dial]\nport = \"{}\"\nsettings = \"9600 8N1\"\ncadence = \"press\"\nframe = \"text\"\nunit = \"mm\"\n",
            instrument.path().unwrap().display()
        );
        let place = Place::new(directory.path(), &config);
        let shop = Self {
            place,
            instrument,
            _directory: directory,
        };
        shop.json(&[
            "session", "open", "spindle", "--taper", "1:12", "--span", "80",
        ]);
        shop.json(&["step", "zero"]);
        // Announced, the cable's line was idle: the first press is whole.
        shop.until("the cable is quiet", |status| {
            status["cables"][0]["state"] == "quiet"
        });
        shop
    }

    fn json(&self, args: &[&str]) -> Value {
        self.place.json(args)
    }

    fn until(&self, what: &str, holds: impl Fn(&Value) -> bool) -> Value {
        let begun = Instant::now();
        loop {
            let status = self.json(&["status"]);
            if holds(&status) {
                return status;
            }
            assert!(begun.elapsed() < DEADLINE, "not so: {what}: {status}");
        }
    }

    /// The key, pressed so often that the instrument sends these lines in one go; returns when they were counted and
    /// the next press is another one.
    fn press(&self, lines: &[&str]) -> Value {
        let readings = |status: &Value| status["cables"][0]["readings"].as_u64().unwrap();
        let before = readings(&self.json(&["status"]));
        let all: String = lines.iter().map(|line| format!("{line} mm\r\n")).collect();
        assert!(self.instrument.send(all.as_bytes()).unwrap());
        let begun = Instant::now();
        self.until("the presses were counted", |status| {
            begun.elapsed() > APART && readings(status) == before + lines.len() as u64
        })
    }
}

/// The marks that count, µm.
fn marks(status: &Value) -> Vec<i64> {
    let um = |line: &Value| (line["value_mm"].as_f64().unwrap() * 1e3).round() as i64;
    let lines = status["marks"].as_array();
    lines.into_iter().flatten().map(um).collect()
}

#[test]
fn a_double_press_is_asked_about_and_answered_by_mark_or_undo() {
    let shop = Shop::open();
    let status = shop.press(&["+0.001"]);
    assert_eq!(
        (marks(&status), &status["double_press"]),
        (vec![1], &Value::Null)
    );

    // Asked, in words that say how it is answered.
    let status = shop.press(&["+0.002", "+0.003"]);
    assert_eq!(
        marks(&status),
        [1, 2],
        "one is a mark, and the other is not yet"
    );
    assert_eq!(status["double_press"]["presses"], 2, "{status}");
    let said = String::from_utf8(shop.place.run(&["status"]).stdout).unwrap();
    for wanted in [
        "dial was pressed twice within 0.3 s",
        "`conewright mark`",
        "`conewright undo`",
    ] {
        assert!(said.contains(wanted), "{said}");
    }

    // Keep one: the question is gone, the first one stays.
    shop.json(&["undo"]);
    let status = shop.json(&["status"]);
    assert_eq!(
        (marks(&status), &status["double_press"]),
        (vec![1, 2], &Value::Null)
    );

    // Both: the second one is marked, with its own reading.
    let status = shop.press(&["+0.004", "+0.005"]);
    assert_eq!(marks(&status), [1, 2, 4]);
    shop.json(&["mark"]);
    let status = shop.json(&["status"]);
    assert_eq!(
        (marks(&status), &status["double_press"]),
        (vec![1, 2, 4, 5], &Value::Null)
    );

    // Then undo is what it always is.
    shop.json(&["undo"]);
    assert_eq!(marks(&shop.json(&["status"])), [1, 2, 4]);

    // A press that follows answers the question itself: the one before was none.
    let status = shop.press(&["+0.006", "+0.007"]);
    assert_eq!(status["double_press"]["presses"], 2);
    let status = shop.press(&["+0.008"]);
    assert_eq!(
        (marks(&status), &status["double_press"]),
        (vec![1, 2, 4, 6, 8], &Value::Null)
    );
}
