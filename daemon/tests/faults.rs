//! What must not be lost, and what must not be believed, when something fails.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{MS, Place, S, events, soon, streaming};
use conewright_daemon::clock::Clock;
use conewright_daemon::store::{FILE_NAME, Fault};
use conewright_daemon::{Fatal, Home};
use config::{Config, ConfigError};
use protocol::api::{CableState, Live, Status};
use serde_json::json;
use std::sync::atomic::Ordering::SeqCst;

/// Killed after each mark: the image of that instant holds it, and a daemon started on it goes on with the step.
#[tokio::test]
async fn a_killed_daemon_has_lost_no_acknowledged_mark() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    for n in 1..=4_u64 {
        bench.dwell("bench", 100 + n.cast_signed() * 10).await;
        bench.mark(json!({})).await;
        let image = bench.place.image();
        image.clock.advance(60 * S);
        let again = image.start();
        let status = again.status().await;
        assert_eq!(status.step.unwrap().number, 1, "the step goes on");
        let numbers: Vec<_> = status.marks.iter().map(|m| u64::from(m.number)).collect();
        assert_eq!(numbers, (1..=n).collect::<Vec<_>>());
        let here = bench.status().await;
        assert_eq!(status.marks, here.marks);
        assert_eq!(status.outcome, here.outcome);
        assert_eq!(status.next_station, here.next_station);
        // It goes on with marks, and with readings that are counted on.
        again.dwell("bench", 50).await;
        assert_eq!(again.mark(json!({})).await["number"], n + 1);
        let record = again.record().await;
        let (what, text) = &events(&record)[0];
        assert_eq!(what, "gap");
        assert!(text.contains("stopped unexpectedly"), "{text}");
        let readings = record["steps"][0]["readings"]["bench"].as_array().unwrap();
        assert_eq!(readings.len() as u64, n * 20 + 20);
        let t: Vec<_> = readings.iter().map(|r| r[1].as_i64().unwrap()).collect();
        assert!(t.is_sorted(), "the timeline never goes back");
        let values = record["steps"][0]["values"].as_array().unwrap();
        assert_eq!(values.last().unwrap()["value_mm"], 0.05);
        again.stop().await.1.unwrap();
        // The clock is shared with the bench that goes on.
        bench.place.clock.advance(-60 * S);
    }
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_daemon_that_was_stopped_goes_on_too() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.done("/v1/clamp", json!({ "tight": true })).await;
    bench.mark(json!({ "value": "0.1" })).await;
    let (mut place, ended) = bench.stop().await;
    ended.unwrap();
    assert!(!place.socket().exists(), "the socket is removed");
    let left: Vec<_> = std::fs::read_dir(place.data())
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert!(
        left.contains(&FILE_NAME.into()) && left.len() == 2,
        "{left:?}"
    );
    Home::acquire(&place.data()).unwrap().release();
    // The computer was started anew meanwhile, with its clock set back by an hour.
    place.boot_id = "another start".to_owned();
    place.clock.steady.store(S, SeqCst);
    place.clock.utc.fetch_sub(3_600 * S, SeqCst);
    let again = place.start();
    let status = again.status().await;
    assert!(status.clamped);
    assert_eq!(status.marks.len(), 1);
    again.mark(json!({ "value": "0.2" })).await;
    let record = again.record().await;
    let (_, text) = events(&record).last().unwrap().clone();
    assert!(text.contains("the daemon was stopped"), "{text}");
    let marks = record["steps"][0]["marks"].as_array().unwrap();
    let t: Vec<_> = marks.iter().map(|m| m["t_ns"].as_i64().unwrap()).collect();
    assert!(t[0] < t[1], "the timeline never goes back: {t:?}");
    assert_eq!(marks[1]["setting"], 1);
    again.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_second_daemon_says_who_holds_the_directory_and_leaves() {
    let bench = Place::new(Config::default()).start();
    let Err(error) = bench.place.parts(&Default::default()) else {
        panic!("two daemons hold one directory");
    };
    assert!(matches!(error, Fatal::Held { .. }), "{error:?}");
    let id = std::process::id().to_string();
    assert!(error.to_string().contains(&id), "{error}");
    bench.status().await;
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn on_a_full_disk_marks_are_refused_and_the_live_view_goes_on() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.dwell("bench", 100).await;
    bench.mark(json!({})).await;
    bench.place.tap.set(Some(Fault::Full));
    let mut watch = bench.watch().await;
    bench.dwell("bench", 110).await;
    let message = bench.refused("/v1/marks", json!({}), "store_full").await;
    assert!(message.contains("the mark was not stored"), "{message}");
    assert!(message.contains("no room"), "{message}");
    for (path, body) in [
        ("/v1/marks/undo", json!({})),
        ("/v1/notes", json!({ "text": "dressed" })),
        ("/v1/steps/current/close", json!({})),
    ] {
        bench.refused(path, body, "store_full").await;
    }
    let status = bench.status().await;
    assert_eq!(
        status.marks.len(),
        1,
        "nothing is in force that is not stored"
    );
    assert!(status.notice.unwrap().contains("rejects marks"));
    let now = bench.place.clock.steady_ns();
    bench.reading("bench", 777, now).await;
    while watch.next_reading().await.value.um() != 777.0 {}

    bench.place.tap.set(None);
    bench.dwell("bench", 120).await;
    let marked = bench.mark(json!({})).await;
    assert_eq!(marked["number"], 2, "the refused one has left no trace");
    let status = bench.until(|s| s.notice.is_none()).await;
    assert_eq!(status.marks.len(), 2);
    let record = bench.record().await;
    let readings = record["steps"][0]["readings"]["bench"].as_array().unwrap();
    // Those that arrived meanwhile waited in memory.
    let seqs: Vec<_> = readings.iter().map(|r| r[0].as_u64().unwrap()).collect();
    assert_eq!(seqs, (1..=61).collect::<Vec<_>>());
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_clock_that_was_set_is_told_and_changes_no_duration() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.dwell("bench", 100).await;
    let before = bench.status().await.cables[0].age_s.unwrap();
    bench.place.clock.utc.fetch_sub(3_600 * S, SeqCst);
    let status = bench.until(|s| s.notice.is_some()).await;
    let notice = status.notice.unwrap();
    assert!(notice.contains("-3600.000 s"), "{notice}");
    assert_eq!(status.cables[0].age_s, Some(before));
    bench.mark(json!({})).await;
    let record = bench.record().await;
    let event = &record["events"][0];
    assert_eq!(event["what"], "clock");
    let ahead = event["t_ns"].as_i64().unwrap() - event["utc_ns"].as_i64().unwrap();
    assert_eq!(ahead, 3_600 * S, "UTC shows the change");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_sleep_is_a_gap_and_nothing_is_joined_across_it() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.dwell("bench", 100).await;
    // Short enough that the readings before it are still young enough for a dwell.
    bench.place.clock.sleep(1_600 * MS);
    let status = bench.until(|s| s.notice.is_some()).await;
    assert!(status.notice.unwrap().contains("slept"));
    let now = bench.place.clock.steady_ns();
    bench.reading("bench", 100, now).await;
    bench.until(|s| s.cables[0].readings == 21).await;
    bench
        .refused("/v1/marks", json!({ "wait_s": 0 }), "not_settled")
        .await;
    let (what, text) = events(&bench.record().await)[0].clone();
    assert_eq!(what, "gap");
    assert!(text.contains("no readings for 1.6 s"), "{text}");
    bench.stop().await.1.unwrap();
}

