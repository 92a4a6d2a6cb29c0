//! Lines: what all frames of text have in common, and what a look at the buffer can tell.

use super::Decoded;
use super::pattern::Terminator;
use memchr::{memchr, memchr2, memmem};
use metrology::{Length, Unit};

/// The longest line that can be a frame, in bytes. Longer ones are garbage with, at most, a frame at their end.
pub(super) const LONGEST: usize = 160;

/// What is known about the byte before the first one of the buffer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Edge {
    /// A frame starts here: a terminator or a silence came before.
    Known,
    /// The stream starts here, and nobody knows in the middle of what.
    Unknown,
    /// The buffer starts in the middle of something that was skipped.
    Inside,
}

/// Whether the frames before this one were good, for a form that has nothing else to prove itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Trust {
    /// Garbage came last, or nothing.
    None,
    /// So many good frames came since, each in agreement with the one before it.
    Held {
        /// The value of the last of them.
        before: Length,
        /// Its unit.
        unit: Option<Unit>,
        /// How many.
        count: u8,
    },
    /// Only good frames came since then.
    Good,
    /// Good frames came, and garbage since.
    Doubted,
}

impl Trust {
    /// What is left of it after garbage.
    pub(super) const fn shaken(self) -> Self {
        match self {
            Self::Good | Self::Doubted => Self::Doubted,
            Self::None | Self::Held { .. } => Self::None,
        }
    }
}

/// The buffer as a frame sees it.
#[derive(Debug, Clone, Copy)]
pub(super) struct View<'a> {
    pub bytes: &'a [u8],
    pub edge: Edge,
    /// After these bytes the line was silent.
    pub paused: bool,
    pub trust: Trust,
}

/// What the head of the buffer turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Step {
    /// Bytes that are done with.
    pub taken: usize,
    /// Those of them, from the first on, that were garbage.
    pub skipped: usize,
    pub found: Option<Decoded>,
    pub edge: Edge,
    pub trust: Trust,
}

impl Step {
    /// Garbage.
    pub(super) const fn skip(bytes: usize, edge: Edge) -> Self {
        Self {
            taken: bytes,
            skipped: bytes,
            found: None,
            edge,
            trust: Trust::None,
        }
    }

    /// Neither garbage nor a value: an empty line, the echo of a request, another channel.
    pub(super) const fn pass(bytes: usize, skipped: usize) -> Self {
        Self {
            taken: bytes,
            skipped,
            found: None,
            edge: Edge::Known,
            trust: Trust::Good,
        }
    }

    /// A value that ends after `taken` bytes, behind `skipped` bytes of garbage.
    pub(super) const fn found(taken: usize, skipped: usize, value: Decoded) -> Self {
        Self {
            taken,
            skipped,
            found: Some(value),
            edge: Edge::Known,
            trust: Trust::Good,
        }
    }
}

impl Terminator {
    /// The length of the first line, without and with its terminator.
    pub(super) fn split(self, bytes: &[u8]) -> Option<(usize, usize)> {
        let (end, length) = match self {
            Self::Any => (memchr2(b'\r', b'\n', bytes)?, 1),
            Self::Cr => (memchr(b'\r', bytes)?, 1),
            Self::Lf => (memchr(b'\n', bytes)?, 1),
            Self::CrLf => (memmem::find(bytes, b"\r\n")?, 2),
        };
        Some((end, end + length))
    }

    /// The bytes that end a line.
    pub(super) const fn bytes(self) -> &'static [u8] {
        match self {
            Self::Any | Self::CrLf => b"\r\n",
            Self::Cr => b"\r",
            Self::Lf => b"\n",
        }
    }
}

/// The first line of the buffer.
pub(super) enum Line<'a> {
    /// Its bytes, their number with the terminator, and what is known of its left edge. Where that is
    /// [`Edge::Inside`], the first byte is not part of a frame and only shows what stands before.
    Whole(&'a [u8], usize, Edge),
    /// Nothing that needs a look.
    Done(Option<Step>),
}

/// Takes the first line off the buffer: an empty one is passed, of a long one only the end is kept.
///
/// What comes of it does not depend on how the bytes were cut on their way here: a long line leaves the
/// same last bytes whether it comes at once or byte by byte.
pub(super) fn first<'a>(view: View<'a>, terminator: Terminator) -> Line<'a> {
    const KEPT: usize = LONGEST + 1;
    match terminator.split(view.bytes) {
        Some((0, total)) => Line::Done(Some(Step::pass(total, 0))),
        Some((length, total)) if length <= LONGEST => {
            Line::Whole(&view.bytes[..length], total, view.edge)
        }
        Some((KEPT, total)) => Line::Whole(&view.bytes[..KEPT], total, Edge::Inside),
        Some((length, _)) => Line::Done(Some(Step::skip(length - KEPT, Edge::Inside))),
        None if view.bytes.len() >= 2 * KEPT => {
            Line::Done(Some(Step::skip(view.bytes.len() - KEPT, Edge::Inside)))
        }
        None => Line::Done(None),
    }
}

/// Bytes that no instrument puts into a line of text: what a wrong speed or a bad contact makes.
pub(super) const fn is_noise(byte: u8) -> bool {
    !matches!(byte, b' '..=b'~' | b'\t')
}

pub(super) const fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t')
}
