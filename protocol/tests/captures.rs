//! Captures of frames, good and damaged, and what must come out of them.
//!
//! Each file states its frame, a legend, and behind the bytes the values that have to be there by then. All
//! are invented after the forms of frames; none is of a particular instrument.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod stored;

use conewright_protocol::capture::{self, Capture, Chunk, Entry};
use conewright_protocol::frame::{Decoded, Frame};
use metrology::Unit;
use std::collections::BTreeMap;
use std::path::Path;
use stored::cut;

fn check(path: &Path) {
    let name = path.file_stem().unwrap().to_string_lossy();
    let capture = Capture::parse(&std::fs::read_to_string(path).unwrap())
        .unwrap_or_else(|error| panic!("{name}: {error}"));
    assert!(
        capture.get("legend").is_some_and(|l| l.len() > 10),
        "{name}"
    );
    let frame = capture
        .frame()
        .unwrap_or_else(|error| panic!("{name}: {error}"));
    let bare = Unit::from_sign(capture.get("unit").unwrap()).unwrap();
    let speed = capture.bits_per_second().unwrap();

    // What is stated: each value with the number of chunks above it.
    let mut stated: Vec<(usize, Decoded)> = Vec::new();
    let (mut chunks, mut skipped) = (0, None);
    for entry in &capture.entries {
        match entry {
            Entry::Bytes(_) => chunks += 1,
            Entry::Value(value) => stated.push((chunks, *value)),
            Entry::Skipped(count) => skipped = Some(*count),
        }
    }
    let replayed = capture::replay(capture.chunks(), &frame, bare, speed);
    assert_eq!(replayed.values, stated, "{name}: values");
    assert_eq!(Some(replayed.skipped_bytes), skipped, "{name}: skipped");

    // However the bytes are cut, the same comes out.
    let whole: Vec<Chunk> = capture.chunks().cloned().collect();
    let values: Vec<Decoded> = stated.iter().map(|(_, value)| *value).collect();
    for size in 1..8 {
        let again = capture::replay(&cut(&whole, size), &frame, bare, speed);
        let got: Vec<Decoded> = again.values.iter().map(|(_, value)| *value).collect();
        assert_eq!(got, values, "{name}: cut by {size}");
        assert_eq!(Some(again.skipped_bytes), skipped, "{name}: cut by {size}");
    }

    // Writing it and reading it again changes nothing.
    assert_eq!(
        Capture::parse(&capture.to_string()).unwrap(),
        capture,
        "{name}"
    );
}

#[test]
fn captures_give_what_they_state() {
    // All of them are looked at, so that one failure does not hide the others.
    let failed: Vec<_> = stored::captures("captures")
        .into_iter()
        .filter(|path| std::panic::catch_unwind(|| check(path)).is_err())
        .collect();
    assert!(failed.is_empty(), "{failed:#?}");
}

#[test]
fn every_shipped_frame_has_a_good_and_a_damaged_capture() {
    let mut good: BTreeMap<String, [u32; 2]> = BTreeMap::new();
    for path in stored::captures("captures") {
        let capture = Capture::parse(&std::fs::read_to_string(path).unwrap()).unwrap();
        let damaged = !capture.entries.contains(&Entry::Skipped(0));
        let name = capture.get("frame").unwrap().to_owned();
        good.entry(name).or_default()[usize::from(damaged)] += 1;
    }
    for name in Frame::names() {
        let [good, damaged] = good.get(*name).copied().unwrap_or_default();
        // A frame that refuses by its nature may have its good lines in a damaged capture.
        assert!(
            good + damaged >= 2 && damaged >= 1,
            "{name}: {good} {damaged}"
        );
    }
}
