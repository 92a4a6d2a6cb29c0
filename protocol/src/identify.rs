//! What an unknown cable speaks, from what was heard of it at each of several settings.
//!
//! At a wrong speed a port gives bytes as well: wrong ones. So every frame is tried on what came at every
//! setting, and a setting counts only when nearly all of its bytes are frames of one form, several of
//! them, that agree in unit and resolution. Where that is not so the answer is "not found", with the reason:
//! a wrong answer would be believed.
//!
//! A gauge at rest sends the same frame again and again, and at a wrong speed that is the same garbage again
//! and again. So repetition proves nothing: what counts is how unlikely garbage is to have the form, once
//! for every value that is different.

use crate::capture::{self, Chunk};
use crate::frame::{Decoded, Frame, Modbus, Registers, Width, WordOrder};
use metrology::{Length, Unit};
use std::collections::{BTreeMap, BTreeSet};

/// This many readings have to agree.
pub const NEEDED: usize = 4;
/// Garbage has this form less than once in 2²⁸ times.
const NEEDED_BITS: u32 = 28;
/// At most this share of the bytes may be in no frame, in per cent.
const MOST_SKIPPED: u64 = 10;
/// This many readings without a doubtful byte make it certain.
const MANY: usize = 10;

/// What was heard at one setting. The settings are whatever the caller calls them by.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample<S> {
    /// The settings.
    pub settings: S,
    /// Their speed, bits per second.
    pub speed: u32,
    /// The bytes with their times since listening began.
    pub chunks: Vec<Chunk>,
    /// Parity and framing errors that the driver counted; `None` when it counts none.
    pub line_errors: Option<u64>,
}

/// How sure it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sureness {
    /// Several readings agree, and little else was heard.
    Likely,
    /// Many readings agree, and nothing else was heard.
    Certain,
}

/// A setting and a frame that fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate<S> {
    /// The settings.
    pub settings: S,
    /// The frame.
    pub frame: Frame,
    /// The name under which it is shipped; for `modbus` the description is in `modbus`.
    pub name: &'static str,
    /// The registers, when it is Modbus.
    pub modbus: Option<Modbus>,
    /// How sure it is.
    pub sureness: Sureness,
    /// Readings found.
    pub readings: usize,
    /// Different values among them.
    pub distinct: usize,
    /// Bytes heard.
    pub bytes: u64,
    /// Bytes in no frame, without the beginning, where listening set in.
    pub skipped_bytes: u64,
    /// The unit that the frames state; `None` when they do not, and the user has to say.
    pub unit: Option<Unit>,
    /// The resolution shown; for frames without a unit, as if in millimetres.
    pub resolution: Length,
    /// Seconds from one reading to the next, the median; `None` for less than three readings.
    pub interval_s: Option<f64>,
}

/// Why nothing was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotFound {
    /// Nothing was heard at any setting: the gauge is off, waits for a key or for a request.
    Silent,
    /// Bytes came, and no frame fits them at any setting.
    Garbage,
    /// A frame fits, in too few readings or too few different values: move the gauge and listen longer.
    TooLittle,
    /// A frame that proves little of itself fits at settings that cannot be told apart.
    Ambiguous,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Identified<S> {
    /// What fits best, or why there is nothing.
    pub best: Result<Candidate<S>, NotFound>,
    /// What else fits, the likelier first.
    pub others: Vec<Candidate<S>>,
}

/// A request that makes some instruments answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Request {
    /// The bytes.
    pub bytes: &'static [u8],
    /// What it is.
    pub legend: &'static str,
}

/// The usual requests. *Common practice*; the last one is from the Modbus specification. Sent only when the user asks.
pub const REQUESTS: &[Request] = &[
    Request {
        bytes: b"\r",
        legend: "an empty line",
    },
    Request {
        bytes: b"?\r\n",
        legend: "a question mark",
    },
    Request {
        bytes: b"P\r\n",
        legend: "the letter P, for print",
    },
    Request {
        bytes: &[1, 3, 0, 0, 0, 2, 0xc4, 0x0b],
        legend: "Modbus: two holding registers from 0 of address 1",
    },
];

/// Frames by what they prove, the most special first, and of how many bits the proof of one value is.
///
/// The bits are what the form of the shortest frame leaves to chance among random bytes, rounded down.
const TRIED: &[(&str, u32)] = &[
    ("text-fixed", 50),
    ("text-counts", 50),
    ("text-channel", 40),
    ("text-two-lines", 50),
    ("text-signed", 35),
    ("text-unit", 40),
    ("text", 28),
    ("text-status", 28),
    ("bcd13", 31),
    ("bcd13-hex", 60),
    ("bits24-hex", 35),
    // Two bits that are zero, and three bytes instead of another number.
    ("bits24", 3),
];
/// Address, function, length and checksum.
const MODBUS_BITS: u32 = 40;

