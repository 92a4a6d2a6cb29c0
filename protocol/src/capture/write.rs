//! The lines of a capture, as they are written.

use super::{Chunk, FIRST_LINE};
use crate::frame::Decoded;
use metrology::{Shown, Unit};
use std::fmt::Write as _;

/// The head of a capture, to be followed by lines as they come. A key is a word of letters, digits, `-` and `_`.
pub fn head<'a>(keys: impl IntoIterator<Item = (&'a str, &'a str)>) -> String {
    let mut text = format!("{FIRST_LINE}\n");
    for (key, value) in keys {
        let _ = writeln!(text, "{key}: {}", one_line(value));
    }
    text.push('\n');
    text
}

/// A text without control characters, which would end its line or hide in it.
pub(super) fn one_line(text: &str) -> String {
    let text = text.replace(char::is_control, " ");
    text.trim().to_owned()
}

/// The line for the bytes of one read.
#[must_use]
pub fn chunk_line(chunk: &Chunk) -> String {
    let (at_ns, bytes) = (chunk.at_ns.max(0), &chunk.bytes);
    let (s, ns) = (at_ns / 1_000_000_000, at_ns % 1_000_000_000);
    let mut text = format!("{s}.{ns:09}");
    // Microseconds are what timing is good to; the rest is written only where it is there.
    if text.ends_with("000") {
        text.truncate(text.len() - 3);
    }
    for byte in bytes {
        let _ = write!(text, " {byte:02x}");
    }
    if chunk.damaged {
        text.push_str(" !");
    }
    if !bytes.is_empty() {
        let _ = write!(text, " | {}", bytes.escape_ascii());
    }
    text.push('\n');
    text
}

/// The line for a value that came out, where a value without a unit is in `bare`.
#[must_use]
pub fn value_line(value: &Decoded, bare: Unit) -> String {
    let unit = value.unit.unwrap_or(bare);
    let mut places = 0_usize;
    while places < 9 && unit.pm() / 10_i64.pow(places as u32) > value.resolution.pm() {
        places += 1;
    }
    // The digits as shown: trailing zeros say the resolution.
    let mut digits = value.value.decimal(unit);
    let written = digits.split_once('.').map_or(0, |(_, after)| after.len());
    if written < places {
        if written == 0 {
            digits.push('.');
        }
        digits.extend(std::iter::repeat_n('0', places - written));
    }
    let sign = value.unit.map_or("", |unit| match unit {
        Unit::Mm => "mm",
        Unit::Um => "um",
        Unit::In => "in",
    });
    let mut text = format!("= {digits}{sign}");
    let shown = Shown::parse(&digits, unit, None).map(|shown| shown.resolution);
    if shown != Ok(value.resolution) {
        let _ = write!(text, " step {}mm", value.resolution.decimal(Unit::Mm));
    }
    if let Some(status) = value.status {
        let _ = write!(text, " status {status}");
    }
    if let Some(channel) = value.channel {
        let _ = write!(text, " channel {channel}");
    }
    text.push('\n');
    text
}

/// The last line of a capture: the bytes that were part of no frame.
#[must_use]
pub fn skipped_line(bytes: u64) -> String {
    format!("skipped {bytes}\n")
}
