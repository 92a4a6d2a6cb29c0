//! Frames both ways, and what streams of whole, cut, glued and garbled frames may and may not give.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod shipped;

use conewright_protocol::frame::{Decoded, Frame, Modbus, Registers, Sniffer, Width, WordOrder};
use metrology::{Length, Unit};
use proptest::prelude::*;
use shipped::{coded, prove, shipped, sniff, span, values};

fn modbus() -> impl Strategy<Value = Modbus> {
    (
        1_u8..=247,
        any::<bool>(),
        0..u16::MAX,
        any::<[bool; 3]>(),
        1_i64..200_000,
    )
        .prop_map(
            |(address, input, register, [wide, low, signed], step)| Modbus {
                address,
                registers: if input {
                    Registers::Input
                } else {
                    Registers::Holding
                },
                register,
                width: if wide { Width::Bits32 } else { Width::Bits16 },
                words: if low { WordOrder::Low } else { WordOrder::High },
                signed,
                step: Length::from_pm(step * 1_000),
            },
        )
}

proptest! {
    // A failure is made a test of its own; no file is written beside this one.
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn shipped_frames_come_back_as_sent(count in -999_999_i64..=999_999) {
        for (name, frame) in shipped() {
            let (value, bytes) = coded(name, &frame, count);
            let (got, sniffer) = sniff(&frame, true, &[&bytes]);
            prop_assert_eq!(values(&got), vec![value], "{}", name);
            prop_assert_eq!(got[0].resolution, span(name).1, "{}", name);
            let proof = if name == "bits24" { 6 } else { 0 };
            prop_assert_eq!(sniffer.skipped_bytes(), proof, "{}", name);
        }
    }

    #[test]
    fn inch_frames_come_back_as_sent(count in -99_999_i64..=99_999) {
        for name in ["text", "text-unit", "text-status", "text-two-lines", "bcd13", "bcd13-hex", "typed"] {
            let frame = Frame::shipped(name).unwrap();
            let step = Length::from_pm(254_000);
            let value = Length::from_pm(count * step.pm());
            let bytes = frame.encode(value, step, Unit::In).unwrap();
            let (got, _) = sniff(&frame, true, &[&bytes]);
            prop_assert_eq!(values(&got), vec![value], "{}", name);
            prop_assert_eq!((got[0].unit, got[0].resolution), (Some(Unit::In), step), "{}", name);
        }
        let frame = Frame::shipped("bits24").unwrap();
        let value = Length::from_pm(count * 12_700_000);
        let bytes = frame.encode(value, Length::from_pm(12_700_000), Unit::In).unwrap();
        let (got, _) = sniff(&frame, true, &[&bytes]);
        prop_assert_eq!(values(&got), vec![value]);
    }

    #[test]
    fn registers_come_back_as_sent(modbus in modbus(), count in any::<i64>()) {
        let frame = Frame::from_modbus(modbus).unwrap();
        let (low, high) = match (modbus.width, modbus.signed) {
            (Width::Bits16, true) => (i64::from(i16::MIN), i64::from(i16::MAX)),
            (Width::Bits16, false) => (0, i64::from(u16::MAX)),
            (Width::Bits32, true) => (i64::from(i32::MIN), i64::from(i32::MAX)),
            (Width::Bits32, false) => (0, i64::from(u32::MAX)),
        };
        let count = low + count.rem_euclid(high - low + 1);
        let value = Length::from_pm(count * modbus.step.pm());
        let Some(bytes) = frame.encode(value, modbus.step, Unit::Mm) else {
            prop_assert!(value.abs() > Length::LIMIT);
            return Ok(());
        };
        prop_assert!(value.abs() <= Length::LIMIT);
        let request = frame.request().unwrap();
        let (got, sniffer) = sniff(&frame, false, &[&request, &bytes]);
        prop_assert_eq!(got, vec![Decoded::bare(value, modbus.step)]);
        prop_assert_eq!(sniffer.skipped_bytes(), 0);
        prop_assert_eq!(frame.encode(Length::from_pm((high + 1) * modbus.step.pm()), modbus.step, Unit::Mm), None);
    }

    /// Whatever comes, and however it is cut: the same values and counts, and nothing is lost from the count.
    #[test]
    fn cuts_change_nothing(
        parts in prop::collection::vec(
            prop_oneof![
                prop::collection::vec(any::<u8>(), 0..40).prop_map(Err),
                prop::collection::vec(prop::sample::select(b"0123456789+-., mF\r\n\xff".to_vec()), 0..200).prop_map(Err),
                (-2000_i64..2000).prop_map(Ok),
            ],
            0..12,
        ),
        cuts in prop::collection::vec(1_usize..90, 1..40),
        known in any::<bool>(),
    ) {
        for (name, frame) in shipped() {
            let mut stream = Vec::new();
            for part in &parts {
                match part {
                    Ok(count) => stream.extend(coded(name, &frame, *count).1),
                    Err(bytes) => stream.extend_from_slice(bytes),
                }
            }
            let mut rest = stream.as_slice();
            let mut pieces = Vec::new();
            for cut in cuts.iter().cycle() {
                let (piece, left) = rest.split_at((*cut).min(rest.len()));
                pieces.push(piece);
                rest = left;
                if rest.is_empty() {
                    break;
                }
            }
            let (whole, one) = sniff(&frame, known, &[&stream]);
            let (cut, other) = sniff(&frame, known, &pieces);
            prop_assert_eq!(&whole, &cut, "{}", name);
            prop_assert_eq!(one.skipped_bytes(), other.skipped_bytes(), "{}", name);
            prop_assert_eq!(one.last_skipped(), other.last_skipped(), "{}", name);
            prop_assert!(one.skipped_bytes() <= stream.len() as u64 + 6);
        }
    }

    /// Behind a whole frame nobody need wait for the silence: told or not, what comes next is read the same.
    #[test]
    fn a_silence_between_frames_tells_nothing_more(
        parts in prop::collection::vec(
            prop_oneof![
                prop::collection::vec(prop::sample::select(b"0123456789+-., mF\r\n\xff".to_vec()), 0..20).prop_map(Err),
                (-2000_i64..2000).prop_map(Ok),
            ],
            0..12,
        ),
        known in any::<bool>(),
    ) {
        for (name, frame) in shipped() {
            let (mut told, mut asked) = (Vec::new(), Vec::new());
            let (_, mut always) = sniff(&frame, known, &[]);
            let mut if_awaited = always.clone();
            for part in &parts {
                let bytes = match part {
                    Ok(count) => coded(name, &frame, *count).1,
                    Err(bytes) => bytes.clone(),
                };
                always.push(&bytes, &mut |value| told.push(value));
                always.pause(&mut |value| told.push(value));
                if_awaited.push(&bytes, &mut |value| asked.push(value));
                if !if_awaited.is_between_frames() {
                    if_awaited.pause(&mut |value| asked.push(value));
                }
                prop_assert_eq!(&told, &asked, "{}", name);
                prop_assert_eq!(format!("{always:?}"), format!("{if_awaited:?}"), "{}", name);
            }
        }
    }
}