/// A fit, with what it is ranked by.
struct Fit<S> {
    candidate: Candidate<S>,
    /// Garbage and errors, in per cent of the bytes.
    doubt: u64,
    /// The place in [`TRIED`].
    rank: usize,
    sample: usize,
    /// So little is proven by one frame that the setting may be wrong.
    is_weak: bool,
}

/// Finds settings and frame. Samples are given with the usual settings first: of two that fit alike, such as one
/// and two stop bits, the first is taken.
pub fn identify<S: Clone>(samples: &[Sample<S>]) -> Identified<S> {
    let mut fits: Vec<Fit<S>> = Vec::new();
    let mut too_little = false;
    for (number, sample) in samples.iter().enumerate() {
        let shipped = TRIED
            .iter()
            .filter_map(|(name, bits)| Some((*name, *bits, Frame::shipped(name)?, None)));
        let registers = registers(&sample.chunks).into_iter().filter_map(|modbus| {
            let frame = Frame::from_modbus(modbus).ok()?;
            Some(("modbus", MODBUS_BITS, frame, Some(modbus)))
        });
        for (rank, (name, bits, frame, modbus)) in shipped.chain(registers).enumerate() {
            match fit(sample, name, bits, frame, modbus) {
                Outcome::Fits(candidate, doubt) => fits.push(Fit {
                    candidate,
                    doubt,
                    rank,
                    sample: number,
                    is_weak: bits < NEEDED_BITS,
                }),
                Outcome::TooLittle => too_little = true,
                Outcome::No => {}
            }
        }
    }
    // What proves itself comes before what may be chance; then a little doubt more or less decides nothing.
    fits.sort_by_key(|fit| (fit.is_weak, fit.doubt / 2, fit.rank, fit.sample));
    let is_ambiguous = fits.first().is_some_and(|first| {
        let same = |other: &Fit<S>| other.rank == first.rank;
        let number = fits.iter().filter(|fit| same(fit)).count();
        // At every setting the same: then the settings do not matter, as on a bridge with USB of its own.
        first.is_weak && number > 1 && number < samples.len()
    });
    let heard = samples
        .iter()
        .any(|s| s.chunks.iter().any(|c| !c.bytes.is_empty()));
    let mut candidates = fits.into_iter().map(|fit| fit.candidate);
    let best = if is_ambiguous {
        Err(NotFound::Ambiguous)
    } else {
        candidates.next().ok_or(match (heard, too_little) {
            (false, _) => NotFound::Silent,
            (true, true) => NotFound::TooLittle,
            (true, false) => NotFound::Garbage,
        })
    };
    Identified {
        best,
        others: candidates.take(8).collect(),
    }
}

enum Outcome<S> {
    Fits(Candidate<S>, u64),
    TooLittle,
    No,
}

/// Tries one frame on one sample.
fn fit<S: Clone>(
    sample: &Sample<S>,
    name: &'static str,
    bits: u32,
    frame: Frame,
    modbus: Option<Modbus>,
) -> Outcome<S> {
    let bytes: u64 = sample.chunks.iter().map(|c| c.bytes.len() as u64).sum();
    let replayed = capture::replay(&sample.chunks, &frame, Unit::Mm, sample.speed);
    let values = &replayed.values;
    let (Some((first, _)), Some((last, _))) = (values.first(), values.last()) else {
        return Outcome::No;
    };
    // Listening sets in and leaves off in the middle of a frame; what is skipped there says nothing.
    let inner: Vec<Chunk> = sample.chunks[first.saturating_sub(1)..*last].to_vec();
    let skipped = capture::replay(&inner, &frame, Unit::Mm, sample.speed).skipped_bytes;
    let edge = edge_of(&frame);
    let skipped_bytes = skipped.min(replayed.skipped_bytes).saturating_sub(edge);
    let errors = sample.line_errors.unwrap_or(0);
    let doubt = (skipped_bytes + errors) * 100 / bytes.max(1);
    // The frames have to be most of what was heard, not a few of them in an ocean of garbage.
    let outside = (replayed.skipped_bytes.saturating_sub(2 * edge)) * 100 / bytes.max(1);

    let agreeing = |d: &Decoded| (d.unit, d.resolution);
    let mut kinds: BTreeMap<_, usize> = BTreeMap::new();
    for (_, value) in values {
        let (unit, resolution) = agreeing(value);
        *kinds.entry((unit.map(Unit::sign), resolution)).or_default() += 1;
    }
    let Some((kind, agree)) = kinds.iter().max_by_key(|(_, count)| **count) else {
        return Outcome::No;
    };
    if doubt.max(outside) > MOST_SKIPPED || agree * 10 < values.len() * 9 {
        return Outcome::No;
    }
    let different: BTreeSet<Length> = values.iter().map(|(_, d)| d.value).collect();
    let distinct = different.len();
    // That the sign is always there is only seen when a value was not negative. Until then the line that may
    // be without it is the better answer; where there is none, it is not certain.
    let minus_only = different.iter().all(|value| *value < Length::ZERO);
    if minus_only && name == "text-signed" {
        return Outcome::No;
    }
    let signs_seen = !(minus_only && matches!(name, "text-channel" | "text-two-lines"));
    let proof = bits.saturating_mul(u32::try_from(distinct).unwrap_or(u32::MAX));
    if values.len() < NEEDED || proof < NEEDED_BITS {
        return Outcome::TooLittle;
    }
    let sureness = if values.len() >= MANY && doubt.max(outside) == 0 && signs_seen {
        Sureness::Certain
    } else {
        Sureness::Likely
    };
    let candidate = Candidate {
        settings: sample.settings.clone(),
        frame,
        name,
        modbus,
        sureness,
        readings: values.len(),
        distinct,
        bytes,
        skipped_bytes,
        unit: kind.0.and_then(Unit::from_sign),
        resolution: kind.1,
        interval_s: interval_s(sample, values),
    };
    Outcome::Fits(candidate, doubt)
}

