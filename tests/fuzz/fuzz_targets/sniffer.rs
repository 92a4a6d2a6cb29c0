//! Any bytes, to the sniffer of any shipped frame: bounded, counted, and the same however they are cut.
//!
//! The first byte chooses the frame, the second one how the bytes are cut and where silences are. With a frame's name
//! in FUZZ_FRAME every run is that frame's.

#![no_main]

use conewright_metrology::{Length, Unit};
use conewright_protocol::frame::{Decoded, Frame, Sniffer};
use libfuzzer_sys::fuzz_target;

fn run(frame: &Frame, known: bool, pieces: &[&[u8]], cut: usize) -> (Vec<Decoded>, u64, String) {
    let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
    let mut values = Vec::new();
    if known {
        sniffer.pause(&mut |value| values.push(value));
    }
    let mut bytes = 0;
    for piece in pieces {
        for part in piece.chunks(cut) {
            sniffer.push(part, &mut |value| values.push(value));
            assert!(sniffer.waiting_bytes() <= 512);
        }
        sniffer.pause(&mut |value| values.push(value));
        bytes += piece.len() as u64;
    }
    sniffer.reset();
    assert_eq!(sniffer.waiting_bytes(), 0);
    assert!(sniffer.skipped_bytes() <= bytes);
    let skipped = sniffer.last_skipped();
    assert!(skipped.chars().count() <= 64 && !skipped.contains(char::is_control));
    for value in &values {
        assert!(value.value.abs() <= Length::LIMIT && value.resolution > Length::ZERO);
    }
    (values, sniffer.skipped_bytes(), sniffer.last_skipped())
}

fuzz_target!(|data: &[u8]| {
    let [frame, how, stream @ ..] = data else {
        return;
    };
    let names = Frame::names();
    let chosen = std::env::var("FUZZ_FRAME");
    let name = match &chosen {
        Ok(name) => name,
        Err(_) => names[usize::from(*frame) % names.len()],
    };
    let Some(frame) = Frame::shipped(name) else {
        panic!("{name} is not shipped");
    };
    let known = how & 1 == 1;
    let cut = usize::from(how >> 1 & 7) + 1;
    // A silence every so many bytes, or none but at the end.
    let piece = match how >> 4 {
        0 => stream.len().max(1),
        n => usize::from(n) * 3,
    };
    let pieces: Vec<&[u8]> = stream.chunks(piece).collect();
    let whole = run(&frame, known, &pieces, usize::MAX);
    assert_eq!(run(&frame, known, &pieces, cut), whole, "{name}");
});
