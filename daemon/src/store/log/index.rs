//! The index of the log (`-shm`), in which SQLite's processes tell each other how far the log is committed.
//!
//! It is written after the log was synced, so that a frame up to its number was committed for certain.

use super::{open, salt};
use std::io::{self, ErrorKind, Read};
use std::path::Path;

/// Its head is there twice; behind both lies how much of the log is in the file.
const HEAD: usize = 48;
const VERSION: u32 = 3_007_000;

/// What the index says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Index {
    /// The last frame that was committed.
    pub committed: u32,
    /// Frames up to this one are in the store's file as well.
    pub in_file: u32,
    /// Which log it is of.
    pub salt: [u8; 8],
    /// The size of a page, bytes.
    pub page_size: u32,
    /// How the log's checksums read their words.
    pub big_endian: bool,
}

fn word(bytes: &[u8], at: usize) -> u32 {
    let mut word = [0; 4];
    word.copy_from_slice(&bytes[at..at + 4]);
    u32::from_ne_bytes(word)
}

impl Index {
    /// Reads it; none when there is none, it was never filled, or its two heads do not agree.
    pub fn read(path: &Path) -> io::Result<Option<Self>> {
        let Some(mut file) = open(path)? else {
            return Ok(None);
        };
        let mut bytes = [0; 2 * HEAD + 4];
        match file.read_exact(&mut bytes) {
            Err(error) if error.kind() == ErrorKind::UnexpectedEof => return Ok(None),
            done => done?,
        }
        let head = &bytes[..HEAD];
        let mut check = (0_u32, 0_u32);
        for at in (0..40).step_by(8) {
            check.0 = check.0.wrapping_add(word(head, at)).wrapping_add(check.1);
            check.1 = check
                .1
                .wrapping_add(word(head, at + 4))
                .wrapping_add(check.0);
        }
        let whole = head == &bytes[HEAD..2 * HEAD]
            && word(head, 0) == VERSION
            && head[12] == 1
            && check == (word(head, 40), word(head, 44));
        // One stands for 65 536, which has no room there.
        let page_size = match u16::from_ne_bytes([head[14], head[15]]) {
            1 => 65_536,
            size => u32::from(size),
        };
        Ok(whole.then(|| Self {
            committed: word(head, 16),
            in_file: word(&bytes, 2 * HEAD),
            salt: salt(head, 32),
            page_size,
            big_endian: head[13] != 0,
        }))
    }
}
