//! Characters that came damaged, anywhere in a stream.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod shipped;

use conewright_protocol::frame::{Frame, Sniffer};
use metrology::{Length, Unit};
use proptest::prelude::*;
use shipped::{coded, shipped, sniff, values};

/// Values whose digits differ in every place, so that a wrong one shows.
const COUNTS: [i64; 6] = [123_456, -123_456, 7, -7, 0, 98_765];

/// A character with a wrong parity or stop bit comes as NUL in a text, and marked where NUL is a byte like any other:
/// in place of a byte, in front of it and behind the last.
#[test]
fn a_damaged_character_gives_no_false_value() {
    for (name, frame) in shipped() {
        for first in COUNTS {
            let (a, bytes) = coded(name, &frame, first);
            if frame.has_any_byte() {
                for (at, behind) in (0..=bytes.len()).flat_map(|at| [(at, at), (at, at + 1)]) {
                    let Some(rest) = bytes.get(behind..) else {
                        continue;
                    };
                    let (mut got, mut sniffer) = sniff(&frame, true, &[&[]]);
                    sniffer.push(&bytes[..at], &mut |d| got.push(d));
                    sniffer.damaged(&mut |d| got.push(d));
                    sniffer.push(rest, &mut |d| got.push(d));
                    sniffer.pause(&mut |d| got.push(d));
                    // Where a frame ends and starts by itself, damage beside it is none of its own.
                    let beside = name != "bits24" && behind == at && [0, bytes.len()].contains(&at);
                    let expected = if beside { vec![a] } else { vec![] };
                    assert_eq!(values(&got), expected, "{name} damaged at {at}");
                    assert!(sniffer.skipped_bytes() > 0, "{name}");
                    if name == "bits24" {
                        // What is left of it is no proof of the next one.
                        for expected in [vec![], vec![a]] {
                            sniffer.push(&bytes, &mut |d| got.push(d));
                            sniffer.pause(&mut |d| got.push(d));
                            assert_eq!(values(&got), expected, "damaged at {at}");
                        }
                    }
                }
                continue;
            }
            for at in 0..bytes.len() {
                let mut damaged = bytes.clone();
                damaged[at] = 0;
                for (known, behind) in [(true, &[][..]), (false, &bytes[..]), (true, &bytes[..])] {
                    let (got, sniffer) = sniff(&frame, known, &[&damaged, behind]);
                    let wrong = got.iter().find(|d| d.value != a);
                    assert_eq!(wrong, None, "{name}: {}", damaged.escape_ascii());
                    assert!(got.len() < 2 || sniffer.skipped_bytes() > 0, "{name}");
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Bytes, damaged characters and silences in any order: all is counted, nothing piles up, and a damaged character
    /// within a frame is never part of a value.
    #[test]
    fn damage_and_silence_may_come_anywhere(
        events in prop::collection::vec((prop::collection::vec(any::<u8>(), 0..9), 0_u8..3, -999_i64..999), 0..60),
    ) {
        for (name, frame) in shipped() {
            let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
            let (mut bytes, mut taken) = (0, 0_u64);
            for (garbage, what, count) in &events {
                let whole = coded(name, &frame, *count).1;
                let piece = if count % 2 == 0 { &whole } else { garbage };
                sniffer.push(piece, &mut |_| taken += 1);
                bytes += piece.len() as u64;
                match what {
                    0 => sniffer.pause(&mut |_| taken += 1),
                    1 => {
                        sniffer.damaged(&mut |_| taken += 1);
                        bytes += 1;
                        if frame.has_any_byte() {
                            prop_assert_eq!(sniffer.waiting_bytes(), 0, "{}", name);
                        }
                    }
                    _ => {}
                }
                prop_assert!(sniffer.waiting_bytes() <= 512, "{}", name);
            }
            sniffer.reset();
            // A value takes three bytes at least, or two where it is typed.
            prop_assert!(sniffer.skipped_bytes() + 2 * taken <= bytes, "{}", name);
        }
    }
}

#[test]
fn three_bytes_are_believed_when_three_agree() {
    let frame = Frame::shipped("bits24").unwrap();
    let found = |sent: &[(i64, Unit)]| {
        let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
        let mut count = 0;
        sniffer.pause(&mut |_| ());
        for (um, unit) in sent {
            let bytes = frame.encode(Length::from_um(*um), Length::from_um(10), *unit);
            sniffer.push(&bytes.unwrap(), &mut |_| count += 1);
            sniffer.pause(&mut |_| count += 1);
        }
        count
    };
    let (mm, inch) = (Unit::Mm, Unit::In);
    assert_eq!(found(&[(0, mm), (0, mm)]), 0);
    assert_eq!(found(&[(0, mm), (0, mm), (0, mm)]), 1);
    // Within 10 mm of the one before, each of them, and in its unit.
    assert_eq!(found(&[(0, mm), (10_000, mm), (20_000, mm)]), 1);
    assert_eq!(found(&[(0, mm), (0, mm), (10_010, mm)]), 0);
    assert_eq!(found(&[(0, mm), (10_010, mm), (10_010, mm)]), 0);
    assert_eq!(found(&[(0, mm), (0, mm), (0, inch)]), 0);
    assert_eq!(found(&[(0, mm), (0, inch), (0, inch)]), 0);
    // What is believed may jump, and change its unit.
    assert_eq!(
        found(&[(0, mm), (0, mm), (0, mm), (90_000, mm), (0, inch)]),
        3
    );
}
