//! Lines of text as they are described: read as sent, read as an expression reads them, or refused with a reason.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_protocol::frame::{
    Blanks, Decoded, Frame, Modbus, PatternError, Point, Presence, Sign, Sniffer, Terminator,
    TextPattern,
};
use metrology::{Length, Unit};
use proptest::prelude::*;
use proptest::strategy::ValueTree;

/// The values in pieces of a stream that starts after a silence, and the sniffer afterwards.
fn sniff(frame: &Frame, pieces: &[&[u8]]) -> (Vec<Decoded>, Sniffer) {
    let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
    let mut values = Vec::new();
    sniffer.pause(&mut |value| values.push(value));
    for piece in pieces {
        sniffer.push(piece, &mut |value| values.push(value));
    }
    (values, sniffer)
}

fn values(decoded: &[Decoded]) -> Vec<Length> {
    decoded.iter().map(|d| d.value).collect()
}

/// Descriptions of text lines: pieces in any sensible order, with every key.
fn patterns() -> impl Strategy<Value = TextPattern> {
    let line = prop::sample::select(vec![
        "{sign}{value}",
        "{sign}{value}{unit}",
        "{channel} {sign}{value} {unit}{status}",
        "X={sign}{value};{unit}",
        "{unit} {sign}{value}",
        "{status}{sign}{value}",
        "#{channel}:{sign}{value}",
        "{sign}{value}\n{unit}",
        "LABEL\n{sign}{value} {unit}",
        "\u{2}{sign}{value}\u{3}",
    ]);
    let sign = prop::sample::select(vec![Sign::Optional, Sign::Always, Sign::Minus]);
    let point = prop::sample::select(vec![Point::Either, Point::Point, Point::Comma, Point::None]);
    let terminator = prop::sample::select(vec![
        Terminator::Any,
        Terminator::Cr,
        Terminator::Lf,
        Terminator::CrLf,
    ]);
    let digits = (prop::option::of(2_u8..6), prop::option::of(1_u8..6));
    let flags = any::<[bool; 3]>();
    (
        line,
        sign,
        point,
        terminator,
        digits,
        flags,
        prop::option::of(15_u8..30),
    )
        .prop_map(
            |(line, sign, point, terminator, (whole, places), [exact, always, own], width)| {
                let has = |piece: &str| line.contains(piece);
                let units = [("MM", Unit::Mm), ("IN", Unit::In)].map(|(s, u)| (s.to_owned(), u));
                TextPattern {
                    line: line.to_owned(),
                    sign,
                    point,
                    whole,
                    places,
                    unit: if always && has("{unit}") {
                        Presence::Always
                    } else {
                        Presence::Optional
                    },
                    units: if own && has("{unit}") {
                        units.into()
                    } else {
                        Default::default()
                    },
                    status: if has("{status}") {
                        "LOH".to_owned()
                    } else {
                        String::new()
                    },
                    channel: has("{channel}").then_some(7),
                    width: if exact { None } else { width },
                    blanks: if exact { Blanks::Exact } else { Blanks::Free },
                    terminator,
                    ..TextPattern::default()
                }
            },
        )
}

proptest! {
    // A failure is made a test of its own; no file is written beside this one.
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn described_lines_come_back_as_sent(pattern in patterns(), count in -99_999_i64..=99_999) {
        let frame = match Frame::from_pattern(&pattern) {
            Ok(frame) => frame,
            // Some of the combinations cannot be; they have to say so.
            Err(error) => {
                prop_assert!(
                    matches!(error, PatternError::NeverFits { .. }),
                    "{:?}: {}", pattern, error
                );
                return Ok(());
            }
        };
        let places = pattern.places.unwrap_or(if pattern.point == Point::None { 0 } else { 3 });
        let step = Length::from_pm(Unit::Mm.pm() / 10_i64.pow(u32::from(places)));
        let value = Length::from_pm(count * step.pm());
        if let Some(bytes) = frame.encode(value, step, Unit::Mm) {
            // Twice, since the second one starts where the first one ends.
            let (got, sniffer) = sniff(&frame, &[&bytes, &bytes]);
            prop_assert_eq!(values(&got), vec![value, value], "{:?} {}", pattern, bytes.escape_ascii());
            prop_assert_eq!((got[0].resolution, got[0].channel), (step, pattern.channel));
            prop_assert_eq!(sniffer.skipped_bytes(), 0);
        }
    }
}

