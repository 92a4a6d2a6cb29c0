//! A cable whose readings come by a key of the instrument: a press is a mark, and a double press is asked about.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, MS, Place, cable};
use conewright_daemon::clock::Clock;
use config::{Cadence, Config};
use protocol::api::{DoublePress, Status};
use serde_json::{Value, json};

/// A daemon with the cable `dial` and a zero step, and the time that its presses count from.
async fn pressed() -> (Bench, i64) {
    let config = Config {
        cables: vec![cable("dial", Cadence::Press)],
        ..Default::default()
    };
    let bench = Place::new(config).start();
    let now = bench.place.clock.steady_ns();
    bench.reading("dial", 1, now).await;
    bench.until(|s| s.cables[0].readings == 1).await;
    bench.open(json!({ "span": "80" })).await;
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    assert_eq!(bench.status().await.marks, [], "the press before is none");
    (bench, now)
}

/// Presses at these times, ms; returns when all of them were taken and `what` holds.
async fn press(
    bench: &Bench,
    now: i64,
    presses: &[(i64, i64)],
    what: impl Fn(&Status) -> bool,
) -> Status {
    let before = bench.status().await.cables[0].readings;
    for &(um, at_ms) in presses {
        bench.reading("dial", um, now + at_ms * MS).await;
    }
    let all = before + presses.len() as u64;
    bench
        .until(|s| s.cables[0].readings >= all && what(s))
        .await
}

/// Station and value of each mark that counts, µm.
fn marks(status: &Status) -> Vec<(&str, f64)> {
    let line = |m: &protocol::api::MarkLine| {
        let station = m.station.as_deref().unwrap().to_owned();
        (station, (m.value.unwrap().value_mm * 1e3).round())
    };
    let lines: Vec<_> = status.marks.iter().map(line).collect();
    let station = |name: String| if name == "A" { "A" } else { "B" };
    lines
        .into_iter()
        .map(|(name, um)| (station(name), um))
        .collect()
}

/// What the session says of its cable.
async fn notes(bench: &Bench) -> Vec<String> {
    let record = bench.record().await;
    let events = record["events"].as_array().unwrap().clone();
    let of_cable = events.iter().filter(|event| event["what"] == "cable");
    of_cable
        .map(|event| event["text"].as_str().unwrap().to_owned())
        .collect()
}

/// The values that the open step has stored of the cable, µm.
async fn stored(bench: &Bench) -> Vec<f64> {
    let record = bench.record().await;
    let readings = record["steps"][0]["readings"]["dial"]
        .as_array()
        .unwrap()
        .clone();
    let um = |reading: &Value| (reading[2].as_f64().unwrap() * 1e3).round();
    readings.iter().map(um).collect()
}

