//! Sessions, steps and marks through the API: what is taken, and what is refused with nothing stored.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, Place, streaming};
use conewright_daemon::clock::Clock;
use config::Config;
use protocol::api::CableState;
use serde_json::{Value, json};

#[tokio::test]
async fn a_round_is_marked_undone_and_marked_again() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let mut numbers = Vec::new();
    for (um, station, round) in [(100, "A", 1), (140, "B", 1), (100, "A", 1), (90, "A", 2)] {
        let status = bench.status().await;
        assert_eq!(status.next_station.as_deref(), Some(station));
        assert_eq!(status.next_round, Some(round));
        bench.dwell("bench", um).await;
        let marked = bench.mark(json!({})).await;
        assert_eq!(marked["station"], station);
        assert_eq!(marked["round"], round);
        assert_eq!(marked["value_mm"], um as f64 / 1_000.0);
        assert_eq!(marked["spread_um"], 0.0);
        assert!(marked["readings"].as_u64().unwrap() >= 3, "{marked}");
        numbers.push(marked["number"].as_u64().unwrap());
    }
    let undone = bench.done("/v1/marks/undo", json!({})).await;
    assert_eq!(
        (&undone["number"], &undone["station"]),
        (&json!(4), &json!("A"))
    );
    bench.dwell("bench", 95).await;
    let again = bench.mark(json!({ "station": "b" })).await;
    assert_eq!(again["station"], "B", "a station by name, in either case");
    assert_eq!(again["number"], 5, "no number is used twice");
    assert_eq!(numbers, [1, 2, 3, 4]);

    let status = bench.status().await;
    let outcome = serde_json::to_value(&status.outcome).unwrap();
    // 40 µm over 80 mm: atan(0.0005) = 103.13″.
    let residual = outcome["residual_arcsec"].as_f64().unwrap();
    assert!((residual - 103.13).abs() < 0.01, "{residual}");
    assert_eq!(status.marks.len(), 4);

    let closed = bench.done("/v1/steps/current/close", json!({})).await;
    assert_eq!(
        closed["outcome"]["residual_arcsec"],
        outcome["residual_arcsec"]
    );
    bench.done("/v1/sessions/current/close", json!({})).await;
    let record = bench.record().await;
    assert_eq!(record["steps"][0]["outcome"], outcome);
    let marks = record["steps"][0]["marks"].as_array().unwrap();
    let taken_back: Vec<_> = marks.iter().map(|m| m["taken_back"] == true).collect();
    assert_eq!(taken_back, [false, false, false, true, false]);
    assert!(!record["cautions"].as_array().unwrap().is_empty());
    let (_, list) = bench.get("/v1/sessions").await;
    assert_eq!(list["sessions"][0]["name"], "spindle seat");
    assert_eq!(list["sessions"][0]["steps"], 1);
    bench.stop().await.1.unwrap();
}

