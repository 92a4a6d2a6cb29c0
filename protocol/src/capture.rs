//! Captures: raw bytes of a cable with their timing, as text that a person can read, mail and cut.
//!
//! ```text
//! conewright capture 1
//! settings: 9600 8N1
//! frame: text
//! unit: mm
//! legend: A stream whose first line is half a frame.
//!
//! 0.000000 30 2e 30 31 32 0d 0a | 0.012\r\n
//! 0.050000 2b 30 2e 30 31 33 20 6d 6d 0d 0a | +0.013 mm\r\n
//! = 0.013mm
//! 1.050000
//! skipped 6
//! ```
//!
//! - Head: lines of `key: value`, any words as keys. `settings` starts with the speed; `frame` is the name of a shipped
//!   frame, or a pattern or Modbus registers as JSON; `unit` is what a bare value is in; `legend` says what there is to see.
//! - `seconds bytes`: since the port was opened, the bytes that one read gave, in hexadecimal. What stands
//!   behind `|` is for the eye. A time without bytes says that nothing came until then. A `!` behind the bytes is a
//!   character that came damaged; what followed it in the same read has a line of its own.
//! - `= value`: what came out of the bytes above, as the instrument showed it; with its unit when the frame
//!   stated one, then `step`, `status` and `channel` where the digits do not say it.
//! - `skipped n`: bytes that were part of no frame, at the end of the stream.
//! - Empty lines and lines that start with `#` mean nothing.
//!
//! A capture that states what came out is a test case as it is.

use crate::frame::{Decoded, Frame, Modbus, Sniffer, TextPattern};
use metrology::{Length, Shown, Unit};
use std::fmt::{self, Write as _};

const FIRST_LINE: &str = "conewright capture 1";

/// Bytes with the time of their arrival.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Chunk {
    /// Nanoseconds since the port was opened.
    pub at_ns: i64,
    /// What one read gave; nothing, where the silence until then is what is told.
    pub bytes: Vec<u8>,
    /// Whether a character came behind them whose parity or stop bit was wrong. It is told only where every byte can
    /// be part of a value; in a text such a character is a NUL among the bytes.
    pub damaged: bool,
}

/// One line of a capture's body.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Entry {
    /// Bytes.
    Bytes(Chunk),
    /// A value that came out of the bytes before. A bare value is as shown; its unit is the capture's.
    Value(Decoded),
    /// The bytes that were skipped, in all.
    Skipped(u64),
}

/// A capture.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Capture {
    /// Keys and values of the head, in order.
    pub head: Vec<(String, String)>,
    /// Everything else, in order.
    pub entries: Vec<Entry>,
}

/// What a sniffer made of a capture.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Replayed {
    /// The values, each with the number of chunks after which it came.
    pub values: Vec<(usize, Decoded)>,
    /// Bytes that were part of no frame, half a frame at the end among them.
    pub skipped_bytes: u64,
}

/// A capture that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaptureError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong with it, and what was expected.
    pub what: String,
}

impl fmt::Display for CaptureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {} of the capture: {}", self.line, self.what)
    }
}

impl std::error::Error for CaptureError {}

impl Capture {
    /// Reads a capture.
    ///
    /// # Errors
    /// The first line that is not what it should be.
    pub fn parse(text: &str) -> Result<Self, CaptureError> {
        let mut lines = text.lines().enumerate();
        let error = |line: usize, what: String| CaptureError {
            line: line + 1,
            what,
        };
        if lines
            .next()
            .is_none_or(|(_, line)| line.trim_end() != FIRST_LINE)
        {
            return Err(error(0, format!("expected `{FIRST_LINE}`")));
        }
        let mut capture = Self::default();
        let mut bare = Unit::Mm;
        let mut last_ns = 0;
        for (number, line) in lines {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let entry = if let Some(value) = line.strip_prefix('=') {
                Entry::Value(parse_value(value, bare).map_err(|what| error(number, what))?)
            } else if let Some(count) = line.strip_prefix("skipped ") {
                let count = count.trim().parse();
                Entry::Skipped(count.map_err(|_| {
                    error(
                        number,
                        "expected `skipped` and a number of bytes".to_owned(),
                    )
                })?)
            } else if line.starts_with(|c: char| c.is_ascii_digit()) {
                let chunk = parse_chunk(line).map_err(|what| error(number, what))?;
                if chunk.at_ns < last_ns {
                    let what = "a time before that of the line above".to_owned();
                    return Err(error(number, what));
                }
                last_ns = chunk.at_ns;
                Entry::Bytes(chunk)
            } else if let Some((key, value)) = line.split_once(':')
                && capture.entries.is_empty()
                && is_key(key)
            {
                let (key, value) = (key.to_owned(), one_line(value));
                if key == "unit" {
                    bare = Unit::from_sign(&value).ok_or_else(|| {
                        error(number, format!("`{value}`: expected mm, um or in"))
                    })?;
                }
                capture.head.push((key, value));
                continue;
            } else {
                let what = "expected `key: value` in the head; then `seconds bytes`, `= value` or `skipped n`";
                return Err(error(number, what.to_owned()));
            };
            capture.entries.push(entry);
        }
        Ok(capture)
    }

