//! Fits the pieces of a line to bytes, from left to right, without looking back and without allocating.

use super::line::is_blank;
use super::pattern::{Blanks, Piece, Point, Presence, Sign, TextPattern};
use metrology::Unit;

/// More digits than this are on no display, and their number stays within 64 bits.
const MOST_DIGITS: u8 = 15;
/// A single digit is too little to be told from noise.
const LEAST_DIGITS: u8 = 2;

/// How bytes fit a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fit {
    /// They are such a line.
    Whole,
    /// They are the beginning of one.
    Start,
    /// Neither.
    No,
}

/// What the pieces held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Parts {
    pub negative: bool,
    /// The sign was there.
    pub signed: bool,
    /// The point was there.
    pub pointed: bool,
    pub digits: u64,
    pub places: u8,
    pub unit: Option<Unit>,
    pub status: Option<u8>,
    pub channel: Option<u8>,
}

/// What the matcher has to know beyond the pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Rules {
    pub pattern: TextPattern,
    /// Signs of units with their unit, long ones before those that they start with.
    pub units: Vec<(Vec<u8>, Unit)>,
}

/// The bytes ended, or did not fit: what a failed piece gives.
type Piecewise<'a> = Result<&'a [u8], Fit>;

const fn short(rest: &[u8]) -> Fit {
    if rest.is_empty() { Fit::Start } else { Fit::No }
}

fn after_blanks(bytes: &[u8]) -> &[u8] {
    let blanks = bytes.iter().take_while(|b| is_blank(**b)).count();
    &bytes[blanks..]
}

impl Rules {
    /// Fits one line's pieces to bytes. `parts` is only good after [`Fit::Whole`].
    pub(super) fn fit(&self, pieces: &[Piece], bytes: &[u8], parts: &mut Parts) -> Fit {
        let free = self.pattern.blanks == Blanks::Free;
        let mut rest = bytes;
        for piece in pieces {
            if free && *piece != Piece::Blank {
                rest = after_blanks(rest);
            }
            rest = match self.piece(piece, rest, parts) {
                Ok(rest) => rest,
                Err(fit) => return fit,
            };
        }
        if free {
            rest = after_blanks(rest);
        }
        if rest.is_empty() { Fit::Whole } else { Fit::No }
    }

