//! A capture, played into a sniffer.

use super::Chunk;
use crate::frame::{Decoded, Frame, Sniffer};
use metrology::Unit;

/// What a sniffer made of a capture.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Replayed {
    /// The values, each with the number of chunks after which it came.
    pub values: Vec<(usize, Decoded)>,
    /// Bytes that were part of no frame, half a frame at the end among them.
    pub skipped_bytes: u64,
}

/// Plays bytes with their timing into a sniffer, as a daemon does: silences are told, and the end is a hang-up.
///
/// `speed` is in bits per second and matters only to what counts as a silence.
pub fn replay<'a>(
    chunks: impl IntoIterator<Item = &'a Chunk>,
    frame: &Frame,
    bare: Unit,
    speed: u32,
) -> Replayed {
    let mut sniffer = Sniffer::new(frame.clone(), bare);
    let mut replayed = Replayed::default();
    let pause_s = frame.pause_s(speed);
    let mut last_ns = 0;
    for (number, chunk) in chunks.into_iter().enumerate() {
        let values = &mut replayed.values;
        if (chunk.at_ns - last_ns) as f64 * 1e-9 >= pause_s {
            // What a silence brings belongs to the bytes before it, or to a line that tells of it.
            let after = number + usize::from(chunk.bytes.is_empty() && !chunk.damaged);
            sniffer.pause(&mut |value| values.push((after, value)));
        }
        last_ns = chunk.at_ns;
        sniffer.push(&chunk.bytes, &mut |value| values.push((number + 1, value)));
        if chunk.damaged {
            sniffer.damaged(&mut |value| values.push((number + 1, value)));
        }
    }
    sniffer.reset();
    replayed.skipped_bytes = sniffer.skipped_bytes();
    replayed
}
