//! Identification against instruments that garble at a wrong setting, through a line of start, data, parity
//! and stop bits that is sampled as a receiver samples it.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod line;

use conewright_protocol::capture::Chunk;
use conewright_protocol::frame::{Frame, Modbus};
use conewright_protocol::identify::{
    Identified, NEEDED, NotFound, REQUESTS, Sample, Sureness, identify,
};
use line::{FORMATS, Levels, Line, SPEEDS};
use metrology::random::Random;
use metrology::{Length, Unit};

fn candidates() -> Vec<Line> {
    let line = |(data, parity)| {
        SPEEDS.map(|speed| Line {
            speed,
            data,
            parity,
        })
    };
    FORMATS.into_iter().flat_map(line).collect()
}

/// A gauge that sends its values again and again.
struct Gauge {
    frame: Frame,
    name: &'static str,
    line: Line,
    interval_s: f64,
    /// It moves, or rests with a flickering last digit.
    moves: bool,
}

const RESOLUTION: Length = Length::from_um(1);

/// Seconds that are listened at a setting; all of them together are less than 20.
fn window_s(line: Line) -> f64 {
    if line.speed == 1200 { 0.95 } else { 0.575 }
}

/// What is heard of a gauge at every candidate, one after the other.
fn listen(gauge: &Gauge, random: &mut Random, counts_errors: bool) -> Vec<Sample<Line>> {
    let mut windows = Vec::new();
    let mut end_s = 0.0137;
    for line in candidates() {
        windows.push((line, end_s, end_s + window_s(line)));
        end_s += window_s(line);
    }
    assert!(end_s < 20.0);
    let mut levels = Levels::default();
    let (mut t, mut count) = (0.003, random.below(40_000) as i64 - 20_000);
    while t < end_s {
        let bytes = gauge
            .frame
            .encode(Length::from_um(count), RESOLUTION, Unit::Mm)
            .unwrap();
        levels.send(gauge.line, t, &bytes);
        t += gauge.interval_s * (0.95 + random.below(100) as f64 * 1e-3);
        count += if gauge.moves {
            random.below(61) as i64 - 30
        } else {
            random.below(3) as i64 - 1
        };
    }
    let hear = |(line, from_s, to_s): (Line, f64, f64)| {
        let (bytes, errors) = levels.receive(line, from_s, to_s);
        // What comes close together is read at once.
        let mut chunks: Vec<Chunk> = Vec::new();
        for (at_s, byte) in bytes {
            let at_ns = ((at_s - from_s) * 1e9) as i64;
            match chunks.last_mut() {
                Some(chunk) if at_ns - chunk.at_ns < 8_000_000 => chunk.bytes.push(byte),
                _ => chunks.push(Chunk {
                    at_ns,
                    bytes: vec![byte],
                    damaged: false,
                }),
            }
        }
        Sample {
            settings: line,
            speed: line.speed,
            chunks,
            line_errors: counts_errors.then_some(errors),
        }
    };
    windows.into_iter().map(hear).collect()
}

/// Whether the answer reads this gauge rightly.
fn is_right(gauge: &Gauge, found: &Identified<Line>) -> Option<bool> {
    let best = found.best.as_ref().ok()?;
    // Another name for the same line of text is right as well, when it reads all of what the gauge sends.
    let same = best.name == gauge.name
        || [123_456, -123_456, 0].iter().all(|count| {
            let value = Length::from_um(*count);
            let bytes = gauge.frame.encode(value, RESOLUTION, Unit::Mm).unwrap();
            let mut sniffer =
                conewright_protocol::frame::Sniffer::new(best.frame.clone(), Unit::Mm);
            let mut got = Vec::new();
            sniffer.pause(&mut |_| {});
            sniffer.push(&bytes, &mut |d| got.push(d.value));
            got == [value]
        });
    Some(same && best.settings == gauge.line)
}

const NAMES: [&str; 11] = [
    "text",
    "text-signed",
    "text-unit",
    "text-fixed",
    "text-counts",
    "text-channel",
    "text-two-lines",
    "bcd13",
    "bcd13-hex",
    "bits24-hex",
    "modbus",
];

