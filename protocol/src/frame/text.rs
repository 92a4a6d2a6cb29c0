//! Lines of text: a compiled pattern, both ways.

use super::line::{self, Edge, LONGEST, Line, Step, Trust, View, is_blank, is_noise};
use super::matcher::{Fit, Parts, Rules};
use super::pattern::{self, PatternError, Piece, Terminator, TextPattern};
use super::pattern_check::{check, is_fixed};
use super::{Decoded, decimal, quick};
use metrology::Unit;

/// The signs of units that instruments send, the plain one of each unit first. Micro comes as Latin-1 and as UTF-8.
pub(super) const UNITS: [(&[u8], Unit); 9] = [
    (b"mm", Unit::Mm),
    (b"um", Unit::Um),
    (b"in", Unit::In),
    (b"inch", Unit::In),
    (b"in.", Unit::In),
    (b"\"", Unit::In),
    (b"\xb5m", Unit::Um),
    ("\u{b5}m".as_bytes(), Unit::Um),
    ("\u{3bc}m".as_bytes(), Unit::Um),
];

/// A pattern that is ready to use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct TextFrame {
    pub(super) rules: Rules,
    pub(super) lines: Vec<Vec<Piece>>,
    /// Its length never changes, so that it proves where it starts.
    fixed: bool,
    /// Most of its lines can be read the short way.
    quick: bool,
}

/// How sure it is that a line starts where the pattern fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
enum Proof {
    None,
    /// By its length: good behind a byte that is no text.
    Length,
    /// By a sign or a prefix.
    Mark,
}

impl TextFrame {
    pub(super) fn new(pattern: &TextPattern) -> Result<Self, PatternError> {
        let lines = pattern::pieces(&pattern.line)?;
        check(pattern, &lines)?;
        let mut units: Vec<(Vec<u8>, Unit)> = if pattern.units.is_empty() {
            UNITS.iter().map(|(s, u)| (s.to_vec(), *u)).collect()
        } else {
            let own = pattern.units.iter();
            own.map(|(s, u)| (s.as_bytes().to_vec(), *u)).collect()
        };
        // `inch` before `in`; equal lengths stay in order.
        units.sort_by_key(|(sign, _)| std::cmp::Reverse(sign.len()));
        let fixed = pattern.width.is_some() || is_fixed(pattern, &lines);
        let frame = Self {
            rules: Rules {
                pattern: pattern.clone(),
                units,
            },
            quick: quick::suits(pattern, &lines),
            lines,
            fixed,
        };
        frame.fits_itself()?;
        Ok(frame)
    }

    /// Refuses a pattern that does not read the lines that it writes.
    fn fits_itself(&self) -> Result<(), PatternError> {
        let has = |wanted| self.rules.units.iter().any(|(_, unit)| *unit == wanted);
        let unit = if !self.has(&Piece::Unit) || has(Unit::Mm) {
            Unit::Mm
        } else if has(Unit::In) {
            Unit::In
        } else {
            Unit::Um
        };
        for steps in [1, -1] {
            let Some(example) = self.write(steps, 3, unit) else {
                continue;
            };
            if self.read(&example, unit).is_none() || example.len() > LONGEST {
                return Err(PatternError::NeverFits {
                    example: String::from_utf8_lossy(&example).into_owned(),
                });
            }
        }
        Ok(())
    }

    pub(super) fn has(&self, piece: &Piece) -> bool {
        self.lines.iter().flatten().any(|p| p == piece)
    }

    /// The short way for a whole line at a known edge, and how many bytes it takes.
    #[inline]
    pub(super) fn quick(&self, bytes: &[u8], bare: Unit) -> Option<(usize, Decoded)> {
        if !self.quick {
            return None;
        }
        let (taken, parts) = quick::line(&self.rules.pattern, bytes)?;
        Some((taken, self.value(&parts, bare)?))
    }

    /// The way for all lines.
    pub(super) fn general(&self, view: View, bare: Unit) -> Option<Step> {
        let terminator = self.rules.pattern.terminator;
        let (text, total, edge) = match line::first(view, terminator) {
            Line::Whole(text, total, edge) => (text, total, edge),
            Line::Done(step) => return step,
        };
        let garbage = Some(Step::skip(total, Edge::Known));
        let Some((start, mut parts)) = self.search(text, edge) else {
            return garbage;
        };
        let mut taken = total;
        if let Some(second) = self.lines.get(1) {
            let rest = View {
                bytes: &view.bytes[total..],
                edge: Edge::Known,
                ..view
            };
            // The other half of a CR LF is an empty line where either of them ends one.
            let ended = view.bytes[total - 1];
            let empty = match rest.bytes {
                [other @ (b'\r' | b'\n'), ..]
                    if terminator == Terminator::Any && *other != ended =>
                {
                    1
                }
                _ => 0,
            };
            let rest = View {
                bytes: &rest.bytes[empty..],
                ..rest
            };
            let (text, more) = match line::first(rest, terminator) {
                Line::Whole(text, more, Edge::Known) => (text, more),
                Line::Done(None) => return None,
                Line::Whole(..) | Line::Done(Some(_)) => return garbage,
            };
            if self.rules.fit(second, text, &mut parts) != Fit::Whole {
                return garbage;
            }
            taken += empty + more;
        }
        if self.is_other_channel(&parts) {
            return Some(Step::pass(taken, start));
        }
        Some(match self.value(&parts, bare) {
            Some(value) => Step::found(taken, start, value),
            None => Step::skip(taken, Edge::Known),
        })
    }

