//! Cables of unknown settings and frame are found out through real ptys, or not at all: never wrongly.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

use conewright_daemon::bench::{Bench, Manner, SetUp, Speech, VirtualCable};
use conewright_daemon::cable::{Fault, Listening, Tried, identify};
use config::model::{Parity, PortSelector, SerialSettings};
use metrology::random::Random;
use metrology::{Length, Unit};
use protocol::frame::{Frame, Sniffer};
use protocol::identify::{Identified, NotFound, REQUESTS};
use std::time::{Duration, Instant};

const SPEEDS: [u32; 10] = [
    300, 1_200, 2_400, 4_800, 9_600, 19_200, 38_400, 57_600, 115_200, 921_600,
];
const FORMATS: [(u8, Parity, u8); 4] = [
    (8, Parity::None, 1),
    (7, Parity::Even, 1),
    (7, Parity::Odd, 1),
    (7, Parity::None, 2),
];

/// An instrument set and speaking by chance.
struct Unknown {
    name: &'static str,
    speech: Speech,
    seed: u64,
}

impl Unknown {
    fn new(seed: u64) -> Self {
        let mut random = Random::new(seed);
        let (name, frame) = loop {
            let name = random.pick(Frame::names());
            let frame = Frame::shipped(name).unwrap();
            let is_text = name.starts_with("text");
            // Typed digits come from a keyboard; registers and bare 24 bits have tests of their own where they are defined.
            if is_text || name.starts_with("bcd13") || name == "bits24-hex" {
                break (name, frame);
            }
        };
        // A byte that is no text needs all eight bits.
        let formats = if name == "bcd13" {
            &FORMATS[..1]
        } else {
            &FORMATS[..]
        };
        let (data_bits, parity, stop_bits) = random.pick(formats);
        let line = SerialSettings {
            baud: random.pick(&SPEEDS),
            data_bits,
            parity,
            stop_bits,
            ..SerialSettings::default()
        };
        let manner = Manner::Streams {
            rate_hz: random.between(10.0, 30.0),
        };
        let speech = Speech {
            line: Some(line),
            manner,
            ..Speech::streams(frame, 20.0)
        };
        Self { name, speech, seed }
    }

    fn bench(&self) -> Bench {
        let set_up = SetUp {
            noise_um: 60.0,
            at_a_mm: Random::new(self.seed ^ 1).between(0.3, 2.0),
            resolution: Length::from_um(10),
            ..SetUp::default()
        };
        Bench::new(self.seed, set_up)
    }
}

async fn found_on(far: &VirtualCable, listening: Listening) -> Identified<Tried> {
    let port = PortSelector::Path(far.path().unwrap());
    identify(port, listening, |_| ()).await.unwrap()
}

/// What a frame makes of lines that another one wrote.
fn understood(frame: &Frame, lines: &[Vec<u8>]) -> Vec<Length> {
    let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
    let mut values = Vec::new();
    sniffer.pause(&mut |_| ());
    for line in lines {
        sniffer.push(line, &mut |d| values.push(d.value));
    }
    sniffer.pause(&mut |d| values.push(d.value));
    values
}

#[derive(Debug, PartialEq)]
enum Verdict {
    Right,
    NotFound(String),
    Wrong(String),
}

async fn judged(seed: u64) -> Verdict {
    let unknown = Unknown::new(seed);
    let far = VirtualCable::speaking(unknown.bench(), unknown.speech.clone()).unwrap();
    let begun = Instant::now();
    let found = found_on(&far, Listening::default()).await;
    let took = begun.elapsed();
    let line = unknown.speech.line.clone().unwrap();
    let about = format!("seed {seed}, {} at {line}, {took:?}", unknown.name);
    let best = match found.best {
        Ok(best) => best,
        Err(why) => return Verdict::NotFound(format!("{about}: {why:?}")),
    };
    let lines: Vec<Vec<u8>> = (0..20).map(|_| far.next_frame().unwrap()).collect();
    let wanted = understood(&unknown.speech.frame, &lines);
    assert!(wanted.len() >= 19, "{about}: {wanted:?}");
    let same = understood(&best.frame, &lines) == wanted;
    if best.settings.settings == line && same && took < Duration::from_secs(20) {
        Verdict::Right
    } else {
        let (name, settings) = (best.name, &best.settings.settings);
        Verdict::Wrong(format!(
            "{about}: found {name} at {settings}, same values: {same}"
        ))
    }
}