fn any_gauge(random: &mut Random) -> Gauge {
    let name = random.pick(&NAMES);
    let is_binary = matches!(name, "bcd13" | "modbus");
    let formats = if is_binary {
        &[(8, 0), (8, 1)][..]
    } else {
        &FORMATS[..]
    };
    let (data, parity) = random.pick(formats);
    Gauge {
        frame: Frame::shipped(name).unwrap(),
        name,
        line: Line {
            speed: random.pick(&SPEEDS),
            data,
            parity,
        },
        interval_s: 0.04 + random.below(70) as f64 * 1e-3,
        moves: random.below(2) == 0,
    }
}

#[test]
fn an_unknown_cable_is_found_or_not_but_never_wrong() {
    let mut random = Random::new(2);
    let (mut right, mut not_found) = (0, Vec::new());
    let tries = 200;
    for number in 0..tries {
        let gauge = any_gauge(&mut random);
        let samples = listen(&gauge, &mut random, number % 2 == 0);
        let found = identify(&samples);
        match is_right(&gauge, &found) {
            Some(true) => right += 1,
            Some(false) => panic!("{} at {:?}: {:?}", gauge.name, gauge.line, found.best),
            None => not_found.push((gauge.name, gauge.line, gauge.interval_s, found.best.err())),
        }
    }
    println!("{right} of {tries} right, none wrong, not found: {not_found:?}");
    assert!(
        right * 100 >= tries * 99,
        "{right} of {tries}: {not_found:?}"
    );
}

#[test]
fn a_setting_that_is_not_tried_is_not_found() {
    let mut random = Random::new(3);
    for _ in 0..40 {
        let mut gauge = any_gauge(&mut random);
        let right = gauge.line;
        gauge.line.speed = random.pick(&SPEEDS);
        let mut samples = listen(&gauge, &mut random, false);
        // Whatever reads as the gauge sends is taken away: the speed, and its near relations in format.
        samples.retain(|s| s.speed != gauge.line.speed);
        let found = identify(&samples);
        assert!(
            found.best.is_err(),
            "{} at {:?}: {:?}",
            gauge.name,
            right,
            found.best
        );
    }
}

#[test]
fn noise_is_no_instrument() {
    let mut random = Random::new(4);
    for _ in 0..20 {
        let samples: Vec<Sample<u32>> = SPEEDS
            .iter()
            .map(|speed| Sample {
                settings: *speed,
                speed: *speed,
                chunks: (0..60)
                    .map(|n| Chunk {
                        at_ns: n * 50_000_000,
                        bytes: (0..1 + random.below(6))
                            .map(|_| random.bits() as u8)
                            .collect(),
                        damaged: false,
                    })
                    .collect(),
                line_errors: None,
            })
            .collect();
        let found = identify(&samples);
        assert!(found.best.is_err(), "{:?}", found.best);
    }
}

/// One setting at which these bytes came, 50 ms apart.
fn heard(pieces: &[&[u8]]) -> Sample<&'static str> {
    Sample {
        settings: "9600 8N1",
        speed: 9600,
        chunks: pieces
            .iter()
            .enumerate()
            .map(|(n, bytes)| Chunk {
                at_ns: (n as i64 + 1) * 50_000_000,
                bytes: bytes.to_vec(),
                damaged: false,
            })
            .collect(),
        line_errors: None,
    }
}

