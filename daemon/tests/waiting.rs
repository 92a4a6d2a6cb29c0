//! A mark that is asked for while the reading moves: it waits for rest, and what becomes of it.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, MS, Place, S, soon, streaming};
use conewright_daemon::clock::Clock;
use config::{Config, Pedal, PedalAction, PedalSelector};
use protocol::api::{CableState, Status};
use serde_json::{Value, json};
use std::time::{Duration, Instant};

const ENTER: u16 = 28;
const BACKSPACE: u16 = 14;

/// A daemon whose indicator has rested at 100 µm and stands at 112 µm now.
async fn moved() -> Bench {
    let bench = with_pedal().start();
    bench.open_zero().await;
    move_away(&bench).await;
    bench
}

fn with_pedal() -> Place {
    let device = PedalSelector {
        name: Some("foot switch".to_owned()),
        ..PedalSelector::default()
    };
    let keys = vec![(ENTER, PedalAction::Mark), (BACKSPACE, PedalAction::Undo)];
    Place::new(Config {
        pedal: Some(Pedal { device, keys }),
        ..streaming()
    })
}

async fn move_away(bench: &Bench) {
    bench.dwell("bench", 100).await;
    reads(bench, &[112]).await;
}

/// Readings 40 ms apart, the last of them now; returns when the daemon has taken them.
async fn reads(bench: &Bench, um: &[i64]) {
    let before = bench.readings("bench").await;
    for um in um {
        bench.place.clock.advance(40 * MS);
        let now = bench.place.clock.steady_ns();
        bench.reading("bench", *um, now).await;
    }
    let all = before + um.len() as u64;
    soon(async { while bench.readings("bench").await < all {} }).await;
}

async fn waits(bench: &Bench) -> Status {
    bench.until(|status| status.waiting.is_some()).await
}

/// Asks for a mark, does what follows once it waits, and gives what came of the mark.
async fn meanwhile(bench: &Bench, what: impl Future<Output = ()>) -> (u16, Value) {
    let then = async {
        waits(bench).await;
        what.await;
    };
    let (marked, ()) = soon(async { tokio::join!(bench.post("/v1/marks", json!({})), then) }).await;
    assert_eq!(
        bench.status().await.waiting,
        None,
        "nothing waits after its answer"
    );
    marked
}

async fn marks(bench: &Bench) -> usize {
    bench.status().await.marks.len()
}