    fn piece<'a>(&self, piece: &Piece, rest: &'a [u8], parts: &mut Parts) -> Piecewise<'a> {
        match piece {
            Piece::Literal(literal) => match rest.strip_prefix(literal.as_slice()) {
                Some(after) => Ok(after),
                None if literal.starts_with(rest) => Err(Fit::Start),
                None => Err(Fit::No),
            },
            Piece::Blank => match rest.first() {
                Some(byte) if !is_blank(*byte) => Err(Fit::No),
                None => Err(Fit::Start),
                Some(_) if self.pattern.blanks == Blanks::Free => Ok(after_blanks(rest)),
                Some(_) => Ok(&rest[1..]),
            },
            Piece::Channel => self.channel(rest, parts),
            Piece::Sign => self.sign(rest, parts),
            Piece::Value => self.value(rest, parts),
            Piece::Unit => self.unit(rest, parts),
            Piece::Status => self.status(rest, parts),
        }
    }

    fn channel<'a>(&self, rest: &'a [u8], parts: &mut Parts) -> Piecewise<'a> {
        let mut number = 0_u32;
        let mut left = rest;
        for _ in 0..self.pattern.channel_digits {
            match left {
                [digit @ b'0'..=b'9', after @ ..] => {
                    number = number * 10 + u32::from(digit - b'0');
                    left = after;
                }
                _ => return Err(short(left)),
            }
        }
        parts.channel = u8::try_from(number).ok();
        Ok(left)
    }

    fn sign<'a>(&self, rest: &'a [u8], parts: &mut Parts) -> Piecewise<'a> {
        let exact = self.pattern.blanks == Blanks::Exact;
        let (negative, signed, after) = match (rest, self.pattern.sign) {
            ([b'-', after @ ..], _) => (true, true, after),
            ([b'+', ..], Sign::Minus) => return Err(Fit::No),
            ([b'+', after @ ..], _) => (false, true, after),
            (_, Sign::Always) => return Err(short(rest)),
            (_, Sign::Optional) => (false, false, rest),
            ([b' ', after @ ..], Sign::Minus) if exact => (false, false, after),
            (_, Sign::Minus) if exact => return Err(short(rest)),
            (_, Sign::Minus) => (false, false, rest),
        };
        (parts.negative, parts.signed) = (negative, signed);
        Ok(after)
    }

    fn value<'a>(&self, rest: &'a [u8], parts: &mut Parts) -> Piecewise<'a> {
        let pattern = &self.pattern;
        // Where no point is sent, the number is one run of digits.
        let (before, after) = match pattern.point {
            Point::None => (
                pattern.whole.map(|n| n + pattern.places.unwrap_or(0)),
                Some(0),
            ),
            _ => (pattern.whole, pattern.places),
        };
        let mut digits = 0;
        let (first, mut left) = run(rest, before, &mut digits)?;
        let mut count = first;
        if after != Some(0) {
            let point = match (left.first(), pattern.point) {
                (Some(b'.'), Point::Either | Point::Point) => true,
                (Some(b','), Point::Either | Point::Comma) => true,
                (Some(_), _) => false,
                (None, _) => return Err(Fit::Start),
            };
            if !point {
                return Err(Fit::No);
            }
            let (second, end) = run(&left[1..], after, &mut digits)?;
            if second == 0 {
                return Err(short(end));
            }
            (left, parts.places, parts.pointed) = (end, second, true);
            count += second;
        }
        if pattern.point == Point::None {
            parts.places = pattern.places.unwrap_or(0);
        }
        if count < LEAST_DIGITS {
            return Err(short(left));
        }
        if count > MOST_DIGITS {
            return Err(Fit::No);
        }
        parts.digits = digits;
        Ok(left)
    }

    fn unit<'a>(&self, rest: &'a [u8], parts: &mut Parts) -> Piecewise<'a> {
        if rest.is_empty() {
            // No sign of a unit is empty; most lines have none, and end here.
            return match self.pattern.unit {
                Presence::Always => Err(Fit::Start),
                Presence::Optional => Ok(rest),
            };
        }
        for (sign, unit) in &self.units {
            if let Some((head, after)) = rest.split_at_checked(sign.len())
                && head.eq_ignore_ascii_case(sign)
            {
                parts.unit = Some(*unit);
                return Ok(after);
            }
        }
        let begins = |sign: &[u8]| {
            sign.get(..rest.len())
                .is_some_and(|head| head.eq_ignore_ascii_case(rest))
        };
        match self.pattern.unit {
            _ if self.units.iter().any(|(sign, _)| begins(sign)) => Err(Fit::Start),
            Presence::Always => Err(Fit::No),
            Presence::Optional => Ok(rest),
        }
    }

    fn status<'a>(&self, rest: &'a [u8], parts: &mut Parts) -> Piecewise<'a> {
        let pattern = &self.pattern;
        let exact = pattern.blanks == Blanks::Exact;
        match rest {
            [letter, after @ ..]
                if pattern.status.as_bytes().contains(letter)
                    || pattern.refuse.as_bytes().contains(letter) =>
            {
                parts.status = Some(*letter);
                Ok(after)
            }
            // Where columns are fixed, no status is a blank.
            [b' ', after @ ..] if exact => Ok(after),
            _ if exact => Err(short(rest)),
            _ => Ok(rest),
        }
    }
}

/// A run of digits: exactly as many as wanted, or all that are there.
fn run<'a>(bytes: &'a [u8], wanted: Option<u8>, digits: &mut u64) -> Result<(u8, &'a [u8]), Fit> {
    let most = wanted.unwrap_or(MOST_DIGITS + 1);
    let mut count = 0;
    let mut left = bytes;
    while count < most
        && let [digit @ b'0'..=b'9', after @ ..] = left
    {
        *digits = digits
            .saturating_mul(10)
            .saturating_add(u64::from(digit - b'0'));
        count += 1;
        left = after;
    }
    match wanted {
        Some(wanted) if count < wanted => Err(short(left)),
        _ => Ok((count, left)),
    }
}
