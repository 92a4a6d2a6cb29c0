//! What is plotted of each kind of step, and what a view has learned from events.

use super::*;
use crate::api::{Live, LiveReading};
use crate::evidence::Time;
use crate::style::Style;

#[test]
fn every_kind_has_its_plot_and_a_print_has_none() {
    let form = |name: &str| {
        let status = kind(name);
        plot(&seen(&status, "0.013", 0.1)).map(|plot| serde_json::to_value(plot).unwrap())
    };
    for (name, title) in [
        ("zero", "Residual of each round"),
        ("size", "What is left"),
        ("dial", "Errors of the indicator"),
    ] {
        let drawn = form(name).unwrap_or_else(|| panic!("{name} has a plot"));
        assert_eq!(drawn["form"], "line", "{name}");
        assert_eq!(drawn["title"], title, "{name}");
        let points = drawn["series"][0][1].as_array().unwrap();
        assert!(!points.is_empty(), "{name}");
    }
    assert_eq!(form("contact"), None);
    assert_eq!(plot(&Seen::default()), None);
}

/// The clock and the profile come from the marks, each as it is marked: before there is an outcome.
#[test]
fn a_plot_grows_with_the_marks() {
    let marked = |place: Place, value_mm: f64| MarkLine {
        number: 1,
        station: None,
        place: place.to_string(),
        at: Some(place),
        round: 1,
        value: Some(MarkValue {
            value_mm,
            spread_um: 0.0,
            sd_um: None,
            readings: 1,
            resolution: mm("0.001"),
        }),
    };
    let angle = |deg| Place::Angle {
        angle: metrology::Angle::from_deg(deg),
        plane: None,
    };
    let mut status = Opened::of(RunoutPlan::default()).status;
    assert_eq!(plot(&seen(&status, "0.013", 0.1)), None);
    status.marks = vec![marked(angle(0.0), 0.010), marked(angle(90.0), 0.012)];
    let drawn = serde_json::to_value(plot(&seen(&status, "0.013", 0.1))).unwrap();
    assert_eq!(drawn["form"], "round");
    assert_eq!(drawn["points"][0][1], 0.0);
    assert!((drawn["points"][1][0].as_f64().unwrap() - 90.0).abs() < 1e-9);
    assert!(
        (drawn["points"][1][1].as_f64().unwrap() - 2.0).abs() < 1e-9,
        "µm from the first"
    );
    assert_eq!(drawn.get("high_deg"), None, "not known yet");

    let station = |name: &str, at| {
        Place::Station(Station {
            name: name.to_owned(),
            position: mm(at),
        })
    };
    let mut status = Opened::of(SweepPlan::default()).status;
    status.marks = vec![
        marked(station("A", "0"), 0.010),
        marked(station("B", "80"), 0.008),
    ];
    let mut view = seen(&status, "0.013", 0.1);
    view.units = Style::of(Unit::In);
    let drawn = serde_json::to_value(plot(&view)).unwrap();
    // 80 mm are 3.1496 in, and −2 µm are −0.7874 tenths.
    let [x, y] = [0, 1].map(|i| drawn["series"][0][1][1][i].as_f64().unwrap());
    assert!((x - 3.149_6).abs() < 1e-4, "{drawn}");
    assert!((y + 0.787_4).abs() < 1e-4, "{drawn}");
    assert_eq!(drawn["x_label"], "from A, in");
    assert_eq!(drawn["y_label"], "reading from the first, tenths");
}

#[test]
fn what_is_known_ages_and_takes_the_newer_of_reading_and_snapshot() {
    let reading = |value: &str, settled| {
        Live::Reading(LiveReading {
            cable: "bench".to_owned(),
            seq: 1,
            t: Time(0),
            value: mm(value),
            resolution: mm("0.001"),
            settled,
            so_far: None,
        })
    };
    let shown = |known: &Known, now_s| {
        let view = known.seen(now_s, User::default(), Style::default());
        let last = view.indicator().unwrap().last.unwrap();
        (last.value.to_string(), last.settled, last.age_s, view.skips)
    };
    let mut known = Known::default();
    assert_eq!(
        known.seen(1.0, User::default(), Style::default()).status,
        None
    );
    // The snapshot has a reading of 0.1 s ago.
    let status = zeroed(4e-3);
    let snapshot = |status: &Status| Live::Snapshot(Box::new(status.clone()));
    known.on_live(snapshot(&status), 10.0);
    let (value, settled, age_s, skips) = shown(&known, 10.5);
    assert_eq!((value.as_str(), settled, skips), ("0.013 mm", false, false));
    assert!((age_s - 0.6).abs() < 1e-9, "{age_s}");
    known.on_live(reading("0.020", true), 11.0);
    // A snapshot of the same reading says nothing of its rest, and takes nothing away.
    let mut later = status.clone();
    later.cables[0].reading = Some(mm("0.020"));
    later.cables[0].skipped_bytes = 7;
    known.on_live(snapshot(&later), 11.2);
    assert!(shown(&known, 11.2).1);
    assert!(shown(&known, 11.2).3, "bytes were skipped lately");
    assert!(!shown(&known, 11.2 + 30.0).3, "and are no news for ever");
    // One that is newer by far replaces it.
    later.cables[0].reading = Some(mm("0.031"));
    known.on_live(snapshot(&later), 20.0);
    assert_eq!(shown(&known, 20.0).0, "0.031 mm");
    // What was recorded is of the step in which it was.
    later.recording = true;
    later.so_far = Some(SoFar::Runout {
        points: 9,
        tir_um: 1.0,
        turns: 1,
    });
    known.on_live(snapshot(&later), 21.0);
    assert!(
        known
            .seen(21.0, User::default(), Style::default())
            .so_far
            .is_some()
    );
    known.on_live(snapshot(&status), 22.0);
    assert_eq!(
        known.seen(22.0, User::default(), Style::default()).so_far,
        None
    );
}
