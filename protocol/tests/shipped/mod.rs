//! Shipped frames: their values as bytes, and what a sniffer finds in pieces of a stream.

#![allow(
    unreachable_pub,
    clippy::unwrap_used,
    reason = "a test's module, and a panic is a test's message"
)]

use conewright_protocol::frame::{Decoded, Frame, Sniffer};
use metrology::{Length, Unit};

/// Makes the left edge known, and for the frame of three bytes the form as well.
pub fn prove(sniffer: &mut Sniffer) {
    if *sniffer.frame() == Frame::shipped("bits24").unwrap() {
        for _ in 0..3 {
            sniffer.pause(&mut |_| {});
            sniffer.push(&[0; 3], &mut |_| {});
        }
    }
    sniffer.pause(&mut |_| {});
}

/// The values in pieces of a stream, and the sniffer afterwards. `known`: it starts after a silence.
pub fn sniff(frame: &Frame, known: bool, pieces: &[&[u8]]) -> (Vec<Decoded>, Sniffer) {
    let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
    let mut values = Vec::new();
    if known {
        prove(&mut sniffer);
    }
    for piece in pieces {
        sniffer.push(piece, &mut |value| values.push(value));
    }
    // The frame of three bytes ends with a silence.
    sniffer.pause(&mut |value| values.push(value));
    (values, sniffer)
}

pub fn shipped() -> Vec<(&'static str, Frame)> {
    Frame::names()
        .iter()
        .map(|name| (*name, Frame::shipped(name).unwrap()))
        .collect()
}

/// The unit, step and largest count that a shipped frame can state.
pub fn span(name: &str) -> (Unit, Length, i64) {
    match name {
        "bits24" | "bits24-hex" => (Unit::Mm, Length::from_um(10), (1 << 20) - 1),
        _ => (Unit::Mm, Length::from_um(1), 999_999),
    }
}

/// A value of a shipped frame with its bytes.
pub fn coded(name: &str, frame: &Frame, count: i64) -> (Length, Vec<u8>) {
    let (unit, step, most) = span(name);
    let value = Length::from_pm(count.clamp(-most, most) * step.pm());
    let bytes = frame.encode(value, step, unit);
    (value, bytes.unwrap_or_else(|| panic!("{name}: {value}")))
}

pub fn values(decoded: &[Decoded]) -> Vec<Length> {
    decoded.iter().map(|d| d.value).collect()
}
