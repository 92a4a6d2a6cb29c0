//! Another instrument under the name of a cable, and a reading that jumps while the cable is out.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;
mod listener;

use bench_daemon::{Bench, MS, Place, cable, events, streaming};
use conewright_daemon::cable::{CableEventKind, Fault, Opened, Opener};
use conewright_daemon::clock::Clock;
use config::{Cadence, Config};
use listener::{Listener, STREAMS, paused};
use protocol::api::{CableState, Status};
use serde_json::json;
use std::path::{Path, PathBuf};
use tokio::io::{AsyncWriteExt, DuplexStream, duplex};
use tokio::sync::mpsc;

const OWN: &str = "0403:6001:OWN interface 0";
const OTHER: &str = "0403:6001:OTHER interface 0";

/// A daemon with a zero step and mark 1 at A, whose cable was then pulled.
async fn pulled() -> Bench {
    let bench = Place::new(streaming()).start();
    bench.instrument("bench", OWN).await;
    bench.open_zero().await;
    bench.dwell("bench", 12).await;
    bench.mark(json!({ "station": "A" })).await;
    bench.state("bench", CableState::Gone, Some("pulled")).await;
    bench
}

/// Readings of now that the daemon does not take.
async fn unheard(bench: &Bench, um: i64) {
    let now = bench.place.clock.steady_ns();
    for i in 0..20 {
        bench.reading("bench", um, now - (19 - i) * 40 * MS).await;
    }
}

async fn notes(bench: &Bench) -> String {
    let texts: Vec<_> = events(&bench.record().await)
        .into_iter()
        .map(|(_, text)| text)
        .collect();
    texts.join("\n")
}