/// A client that does not read is brought up to date when it does, and delays nobody.
#[tokio::test]
async fn a_slow_client_gets_a_snapshot_in_place_of_what_it_missed() {
    let bench = Place::new(streaming()).start();
    bench.state("bench", CableState::Live, None).await;
    let mut slow = bench.watch().await;
    assert!(matches!(slow.next().await, Live::Snapshot(_)));
    let mut quick = bench.watch().await;
    let now = bench.place.clock.steady_ns();
    // Far more than the socket and the feed hold.
    const READINGS: u64 = 6_000;
    for i in 0..READINGS {
        bench
            .reading("bench", 5, now + i.cast_signed() * 10 * MS)
            .await;
        if i % 50 == 0 {
            // The quick one keeps up meanwhile.
            while quick.next_reading().await.seq < i {}
        }
    }
    let mut last = 0;
    let mut resynchronised = 0;
    let mut received = 0;
    while last < READINGS {
        match slow.next().await {
            Live::Snapshot(status) => {
                resynchronised += 1;
                last = status.cables[0].readings;
            }
            Live::Reading(reading) => {
                received += 1;
                assert_eq!(
                    reading.seq,
                    last + 1,
                    "nothing is missing without a snapshot"
                );
                last = reading.seq;
            }
        }
    }
    assert!(resynchronised >= 1);
    assert!(received < READINGS, "it was not waited for");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_client_that_never_reads_does_not_hold_up_the_end() {
    let bench = Place::new(streaming()).start();
    let stuck = bench.watch().await;
    let mut quick = bench.watch().await;
    let now = bench.place.clock.steady_ns();
    for i in 0..6_000 {
        bench.reading("bench", 5, now + i * 10 * MS).await;
        if i % 50 == 0 {
            while quick.next_reading().await.seq < i.cast_unsigned() {}
        }
    }
    let (_, ended) = bench.stop().await;
    ended.unwrap();
    drop(stuck);
    soon(async { while quick.next_or_end().await.is_some() {} }).await;
}

#[tokio::test]
async fn a_client_may_stop_the_daemon_and_is_answered_first() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let mut watch = bench.watch().await;
    bench.done("/v1/stop", json!({})).await;
    let (place, ended) = bench.ended().await;
    ended.unwrap();
    while watch.next_or_end().await.is_some() {}
    assert!(!place.socket().exists());
}