    /// Where in the first line a frame starts, if it does.
    fn search(&self, text: &[u8], edge: Edge) -> Option<(usize, Parts)> {
        let from = usize::from(edge == Edge::Inside);
        (from..text.len()).find_map(|start| {
            let behind_noise = start > 0 && self.is_noise(text[start - 1]);
            if start > 0 && !behind_noise && !self.may_start_with(text[start]) {
                return None;
            }
            let mut parts = Parts::default();
            if self.fit(0, &text[start..], &mut parts) != Fit::Whole {
                return None;
            }
            let proof = self.proof(&parts);
            let good = match edge {
                Edge::Known if start == 0 => true,
                _ if start == 0 => proof == Proof::Mark,
                _ if behind_noise => proof >= Proof::Length,
                _ => proof == Proof::Mark && self.is_cut_frame(&text[..start], edge),
            };
            good.then_some((start, parts))
        })
    }

    fn fit(&self, line: usize, bytes: &[u8], parts: &mut Parts) -> Fit {
        let fit = self.rules.fit(&self.lines[line], bytes, parts);
        match self.rules.pattern.width.map(usize::from) {
            Some(width) if line == 0 => match bytes.len().cmp(&width) {
                std::cmp::Ordering::Equal => fit,
                std::cmp::Ordering::Less if fit == Fit::Whole => Fit::Start,
                std::cmp::Ordering::Less => fit,
                std::cmp::Ordering::Greater => Fit::No,
            },
            _ => fit,
        }
    }

    /// The first thing in the line that is not a blank.
    fn head(&self) -> Option<&Piece> {
        self.lines[0].iter().find(|piece| **piece != Piece::Blank)
    }

    /// A byte that is no text, and no start or end of text that this pattern has itself.
    fn is_noise(&self, byte: u8) -> bool {
        let own = |piece: &Piece| matches!(piece, Piece::Literal(l) if l.contains(&byte));
        is_noise(byte) && !self.lines[0].iter().any(own)
    }

    fn may_start_with(&self, byte: u8) -> bool {
        match self.head() {
            Some(Piece::Literal(literal)) => literal[0] == byte,
            Some(Piece::Sign) => matches!(byte, b'+' | b'-'),
            _ => false,
        }
    }

    fn proof(&self, parts: &Parts) -> Proof {
        let pattern = &self.rules.pattern;
        let mark = match self.head() {
            // A number in front proves nothing: it may be the end of another one.
            Some(Piece::Literal(literal)) => literal
                .iter()
                .any(|b| !b.is_ascii_digit() && !matches!(b, b'.' | b',')),
            // A sign and whole digits are also the end of a date.
            Some(Piece::Sign) => {
                parts.signed && (parts.pointed || pattern.places.is_some() || self.lines.len() > 1)
            }
            _ => false,
        };
        if mark {
            Proof::Mark
        } else if self.fixed {
            Proof::Length
        } else {
            Proof::None
        }
    }

    /// Whether these bytes, behind the last one that is no text, are a frame of this form that was cut
    /// off. A frame that could be whole does not count: two values in a line are another instrument's.
    /// A sign alone does not either: of two signs nobody knows which one is right.
    fn is_cut_frame(&self, bytes: &[u8], edge: Edge) -> bool {
        let last = bytes.iter().rfind(|b| !is_blank(**b));
        if matches!(last, Some(b'+' | b'-')) {
            return false;
        }
        let noise = bytes.iter().rposition(|b| self.is_noise(*b));
        if noise.is_none() && edge == Edge::Inside {
            return false;
        }
        let cut = &bytes[noise.map_or(0, |at| at + 1)..];
        self.fit(0, cut, &mut Parts::default()) == Fit::Start
    }

    fn value(&self, parts: &Parts, bare: Unit) -> Option<Decoded> {
        let refused = |letter| self.rules.pattern.refuse.as_bytes().contains(&letter);
        if parts.status.is_some_and(refused) {
            return None;
        }
        let unit = parts.unit.unwrap_or(bare);
        let (value, resolution) = decimal(parts.negative, parts.digits, parts.places, unit)?;
        Some(Decoded {
            value,
            resolution,
            unit: parts.unit,
            status: parts.status.map(char::from),
            channel: parts.channel,
        })
    }

