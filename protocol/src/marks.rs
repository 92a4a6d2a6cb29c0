//! Damaged characters among bytes that can be any.
//!
//! In a text a character whose parity or stop bit was wrong comes as NUL, and is part of no line. Where every byte can be
//! part of a value the system is asked to mark it instead (`PARMRK` of termios, POSIX.1-2017, general terminal
//! interface, input modes): it comes as `FF 00` and the character, a break as `FF 00 00`, and a good byte `FF` as `FF FF`. Leaving it out
//! is not enough: three good characters of a burst of seven would be a frame of three bytes.

/// What a port that marks damaged characters gave.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Piece<'a> {
    /// Good bytes.
    Bytes(&'a [u8]),
    /// A character that came damaged; what it was is worth nothing.
    Damaged,
}

/// Takes the marks out, wherever reads cut them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Marks {
    /// Among good bytes.
    #[default]
    Outside,
    /// After `FF`.
    Begun,
    /// After `FF 00`.
    Character,
}

impl Marks {
    /// Hands over what the bytes of one read stand for.
    pub fn take(&mut self, mut bytes: &[u8], out: &mut dyn FnMut(Piece<'_>)) {
        while let [first, rest @ ..] = bytes {
            match self {
                Self::Outside => {
                    let good = memchr::memchr(0xff, bytes).unwrap_or(bytes.len());
                    if good > 0 {
                        out(Piece::Bytes(&bytes[..good]));
                        bytes = &bytes[good..];
                        continue;
                    }
                    *self = Self::Begun;
                }
                Self::Begun if *first == 0 => *self = Self::Character,
                Self::Begun => {
                    // Nothing else than a second FF comes here from a port that keeps to it.
                    out(Piece::Bytes(&[*first]));
                    *self = Self::Outside;
                }
                Self::Character => {
                    out(Piece::Damaged);
                    *self = Self::Outside;
                }
            }
            bytes = rest;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// `None` is a damaged character.
    type Sent = Vec<Option<u8>>;

    /// As the system hands them over.
    fn marked(sent: &[Option<u8>]) -> Vec<u8> {
        let mut bytes = Vec::new();
        for character in sent {
            match character {
                Some(0xff) => bytes.extend([0xff, 0xff]),
                Some(byte) => bytes.push(*byte),
                None => bytes.extend([0xff, 0, 0xff]),
            }
        }
        bytes
    }

    fn taken(pieces: &[&[u8]]) -> Sent {
        let (mut marks, mut got) = (Marks::default(), Vec::new());
        for piece in pieces {
            marks.take(piece, &mut |piece| match piece {
                Piece::Bytes(bytes) => got.extend(bytes.iter().map(|byte| Some(*byte))),
                Piece::Damaged => got.push(None),
            });
        }
        got
    }

    #[test]
    fn a_break_is_a_damaged_character() {
        assert_eq!(
            taken(&[&[1, 0xff, 0, 0, 2]]),
            [Some(1), None, Some(2)].to_vec()
        );
    }

    proptest! {
        #[test]
        fn what_was_sent_comes_out_however_it_is_cut(
            sent in prop::collection::vec(prop::option::weighted(0.8, prop_oneof![Just(0xff), Just(0), any::<u8>()]), 0..60),
            cut in 1_usize..7,
        ) {
            let bytes = marked(&sent);
            let pieces: Vec<&[u8]> = bytes.chunks(cut).collect();
            prop_assert_eq!(taken(&pieces), sent);
        }
    }
}
