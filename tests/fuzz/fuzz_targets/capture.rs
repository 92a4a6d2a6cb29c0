//! Any text as a capture: refused with its line, or written and read again without a change, and replayed
//! and identified without a panic.

#![no_main]

use conewright_metrology::Unit;
use conewright_protocol::capture::{self, Capture, Chunk};
use conewright_protocol::frame::Frame;
use conewright_protocol::identify::{Sample, identify};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let capture = match Capture::parse(text) {
        Ok(capture) => capture,
        Err(error) => {
            assert!(error.line >= 1 && !error.why.to_string().is_empty());
            return;
        }
    };
    let again = Capture::parse(&capture.to_string());
    assert_eq!(again.as_ref(), Ok(&capture), "{capture}");
    let speed = capture.bits_per_second().unwrap_or(9600);
    let chunks: Vec<Chunk> = capture.chunks().cloned().collect();
    // A damaged character is skipped as well, and is none of the bytes.
    let characters = |chunk: &Chunk| chunk.bytes.len() + usize::from(chunk.damaged);
    let sent: usize = chunks.iter().map(characters).sum();
    for name in Frame::names() {
        let Some(frame) = Frame::shipped(name) else {
            panic!("{name} is not shipped");
        };
        let replayed = capture::replay(&chunks, &frame, Unit::Mm, speed);
        assert!(replayed.skipped_bytes <= sent as u64);
    }
    let sample = Sample {
        settings: (),
        speed,
        chunks,
        line_errors: None,
    };
    let _ = identify(&[sample]);
});