/// Values whose digits differ in every place, so that a wrong one shows.
const COUNTS: [i64; 6] = [123_456, -123_456, 7, -7, 0, 98_765];

#[test]
fn a_frame_cut_anywhere_gives_no_false_value() {
    for (name, frame) in shipped() {
        for first in COUNTS {
            for second in COUNTS {
                let (a, bytes_a) = coded(name, &frame, first);
                let (b, bytes_b) = coded(name, &frame, second);
                for at in 0..=bytes_a.len() {
                    let (head, tail) = bytes_a.split_at(at);
                    // The stream starts within the first one.
                    let (got, _) = sniff(&frame, false, &[tail, &bytes_b]);
                    check_true(name, &got, &[a, b], tail);
                    // The first one stops, and the second one follows at once. Without a sign nothing
                    // shows where that one starts: `1` and `123.456` are a good line together.
                    let signless = ["text", "text-unit", "text-status", "typed"].contains(&name);
                    if b < Length::ZERO || !signless {
                        let (got, _) = sniff(&frame, true, &[head, &bytes_b]);
                        check_true(name, &got, &[a, b], head);
                    }
                    // The second one follows after a silence, as it does when somebody put the cable back.
                    let mut got = Vec::new();
                    let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
                    prove(&mut sniffer);
                    for piece in [head, &bytes_b, &bytes_b] {
                        sniffer.push(piece, &mut |value| got.push(value));
                        sniffer.pause(&mut |value| got.push(value));
                    }
                    check_true(name, &got, &[a, b, b], head);
                    let lost = got.iter().all(|d| d.value != b);
                    assert!(
                        !lost || name == "typed",
                        "{name}: {b} behind {}",
                        head.escape_ascii()
                    );
                    // The first one stops for good.
                    let (got, mut sniffer) = sniff(&frame, true, &[head]);
                    check_true(name, &got, &[a], head);
                    sniffer.push(&bytes_b, &mut |_| {});
                    sniffer.reset();
                    assert_eq!(sniffer.waiting_bytes(), 0);
                }
                // Glued whole ones are two values, except where only a silence parts them.
                let glued = [bytes_a, bytes_b].concat();
                let (got, _) = sniff(&frame, true, &[&glued]);
                let expected = if name == "bits24" { vec![] } else { vec![a, b] };
                assert_eq!(values(&got), expected, "{name}: {}", glued.escape_ascii());
            }
        }
    }
}

/// What came is among what was sent, in its order.
fn check_true(name: &str, got: &[Decoded], sent: &[Length], cut: &[u8]) {
    let mut sent = sent.iter();
    for value in values(got) {
        // A typed line that was cut off has the user's word for it: nobody can tell `12` from `123`.
        // A terminator of two bytes may lose its second one.
        let known = sent.any(|s| *s == value) || name == "typed";
        assert!(known, "{name}: {value} from a cut {}", cut.escape_ascii());
    }
}