/// As many bytes may be lost where listening sets in: a frame of this form, with its proof.
fn edge_of(frame: &Frame) -> u64 {
    let example = frame.encode(Length::ZERO, Length::from_um(1), Unit::Mm);
    example.map_or(16, |bytes| bytes.len() as u64 + 8)
}

/// The median of the times between readings.
fn interval_s<S>(sample: &Sample<S>, values: &[(usize, Decoded)]) -> Option<f64> {
    let at = |number: usize| sample.chunks.get(number.checked_sub(1)?).map(|c| c.at_ns);
    let times: Vec<i64> = values.iter().filter_map(|(n, _)| at(*n)).collect();
    let mut steps: Vec<i64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    steps.sort_unstable();
    (steps.len() >= 2).then(|| steps[steps.len() / 2] as f64 * 1e-9)
}

/// The registers that replies in these bytes come from, of whatever address: the more frequent first.
///
/// A reply does not say the register; a request that was heard does. Of the two orders of words the one
/// whose values lie closer together comes first.
fn registers(chunks: &[Chunk]) -> Vec<Modbus> {
    let bytes: Vec<u8> = chunks.iter().flat_map(|c| &c.bytes).copied().collect();
    let mut asked: BTreeMap<(u8, u8, u8), u16> = BTreeMap::new();
    let mut replies: BTreeMap<(u8, u8, u8), Vec<[u8; 4]>> = BTreeMap::new();
    let mut at = 0;
    while at + 7 <= bytes.len() {
        let (address, function, third) = (bytes[at], bytes[at + 1], bytes[at + 2]);
        let may_be = (1..=247).contains(&address) && matches!(function, 3 | 4);
        let whole = |length: usize| {
            let message = bytes.get(at..at + length)?;
            (may_be && crate::frame::is_checked(message)).then_some(message)
        };
        if let Some(request) = whole(8)
            && request[4] == 0
            && matches!(request[5], 1 | 2)
        {
            let register = u16::from_be_bytes([request[2], request[3]]);
            asked.insert((address, function, request[5] * 2), register);
            at += 8;
        } else if matches!(third, 2 | 4)
            && let Some(reply) = whole(5 + usize::from(third))
        {
            let mut data = [0; 4];
            data[4 - usize::from(third)..].copy_from_slice(&reply[3..reply.len() - 2]);
            replies
                .entry((address, function, third))
                .or_default()
                .push(data);
            at += reply.len();
        } else {
            at += 1;
        }
    }
    let mut found: Vec<_> = replies.into_iter().collect();
    found.sort_by_key(|(_, data)| std::cmp::Reverse(data.len()));
    let mut all = Vec::new();
    for ((address, function, third), data) in found {
        let plain = Modbus {
            address,
            registers: if function == 3 {
                Registers::Holding
            } else {
                Registers::Input
            },
            register: asked
                .get(&(address, function, third))
                .copied()
                .unwrap_or_default(),
            ..Modbus::default()
        };
        if third == 2 {
            all.push(Modbus {
                width: Width::Bits16,
                ..plain
            });
            continue;
        }
        let spread = |order: WordOrder| {
            let counts = data.iter().map(|d| {
                let bits = u32::from_be_bytes(*d);
                i64::from(match order {
                    WordOrder::High => bits,
                    WordOrder::Low => bits.rotate_left(16),
                } as i32)
            });
            let size = counts.clone().map(i64::abs).max().unwrap_or(0);
            let width = counts.clone().max().zip(counts.min());
            width.map_or(0, |(high, low)| high - low).max(size)
        };
        let mut orders = [WordOrder::High, WordOrder::Low];
        orders.sort_by_key(|order| spread(*order));
        all.extend(orders.map(|words| Modbus { words, ..plain }));
    }
    all
}
