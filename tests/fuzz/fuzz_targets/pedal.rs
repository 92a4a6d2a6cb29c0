//! Any changes of keys, as an input device could tell them, to a pedal's whole task: no press that no key made, none lost
//! but bounce, and the task goes on until the device leaves.
//!
//! Three bytes are one change: the key, low byte first, and what happened to it.

#![no_main]

use conewright_daemon::cable::Fault;
use conewright_daemon::clock::SystemClock;
use conewright_daemon::pedal::{KeyChange, Keys, PedalEvent, PedalOpener, run_with};
use conewright_protocol::api::CableState;
use libfuzzer_sys::fuzz_target;
use std::collections::BTreeSet;
use std::io;
use std::sync::Arc;
use tokio::sync::{mpsc, watch};

struct Told(std::vec::IntoIter<KeyChange>);

impl Keys for Told {
    async fn next(&mut self) -> io::Result<KeyChange> {
        self.0.next().ok_or_else(|| io::Error::other("it left"))
    }
}

struct Once(Option<Told>);

impl PedalOpener for Once {
    type Keys = Told;

    async fn open(&mut self) -> Result<Told, Fault> {
        self.0
            .take()
            .ok_or_else(|| Fault::Gone("it has left".to_owned()))
    }
}

fuzz_target!(|data: &[u8]| {
    let change = |bytes: &[u8]| KeyChange {
        key: u16::from_le_bytes([bytes[0], bytes[1]]),
        value: match bytes[2] {
            usual @ 0..=2 => i32::from(usual),
            other => i32::from_le_bytes([other, bytes[0], bytes[1], other]),
        },
    };
    let changes: Vec<KeyChange> = data.chunks_exact(3).map(change).collect();
    let downs: Vec<u16> = changes
        .iter()
        .filter(|c| c.value == 1)
        .map(|c| c.key)
        .collect();
    let released: BTreeSet<u16> = changes
        .iter()
        .filter(|c| c.value == 0)
        .map(|c| c.key)
        .collect();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_time()
        .build()
        .expect("a runtime");
    let pressed = runtime.block_on(async {
        let (to, mut events) = mpsc::channel(4);
        let (_stop, stopped) = watch::channel(false);
        let opener = Once(Some(Told(changes.into_iter())));
        let task = tokio::spawn(run_with(opener, 7, Arc::new(SystemClock), to, stopped));
        let mut pressed = Vec::new();
        while let Some((number, event)) = events.recv().await {
            assert_eq!(number, 7);
            match event {
                PedalEvent::Pressed { key, .. } => pressed.push(key),
                PedalEvent::State {
                    state: CableState::Live,
                    detail,
                } => assert!(detail.is_none()),
                PedalEvent::State { detail, .. } => {
                    assert!(detail.is_some(), "it says why");
                    break;
                }
            }
        }
        task.abort();
        pressed
    });
    // Each press is a key that went down, in that order; a key that never came up cannot have bounced.
    let mut left = pressed.iter().peekable();
    for key in &downs {
        if left.next_if_eq(&key).is_none() {
            assert!(released.contains(key), "a press of {key} is lost");
        }
    }
    assert!(left.peek().is_none(), "{pressed:?} of {downs:?}");
});
