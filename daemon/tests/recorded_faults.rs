//! What is recorded between two marks, under faults: what was told live is what the record computes, whatever the store
//! refused and in whatever order readings and marks came.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, MS, Place, streaming};
use conewright_daemon::clock::Clock as _;
use conewright_daemon::store::Fault;
use serde_json::{Value, json};

async fn sweep() -> Bench {
    let bench = Place::new(streaming()).start();
    let setup = json!({ "span": "80", "cable": "bench" });
    bench.open(setup).await;
    let step = json!({ "kind": "sweep", "positions": "feed" });
    bench.done("/v1/steps", step).await;
    rising(&bench, 3).await;
    bench.mark(json!({})).await;
    rising(&bench, 20).await;
    bench
}

/// Readings that rise by a micrometre each.
async fn rising(bench: &Bench, count: usize) {
    bench
        .stream(&["bench"], count, 10 * MS, |_, seconds| seconds * 0.1)
        .await;
}

/// The outcome of the open step as it is told live.
async fn told(bench: &Bench) -> Value {
    let (_, status) = bench.get("/v1/status").await;
    status["outcome"].clone()
}

/// And as it is in the record.
async fn recorded(bench: &Bench) -> Value {
    bench.record().await["steps"][0]["outcome"].clone()
}

#[tokio::test]
async fn an_end_that_was_acknowledged_has_its_readings_with_it() {
    let bench = sweep().await;
    bench.place.tap.set(Some(Fault::Full));
    rising(&bench, 30).await;
    bench.refused("/v1/marks", json!({}), "store_full").await;
    // Room for one transaction, and then none again: what the mark did not bring with it is not there.
    bench.place.clock.advance(MS);
    loop {
        bench.place.tap.pass_one();
        let (status, answer) = bench.post("/v1/marks", json!({})).await;
        if status == 200 {
            break;
        }
        // The readings were tried just then, and took the place.
        assert_eq!(answer["code"], "store_full", "{answer}");
    }
    let live = told(&bench).await;
    // The reading at the beginning's own moment is one of them.
    assert_eq!(live["points"], 51, "{live}");
    let killed = bench.place.image().start();
    assert_eq!(told(&killed).await, live);
    assert_eq!(recorded(&killed).await, live);
    killed.stop().await.1.unwrap();
    bench.place.tap.set(None);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_reading_that_comes_late_is_not_added_to_what_a_mark_has_ended() {
    let bench = sweep().await;
    bench.place.clock.advance(5 * MS);
    bench.mark(json!({})).await;
    let live = told(&bench).await;
    let before = bench.readings("bench").await;
    // Taken a little before the mark; its thread came to hand it over only now.
    // And it is coarser than those that count, which is no matter to them.
    let now = bench.place.clock.steady_ns();
    bench.reading("bench", 500, now - MS).await;
    bench.reading("bench", 501, now).await;
    while bench.readings("bench").await < before + 2 {}
    assert_eq!(recorded(&bench).await, live);
    // Nor is the next stretch begun with it.
    bench.place.clock.advance(MS);
    bench.mark(json!({})).await;
    rising(&bench, 10).await;
    bench.mark(json!({})).await;
    let live = told(&bench).await;
    assert_eq!(live["points"], 31, "{live}");
    assert_eq!(recorded(&bench).await, live);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn readings_that_the_store_never_took_count_nowhere() {
    let bench = sweep().await;
    bench.place.tap.set(Some(Fault::Full));
    // More than may wait.
    rising(&bench, 23_000).await;
    let (_, status) = bench.get("/v1/status").await;
    let points = status["so_far"]["points"].as_u64().unwrap();
    assert!((20_000..23_000).contains(&points), "{status}");
    bench.place.tap.set(None);
    bench.place.clock.advance(MS);
    bench.mark(json!({})).await;
    let live = told(&bench).await;
    assert_eq!(recorded(&bench).await, live);
    let remarks = live["remarks"].to_string();
    assert!(remarks.contains("readings"), "the gap is told: {remarks}");
    bench.stop().await.1.unwrap();
}