#[tokio::test]
async fn a_mark_waits_for_rest_and_uses_only_what_came_after_the_movement() {
    let bench = moved().await;
    let asked_ns = bench.place.clock.utc_ns();
    let mut killed = None;
    let (status, marked) = meanwhile(&bench, async {
        let shown = bench.status().await.waiting.unwrap();
        assert!((4.9..=5.0).contains(&shown.left_s), "{shown:?}");
        // Others are answered, readings go on, and a note is no other key.
        bench.done("/v1/notes", json!({ "text": "tapped" })).await;
        reads(&bench, &[113, 112, 113, 112, 113]).await;
        assert!(bench.status().await.waiting.is_some(), "0.2 s are no rest");
        killed = Some(bench.place.image().start());
        reads(&bench, &[112; 12]).await;
    })
    .await;
    assert_eq!((status, &marked["station"]), (200, &json!("A")), "{marked}");
    assert!(
        (0.112..0.1126).contains(&marked["value_mm"].as_f64().unwrap()),
        "{marked}"
    );
    let record = bench.record().await;
    let mark = &record["steps"][0]["marks"][0];
    let readings = record["steps"][0]["readings"]["bench"].as_array().unwrap();
    let of = |seq: &Value| readings.iter().find(|r| &r[0] == seq).unwrap();
    assert_eq!(of(&mark["source"]["first_seq"])[2], 0.112, "{mark}");
    assert_eq!(
        mark["t_ns"],
        of(&mark["source"]["last_seq"])[1],
        "its time is that of rest"
    );
    assert!(mark["t_ns"].as_i64().unwrap() > asked_ns);
    // Killed while it waited: there is no mark, and nobody was told of one.
    let killed = killed.unwrap();
    assert_eq!(
        (marks(&killed).await, killed.status().await.waiting),
        (0, None)
    );
    killed.stop().await.1.unwrap();
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_mark_is_refused_when_rest_does_not_come_in_time() {
    let bench = moved().await;
    let (status, refusal) = meanwhile(&bench, async {
        for i in 0..10 {
            bench.place.clock.advance(400 * MS);
            reads(&bench, &[112 + 9 * i]).await;
        }
        assert!(bench.status().await.waiting.is_some(), "4.4 s are not 5 s");
        bench.place.clock.advance(600 * MS);
    })
    .await;
    assert_eq!((status, &refusal["code"]), (409, &json!("not_settled")));
    let message = refusal["message"].as_str().unwrap();
    assert!(
        message.contains("moved by") && message.contains("5 s"),
        "{message}"
    );
    assert_eq!(marks(&bench).await, 0);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_client_may_say_how_long_a_mark_waits() {
    let bench = moved().await;
    let at_once = bench.refused("/v1/marks", json!({ "wait_s": 0 }), "not_settled");
    let message = at_once.await;
    assert!(message.contains("12.0 µm"), "{message}");
    let long = json!({ "wait_s": 21 });
    let message = bench.refused("/v1/marks", long, "bad_value").await;
    assert!(
        message.contains("21") && message.contains("20 s"),
        "{message}"
    );
    let then = async {
        waits(&bench).await;
        bench.place.clock.advance(S);
    };
    let one = json!({ "wait_s": 1 });
    let (message, ()) = tokio::join!(bench.refused("/v1/marks", one, "not_settled"), then);
    assert!(message.contains("1 s"), "{message}");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn what_is_done_meanwhile_drops_a_mark_that_waits_with_a_word() {
    let bench = moved().await;
    for (what, path, body, word) in [
        (
            "leaving it",
            "/v1/presses/leave",
            json!({}),
            "the user said so",
        ),
        (
            "a typed mark",
            "/v1/marks",
            json!({ "value": "0.0120" }),
            "another mark",
        ),
        (
            "the clamp",
            "/v1/clamp",
            json!({ "tight": true }),
            "the clamp was changed",
        ),
        (
            "the end of the step",
            "/v1/steps/current/close",
            json!({}),
            "the step was closed",
        ),
        (
            "the end of the session",
            "/v1/sessions/current/close",
            json!({}),
            "the session was closed",
        ),
    ] {
        if bench.status().await.step.is_none() {
            bench.done("/v1/steps", json!({ "kind": "zero" })).await;
        }
        let before = marks(&bench).await;
        let (status, refusal) = meanwhile(&bench, async {
            bench
                .refused("/v1/marks/undo", json!({}), "press_asked")
                .await;
            bench
                .refused("/v1/marks", json!({ "station": "Q" }), "unknown_name")
                .await;
            assert!(
                bench.status().await.waiting.is_some(),
                "a refusal drops nothing"
            );
            bench.done(path, body).await;
        })
        .await;
        assert_eq!(
            (status, &refusal["code"]),
            (409, &json!("cancelled")),
            "{what}"
        );
        let message = refusal["message"].as_str().unwrap();
        assert!(message.contains(word), "{what}: {message}");
        let notice = bench.status().await.notice.unwrap_or_default();
        assert!(
            what == "leaving it" || notice.contains(word),
            "{what}: {notice}"
        );
        // Resting, it would have been taken by now.
        reads(&bench, &[112; 60]).await;
        assert!(
            marks(&bench).await <= before + usize::from(what == "a typed mark"),
            "{what}"
        );
        move_away(&bench).await;
    }
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn another_mark_waits_in_place_of_the_one_before() {
    let bench = moved().await;
    let second = async {
        waits(&bench).await;
        bench.post("/v1/marks", json!({ "station": "B" })).await
    };
    let rest = async {
        bench
            .until(|s| s.waiting.as_ref().is_some_and(|w| w.place.is_some()))
            .await;
        reads(&bench, &[112; 20]).await;
    };
    let first = bench.post("/v1/marks", json!({}));
    let (first, second, ()) = soon(async { tokio::join!(first, second, rest) }).await;
    assert_eq!((first.0, &first.1["code"]), (409, &json!("cancelled")));
    assert_eq!((second.0, &second.1["station"]), (200, &json!("B")));
    assert_eq!(marks(&bench).await, 1);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_mark_that_waits_is_refused_at_once_when_its_cable_is_lost() {
    let bench = moved().await;
    let (status, refusal) = meanwhile(&bench, async {
        bench
            .state("bench", CableState::Gone, Some("unplugged"))
            .await;
    })
    .await;
    assert_eq!((status, &refusal["code"]), (409, &json!("cable_not_live")));
    assert!(
        refusal["message"].as_str().unwrap().contains("unplugged"),
        "{refusal}"
    );
    // What cannot rest at all never waits.
    bench
        .refused("/v1/marks", json!({}), "cable_not_live")
        .await;
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_mark_whose_client_has_gone_is_not_made() {
    let bench = moved().await;
    tokio::select! {
        _ = bench.post("/v1/marks", json!({})) => panic!("it cannot be answered yet"),
        _ = waits(&bench) => {}
    }
    bench.until(|status| status.waiting.is_none()).await;
    reads(&bench, &[112; 60]).await;
    assert_eq!(marks(&bench).await, 0);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_mark_that_waits_does_not_keep_the_daemon_from_stopping() {
    let bench = moved().await;
    let begun = Instant::now();
    let stop = async {
        waits(&bench).await;
        bench.post("/v1/stop", json!({})).await
    };
    let ((status, refusal), stopped) = tokio::join!(bench.post("/v1/marks", json!({})), stop);
    assert_eq!(
        (status, stopped.0, &refusal["code"]),
        (409, 200, &json!("cancelled"))
    );
    bench.ended().await.1.unwrap();
    // While requests are answered the daemon waits 5 s for them.
    assert!(
        begun.elapsed() < Duration::from_secs(4),
        "{:?}",
        begun.elapsed()
    );
}

#[tokio::test]
async fn a_pedal_s_mark_waits_too() {
    let bench = moved().await;
    bench
        .until(|s| {
            s.pedal
                .as_ref()
                .is_some_and(|p| p.state == CableState::Live)
        })
        .await;
    let foot = &bench.place.foot;
    foot.key(ENTER, 1);
    waits(&bench).await;
    reads(&bench, &[112; 20]).await;
    bench.until(|status| status.marks.len() == 1).await;
    // Undo drops what waits, and takes back nothing that is there.
    move_away(&bench).await;
    foot.key(ENTER, 1);
    waits(&bench).await;
    foot.key(BACKSPACE, 1);
    bench.until(|status| status.waiting.is_none()).await;
    assert_eq!(marks(&bench).await, 1);
    // Nobody waits for its answer, so the screens say what became of it.
    bench.place.clock.advance(S);
    move_away(&bench).await;
    foot.key(ENTER, 1);
    waits(&bench).await;
    bench.place.clock.advance(6 * S);
    let told = |s: &Status| s.notice.as_ref().is_some_and(|n| n.contains("moved by"));
    bench.until(told).await;
    assert_eq!(marks(&bench).await, 1);
    bench.stop().await.1.unwrap();
}