    /// The value of a key in the head.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&str> {
        let found = self.head.iter().find(|(k, _)| k == key);
        found.map(|(_, value)| value.as_str())
    }

    /// The speed that `settings` starts with.
    #[must_use]
    pub fn bits_per_second(&self) -> Option<u32> {
        let first = self.get("settings")?.split_whitespace().next()?;
        first.parse().ok()
    }

    /// The frame that the head names or describes.
    ///
    /// # Errors
    /// What was written and what was expected.
    pub fn frame(&self) -> Result<Frame, String> {
        let text = self.get("frame").unwrap_or_default();
        if !text.starts_with('{') {
            let names = || Frame::names().join(", ");
            return Frame::shipped(text)
                .ok_or_else(|| format!("`frame: {text}`: expected one of {}", names()));
        }
        // The two descriptions have no key in common, so that the keys say which one it is.
        match serde_json::from_str::<Modbus>(text) {
            Ok(modbus) => Frame::from_modbus(modbus).map_err(|error| error.to_string()),
            Err(_) => {
                let pattern: TextPattern =
                    serde_json::from_str(text).map_err(|error| error.to_string())?;
                Frame::from_pattern(&pattern).map_err(|error| error.to_string())
            }
        }
    }

    /// The bytes, in order.
    pub fn chunks(&self) -> impl Iterator<Item = &Chunk> {
        self.entries.iter().filter_map(|entry| match entry {
            Entry::Bytes(chunk) => Some(chunk),
            Entry::Value(_) | Entry::Skipped(_) => None,
        })
    }
}

impl fmt::Display for Capture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut bare = Unit::Mm;
        for (key, value) in &self.head {
            if key == "unit" {
                bare = Unit::from_sign(value).unwrap_or(bare);
            }
        }
        f.write_str(&head(
            self.head.iter().map(|(k, v)| (k.as_str(), v.as_str())),
        ))?;
        for entry in &self.entries {
            match entry {
                Entry::Bytes(chunk) => f.write_str(&chunk_line(chunk))?,
                Entry::Value(value) => f.write_str(&value_line(value, bare))?,
                Entry::Skipped(count) => f.write_str(&skipped_line(*count))?,
            }
        }
        Ok(())
    }
}

/// The head of a capture, to be followed by lines as they come. A key is a word of letters, digits, `-` and `_`.
pub fn head<'a>(keys: impl IntoIterator<Item = (&'a str, &'a str)>) -> String {
    let mut text = format!("{FIRST_LINE}\n");
    for (key, value) in keys {
        let _ = writeln!(text, "{key}: {}", one_line(value));
    }
    text.push('\n');
    text
}

/// A key is a word, so that no line of the body looks like one.
fn is_key(key: &str) -> bool {
    key.starts_with(|c: char| c.is_ascii_alphabetic())
        && key
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-')
}

/// A text without control characters, which would end its line or hide in it.
fn one_line(text: &str) -> String {
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

fn parse_chunk(line: &str) -> Result<Chunk, String> {
    let line = line.split_once('|').map_or(line, |(bytes, _)| bytes);
    let sound = line.trim_end().strip_suffix(" !");
    let (line, damaged) = (sound.unwrap_or(line), sound.is_some());
    let mut words = line.split_whitespace();
    let time = words.next().unwrap_or_default();
    let at_ns = parse_ns(time).ok_or_else(|| format!("`{time}`: expected seconds such as 1.25"))?;
    let bytes = words
        .map(|word| {
            let byte = (word.len() == 2).then(|| u8::from_str_radix(word, 16).ok());
            byte.flatten().ok_or_else(|| {
                format!("`{word}`: expected a byte such as 0d, or `!` behind the last one")
            })
        })
        .collect::<Result<_, _>>()?;
    Ok(Chunk {
        at_ns,
        bytes,
        damaged,
    })
}

/// Decimal seconds to nanoseconds, exactly.
fn parse_ns(text: &str) -> Option<i64> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || fraction.len() > 9 || !digits(whole) || !digits(fraction) {
        return None;
    }
    let whole: i64 = whole.parse().ok()?;
    let ns: i64 = format!("{fraction:0<9}").parse().ok()?;
    whole.checked_mul(1_000_000_000)?.checked_add(ns)
}

