//! The pedal through a whole daemon: its keys are a test's own, everything above them is not.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, MS, Place, soon, streaming};
use conewright_daemon::cable::Fault;
use config::{Config, Pedal, PedalAction, PedalSelector};
use protocol::api::{CableState, Status};
use serde_json::json;

/// Codes of the kernel's table: enter, backspace, n, c, and one that is not named.
const ENTER: u16 = 28;
const BACKSPACE: u16 = 14;
const N: u16 = 49;
const C: u16 = 46;
const OTHER: u16 = 30;

fn place(keys: &[(u16, PedalAction)]) -> Place {
    let device = PedalSelector {
        name: Some("foot switch".to_owned()),
        ..PedalSelector::default()
    };
    let keys = keys.to_vec();
    Place::new(Config {
        pedal: Some(Pedal { device, keys }),
        ..streaming()
    })
}

fn named() -> Place {
    place(&[
        (ENTER, PedalAction::Mark),
        (BACKSPACE, PedalAction::Undo),
        (N, PedalAction::NewRound),
        (C, PedalAction::Clamp),
    ])
}

async fn pedal_is(bench: &Bench, state: CableState) -> Status {
    let is = |status: &Status| status.pedal.as_ref().is_some_and(|p| p.state == state);
    bench.until(is).await
}

/// A press and its release, a second after what was before.
fn press(bench: &Bench, key: u16) {
    bench.place.clock.advance(1_000 * MS);
    bench.place.foot.key(key, 1);
    bench.place.foot.key(key, 0);
}

async fn marks(bench: &Bench, count: usize) -> Status {
    bench.until(|status| status.marks.len() == count).await
}

async fn noticed(bench: &Bench, words: &str) -> String {
    let shown = |status: &Status| status.notice.as_ref().is_some_and(|n| n.contains(words));
    bench.until(shown).await.notice.unwrap()
}

#[tokio::test]
async fn its_keys_do_what_they_are_for() {
    let bench = named().start();
    pedal_is(&bench, CableState::Live).await;
    bench.open_zero().await;
    bench.dwell("bench", 3).await;
    // At once: a mark is of the moment when the key went down, and the dwell must still be there.
    bench.place.foot.key(ENTER, 1);
    bench.place.foot.key(ENTER, 0);
    let status = marks(&bench, 1).await;
    assert_eq!(status.marks[0].station.as_deref(), Some("A"));
    assert_eq!(status.next_station.as_deref(), Some("B"));
    press(&bench, BACKSPACE);
    marks(&bench, 0).await;
    bench.dwell("bench", 3).await;
    bench.place.foot.key(N, 1);
    let status = marks(&bench, 1).await;
    assert_eq!(status.marks[0].station.as_deref(), Some("A"));
    press(&bench, C);
    bench.until(|status| status.clamped).await;
    press(&bench, C);
    bench.until(|status| !status.clamped).await;
    // A key without work says what would give it some.
    press(&bench, OTHER);
    let notice = noticed(&bench, "`a` has no action").await;
    assert!(notice.contains("a = \"mark\""), "{notice}");
    assert_eq!(bench.status().await.marks.len(), 1);
}

#[tokio::test]
async fn without_names_every_key_marks_and_a_refusal_is_reported() {
    let bench = place(&[]).start();
    pedal_is(&bench, CableState::Live).await;
    press(&bench, OTHER);
    let notice = noticed(&bench, "the pedal's press was rejected").await;
    // It stays while somebody looks up from the part: the engine has looked at its clocks in between.
    tokio::time::sleep(std::time::Duration::from_millis(1_500)).await;
    assert_eq!(bench.status().await.notice, Some(notice));
    bench.open_zero().await;
    // No reading has come: there is nothing to mark.
    press(&bench, OTHER);
    noticed(&bench, "`bench`").await;
    bench.dwell("bench", 3).await;
    bench.place.foot.key(N, 1);
    marks(&bench, 1).await;
}

#[tokio::test]
async fn a_second_press_at_once_is_asked_about_and_a_held_key_is_one() {
    let bench = place(&[]).start();
    pedal_is(&bench, CableState::Live).await;
    bench.open_zero().await;
    bench.dwell("bench", 3).await;
    let foot = &bench.place.foot;
    foot.key(ENTER, 1);
    for _ in 0..50 {
        foot.key(ENTER, 2);
    }
    foot.key(ENTER, 0);
    marks(&bench, 1).await;
    // 299 ms after the first: the daemon's clock stood still till now.
    bench.place.clock.advance(299 * MS);
    foot.key(ENTER, 1);
    foot.key(ENTER, 0);
    noticed(&bench, "twice within 0.3 s").await;
    assert_eq!(bench.status().await.marks.len(), 1);
    // 300 ms after that it is a press like any other.
    bench.dwell("bench", 3).await;
    foot.key(ENTER, 1);
    marks(&bench, 2).await;
}

#[tokio::test]
async fn it_leaves_and_comes_back_and_says_what_stands_in_its_way() {
    let place = place(&[]);
    place.foot.set(Some(Fault::Denied("mode 0600".to_owned())));
    let bench = place.start();
    let status = pedal_is(&bench, CableState::Denied).await;
    let pedal = status.pedal.unwrap();
    assert_eq!(pedal.device, "\"foot switch\"");
    assert_eq!(pedal.detail.as_deref(), Some("mode 0600"));
    assert!(status.notice.unwrap().contains("mode 0600"));
    bench.place.foot.set(Some(Fault::Busy("held".to_owned())));
    pedal_is(&bench, CableState::Busy).await;
    bench.place.foot.set(None);
    pedal_is(&bench, CableState::Live).await;
    bench.open_zero().await;
    bench.place.foot.pull();
    pedal_is(&bench, CableState::Gone).await;
    bench.place.foot.set(None);
    let status = pedal_is(&bench, CableState::Live).await;
    assert!(status.notice.is_none());
    bench.dwell("bench", 3).await;
    bench.place.foot.key(ENTER, 1);
    marks(&bench, 1).await;
    bench.done("/v1/steps/current/close", json!({})).await;
    let record = bench.record().await.to_string();
    for words in ["the pedal left", "the pedal is back"] {
        assert!(record.contains(words), "{record}");
    }
}

#[tokio::test]
async fn a_configuration_without_it_lets_it_go() {
    let bench = named().start();
    pedal_is(&bench, CableState::Live).await;
    *bench.place.reload.lock().unwrap() = Some(Ok(streaming()));
    bench.until(|status| status.pedal.is_none()).await;
    let (_, ended) = soon(bench.stop()).await;
    ended.unwrap();
}
