//! Captures as users have sent them, and what must come out of each: `reports/README.md` says how one is added.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod stored;

use conewright_protocol::capture::{self, Capture, Chunk, Entry};
use conewright_protocol::frame::Decoded;
use metrology::Unit;
use std::path::Path;
use stored::cut;

/// What is stated beside a capture: the values, and the bytes that are part of no frame.
fn stated(path: &Path, unit: &str) -> Result<(Vec<Decoded>, u64), String> {
    let beside = path.with_extension("expected");
    let text = std::fs::read_to_string(&beside)
        .map_err(|error| format!("{}: {error}", beside.display()))?;
    let parsed = Capture::parse(&format!("conewright capture 1\nunit: {unit}\n\n{text}"));
    let parsed = parsed.map_err(|error| format!("{}: {error}", beside.display()))?;
    let mut values = Vec::new();
    let mut skipped = None;
    for entry in parsed.entries {
        match entry {
            Entry::Value(value) => values.push(value),
            Entry::Skipped(count) => skipped = Some(count),
            Entry::Bytes(_) => return Err(format!("{}: bytes in it", beside.display())),
        }
    }
    let skipped = skipped.ok_or_else(|| format!("{}: no line `skipped`", beside.display()))?;
    Ok((values, skipped))
}

fn check(path: &Path) -> Result<(), String> {
    let wrong = |what: String| format!("{}: {what}", path.display());
    let text = std::fs::read_to_string(path).unwrap();
    let capture = Capture::parse(&text).map_err(|e| wrong(e.to_string()))?;
    let frame = capture.frame().map_err(|e| wrong(e.to_string()))?;
    let unit = capture.get("unit").unwrap_or("mm");
    let bare = Unit::from_sign(unit).ok_or_else(|| wrong(format!("the unit {unit}")))?;
    let speed = capture
        .bits_per_second()
        .ok_or_else(|| wrong("no speed in `settings`".to_owned()))?;
    let whole: Vec<Chunk> = capture.chunks().cloned().collect();
    let came_out = |chunks: &[Chunk]| {
        let replayed = capture::replay(chunks, &frame, bare, speed);
        let values: Vec<Decoded> = replayed.values.into_iter().map(|(_, v)| v).collect();
        (values, replayed.skipped_bytes)
    };
    let got = came_out(&whole);
    for size in 1..8 {
        if came_out(&cut(&whole, size)) != got {
            return Err(wrong(format!(
                "cut into pieces of {size} it gives something else"
            )));
        }
    }
    let told = |(values, skipped): &(Vec<Decoded>, u64)| {
        let mut lines: String = values
            .iter()
            .map(|v| capture::value_line(v, bare))
            .collect();
        lines.push_str(&capture::skipped_line(*skipped));
        lines
    };
    let expected = stated(path, unit).map_err(|why| {
        format!(
            "{why}\nwhat came out, to be compared by eye:\n{}",
            told(&got)
        )
    })?;
    if got == expected {
        return Ok(());
    }
    Err(wrong(format!(
        "expected\n{}came out\n{}",
        told(&expected),
        told(&got)
    )))
}

#[test]
fn reports_give_what_was_read_from_them_by_eye() {
    let files = stored::captures("reports");
    assert!(!files.is_empty());
    // All of them are looked at, so that one failure does not hide the others.
    let wrong: Vec<String> = files.iter().filter_map(|path| check(path).err()).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}