fn parse_value(text: &str, bare: Unit) -> Result<Decoded, String> {
    let mut words = text.split_whitespace();
    let shown = words.next().unwrap_or_default();
    let unit = Unit::from_sign(shown.trim_start_matches(|c: char| !c.is_alphabetic()));
    let read = Shown::parse(shown, bare, None).map_err(|e| e.to_string())?;
    let mut value = Decoded {
        unit,
        ..Decoded::bare(read.value, read.resolution)
    };
    while let Some(key) = words.next() {
        let word = words.next().unwrap_or_default();
        let bad = || format!("`{key} {word}`: expected `step 0.0005in`, `status H` or `channel 2`");
        match key {
            "step" => value.resolution = Length::parse(word, Unit::Mm).map_err(|_| bad())?,
            "status" => value.status = Some(word.parse().map_err(|_| bad())?),
            "channel" => value.channel = Some(word.parse().map_err(|_| bad())?),
            _ => return Err(bad()),
        }
    }
    Ok(value)
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check_refused(text: &str, line: usize, about: &str) {
        let error = Capture::parse(text).unwrap_err();
        assert_eq!(error.line, line, "{error}");
        assert!(error.what.contains(about), "{error}");
    }

    #[test]
    fn mistakes_are_named_with_their_line() {
        check_refused("", 1, FIRST_LINE);
        check_refused("conewright capture 1\nunit: furlong\n", 2, "furlong");
        check_refused("conewright capture 1\ntwo words: 1\n", 2, "head");
        check_refused("conewright capture 1\n\n0.0 2b 3\n", 3, "`3`");
        check_refused("conewright capture 1\n\n0.0 2b ! 3b\n", 3, "`!`");
        check_refused("conewright capture 1\n\n0.x 2b\n", 3, "0.x");
        check_refused("conewright capture 1\n1.0 2b\n0.9 2b\n", 3, "before");
        check_refused("conewright capture 1\n1.0 2b\nkey: late\n", 3, "head");
        check_refused("conewright capture 1\n= 0.5 staus H\n", 2, "staus");
        check_refused("conewright capture 1\nskipped many\n", 2, "skipped");
    }

    #[test]
    fn a_key_of_the_head_stays_on_its_line() {
        let text = head([("note", "two\nlines\r of \u{7}it ")]);
        assert_eq!(text, "conewright capture 1\nnote: two lines  of  it\n\n");
        let capture = Capture::parse("conewright capture 1\nsettings: 9600\r\u{0}8N1\n").unwrap();
        assert_eq!(capture.get("settings"), Some("9600  8N1"));
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(
            chunks in prop::collection::vec((0_i64..5_000_000_000, prop::collection::vec(any::<u8>(), 0..40), any::<bool>()), 0..10),
            digits in -99_999_i64..99_999,
            inch in any::<bool>(),
            channel in prop::option::of(0_u8..100),
        ) {
            let mut at_ns = 0;
            let mut entries: Vec<Entry> = chunks.into_iter().map(|(step, bytes, damaged)| {
                at_ns += step;
                Entry::Bytes(Chunk { at_ns, bytes, damaged })
            }).collect();
            let (unit, step) = if inch { (Unit::In, 12_700_000) } else { (Unit::Mm, 1_000_000) };
            entries.push(Entry::Value(Decoded {
                unit: Some(unit),
                channel,
                status: channel.map(|_| 'H'),
                ..Decoded::bare(Length::from_pm(digits * step), Length::from_pm(step))
            }));
            entries.push(Entry::Skipped(3));
            let capture = Capture {
                head: vec![("settings".to_owned(), "9600 8N1".to_owned()), ("unit".to_owned(), "mm".to_owned())],
                entries,
            };
            prop_assert_eq!(Capture::parse(&capture.to_string()).unwrap(), capture);
        }

        #[test]
        fn any_text_is_read_or_refused(text in "(?s).{0,200}") {
            let _ = Capture::parse(&format!("{FIRST_LINE}\n{text}"));
        }
    }
}