/// What is well formed by an expression that was written apart from the matcher, and what is the beginning of it.
#[test]
fn lines_of_text_are_read_as_an_expression_reads_them() {
    let whole =
        regex::Regex::new(r"^ *[+-]? *([0-9]+[.,][0-9]+|[.,][0-9][0-9]+) *(mm)? *$").unwrap();
    let signed =
        regex::Regex::new(r"[+-] *(?:[0-9]+[.,][0-9]+|[.,][0-9][0-9]+) *(?:mm)? *$").unwrap();
    let cut = regex::Regex::new(
        r"^ *[+-]? *([0-9]+[.,]?|[.,][0-9]?|([0-9]+[.,][0-9]+|[.,][0-9][0-9]+) *m)$",
    )
    .unwrap();
    let frame = Frame::shipped("text").unwrap();
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let lines = prop::collection::vec(
        prop::sample::select("0011259+-., m".chars().collect::<Vec<_>>()),
        1..12,
    );
    let (mut good, mut glued) = (0, 0);
    for _ in 0..60_000 {
        let tree = lines.new_tree(&mut runner).unwrap();
        let line: String = tree.current().into_iter().collect();
        let (got, _) = sniff(&frame, &[line.as_bytes(), b"\n"]);
        let expected = if whole.is_match(&line) {
            good += 1;
            Some(line.as_str())
        } else {
            let start = signed.find(&line).map(|found| found.start());
            start.filter(|at| cut.is_match(&line[..*at])).map(|at| {
                glued += 1;
                &line[at..]
            })
        };
        // Beyond the domain of a length there is no value.
        let value = expected.and_then(|text| Length::parse(text, Unit::Mm).ok());
        assert_eq!(values(&got), Vec::from_iter(value), "{line:?}");
    }
    // Enough of both came by for the comparison to mean something.
    assert!(good > 1000 && glued > 100, "{good} {glued}");
}

/// A pattern that cannot be, and what the message has to name.
fn check_refused(pattern: TextPattern, about: &str) {
    let error = Frame::from_pattern(&pattern).unwrap_err().to_string();
    assert!(error.contains(about), "{error}");
}

#[test]
fn patterns_that_cannot_be_are_refused() {
    let line = |line: &str| TextPattern {
        line: line.to_owned(),
        ..TextPattern::default()
    };
    check_refused(line("{sign}{number}"), "`{number}`");
    check_refused(line("{sign}{value"), "braces");
    check_refused(line("{sign}value}"), "braces");
    check_refused(line("{value}\r"), "terminator");
    check_refused(line("{value}{value}"), "twice");
    check_refused(line("{sign}{unit}"), "no {value}");
    check_refused(line(""), "empty");
    check_refused(line("{value}\n\n{unit}"), "empty");
    check_refused(line("{value}\n{sign}\n{unit}"), "3 lines");
    check_refused(line(&format!("{}{{value}}", "x".repeat(90))), "80");
    // The digits of the value would swallow what follows: it can never match.
    check_refused(line("{value}0"), "never match");
    check_refused(line("{value}{channel}"), "never match");
    // Fixed digits make room for it.
    let fixed = TextPattern {
        places: Some(3),
        ..line("{value}{channel}")
    };
    assert_eq!(Frame::from_pattern(&fixed).err(), None);
    let narrow = TextPattern {
        width: Some(4),
        places: Some(3),
        ..line("{value}")
    };
    check_refused(narrow, "never match");
    let whole = TextPattern {
        whole: Some(10),
        ..line("{value}")
    };
    check_refused(whole, "`whole = 10`");
    let digit = TextPattern {
        whole: Some(1),
        point: Point::None,
        places: Some(0),
        ..line("{value}")
    };
    check_refused(digit, "two digits");
    let channel = TextPattern {
        channel: Some(12),
        ..line("{channel} {value}")
    };
    check_refused(channel, "`channel = 12`");
    let alone = TextPattern {
        channel: Some(1),
        ..line("{value}")
    };
    check_refused(alone, "{channel}");
    check_refused(line("{value}{status}"), "`status`");
    let digits = TextPattern {
        status: "L1".to_owned(),
        ..line("{value}{status}")
    };
    check_refused(digits, "no part of a number");
    let unused = TextPattern {
        unit: Presence::Always,
        ..line("{value}")
    };
    check_refused(unused, "{unit}");
    for (address, step, about) in [
        (0, 1, "address"),
        (248, 1, "address"),
        (1, 0, "step"),
        (1, 201, "step"),
    ] {
        let modbus = Modbus {
            address,
            step: Length::from_um(step),
            ..Modbus::default()
        };
        let error = Frame::from_modbus(modbus).unwrap_err().to_string();
        assert!(error.contains(about), "{error}");
    }
}