#[test]
fn a_press_after_a_cut_frame_is_not_lost() {
    // Frames that show where they start are found behind any half of one before them.
    for name in ["text-fixed", "text-counts", "bcd13", "bcd13-hex", "modbus"] {
        let frame = Frame::shipped(name).unwrap();
        let (_, first) = coded(name, &frame, 123_456);
        let (b, second) = coded(name, &frame, -654_321);
        let terminator = if first.ends_with(b"\r\n") { 2 } else { 0 };
        for at in 0..first.len() - terminator {
            let text = matches!(name, "text-fixed" | "text-counts");
            if text && (at == 1 || at == first.len() - terminator) {
                // A sign alone, or a frame that lacks nothing but its end: refused, and said why there.
                continue;
            }
            let (got, _) = sniff(&frame, true, &[&first[..at], &second]);
            assert_eq!(values(&got), [b], "{name} cut at {at}");
        }
    }
}

#[test]
fn a_lost_byte_is_noticed_where_the_form_can_tell() {
    for name in [
        "text-fixed",
        "text-counts",
        "bcd13",
        "bcd13-hex",
        "bits24",
        "bits24-hex",
        "modbus",
    ] {
        let frame = Frame::shipped(name).unwrap();
        for count in COUNTS {
            let (a, bytes) = coded(name, &frame, count);
            let content = if bytes.ends_with(b"\r\n") {
                bytes.len() - 2
            } else {
                bytes.len()
            };
            for at in 0..content {
                let mut damaged = bytes.clone();
                damaged.remove(at);
                let (got, _) = sniff(&frame, true, &[&damaged]);
                assert_eq!(values(&got), [], "{name} without byte {at}");
                damaged.extend_from_slice(&bytes);
                let (got, _) = sniff(&frame, true, &[&damaged]);
                let expected = if name == "bits24" { vec![] } else { vec![a] };
                assert_eq!(
                    values(&got),
                    expected,
                    "{name} without byte {at}, then whole"
                );
            }
        }
    }
}

#[test]
fn every_flipped_bit_of_a_register_reply_is_noticed() {
    let frame = Frame::shipped("modbus").unwrap();
    let (_, bytes) = coded("modbus", &frame, 123_456);
    for bit in 0..bytes.len() * 8 {
        let mut damaged = bytes.clone();
        damaged[bit / 8] ^= 1 << (bit % 8);
        assert_eq!(sniff(&frame, true, &[&damaged]).0, [], "bit {bit}");
    }
}

/// A longest stream without an end of any kind, in pieces of a size.
fn check_bounded(name: &str, frame: &Frame, byte: u8, piece: usize) {
    let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
    let chunk = vec![byte; piece];
    let mut pushed = 0;
    while pushed < 1_000_000 {
        sniffer.push(&chunk, &mut |value| panic!("{name}: {value:?}"));
        pushed += piece;
        assert!(sniffer.waiting_bytes() <= 512, "{name}");
    }
    sniffer.reset();
    assert_eq!(
        sniffer.skipped_bytes(),
        pushed as u64,
        "{name}: byte {byte}"
    );
    assert!(sniffer.last_skipped().chars().count() <= 64, "{name}");
}

#[test]
fn a_stream_without_end_is_bounded_and_counted() {
    for (name, frame) in shipped() {
        for byte in [0, b'1', b' ', b'F', b'+', 1, 0xff] {
            check_bounded(name, &frame, byte, 4096);
            check_bounded(name, &frame, byte, 611);
        }
    }
}

#[test]
fn the_last_bytes_are_shown_readable_and_short() {
    let mut sniffer = Sniffer::new(Frame::shipped("text").unwrap(), Unit::Mm);
    assert_eq!(sniffer.last_skipped(), "");
    sniffer.push(b"ERR 5\x00\xff\r\n", &mut |_| {});
    assert_eq!(sniffer.last_skipped(), "ERR 5\\x00\\xff\\r");
    sniffer.push(&[0xff; 300], &mut |_| {});
    sniffer.push(b"\n", &mut |_| {});
    let shown = sniffer.last_skipped();
    assert!(
        shown.starts_with('…') && shown.ends_with("\\xff\\n"),
        "{shown}"
    );
    assert!(shown.chars().count() <= 64);
}

#[test]
fn a_hang_up_ends_what_was_known() {
    let mut sniffer = Sniffer::new(Frame::shipped("text").unwrap(), Unit::Mm);
    let mut values = 0;
    sniffer.push(b"\n3.500\n+0.0", &mut |_| values += 1);
    sniffer.reset();
    assert_eq!((values, sniffer.skipped_bytes()), (1, 4));
    // What comes after it may be the end of anything.
    sniffer.push(b"1.512\n2.500\n", &mut |_| values += 1);
    assert_eq!((values, sniffer.skipped_bytes()), (2, 10));
}

#[test]
fn a_line_may_be_as_long_as_the_longest_and_no_longer() {
    let frame = Frame::shipped("text").unwrap();
    for (blanks, count) in [(154, 1), (155, 0)] {
        let line = format!("{}-0.012\n", " ".repeat(blanks));
        assert_eq!(
            sniff(&frame, true, &[line.as_bytes()]).0.len(),
            count,
            "{blanks}"
        );
    }
}