/// A mark made just after its step was opened has the dwell from before it.
#[tokio::test]
async fn a_mark_may_use_readings_from_before_its_step() {
    let bench = Place::new(streaming()).start();
    bench.open(json!({ "span": "80" })).await;
    bench.dwell("bench", 12).await;
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    let marked = bench.mark(json!({})).await;
    assert_eq!(marked["value_mm"], 0.012);
    let record = bench.record().await;
    let stored = record["steps"][0]["readings"]["bench"].as_array().unwrap();
    assert_eq!(Value::from(stored.len()), marked["readings"]);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn typed_values_are_read_as_the_instrument_shows_them() {
    let bench = Place::new(Config::default()).start();
    bench.open(json!({ "span": "60", "division": "2um" })).await;
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    for (typed, value_mm, resolution_mm) in [
        ("-3.5div", -0.007, 0.0002),
        ("0,0120", 0.012, 0.0001),
        ("0.0005in", 0.0127, 0.00254),
        ("-7.0um", -0.007, 0.0001),
    ] {
        let marked = bench.mark(json!({ "value": typed })).await;
        assert_eq!(marked["value_mm"], value_mm, "{typed}");
        assert_eq!(marked["resolution_mm"], resolution_mm, "{typed}");
    }
    let message = bench
        .refused("/v1/marks", json!({ "value": "twelve" }), "bad_value")
        .await;
    assert!(message.contains("twelve"), "{message}");
    let message = bench.refused("/v1/marks", json!({}), "no_cable").await;
    assert!(message.contains("no cable"), "{message}");
    assert_eq!(
        bench.status().await.marks.len(),
        4,
        "nothing of it was kept"
    );
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn what_is_out_of_order_is_refused() {
    let bench = Place::new(streaming()).start();
    for (path, body) in [
        ("/v1/steps", json!({ "kind": "zero" })),
        ("/v1/marks", json!({})),
        ("/v1/marks/undo", json!({})),
        ("/v1/clamp", json!({ "tight": true })),
        ("/v1/notes", json!({ "text": "dressed" })),
        ("/v1/steps/current/close", json!({})),
        ("/v1/sessions/current/close", json!({})),
    ] {
        bench.refused(path, body, "no_session").await;
    }
    bench.open(json!({ "span": "80" })).await;
    let second = json!({ "name": "another" });
    let message = bench.refused("/v1/sessions", second, "session_open").await;
    assert!(message.contains("spindle seat"), "{message}");
    for path in ["/v1/marks", "/v1/marks/undo", "/v1/steps/current/close"] {
        bench.refused(path, json!({}), "no_step").await;
    }
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    let again = json!({ "kind": "zero" });
    bench.refused("/v1/steps", again, "step_open").await;
    bench.refused("/v1/marks/undo", json!({}), "no_mark").await;
    for (body, code, said) in [
        (
            json!({ "station": "C" }),
            "unknown_name",
            "the stations are A, B",
        ),
        (
            json!({ "station": "40furlong" }),
            "unknown_name",
            "40furlong",
        ),
        (json!({ "angle": "30deg" }), "bad_value", "not at angles"),
    ] {
        let message = bench.refused("/v1/marks", body, code).await;
        assert!(message.contains(said), "{message}");
    }
    for (text, said) in [
        (" ", "empty"),
        ("a\u{1b}[2J", "control character"),
        (&"x".repeat(2_001), "2001 characters"),
    ] {
        let note = json!({ "text": text });
        let message = bench.refused("/v1/notes", note, "bad_value").await;
        assert!(message.contains(said), "{message}");
    }
    bench
        .done("/v1/notes", json!({ "text": "x".repeat(2_000) }))
        .await;
    let record = bench.record().await;
    assert_eq!(record["steps"][0]["marks"], json!([]));
    assert_eq!(record["events"].as_array().unwrap().len(), 1);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_mark_needs_a_live_cable_and_a_settled_reading() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let message = bench
        .refused("/v1/marks", json!({}), "cable_not_live")
        .await;
    assert!(message.contains("sent nothing yet"), "{message}");
    bench.dwell("bench", 100).await;
    let now = bench.place.clock.steady_ns();
    bench.reading("bench", 112, now).await;
    bench.until(|s| s.cables[0].readings == 21).await;
    let message = bench
        .refused("/v1/marks", json!({ "wait_s": 0 }), "not_settled")
        .await;
    assert!(message.contains("12.0 µm"), "{message}");
    bench.dwell("bench", 100).await;
    let now = bench.place.clock.steady_ns();
    let away = "unplugged";
    for (state, word) in [
        (CableState::Stale, "stale"),
        (CableState::Gone, "gone"),
        (CableState::Busy, "busy"),
        (CableState::Denied, "denied"),
    ] {
        bench.state("bench", state, Some(away)).await;
        bench.until(|s| s.cables[0].state == state).await;
        let message = bench
            .refused("/v1/marks", json!({}), "cable_not_live")
            .await;
        assert!(
            message.contains(word) && message.contains(away),
            "{message}"
        );
    }
    // It came back: what it sent before it left is not joined to what it sends now.
    bench.state("bench", CableState::Live, None).await;
    bench.reading("bench", 100, now).await;
    bench.until(|s| s.cables[0].readings == 42).await;
    bench
        .refused("/v1/marks", json!({ "wait_s": 0 }), "not_settled")
        .await;
    let record = bench.record().await;
    let texts: Vec<_> = record["events"]
        .as_array()
        .unwrap()
        .iter()
        .map(|event| event["text"].as_str().unwrap())
        .collect();
    assert_eq!(
        texts,
        [
            "the cable `bench` left: unplugged",
            "the cable `bench` is back"
        ]
    );
    assert_eq!(record["steps"][0]["marks"], json!([]));
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn the_clamp_separates_settings() {
    let bench = Place::new(Config::default()).start();
    bench.open(json!({ "span": "80" })).await;
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    for (tight, value) in [(false, "0.1"), (true, "0.2"), (true, "0.3"), (false, "0.4")] {
        bench.done("/v1/clamp", json!({ "tight": tight })).await;
        assert_eq!(bench.status().await.clamped, tight);
        bench.mark(json!({ "station": "A", "value": value })).await;
    }
    let record = bench.record().await;
    let marks = record["steps"][0]["marks"].as_array().unwrap();
    let settings: Vec<_> = marks
        .iter()
        .map(|m| {
            (
                m["clamped"] == true,
                m["setting"].as_u64().unwrap(),
                m["round"].as_u64().unwrap(),
            )
        })
        .collect();
    assert_eq!(
        settings,
        [(false, 0, 1), (true, 1, 2), (true, 1, 2), (false, 2, 3)]
    );
    assert_eq!(record["events"].as_array().unwrap().len(), 2);
    bench.stop().await.1.unwrap();
}

/// What a session has taught about a fixture is there in the next one, which its configuration may overrule.
#[tokio::test]
async fn a_fixture_is_remembered() {
    let bench = Place::new(Config::default()).start();
    let options = json!({ "span": "100", "fixture": "magnetic chuck" });
    let first = bench.open(options.clone()).await;
    assert_eq!(
        first["setup"]["fixture"],
        json!({ "name": "magnetic chuck" })
    );
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    // A set-up that turns 40 mm from A: a tap by δ moves A by −40 δ and B by +60 δ.
    round(&bench, 0.1, 0.5).await;
    round(&bench, 0.1 + 40.0 * 0.002, 0.5 - 60.0 * 0.002).await;
    round(&bench, 0.1 + 40.0 * 0.003, 0.5 - 60.0 * 0.003).await;
    bench.done("/v1/clamp", json!({ "tight": true })).await;
    round(&bench, 0.22 - 0.001, 0.32 + 0.001).await;
    bench.done("/v1/sessions/current/close", json!({})).await;
    let second = bench.open(options).await;
    let fixture = &second["setup"]["fixture"];
    let pivot = fixture["learned_pivot"]["position_mm"].as_f64().unwrap();
    assert!((pivot - 40.0).abs() < 1.0, "{fixture}");
    let shift = fixture["clamp_shifts"][0].as_f64().unwrap();
    assert!((shift - 0.00002).abs() < 1e-6, "{fixture}");
    assert_eq!(fixture["clamp_shifts"].as_array().unwrap().len(), 1);
    bench.done("/v1/sessions/current/close", json!({})).await;
    let other = bench
        .open(json!({ "span": "100", "fixture": "vee block" }))
        .await;
    assert_eq!(other["setup"]["fixture"], json!({ "name": "vee block" }));
    bench.stop().await.1.unwrap();
}

async fn round(bench: &Bench, a: f64, b: f64) {
    for value in [a, b, a] {
        bench.mark(json!({ "value": format!("{value:.4}") })).await;
    }
}