#[tokio::test]
async fn another_instrument_is_not_marked_with_until_it_is_accepted() {
    let bench = pulled().await;
    let readings = bench.readings("bench").await;
    bench.instrument("bench", OTHER).await;
    bench.state("bench", CableState::Live, None).await;
    unheard(&bench, 77_000).await;
    let status = bench
        .until(|s| s.cables[0].other_instrument.is_some())
        .await;
    let shown = &status.cables[0];
    assert_eq!(shown.state, CableState::Denied);
    assert_eq!(shown.instrument.as_deref(), Some(OWN));
    assert_eq!(shown.other_instrument.as_deref(), Some(OTHER));
    let detail = shown.detail.as_deref().unwrap();
    assert!(detail.contains("conewright cable accept bench"), "{detail}");
    assert_eq!(bench.readings("bench").await, readings, "none counts");
    let message = bench
        .refused("/v1/marks", json!({ "station": "B" }), "instrument_asked")
        .await;
    assert!(
        message.contains(OTHER) && message.contains(OWN),
        "{message}"
    );

    let accepted = bench
        .done("/v1/cables/accept", json!({ "cable": "bench" }))
        .await;
    assert_eq!(accepted["instrument"], OTHER);
    assert_eq!(accepted["new_round"], true);
    bench.dwell("bench", 77_000).await;
    let marked = bench.mark(json!({})).await;
    // Two zeros are never of one round.
    assert_eq!(
        (&marked["round"], &marked["station"]),
        (&json!(2), &json!("A"))
    );
    let notes = notes(&bench).await;
    for words in [
        "another instrument has taken the place of the cable `bench`",
        "the user accepted another instrument for the cable `bench`",
    ] {
        assert!(notes.contains(words), "{notes}");
    }
    assert_eq!(bench.record().await["cables"][0]["instrument"], OTHER);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn the_own_instrument_back_again_goes_on_by_itself() {
    let bench = pulled().await;
    bench.instrument("bench", OTHER).await;
    bench.state("bench", CableState::Live, None).await;
    bench
        .until(|s| s.cables[0].other_instrument.is_some())
        .await;
    bench.state("bench", CableState::Gone, Some("pulled")).await;
    bench.instrument("bench", OWN).await;
    bench.dwell("bench", 14).await;
    let marked = bench.mark(json!({})).await;
    assert_eq!(
        (&marked["round"], &marked["station"]),
        (&json!(1), &json!("B"))
    );
    bench
        .refused("/v1/cables/accept", json!({}), "bad_value")
        .await;
    bench
        .refused(
            "/v1/cables/accept",
            json!({ "cable": "bnch" }),
            "unknown_name",
        )
        .await;
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_restarted_daemon_knows_the_instrument() {
    let bench = pulled().await;
    bench.until(|s| s.cables[0].state == CableState::Gone).await;
    let (place, ended) = bench.stop().await;
    ended.unwrap();
    let bench = place.start();
    bench.instrument("bench", OTHER).await;
    bench.state("bench", CableState::Live, None).await;
    let status = bench
        .until(|s| s.cables[0].other_instrument.is_some())
        .await;
    assert_eq!(status.cables[0].instrument.as_deref(), Some(OWN));
    bench.stop().await.1.unwrap();
}

/// A port without a USB identity, or the same adapter with another indicator behind it.
#[tokio::test]
async fn a_value_that_jumps_with_the_cable_is_asked_about_once() {
    let bench = pulled().await;
    bench.dwell("bench", 77_000).await;
    let message = bench
        .refused("/v1/marks", json!({}), "instrument_asked")
        .await;
    assert!(
        message.contains("+0.0120 mm before, +77.0000 mm at this mark"),
        "{message}"
    );
    // Asked again it is the same answer: a second press of a pedal makes no mark of it.
    bench
        .refused("/v1/marks", json!({}), "instrument_asked")
        .await;
    assert_eq!(bench.status().await.marks.len(), 1);
    bench.done("/v1/cables/accept", json!({})).await;
    bench.dwell("bench", 77_000).await;
    let marked = bench.mark(json!({})).await;
    assert_eq!(marked["round"], 2);
    let status = bench.status().await;
    assert_eq!(status.cables[0].state, CableState::Live);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_cable_that_was_merely_plugged_in_again_is_not_asked_about() {
    let bench = pulled().await;
    bench.dwell("bench", 15).await;
    let marked = bench.mark(json!({})).await;
    assert_eq!(
        (&marked["round"], &marked["station"]),
        (&json!(1), &json!("B"))
    );
    // That answered it: from here on the indicator may stand anywhere.
    bench.dwell("bench", 500).await;
    bench.mark(json!({ "station": "A" })).await;
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_press_far_from_all_marks_is_asked_about_after_a_plug() {
    let config = Config {
        cables: vec![cable("dial", Cadence::Press)],
        ..Default::default()
    };
    let bench = Place::new(config).start();
    bench.open(json!({ "span": "80" })).await;
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    let press = async |um: i64| {
        bench.place.clock.advance(1_000 * MS);
        let now = bench.place.clock.steady_ns();
        bench.reading("dial", um, now).await;
    };
    press(10).await;
    bench.until(|s| s.marks.len() == 1).await;
    bench.state("dial", CableState::Gone, Some("pulled")).await;
    bench.state("dial", CableState::Quiet, None).await;
    press(77_000).await;
    let asked = |s: &Status| {
        let notice = s.notice.as_deref().unwrap_or_default();
        notice.contains("has jumped while the cable `dial` was out")
    };
    let status = bench.until(asked).await;
    assert_eq!(status.marks.len(), 1);
    press(60).await;
    bench.until(|s| s.marks.len() == 2).await;
    bench.stop().await.1.unwrap();
}

/// Adapters of the test's own, one after the other.
struct Plugged(mpsc::UnboundedReceiver<(DuplexStream, Option<String>)>);

impl Opener for Plugged {
    type Port = DuplexStream;
    async fn open(&mut self) -> Result<Opened<DuplexStream>, Fault> {
        let Ok((port, instrument)) = self.0.try_recv() else {
            return Err(Fault::Gone("nothing there".to_owned()));
        };
        Ok(Opened {
            port,
            path: PathBuf::from("/dev/fake"),
            notes: Vec::new(),
            instrument,
            marked: false,
        })
    }
}

#[tokio::test(start_paused = true)]
async fn a_task_reports_an_instrument_before_its_first_reading_and_only_a_new_one() {
    let (plugs, plugged) = mpsc::unbounded_channel();
    let cable = listener::cable(Path::new("fake"), STREAMS);
    let mut listener = Listener::with(Plugged(plugged), cable, paused());
    for (known_as, reported) in [
        (Some(OWN), true),
        (Some(OWN), false),
        (Some(OTHER), true),
        (None, true),
    ] {
        let (near, mut far) = duplex(4096);
        plugs.send((near, known_as.map(str::to_owned))).unwrap();
        far.write_all(b"+0.001 mm\r\n").await.unwrap();
        let seen = listener
            .until(|kind| matches!(kind, CableEventKind::Reading { .. }))
            .await;
        let told: Vec<_> = seen
            .before
            .into_iter()
            .filter_map(|kind| match kind {
                CableEventKind::Instrument { known_as } => Some(known_as),
                _ => None,
            })
            .collect();
        let wanted: Vec<_> = reported
            .then(|| known_as.map(str::to_owned))
            .into_iter()
            .collect();
        assert_eq!(told, wanted);
        drop(far);
        listener.state(CableState::Gone).await;
    }
    listener.stop().await;
}
