//! The 24-bit frame of simple two-wire scales, as bridges forward it.
//!
//! On the scale's own wires it is 24 bits, low bit first: 20 bits of value in steps of 0.01 mm or of
//! 0.0005 in, bit 20 the sign (1 minus), bits 21 and 22 zero, bit 23 the unit (1 inch). *Common practice*,
//! not a standard. A bridge packs the bits in the order in which they come, low bit first, into three
//! bytes, or writes these three bytes as six hexadecimal digits, the first byte first.
//!
//! Nothing in three bytes says where they start. In the raw form only the silence around them does, so a
//! value is taken when exactly three bytes came between two silences. A quarter of all triples of random
//! bytes is well formed, so at the start two values only count as proof and are skipped: each one has to be in
//! the same unit as the one before and within 10 mm of it, and so has the first one that is taken. Behind garbage
//! among good values one is enough. A scale sends several values a second.

use super::line::{self, Edge, Line, Step, Trust, View, is_noise};
use super::pattern::Terminator;
use super::{Decoded, hex, steps};
use metrology::{Length, Unit};

const BYTES: usize = 3;
/// 0.01 mm.
const STEP_MM: Length = Length::from_um(10);
/// 0.0005 in.
const STEP_IN: Length = Length::from_pm(12_700_000);

/// How far two values in a row may be apart to prove each other.
const NEAR: Length = Length::from_um(10_000);

/// So many values that agree are only proof, where nothing good came yet.
const PROOFS: u8 = 2;

/// How a bridge forwards it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bits24 {
    /// Three bytes between silences.
    Raw,
    /// A line of six hexadecimal digits.
    Hex,
}

impl Bits24 {
    pub(super) const fn is_raw(self) -> bool {
        matches!(self, Self::Raw)
    }

    pub(super) fn scan(self, view: View) -> Option<Step> {
        match self {
            Self::Raw => raw(view),
            Self::Hex => hex_line(view),
        }
    }

    pub(super) fn encode(self, value: Length, unit: Unit) -> Option<Vec<u8>> {
        let (step, unit_bit) = match unit {
            Unit::Mm => (STEP_MM, 0),
            Unit::In => (STEP_IN, 1 << 23),
            Unit::Um => return None,
        };
        let count = steps(value, step.pm());
        let size = u32::try_from(count.unsigned_abs()).ok()?;
        if size >= 1 << 20 {
            return None;
        }
        let sign_bit = if count < 0 { 1 << 20 } else { 0 };
        let [a, b, c, _] = (size | sign_bit | unit_bit).to_le_bytes();
        Some(match self {
            Self::Raw => vec![a, b, c],
            Self::Hex => format!("{a:02X}{b:02X}{c:02X}\r\n").into_bytes(),
        })
    }
}

/// The value of three bytes, when they are a frame.
fn read([a, b, c]: [u8; BYTES]) -> Option<Decoded> {
    let bits = u32::from_le_bytes([a, b, c, 0]);
    if bits & (0b11 << 21) != 0 {
        return None;
    }
    let (step, unit) = if bits >> 23 == 0 {
        (STEP_MM, Unit::Mm)
    } else {
        (STEP_IN, Unit::In)
    };
    let size = i64::from(bits & 0xf_ffff) * step.pm();
    let value = Length::from_pm(if bits & 1 << 20 == 0 { size } else { -size });
    Some(Decoded {
        unit: Some(unit),
        ..Decoded::bare(value, step)
    })
}

fn raw(view: View) -> Option<Step> {
    let bytes = view.bytes;
    let garbage = Step {
        trust: view.trust.shaken(),
        ..Step::skip(bytes.len(), Edge::Inside)
    };
    if bytes.len() > BYTES || (view.edge != Edge::Known && !bytes.is_empty()) {
        // More than a frame without a silence, or the rest of something: all of it is garbage.
        return Some(garbage);
    }
    if !view.paused {
        return None;
    }
    let Some(value) = <[u8; BYTES]>::try_from(bytes).ok().and_then(read) else {
        return Some(garbage);
    };
    // How many values count as proof already.
    let proofs = match view.trust {
        Trust::Good => return Some(Step::found(BYTES, 0, value)),
        Trust::Held {
            before,
            unit,
            count,
        } if (value.value - before).abs() <= NEAR && value.unit == unit => count,
        Trust::Held { .. } | Trust::None => 0,
        Trust::Doubted => PROOFS - 1,
    };
    Some(if proofs >= PROOFS {
        Step::found(BYTES, 0, value)
    } else {
        Step {
            trust: Trust::Held {
                before: value.value,
                unit: value.unit,
                count: proofs + 1,
            },
            ..Step::skip(BYTES, Edge::Known)
        }
    })
}

fn hex_line(view: View) -> Option<Step> {
    let (text, total, edge) = match line::first(view, Terminator::Any) {
        Line::Whole(text, total, edge) => (text, total, edge),
        Line::Done(step) => return step,
    };
    let found = hex::last::<{ 2 * BYTES }>(text).and_then(|(start, digits)| {
        let known = match start {
            0 => edge == Edge::Known,
            _ => is_noise(text[start - 1]),
        };
        let byte = |at: usize| digits[2 * at] << 4 | digits[2 * at + 1];
        let value = read([byte(0), byte(1), byte(2)]).filter(|_| known)?;
        Some(Step::found(total, start, value))
    });
    Some(found.unwrap_or(Step::skip(total, Edge::Known)))
}