/// How many by chance: a few each time, and as many as this says when it is to be known how sure it is.
const RUNS: &str = "CONEWRIGHT_IDENTIFY_RUNS";

#[tokio::test]
async fn settings_and_frame_are_found_or_said_to_be_unknown() {
    let runs = std::env::var(RUNS).map_or(12, |text| text.parse().unwrap());
    let mut verdicts = Vec::new();
    for first in (0..runs).step_by(25) {
        let tasks: Vec<_> = (first..runs.min(first + 25))
            .map(|seed| tokio::spawn(judged(seed)))
            .collect();
        for task in tasks {
            verdicts.push(task.await.unwrap());
        }
    }
    let right = verdicts.iter().filter(|v| **v == Verdict::Right).count();
    let others: Vec<_> = verdicts.iter().filter(|v| **v != Verdict::Right).collect();
    println!("{right} of {runs} right, the others: {others:#?}");
    assert!(
        !others.iter().any(|v| matches!(v, Verdict::Wrong(_))),
        "a wrong answer is believed: {others:#?}"
    );
    assert!(others.len() * 100 <= verdicts.len(), "{others:#?}");
}

#[tokio::test]
async fn a_silent_cable_is_asked_only_when_that_is_said() {
    let line = SerialSettings {
        baud: 4_800,
        ..SerialSettings::default()
    };
    let speech = Speech {
        manner: Manner::Polled {
            request: REQUESTS[1].bytes.to_vec(),
        },
        line: Some(line.clone()),
        ..Speech::streams(Frame::shipped("text").unwrap(), 1.0)
    };
    let bench = Bench::new(
        9,
        SetUp {
            noise_um: 60.0,
            ..SetUp::default()
        },
    );
    let far = VirtualCable::speaking(bench, speech).unwrap();
    let listened = found_on(&far, Listening::default()).await;
    assert_eq!(listened.best.unwrap_err(), NotFound::Silent);
    assert_eq!(far.counts().unwrap(), (0, 0), "something was sent");
    let ask = Listening {
        ask: true,
        ..Listening::default()
    };
    let best = found_on(&far, ask).await.best.unwrap();
    assert_eq!(best.settings.settings, line);
    assert_eq!(best.settings.request, Some(1));
}

#[tokio::test]
async fn noise_is_not_found() {
    let speech = Speech {
        manner: Manner::Press,
        ..Speech::streams(Frame::shipped("text").unwrap(), 1.0)
    };
    let far = VirtualCable::speaking(Bench::new(1, SetUp::default()), speech).unwrap();
    let mut random = Random::new(4);
    let listening = Listening {
        longest: Duration::from_secs(3),
        ..Listening::default()
    };
    let search = found_on(&far, listening);
    tokio::pin!(search);
    let mut ticks = tokio::time::interval(Duration::from_millis(20));
    let found = loop {
        tokio::select! {
            found = &mut search => break found,
            _ = ticks.tick() => {
                let noise: Vec<u8> = (0..30).map(|_| random.bits() as u8).collect();
                far.send(&noise).unwrap();
            }
        }
    };
    assert_eq!(found.best.unwrap_err(), NotFound::Garbage);
}

#[tokio::test]
async fn a_port_that_is_not_there_is_told() {
    let port = PortSelector::Path("/dev/no-such-port".into());
    let fault = identify(port, Listening::default(), |_| ())
        .await
        .unwrap_err();
    assert!(matches!(fault, Fault::Gone(_)), "{fault}");
}