    fn is_other_channel(&self, parts: &Parts) -> bool {
        let wanted = self.rules.pattern.channel;
        wanted.is_some() && parts.channel != wanted
    }

    /// A frame that waits for its second line may wait through a silence.
    pub(super) fn outlasts_pause(&self, waiting: &[u8]) -> bool {
        let ended = match self.rules.pattern.terminator {
            Terminator::Any => matches!(waiting.last(), Some(b'\r' | b'\n')),
            exact => waiting.ends_with(exact.bytes()),
        };
        self.lines.len() > 1 && ended
    }

    /// What a whole frame of bytes holds.
    pub(super) fn read(&self, bytes: &[u8], bare: Unit) -> Option<Decoded> {
        let view = View {
            bytes,
            edge: Edge::Known,
            paused: false,
            trust: Trust::None,
        };
        self.general(view, bare)
            .filter(|step| step.skipped == 0)?
            .found
    }
}

#[cfg(test)]
mod tests {
    use crate::frame::{Frame, Sniffer, shipped};
    use metrology::{Length, Unit};

    /// The values in a stream that starts with a known edge or not, and the bytes skipped.
    fn check(name: &str, known: bool, bytes: &[u8], um: &[f64], skipped: u64) {
        let mut sniffer = Sniffer::new(Frame::shipped(name).unwrap(), Unit::Mm);
        let mut values = Vec::new();
        if known {
            sniffer.pause(&mut |_| unreachable!());
        }
        sniffer.push(bytes, &mut |d| values.push(d.value.um()));
        let shown = bytes.escape_ascii();
        assert_eq!(values, um, "{name}: {shown}");
        assert_eq!(sniffer.skipped_bytes(), skipped, "{name}: {shown}");
    }

    #[test]
    fn every_shipped_frame_has_a_legend_and_compiles() {
        for name in Frame::names() {
            assert!(Frame::shipped(name).is_some(), "{name}");
            assert!(Frame::legend(name).is_some(), "{name}");
            if let Some(pattern) = shipped::pattern(name) {
                assert_eq!(Frame::from_pattern(&pattern).err(), None, "{name}");
            }
        }
    }

    #[test]
    fn the_left_edge_is_known_or_proven() {
        // The first line of a stream may be the end of `123.512`.
        check("text", false, b"3.512\r\n", &[], 6);
        check("text", true, b"3.512\r\n", &[3512.0], 0);
        check("text", false, b"3.512\r\n3.513\r\n", &[3513.0], 6);
        // A sign is a proof, unless the line could be a date.
        check("text", false, b"+3.512\r\n", &[3512.0], 0);
        check("text", false, b"-05\r\n", &[], 4);
        // Noise in front of a sign.
        check("text", true, b"\xff\xfe+3.512\r\n", &[3512.0], 2);
        check("text", true, b"\xff\xfe3.512\r\n", &[], 8);
        // Another instrument's lines.
        check("text", true, b"X+1.234 Y-0.005\r\n", &[], 16);
        check("text", true, b"+1.234 -0.005\r\n", &[], 14);
        check("text", true, b"2024-05-01\r\n", &[], 11);
        // A frame that was cut off, then a whole one.
        check("text", true, b"+0.+1.234\r\n", &[1234.0], 3);
        check("text-fixed", true, b"+000.0+001.234\r\n", &[1234.0], 6);
        check("text-fixed", true, b"+000.012+001.234\r\n", &[], 17);
    }

    #[test]
    fn a_single_digit_is_no_value() {
        check("text", true, b"5\r\n", &[], 2);
        check("text", true, b"5.\r\n", &[], 3);
        check("text", true, b".5\r\n", &[], 3);
        check("text", true, b"-.05\r\n", &[-50.0], 0);
    }

    #[test]
    fn what_a_value_says_of_itself() {
        let mut sniffer = Sniffer::new(Frame::shipped("text-status").unwrap(), Unit::Mm);
        let mut values = Vec::new();
        sniffer.push(b"+0.0120 IN H\r+1,5O\n+9.999E\r\n", &mut |d| values.push(d));
        assert_eq!(values.len(), 2);
        assert_eq!(values[0].value, Length::from_pm(304_800_000));
        assert_eq!(values[0].resolution, Length::from_pm(2_540_000));
        assert_eq!(values[0].unit, Some(Unit::In));
        assert_eq!(values[0].status, Some('H'));
        assert_eq!((values[1].unit, values[1].status), (None, Some('O')));
        assert_eq!(sniffer.last_skipped(), "+9.999E\\r");
    }
}
