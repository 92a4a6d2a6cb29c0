//! The 13-digit frame of gauges with a synchronous output, as bridges forward it.
//!
//! On the gauge's own wires it is 13 nibbles, low bit first: four of `Fh`, the sign (0 plus, 8 minus), six
//! digits from the highest on, the number of digits behind the point, and the unit (0 mm, 1 inch).
//! *Common practice*, not a standard. A bridge packs the bits in the order in which they come, low bit
//! first, into seven bytes (the last four bits are zero), or writes one hexadecimal digit a nibble.
//!
//! Two bytes `FF` cannot be in the rest of a frame, where no nibble but a sign is above 9: they prove the start.

use super::line::{self, Edge, Line, Step, View, is_blank, is_noise};
use super::pattern::Terminator;
use super::{Decoded, decimal, hex, places, steps};
use metrology::{Length, Unit};

const NIBBLES: usize = 13;
const BYTES: usize = 7;

/// How a bridge forwards it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bcd13 {
    /// Seven bytes.
    Raw,
    /// A line of 13 hexadecimal digits.
    Hex,
}

impl Bcd13 {
    pub(super) fn scan(self, view: View) -> Option<Step> {
        match self {
            Self::Raw => raw(view.bytes),
            Self::Hex => hex_line(view),
        }
    }

    pub(super) fn encode(self, value: Length, resolution: Length, unit: Unit) -> Option<Vec<u8>> {
        let sign = match unit {
            Unit::Mm => 0,
            Unit::In => 1,
            Unit::Um => return None,
        };
        let places = places(resolution, unit).min(5);
        let count = steps(value, unit.pm() / 10_i64.pow(u32::from(places)));
        let mut nibbles = [0xf; NIBBLES];
        nibbles[4] = if count < 0 { 8 } else { 0 };
        let mut left = count.unsigned_abs();
        for digit in nibbles[5..11].iter_mut().rev() {
            *digit = (left % 10) as u8;
            left /= 10;
        }
        nibbles[11] = places;
        nibbles[12] = sign;
        if left > 0 {
            return None;
        }
        Some(match self {
            Self::Raw => nibbles
                .chunks(2)
                .map(|pair| pair[0] | pair.get(1).map_or(0, |high| high << 4))
                .collect(),
            Self::Hex => {
                let mut line: String = nibbles.iter().map(|n| format!("{n:X}")).collect();
                line.push_str("\r\n");
                line.into_bytes()
            }
        })
    }
}

/// The value of 13 nibbles, when they are a frame.
fn read(nibbles: &[u8; NIBBLES]) -> Option<Decoded> {
    let [
        0xf,
        0xf,
        0xf,
        0xf,
        sign @ (0 | 8),
        digits @ ..,
        places @ 0..=5,
        unit @ (0 | 1),
    ] = nibbles
    else {
        return None;
    };
    let mut number = 0;
    for digit in digits {
        if *digit > 9 {
            return None;
        }
        number = number * 10 + u64::from(*digit);
    }
    let unit = if *unit == 0 { Unit::Mm } else { Unit::In };
    let (value, resolution) = decimal(*sign == 8, number, *places, unit)?;
    Some(Decoded {
        unit: Some(unit),
        ..Decoded::bare(value, resolution)
    })
}

fn raw(bytes: &[u8]) -> Option<Step> {
    // Everything up to the first FF is garbage at once; a last FF may be the first of two.
    let garbage = memchr::memchr(0xff, bytes).unwrap_or(bytes.len());
    if garbage > 0 {
        return Some(Step::skip(garbage, Edge::Inside));
    }
    let mut nibbles = [0; NIBBLES];
    for (at, nibble) in nibbles.iter_mut().enumerate() {
        let byte = *bytes.get(at / 2)?;
        *nibble = if at % 2 == 0 { byte & 0xf } else { byte >> 4 };
        // A nibble that cannot be there decides at once, so that the next frame need not be waited for.
        if (at < 4 && *nibble != 0xf) || (at > 4 && *nibble > 9) {
            return Some(Step::skip(1, Edge::Inside));
        }
    }
    let filled = bytes[BYTES - 1] >> 4 == 0;
    Some(match read(&nibbles).filter(|_| filled) {
        Some(value) => Step::found(BYTES, 0, value),
        None => Step::skip(1, Edge::Inside),
    })
}

fn hex_line(view: View) -> Option<Step> {
    let (text, total, edge) = match line::first(view, Terminator::Any) {
        Line::Whole(text, total, edge) => (text, total, edge),
        Line::Done(step) => return step,
    };
    let found = hex::last(text).and_then(|(start, nibbles)| {
        is_cut_frame(&text[..start], edge).then_some(())?;
        Some(Step::found(total, start, read(&nibbles)?))
    });
    Some(found.unwrap_or(Step::skip(total, Edge::Known)))
}

/// Whether what stands in front of a frame is nothing, or noise and then the beginning of a frame.
fn is_cut_frame(bytes: &[u8], edge: Edge) -> bool {
    let noise = bytes.iter().rposition(|b| is_noise(*b));
    if noise.is_none() && edge == Edge::Inside {
        return false;
    }
    let cut = &bytes[noise.map_or(0, |at| at + 1)..];
    let mut digits = cut.iter().filter(|b| !is_blank(**b));
    let head = digits
        .by_ref()
        .take(4)
        .all(|b| b.eq_ignore_ascii_case(&b'f'));
    let mut count = 0;
    let rest = digits.inspect(|_| count += 1).all(u8::is_ascii_hexdigit);
    head && rest && count < NIBBLES - 4
}