#[test]
fn what_was_heard_decides_the_answer() {
    let silent: [Sample<&str>; 2] = [heard(&[]), heard(&[])];
    assert_eq!(identify(&silent).best.err(), Some(NotFound::Silent));
    assert_eq!(identify::<u8>(&[]).best.err(), Some(NotFound::Silent));
    let words = heard(&[b"READY\r\n", b"BATTERY LOW\r\n"]);
    assert_eq!(identify(&[words]).best.err(), Some(NotFound::Garbage));

    // One reading short of what is needed, and what is needed.
    let lines: Vec<&[u8]> = vec![b"+0.012\r\n"; NEEDED];
    let few = heard(&lines[1..]);
    assert_eq!(identify(&[few]).best.err(), Some(NotFound::TooLittle));
    let found = identify(&[heard(&lines)]);
    let best = found.best.unwrap();
    assert_eq!(
        (best.name, best.sureness, best.unit),
        ("text-signed", Sureness::Likely, None)
    );
    assert_eq!(best.resolution, Length::from_um(1));
    assert!((best.interval_s.unwrap() - 0.05).abs() < 1e-9);
    let names: Vec<&str> = found.others.iter().map(|other| other.name).collect();
    assert_eq!(names, ["text", "text-status"]);

    // Only ever negative: nobody has seen whether a plus is sent.
    let negative = identify(&[heard(&[&b"-0.012\r\n"[..]; 12])]).best.unwrap();
    assert_eq!(
        (negative.name, negative.sureness),
        ("text", Sureness::Certain)
    );

    // Half of what comes is something else: no frame fits.
    let mixed: Vec<&[u8]> = [&b"+0.012\r\n"[..], b"X=17;Y=4\r\n"].repeat(8);
    assert_eq!(
        identify(&[heard(&mixed)]).best.err(),
        Some(NotFound::Garbage)
    );

    // The unit and the resolution have to agree, as they do in one instrument.
    let unit = identify(&[heard(&[&b"1.2345in\r\n"[..]; 6])]).best.unwrap();
    assert_eq!((unit.name, unit.unit), ("text-unit", Some(Unit::In)));
    let mut changing: Vec<String> = Vec::new();
    for n in 0..12 {
        changing.push(format!("+{:.*}\r\n", 1 + n % 4, 1.234_56));
    }
    let changing: Vec<&[u8]> = changing.iter().map(String::as_bytes).collect();
    assert_eq!(
        identify(&[heard(&changing)]).best.err(),
        Some(NotFound::Garbage)
    );
}

#[test]
fn the_setting_with_line_errors_comes_second() {
    let lines = [&b"+0.012\r\n"[..]; 12];
    let mut wrong = heard(&lines);
    wrong.line_errors = Some(9);
    let mut right = heard(&lines);
    right.settings = "9600 8E1";
    right.line_errors = Some(0);
    assert_eq!(identify(&[wrong, right]).best.unwrap().settings, "9600 8E1");
}

#[test]
fn three_bytes_prove_little() {
    let frame = Frame::shipped("bits24").unwrap();
    let sent = |um: i64| {
        frame
            .encode(Length::from_um(um), RESOLUTION, Unit::Mm)
            .unwrap()
    };
    let moving: Vec<Vec<u8>> = (0..40).map(|n| sent(12_340 + 170 * n)).collect();
    let moving: Vec<&[u8]> = moving.iter().map(Vec::as_slice).collect();
    let found = identify(&[heard(&moving)]).best.unwrap();
    assert_eq!((found.name, found.unit), ("bits24", Some(Unit::Mm)));
    // At rest the same garbage would come at a wrong speed again and again.
    let rest = sent(12_340);
    let resting = vec![rest.as_slice(); 40];
    assert_eq!(
        identify(&[heard(&resting)]).best.err(),
        Some(NotFound::TooLittle)
    );
    // At two of three settings: nobody can tell. At all of them: it does not matter.
    let two = [heard(&moving), heard(&moving), heard(&[])];
    assert_eq!(identify(&two).best.err(), Some(NotFound::Ambiguous));
    assert!(identify(&[heard(&moving), heard(&moving)]).best.is_ok());
}

#[test]
fn registers_are_found_with_their_address_and_words() {
    let modbus = Modbus {
        address: 17,
        register: 0x0410,
        words: conewright_protocol::frame::WordOrder::Low,
        ..Modbus::default()
    };
    let frame = Frame::from_modbus(modbus).unwrap();
    let request = frame.request().unwrap();
    let replies: Vec<Vec<u8>> = (0..12)
        .map(|n| {
            frame
                .encode(Length::from_um(1_234 - 300 * n), RESOLUTION, Unit::Mm)
                .unwrap()
        })
        .collect();
    let mut pieces: Vec<&[u8]> = Vec::new();
    for reply in &replies {
        pieces.extend([request.as_slice(), reply]);
    }
    let found = identify(&[heard(&pieces)]);
    let best = found.best.unwrap();
    assert_eq!(
        (best.name, best.modbus, best.readings),
        ("modbus", Some(modbus), 12)
    );
    assert_eq!(best.sureness, Sureness::Certain);
    // The other order of words is what else would fit.
    assert!(found.others.iter().any(|o| o.name == "modbus"));
    // The request that is sent when asked to is the one of the shipped frame.
    let shipped = Frame::shipped("modbus").unwrap().request().unwrap();
    assert_eq!(REQUESTS.last().unwrap().bytes, shipped);
}
