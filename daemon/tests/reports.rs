//! Captures as users have sent them, played through a virtual cable into the task that serves real ones: the readings are
//! those that are stated beside the capture.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

mod listener;

use conewright_daemon::cable::{CableEventKind, Replay, replay_lines};
use config::Config;
use listener::Listener;
use metrology::Length;
use protocol::api::CableState;
use protocol::capture::{Capture, Entry};
use std::path::{Path, PathBuf};

/// Longer captures are run by the sniffer's test alone, which needs no time.
const LONGEST_NS: i64 = 3_000_000_000;

fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../protocol/tests/reports");
    let files = std::fs::read_dir(folder).unwrap();
    files
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "capture"))
        .collect()
}

fn stated(path: &Path, unit: &str) -> Vec<Length> {
    let text = std::fs::read_to_string(path.with_extension("expected")).unwrap();
    let parsed = Capture::parse(&format!("conewright capture 1\nunit: {unit}\n\n{text}")).unwrap();
    let values = parsed.entries.iter().filter_map(|entry| match entry {
        Entry::Value(value) => Some(value.value),
        Entry::Bytes(_) | Entry::Skipped(_) => None,
    });
    values.collect()
}

/// The readings that the cable's task tells of a replay, until everything was said and read.
async fn heard(capture: &Capture) -> Vec<Length> {
    let replay = Replay::start(capture, 1.0, None).unwrap();
    let path = replay.path().unwrap();
    let lines = replay_lines(capture, "bench", &path).unwrap();
    let config = Config::parse(&lines, "the replay's own lines").unwrap();
    let mut listener = Listener::of(config.cables[0].clone());
    let mut values = Vec::new();
    // The end is followed by nothing, which a stream tells as stale and a press as quiet.
    loop {
        match listener.next().await {
            CableEventKind::Reading { value, .. } => values.push(value),
            CableEventKind::State {
                state: CableState::Stale | CableState::Quiet,
                ..
            } if replay.is_over().unwrap() => break,
            _ => {}
        }
    }
    listener.stop().await;
    values
}

#[tokio::test]
async fn reports_are_heard_as_they_are_stated() {
    let mut played = 0;
    for path in files() {
        let capture = Capture::parse(&std::fs::read_to_string(&path).unwrap()).unwrap();
        if capture
            .chunks()
            .last()
            .is_none_or(|last| last.at_ns > LONGEST_NS)
        {
            continue;
        }
        played += 1;
        let values = heard(&capture).await;
        let unit = capture.get("unit").unwrap_or("mm");
        assert_eq!(values, stated(&path, unit), "{}", path.display());
    }
    assert!(played > 0, "no report is short enough to be played");
}

/// A replay that is faster than its listener reads loses nothing: the port's buffer holds 4 kB, and this is forty times that.
#[tokio::test]
async fn a_replay_waits_for_room() {
    let mut text = String::from(
        "conewright capture 1\nsettings: 115200 8N1\nframe: text\nunit: mm\ncadence: streams\n\n",
    );
    let chunk = protocol::capture::Chunk {
        bytes: (0..13_000_u32)
            .flat_map(|n| format!("+{:06.3} mm\r\n", f64::from(n) / 1000.0).into_bytes())
            .collect(),
        ..Default::default()
    };
    text.push_str(&protocol::capture::chunk_line(&chunk));
    let capture = Capture::parse(&text).unwrap();
    let values = heard(&capture).await;
    let wanted: Vec<Length> = (0..13_000).map(Length::from_um).collect();
    assert_eq!(values.len(), wanted.len());
    assert_eq!(values, wanted);
}
