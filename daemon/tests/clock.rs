//! What is done to the computer's clocks: durations and order stay right, and the record shows the jump or the gap with its size.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, MS, Place, S, events, streaming};
use conewright_daemon::clock::Clock;
use protocol::api::CableState;
use serde_json::{Value, json};
use std::sync::atomic::Ordering::SeqCst;

/// Times of the readings and marks of the first step, in the order of their counts, ns.
fn times(record: &Value) -> (Vec<i64>, Vec<i64>) {
    let step = &record["steps"][0];
    let readings = step["readings"]["bench"].as_array().unwrap();
    let marks = step["marks"].as_array().unwrap();
    (
        readings.iter().map(|r| r[1].as_i64().unwrap()).collect(),
        marks.iter().map(|m| m["t_ns"].as_i64().unwrap()).collect(),
    )
}

/// A mark, the clock set, a mark again; nothing may show it but the event and its UTC.
async fn set_between_two_marks(by_ns: i64, told: &str) {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.dwell("bench", 100).await;
    bench.mark(json!({})).await;
    let steady = bench.place.clock.steady_ns();
    bench.place.clock.utc.fetch_add(by_ns, SeqCst);
    let status = bench.until(|s| s.notice.is_some()).await;
    assert!(status.notice.unwrap().contains(told), "{told}");
    bench.dwell("bench", 200).await;
    bench.mark(json!({})).await;
    let took = bench.place.clock.steady_ns() - steady;
    let record = bench.record().await;
    let (readings, marks) = times(&record);
    assert_eq!(readings.len(), 40);
    assert!(readings.is_sorted(), "{readings:?}");
    assert_eq!(
        marks[1] - marks[0],
        took,
        "the duration is the steady clock's"
    );
    let (what, text) = &events(&record)[0];
    assert_eq!(what, "clock");
    assert!(text.contains(told), "{text}");
    let event = &record["events"][0];
    let jump = event["utc_ns"].as_i64().unwrap() - event["t_ns"].as_i64().unwrap();
    assert_eq!(jump, by_ns, "UTC shows the change");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_clock_set_forward_changes_no_duration() {
    set_between_two_marks(86_400 * S, "+86400.000 s").await;
}

#[tokio::test]
async fn a_clock_set_back_changes_no_duration() {
    set_between_two_marks(-7_200 * S, "-7200.000 s").await;
}

/// Streams one value, sleeps, and goes on with the same value before the daemon has looked at its clocks.
async fn asleep(bench: &Bench) {
    bench.open_zero().await;
    bench.dwell("bench", 100).await;
    // Short, so that the readings before it are young enough for a dwell together with those after it.
    bench.place.clock.sleep(1_200 * MS);
}

#[tokio::test]
async fn a_reading_right_after_a_sleep_is_not_joined_to_one_before() {
    let bench = Place::new(streaming()).start();
    asleep(&bench).await;
    let woke = bench.place.clock.steady_ns();
    bench.reading("bench", 100, woke).await;
    bench.until(|s| s.cables[0].readings == 21).await;
    bench
        .refused("/v1/marks", json!({ "wait_s": 0 }), "not_settled")
        .await;
    // As soon as it has held long enough after the sleep, a mark is made, and of readings after it alone.
    for i in 1..=20 {
        bench.reading("bench", 100, woke + i * 40 * MS).await;
    }
    bench.place.clock.advance(20 * 40 * MS);
    bench.until(|s| s.cables[0].readings == 41).await;
    bench.mark(json!({})).await;
    let record = bench.record().await;
    let source = &record["steps"][0]["marks"][0]["source"];
    assert_eq!(source["first_seq"], 21, "{source}");
    let (what, text) = &events(&record)[0];
    assert_eq!(what, "gap");
    assert!(text.contains("no readings for 1.2 s"), "{text}");
    bench.stop().await.1.unwrap();
}

/// A mark that is asked for right after a sleep is not made of what was read before it.
#[tokio::test]
async fn a_mark_right_after_a_sleep_waits_for_readings() {
    let bench = Place::new(streaming()).start();
    asleep(&bench).await;
    bench
        .refused("/v1/marks", json!({ "wait_s": 0 }), "not_settled")
        .await;
    bench.stop().await.1.unwrap();
}

/// What was live before the sleep is shown as old until a reading comes, though the cable's own timers did not run meanwhile.
#[tokio::test]
async fn no_value_from_before_a_sleep_is_live() {
    let bench = Place::new(streaming()).start();
    asleep(&bench).await;
    let status = bench
        .until(|s| s.cables[0].state == CableState::Stale)
        .await;
    let detail = status.cables[0].detail.as_deref().unwrap();
    assert!(detail.contains("the computer slept"), "{detail}");
    let woke = bench.place.clock.steady_ns();
    bench.reading("bench", 100, woke - 1_190 * MS).await;
    bench.until(|s| s.cables[0].readings == 21).await;
    assert_eq!(bench.status().await.cables[0].state, CableState::Stale);
    bench.reading("bench", 100, woke).await;
    bench.until(|s| s.cables[0].state == CableState::Live).await;
    bench.stop().await.1.unwrap();
}

/// One that was read before the sleep, and is worked off after it.
#[tokio::test]
async fn a_reading_that_waited_through_a_sleep_stays_before_it() {
    let bench = Place::new(streaming()).start();
    asleep(&bench).await;
    let woke = bench.place.clock.steady_ns();
    bench.reading("bench", 100, woke - 1_190 * MS).await;
    for i in 0..=20 {
        bench.reading("bench", 100, woke + i * 40 * MS).await;
    }
    bench.place.clock.advance(20 * 40 * MS);
    bench.until(|s| s.cables[0].readings == 42).await;
    bench.mark(json!({})).await;
    let source = &bench.record().await["steps"][0]["marks"][0]["source"];
    assert_eq!(source["first_seq"], 22, "{source}");
    bench.stop().await.1.unwrap();
}
