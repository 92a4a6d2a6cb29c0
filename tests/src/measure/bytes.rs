//! From bytes to readings: the sniffer with its decoder, beside `memchr` finding the line ends of the same bytes, one by one.

use super::stats::in_turn;
use super::{Line, rounds};
use metrology::{Length, Unit};
use protocol::frame::{Frame, Sniffer};
use std::hint::black_box;

const ROUNDS: usize = 15;
const READINGS: i64 = 500_000;
/// What one `read` of a port gives at most.
const READ: usize = 4_096;
/// Of the rate of `memchr`, what is promised.
const SHARE: f64 = 0.25;

pub(super) fn row() -> Vec<Line> {
    let frame = Frame::shipped("text").unwrap();
    let bytes: Vec<u8> = (0..READINGS)
        .flat_map(|n| {
            let value = Length::from_um(n * 37 % 12_345 - 6_000);
            frame
                .encode(value, Length::from_um(1), Unit::Mm)
                .unwrap_or_default()
        })
        .collect();
    let mut sniffer = Sniffer::new(frame, Unit::Mm);
    let mut found = 0;
    let mut ends = 0;
    let [ours, theirs] = in_turn(
        rounds(ROUNDS),
        || {
            found = 0;
            for read in black_box(&bytes).chunks(READ) {
                sniffer.push(read, &mut |decoded| {
                    black_box(decoded);
                    found += 1;
                });
            }
        },
        || {
            ends = 0;
            for end in memchr::memchr_iter(b'\n', black_box(&bytes)) {
                black_box(end);
                ends += 1;
            }
        },
    );
    assert_eq!((found, ends), (READINGS, READINGS));
    let rate = |ms: f64| bytes.len() as f64 / 1e6 / ms * 1e3;
    let (ours, theirs) = (rate(ours.median()), rate(theirs.median()));
    vec![
        Line::told(
            "decode and frame (`text`; no allocation, as `protocol/tests/allocations.rs` holds)",
            format!(
                "{ours:.0} MB/s, {:.1} ns a reading",
                1e9 / READINGS as f64 * bytes.len() as f64 / 1e6 / ours
            ),
        )
        .beside(format!("memchr {theirs:.0} MB/s"), ours / theirs)
        .reach(format!("at least {SHARE}"), ours >= SHARE * theirs),
    ]
}