#[tokio::test]
async fn a_broken_configuration_is_reported_and_a_good_one_taken() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.dwell("bench", 100).await;
    let broken = ConfigError::Unreadable {
        path: "conewright.toml".into(),
        reason: "line 3: `prot` is not known; `port` is".to_owned(),
    };
    let words = broken.to_string();
    *bench.place.reload.lock().unwrap() = Some(Err(broken));
    let status = bench.until(|s| s.notice.is_some()).await;
    assert!(status.notice.unwrap().contains(&words));
    assert_eq!(status.cables.len(), 1, "what there was is kept");
    bench.mark(json!({})).await;

    let mut good = streaming();
    good.cables[0].settings.baud = 4_800;
    *bench.place.reload.lock().unwrap() = Some(Ok(good));
    let loaded = |s: &Status| {
        s.notice
            .as_deref()
            .is_some_and(|n| n.contains("has changed and was loaded"))
    };
    bench.until(loaded).await;
    bench.dwell("bench", 100).await;
    bench.mark(json!({})).await;
    let record = bench.record().await;
    let (what, text) = events(&record).last().unwrap().clone();
    assert_eq!(what, "cable");
    assert!(text.contains("4800 8N1"), "{text}");
    let readings = record["steps"][0]["readings"]["bench"].as_array().unwrap();
    assert_eq!(
        readings.len(),
        40,
        "counts of readings go on over a new task"
    );
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_daemon_starts_on_a_full_disk_and_marks_when_there_is_room() {
    let bench = Place::new(Config::default()).start();
    bench.open(json!({ "span": "80" })).await;
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    let (place, ended) = bench.stop().await;
    ended.unwrap();
    place.tap.set(Some(Fault::Full));
    let again = place.start();
    let typed = json!({ "value": "0.1" });
    again
        .refused("/v1/marks", typed.clone(), "store_full")
        .await;
    assert_eq!(again.status().await.step.unwrap().number, 1);
    again.place.tap.set(None);
    again.mark(typed).await;
    let (what, text) = events(&again.record().await)[0].clone();
    assert_eq!(what, "gap", "the note of the restart waited: {text}");
    again.stop().await.1.unwrap();
}

/// Two clients mark at the same instant while a third takes back: each meets whole marks.
#[tokio::test]
async fn requests_at_the_same_instant_are_worked_off_one_after_the_other() {
    let bench = Place::new(Config::default()).start();
    bench.open(json!({ "span": "80" })).await;
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    let typed = || json!({ "value": "0.1" });
    let mut numbers = Vec::new();
    let mut undone = 0;
    for _ in 0..10 {
        let (a, b, (status, _)) = tokio::join!(
            bench.mark(typed()),
            bench.mark(typed()),
            bench.post("/v1/marks/undo", json!({}))
        );
        numbers.extend([a, b].map(|m| m["number"].as_u64().unwrap()));
        assert!(status == 200 || status == 409, "{status}");
        undone += usize::from(status == 200);
    }
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=20).collect::<Vec<_>>());
    let record = bench.record().await;
    let marks = record["steps"][0]["marks"].as_array().unwrap();
    let taken_back = marks.iter().filter(|m| m["taken_back"] == true).count();
    assert_eq!((marks.len(), taken_back), (20, undone));
    bench.stop().await.1.unwrap();
}
