//! Captures that are stored beside the tests, and their bytes cut anew.

#![allow(
    unreachable_pub,
    clippy::unwrap_used,
    reason = "a test's module, and a panic is a test's message"
)]

use conewright_protocol::capture::Chunk;
use std::path::{Path, PathBuf};

/// The captures in a folder of the tests, by name.
pub fn captures(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests")
        .join(folder);
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "capture"))
        .collect();
    files.sort();
    files
}

/// The same bytes at the same times, in pieces of `size`.
pub fn cut(chunks: &[Chunk], size: usize) -> Vec<Chunk> {
    let mut pieces = Vec::new();
    for chunk in chunks {
        pieces.extend(chunk.bytes.chunks(size).map(|bytes| Chunk {
            at_ns: chunk.at_ns,
            bytes: bytes.to_vec(),
            damaged: false,
        }));
        match pieces.last_mut() {
            Some(last) if !chunk.bytes.is_empty() => last.damaged = chunk.damaged,
            _ => pieces.push(chunk.clone()),
        }
    }
    pieces
}
