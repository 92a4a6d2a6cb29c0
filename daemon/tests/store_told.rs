//! What the daemon stores and does not store, and what it says of its store before something is lost.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, MS, Place, S, cable, events, soon, streaming};
use conewright_daemon::clock::Clock;
use conewright_daemon::store::{Fault, Reader, Which};
use config::{Cadence, Config, Measures};
use metrology::{Length, Unit};
use protocol::evidence::CableReadings;
use serde_json::{Value, json};
use std::sync::Arc;
use std::time::{Duration, Instant};

fn two_cables() -> Config {
    let streams = Cadence::Streams { stale_after_s: 1.0 };
    let mut config = streaming();
    config.cables.push(cable("scale", streams));
    config
}

const BOTH: [&str; 2] = ["scale", "bench"];

async fn cables_stored(bench: &Bench) -> Vec<String> {
    let record = bench.record().await;
    let readings = &record["steps"][0]["readings"];
    readings.as_object().unwrap().keys().cloned().collect()
}

/// Readings that nobody marked wait for others for a second, and no longer: a kill takes only what came since.
#[tokio::test]
async fn readings_that_nobody_marks_are_on_the_disk_after_a_second() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.stream(&["bench"], 10, 20 * MS, |_, _| 0.1).await;
    let streamed = Instant::now();
    // From the file, as the next daemon would: asking this one for the record could make it write.
    let stored = || {
        let mut reader = Reader::open(&bench.place.data()).unwrap();
        let record = reader.session(Which::Number(1), "").unwrap();
        let readings = record.steps[0].evidence.readings.get("bench");
        readings.map_or(0, CableReadings::len)
    };
    while stored() < 10 {
        assert!(streamed.elapsed() < Duration::from_secs(5), "{}", stored());
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn only_the_cables_of_the_step_are_stored() {
    let bench = Place::new(two_cables()).start();
    bench.open_zero().await;
    bench.stream(&BOTH, 50, 50 * MS, |_, _| 0.012).await;
    bench.mark(json!({})).await;
    assert_eq!(cables_stored(&bench).await, ["bench"]);
    bench.stop().await.1.unwrap();

    let mut config = two_cables();
    config.cables[1].measures = Measures::Position;
    let bench = Place::new(config).start();
    bench.open(json!({ "taper": "1:12", "span": "80" })).await;
    let sweep = json!({ "kind": "sweep", "positions": "cable" });
    bench.done("/v1/steps", sweep).await;
    bench.stream(&BOTH, 50, 50 * MS, |_, _| 0.012).await;
    bench.mark(json!({})).await;
    assert_eq!(cables_stored(&bench).await, ["bench", "scale"]);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_disk_without_room_for_the_next_hour_is_told_ahead() {
    let mut place = Place::new(streaming());
    place.free_room = Arc::new(|_| Ok(9_000_000));
    let bench = place.start();
    let told =
        |notice: Option<&str>| notice.is_some_and(|n| n.contains("nearly full (9.0 MB free)"));
    bench.until(|status| told(status.notice.as_deref())).await;
    // It is told ahead: marks still go through.
    bench.open_zero().await;
    bench.mark(json!({ "value": "0.012" })).await;
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_message_that_comes_during_a_commit_is_not_erased_by_it() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let one = Length::from_um(12);
    let at = |seconds: i64| bench.place.clock.steady_ns() + seconds * S;
    bench.reading_in("bench", one, Some(Unit::Mm), at(0)).await;
    let (came, go) = bench.place.tap.hold_commit();
    let noted = bench.done("/v1/notes", json!({ "text": "dressed the wheel" }));
    let meanwhile = async {
        soon(came).await.unwrap();
        bench.place.clock.advance(2 * S);
        bench.reading_in("bench", one, Some(Unit::In), at(0)).await;
        let told = |notice: Option<&str>| notice.is_some_and(|n| n.contains("now sends inches"));
        bench.until(|status| told(status.notice.as_deref())).await;
        go.send(()).unwrap();
    };
    tokio::join!(noted, meanwhile);
    let notice = bench.status().await.notice.unwrap();
    assert!(notice.contains("now sends inches"), "{notice}");
    // What was there before a change was asked for goes with it.
    let note = json!({ "text": "and trued it" });
    bench.done("/v1/notes", note).await;
    assert_eq!(bench.status().await.notice, None);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn events_that_a_full_disk_has_cost_are_counted() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.place.tap.set(Some(Fault::Full));
    // A cable that leaves and comes back 600 times is 1 200 events, of which 1 000 wait.
    for _ in 0..600 {
        bench
            .state("bench", protocol::api::CableState::Gone, None)
            .await;
        bench
            .state("bench", protocol::api::CableState::Live, None)
            .await;
    }
    bench
        .refused("/v1/notes", json!({ "text": "full" }), "store_full")
        .await;
    bench.place.tap.set(None);
    bench.done("/v1/notes", json!({ "text": "room" })).await;
    let told = soon(async {
        loop {
            let record: Value = bench.record().await;
            let told = events(&record)
                .into_iter()
                .find(|(_, text)| text.starts_with("not stored"));
            if let Some((_, text)) = told {
                break text;
            }
        }
    })
    .await;
    assert!(told.ends_with(" events"), "{told}");
    let lost: u64 = told.split(' ').rev().nth(1).unwrap().parse().unwrap();
    assert!((150..=200).contains(&lost), "{told}");
    bench.stop().await.1.unwrap();
}
