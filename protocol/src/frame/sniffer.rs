//! One sniffer for the daemon, captures, tests and fuzzing: it finds frames in whatever a port delivers.
//!
//! # The problem
//!
//! A port delivers pieces: half a frame, three frames and a half, the garbage of a wrong speed, zeros of a
//! broken cable, the tail of a frame whose head was sent before the port was opened. A value that was
//! never shown would spoil a set-up without anybody noticing, so a false value is worse than no value. A
//! value that is lost is bad as well: a user's press of the instrument's key does not come again.
//!
//! # What is done
//!
//! - The buffer is bounded: no frame is longer than a few hundred bytes, and what cannot become a frame is
//!   dropped, counted and kept for show.
//! - A bad frame does not take the good one behind it along: the search goes on one byte after the start
//!   of the bad one.
//! - The right edge of a value must be seen: a terminator, a checksum, a full count of bytes.
//! - The left edge must be known or proven. `3.512` is a good line, and also the end of `123.512`. It is
//!   *known* after a terminator, and after a silence that is longer than any hole in a frame
//!   ([`Sniffer::pause`]). It is *proven* by a sign that is there, by a literal prefix, by the `FFFF` of
//!   the 13-digit frame, by a checksum. Right behind a byte that is no text a fixed width is proof too.
//!   Everything else at the very start of a stream is skipped: in a stream one reading is lost, and
//!   before a press there is silence.
//! - A line with something printable in front of a good frame is refused, since it is the line of another
//!   kind of instrument (`X+1.234 Y-0.005`), with one exception: the beginning of a frame of the same form
//!   that was cut off and is followed by a whole one with a proven left edge (`+0.+1.234`).
//! - What comes out does not depend on how the bytes were cut into pieces.
//!
//! # Blind alleys
//!
//! - *Dropping the whole of a failed line.* Simple, and it loses the press that comes after a burst of
//!   noise without a terminator.
//! - *Taking the last number of a line.* It made a value of a date, and of the second axis of a read-out
//!   with two.
//! - *Leaving damaged characters out where every byte can be part of a value.* What a wrong speed makes of a frame of
//!   three bytes then has three good characters again and again. Marked, they made none in a million bytes.
//! - *Finding the three bytes of a 24-bit frame by values that agree.* A scale at rest sends the same three
//!   bytes again and again, and each of the three ways to cut that stream agrees with itself. Only the
//!   pause between frames tells where one starts; agreement only tells frames from noise.

use super::line::{Edge, Step, Trust, View};
use super::{Decoded, Frame};
use metrology::Unit;

/// The buffer never holds more than this; every frame decides within it.
const CAPACITY: usize = 1024;
/// Bytes are taken in pieces of this size, so that a large read needs no large buffer.
const PIECE: usize = 512;

/// Finds the frames of one form in a stream of bytes, and counts what is none.
#[derive(Debug, Clone)]
pub struct Sniffer {
    frame: Frame,
    bare: Unit,
    waiting: Vec<u8>,
    edge: Edge,
    trust: Trust,
    skipped: u64,
    last: Tail,
}

impl Sniffer {
    /// A sniffer for a stream that starts anywhere. A value whose frame states no unit is in `bare`.
    #[must_use]
    pub fn new(frame: Frame, bare: Unit) -> Self {
        let edge = start(&frame);
        Self {
            frame,
            bare,
            waiting: Vec::with_capacity(CAPACITY),
            edge,
            trust: Trust::None,
            skipped: 0,
            last: Tail::default(),
        }
    }

    /// The frame that is looked for.
    #[must_use]
    pub const fn frame(&self) -> &Frame {
        &self.frame
    }

    /// Takes bytes as they came, and hands over every value that ends in them.
    pub fn push(&mut self, bytes: &[u8], found: &mut dyn FnMut(Decoded)) {
        for piece in bytes.chunks(PIECE) {
            self.waiting.extend_from_slice(piece);
            self.scan(false, found);
        }
    }

    /// The line was silent for [`Frame::pause_s`], and nothing waits to be read.
    ///
    /// What comes next starts a frame, and half a frame that waits is garbage. To be told by a timer that
    /// ended with nothing to read, not by comparing the times of two reads: a computer that was busy
    /// elsewhere sees a gap where there was none. A frame whose only end is the silence is handed over here.
    pub fn pause(&mut self, found: &mut dyn FnMut(Decoded)) {
        self.scan(true, found);
        if !self.waiting.is_empty() {
            if self.frame.outlasts_pause(&self.waiting) {
                return;
            }
            self.drop_waiting();
        }
        self.edge = Edge::Known;
    }