#[tokio::test]
async fn each_press_is_a_mark() {
    let (bench, now) = pressed().await;
    // 0.3 s is the limit: the second press lies just behind it.
    let two = [(10, 1_000), (20, 1_300)];
    let status = press(&bench, now, &two, |s| s.marks.len() == 2).await;
    assert_eq!(marks(&status), [("A", 10.0), ("B", 20.0)]);
    assert_eq!(status.double_press, None);
    let message = bench
        .refused("/v1/marks", json!({}), "cable_not_live")
        .await;
    assert!(
        message.contains("only when the instrument's key is pressed"),
        "{message}"
    );
    bench
        .refused("/v1/presses/leave", json!({}), "no_press")
        .await;
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_double_press_is_asked_about_and_marked_by_a_mark() {
    let (bench, now) = pressed().await;
    let two = [(10, 1_000), (11, 1_299)];
    let asked = |s: &Status| s.marks.len() == 1 && s.double_press.is_some();
    let status = press(&bench, now, &two, asked).await;
    let double = DoublePress {
        cable: "dial".to_owned(),
        presses: 2,
        reading: metrology::Length::from_um(11),
        resolution: metrology::Length::from_um(1),
    };
    assert_eq!(status.double_press, Some(double));
    assert_eq!(marks(&status), [("A", 10.0)], "nothing was marked twice");
    assert_eq!(status.next_station.as_deref(), Some("B"));
    // Undo could mean either of the two.
    bench
        .refused("/v1/marks/undo", json!({}), "press_asked")
        .await;
    let marked = bench.mark(json!({})).await;
    assert_eq!(
        (&marked["station"], &marked["value_mm"]),
        (&json!("B"), &json!(0.011))
    );
    let status = bench.status().await;
    assert_eq!((marks(&status).len(), status.double_press), (2, None));
    let undone = bench.done("/v1/marks/undo", json!({})).await;
    assert_eq!(undone["number"], 2);
    let told = notes(&bench).await;
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("0.011"), "{told:?}");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_double_press_that_is_left_is_no_mark_and_its_reading_stays() {
    let (bench, now) = pressed().await;
    let two = [(10, 1_000), (11, 1_100)];
    press(&bench, now, &two, |s| s.double_press.is_some()).await;
    bench.done("/v1/presses/leave", json!({})).await;
    let status = bench.until(|s| s.marks.len() == 1).await;
    assert_eq!(status.double_press, None);
    bench.done("/v1/marks/undo", json!({})).await;
    assert_eq!(bench.status().await.marks, []);
    assert_eq!(stored(&bench).await, [10.0, 11.0]);
    let told = notes(&bench).await;
    assert!(
        told[1].contains("0.011") && told[1].contains("the user said so"),
        "{told:?}"
    );
    bench.stop().await.1.unwrap();
}

/// A third press belongs to the same question, which is then about the last one; a chain of presses never ends in a
/// mark by itself, as when a streaming instrument is declared as one that is pressed.
#[tokio::test]
async fn a_chain_of_presses_is_one_question() {
    let (bench, now) = pressed().await;
    let chain: Vec<_> = (0..100).map(|i| (10 + i, 1_000 + 20 * i)).collect();
    // The first press is marked when it is on the disk, which may come after the last of the others.
    let hundred = |s: &Status| {
        s.marks.len() == 1 && s.double_press.as_ref().is_some_and(|d| d.presses == 100)
    };
    let status = press(&bench, now, &chain, hundred).await;
    assert_eq!(marks(&status), [("A", 10.0)]);
    let double = status.double_press.unwrap();
    assert_eq!(double.reading, metrology::Length::from_um(109));
    assert_eq!(notes(&bench).await.len(), 1, "one note for all of them");
    let marked = bench.mark(json!({ "station": "A" })).await;
    assert_eq!(
        (&marked["station"], &marked["value_mm"]),
        (&json!("A"), &json!(0.109))
    );
    assert_eq!(stored(&bench).await.len(), 100);
    bench.stop().await.1.unwrap();
}

/// Nothing waits for an answer: what the user does next is one, and never a mark that was not meant.
#[tokio::test]
async fn a_question_that_is_not_answered_ends_with_what_is_done_next() {
    let (bench, now) = pressed().await;
    let mut at_ms = 1_000;
    let mut left = 0;
    for (what, path, body) in [
        ("another press", "", json!({})),
        ("another mark", "/v1/marks", json!({ "value": "0.050" })),
        ("the clamp", "/v1/clamp", json!({ "tight": true })),
        ("the step", "/v1/steps/current/close", json!({})),
    ] {
        let before = bench.status().await.marks.len();
        let two = [(10, at_ms), (11, at_ms + 50)];
        let asked = |s: &Status| s.double_press.is_some() && s.marks.len() == before + 1;
        press(&bench, now, &two, asked).await;
        // What changes nothing about the step leaves the question open.
        bench.done("/v1/notes", json!({ "text": "dressed" })).await;
        assert!(bench.status().await.double_press.is_some());
        match path {
            "" => {
                let next = [(12, at_ms + 1_000)];
                press(&bench, now, &next, |s| s.marks.len() == before + 2).await;
            }
            path => drop(bench.done(path, body).await),
        }
        let status = bench.status().await;
        assert_eq!(status.double_press, None, "{what}");
        assert!(marks(&status).iter().all(|m| m.1 != 11.0), "{what}");
        left += 1;
        let told = notes(&bench).await;
        let of = |word: &str| told.iter().filter(|text| text.contains(word)).count();
        assert_eq!(
            (of("was asked"), of("was not marked")),
            (left, left),
            "{what}: {told:?}"
        );
        at_ms += 10_000;
    }
    // With no step there are no marks, and nothing to ask.
    let two = [(10, at_ms), (11, at_ms + 50)];
    let status = press(&bench, now, &two, |_| true).await;
    assert_eq!(status.double_press, None);
    bench.stop().await.1.unwrap();
}

/// A refused typed value is no mark, so it answers nothing.
#[tokio::test]
async fn a_refusal_leaves_the_question_open() {
    let (bench, now) = pressed().await;
    let two = [(10, 1_000), (11, 1_100)];
    press(&bench, now, &two, |s| s.double_press.is_some()).await;
    bench
        .refused("/v1/marks", json!({ "value": "twelve" }), "bad_value")
        .await;
    bench
        .refused("/v1/marks", json!({ "station": "Q" }), "unknown_name")
        .await;
    assert!(bench.status().await.double_press.is_some());
    let (_, ended) = bench.stop().await;
    ended.unwrap();
}

/// The unit that a frame states may change in mid-session: values stay right, and it is said once.
#[tokio::test]
async fn a_change_of_unit_is_said() {
    use metrology::{Length, Unit};
    let config = Config {
        cables: vec![cable("dial", Cadence::Streams { stale_after_s: 2.0 })],
        ..Default::default()
    };
    let bench = Place::new(config).start();
    bench.open(json!({ "span": "80" })).await;
    let now = bench.place.clock.steady_ns();
    let mm = Length::from_um(254);
    // In what unit, at what time, and how often it was told by then.
    for (i, (unit, at_ms, told)) in [
        (None, 0, 0),
        (Some(Unit::Mm), 5_000, 0),
        (Some(Unit::In), 10_000, 1),
        (Some(Unit::In), 15_000, 1),
        // Flickering is told at most once a second.
        (None, 15_100, 2),
        (Some(Unit::In), 15_200, 2),
        (None, 15_300, 2),
        (Some(Unit::In), 20_000, 3),
    ]
    .into_iter()
    .enumerate()
    {
        bench.reading_in("dial", mm, unit, now + at_ms * MS).await;
        let taken = i as u64 + 1;
        bench.until(|s| s.cables[0].readings == taken).await;
        let said = notes(&bench).await;
        assert_eq!(said.len(), told, "{unit:?} at {at_ms} ms: {said:?}");
    }
    let said = notes(&bench).await;
    assert!(
        said[0].contains("now sends inches instead of millimetres"),
        "{said:?}"
    );
    let status = bench.status().await;
    assert!(status.notice.unwrap().contains("inches"));
    assert_eq!(status.cables[0].reading, Some(mm));
    bench.stop().await.1.unwrap();
}

/// A print is judged by eye: a press there is no mark, nor one of two of which one has to be answered before the print can be
/// marked.
#[tokio::test]
async fn two_presses_beside_a_print_stand_in_no_mark_s_way() {
    let (bench, now) = pressed().await;
    bench.done("/v1/sessions/current/close", json!({})).await;
    bench.open(json!({ "length": "30" })).await;
    bench.done("/v1/steps", json!({ "kind": "contact" })).await;
    let two = [(10, 1_000), (11, 1_100)];
    let told = |s: &Status| s.notice.is_some();
    let status = press(&bench, now, &two, told).await;
    assert_eq!((status.double_press, status.marks.len()), (None, 0));
    assert!(status.notice.unwrap().contains("print"));
    bench.mark(json!({ "station": "90,40,0" })).await;
    assert_eq!(bench.status().await.marks.len(), 1);
    bench.stop().await.1.unwrap();
}