    /// A character came whose parity or stop bit was wrong.
    ///
    /// In a text it is a NUL, which is part of no line. Where every byte can be part of a value, what waits cannot become
    /// a frame any more, and what follows is the rest of the same thing until the form says otherwise.
    pub fn damaged(&mut self, found: &mut dyn FnMut(Decoded)) {
        if !self.frame.has_any_byte() {
            return self.push(&[0], found);
        }
        self.drop_waiting();
        self.skipped += 1;
        self.edge = Edge::Inside;
    }

    /// The stream ended, as at a hang-up: half a frame is counted as skipped, and what comes next may start
    /// anywhere. The counts go on.
    pub fn reset(&mut self) {
        self.drop_waiting();
        self.edge = start(&self.frame);
        self.trust = Trust::None;
    }

    /// Bytes that were part of no frame, since the sniffer was made. Bytes that still wait are not counted.
    #[must_use]
    pub const fn skipped_bytes(&self) -> u64 {
        self.skipped
    }

    /// The last bytes that were skipped, readable: at most 64 characters, older ones replaced by `…`.
    #[must_use]
    pub fn last_skipped(&self) -> String {
        self.last.shown()
    }

    /// Whether what comes next is known to start a frame, and nothing waits: a silence would tell nothing more.
    #[must_use]
    pub fn is_between_frames(&self) -> bool {
        self.waiting.is_empty() && self.edge == Edge::Known
    }

    /// Bytes that wait for the rest of their frame.
    #[must_use]
    pub fn waiting_bytes(&self) -> usize {
        self.waiting.len()
    }

    fn scan(&mut self, paused: bool, found: &mut dyn FnMut(Decoded)) {
        let mut at = 0;
        while at < self.waiting.len() {
            let bytes = &self.waiting[at..];
            if self.edge == Edge::Known
                && let Some((taken, value)) = self.frame.quick(bytes, self.bare)
            {
                at += taken;
                self.trust = Trust::Good;
                found(value);
                continue;
            }
            let view = View {
                bytes,
                edge: self.edge,
                paused,
                trust: self.trust,
            };
            let step = match self.frame.scan(view, self.bare) {
                Some(step) => step,
                // No frame waits for as much as this; a byte less keeps the bound whatever happens.
                None if bytes.len() > CAPACITY - PIECE => Step::skip(1, Edge::Inside),
                None => break,
            };
            if step.skipped > 0 {
                self.skipped += step.skipped as u64;
                self.last.push(&bytes[..step.skipped]);
            }
            self.edge = step.edge;
            self.trust = step.trust;
            // Every step is done with a byte at least: a step of none would be one for ever.
            at += step.taken.max(1);
            if let Some(value) = step.found {
                found(value);
            }
        }
        self.waiting.drain(..at);
    }

    fn drop_waiting(&mut self) {
        self.skipped += self.waiting.len() as u64;
        self.last.push(&self.waiting);
        self.waiting.clear();
        self.trust = self.trust.shaken();
    }
}

const fn start(frame: &Frame) -> Edge {
    if frame.starts_whole() {
        Edge::Known
    } else {
        Edge::Unknown
    }
}

/// The last few bytes of a stream.
#[derive(Debug, Clone, Default)]
struct Tail {
    bytes: std::collections::VecDeque<u8>,
    cut: bool,
}

impl Tail {
    const KEPT: usize = 64;

    fn push(&mut self, bytes: &[u8]) {
        let new = &bytes[bytes.len().saturating_sub(Self::KEPT)..];
        let over = (self.bytes.len() + new.len()).saturating_sub(Self::KEPT);
        self.cut |= over > 0 || new.len() < bytes.len();
        self.bytes.drain(..over);
        self.bytes.extend(new);
    }

    fn shown(&self) -> String {
        let mut text = String::new();
        let mut cut = self.cut;
        // From the last byte back, as many as fit: an escaped byte takes up to four characters.
        let mut from = self.bytes.len();
        let mut length = 0;
        while from > 0 {
            let next = std::ascii::escape_default(self.bytes[from - 1]).len();
            if length + next > Self::KEPT - 1 {
                cut = true;
                break;
            }
            length += next;
            from -= 1;
        }
        if cut {
            text.push('…');
        }
        for byte in self.bytes.range(from..) {
            text.extend(std::ascii::escape_default(*byte).map(char::from));
        }
        text
    }
}
