//! A capture as it is read, line by line.

use super::write::one_line;
use super::{Capture, CaptureError, Chunk, Entry, FIRST_LINE, LineError};
use crate::frame::Decoded;
use metrology::{Length, Shown, Unit};

pub(super) fn capture(text: &str) -> Result<Capture, CaptureError> {
    let mut reader = Reader::default();
    let mut lines = text.lines().map(str::trim).enumerate();
    let first = lines.next().map(|(_, line)| line);
    if first != Some(FIRST_LINE) {
        let why = LineError::FirstLine;
        return Err(CaptureError { line: 1, why });
    }
    for (number, line) in lines {
        let line_number = number + 1;
        reader.line(line).map_err(|why| CaptureError {
            line: line_number,
            why,
        })?;
    }
    Ok(reader.capture)
}

/// What has been read so far.
#[derive(Default)]
struct Reader {
    capture: Capture,
    /// The unit of a value without one.
    bare: Option<Unit>,
    last_ns: i64,
}

impl Reader {
    fn line(&mut self, line: &str) -> Result<(), LineError> {
        if line.is_empty() || line.starts_with('#') {
            return Ok(());
        }
        let entry = if let Some(value) = line.strip_prefix('=') {
            Entry::Value(decoded(value, self.bare.unwrap_or(Unit::Mm))?)
        } else if let Some(count) = line.strip_prefix("skipped ") {
            Entry::Skipped(count.trim().parse().map_err(|_| LineError::Skipped)?)
        } else if line.starts_with(|c: char| c.is_ascii_digit()) {
            Entry::Bytes(self.later(chunk(line)?)?)
        } else if let Some((key, value)) = line.split_once(':')
            && self.capture.entries.is_empty()
            && is_key(key)
        {
            return self.key(key, one_line(value));
        } else {
            return Err(LineError::Unknown);
        };
        self.capture.entries.push(entry);
        Ok(())
    }

    fn key(&mut self, key: &str, value: String) -> Result<(), LineError> {
        if key == "unit" {
            let unit = Unit::from_sign(&value);
            self.bare = Some(unit.ok_or_else(|| LineError::Unit(value.clone()))?);
        }
        self.capture.head.push((key.to_owned(), value));
        Ok(())
    }

    fn later(&mut self, chunk: Chunk) -> Result<Chunk, LineError> {
        if chunk.at_ns < self.last_ns {
            return Err(LineError::TimeRunsBack);
        }
        self.last_ns = chunk.at_ns;
        Ok(chunk)
    }
}

/// A key is a word, so that no line of the body looks like one.
fn is_key(key: &str) -> bool {
    key.starts_with(|c: char| c.is_ascii_alphabetic())
        && key
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-')
}

fn chunk(line: &str) -> Result<Chunk, LineError> {
    let line = line.split_once('|').map_or(line, |(bytes, _)| bytes);
    let sound = line.trim_end().strip_suffix(" !");
    let (line, damaged) = (sound.unwrap_or(line), sound.is_some());
    let mut words = line.split_whitespace();
    let time = words.next().unwrap_or_default();
    let at_ns = parse_ns(time).ok_or_else(|| LineError::Time(time.to_owned()))?;
    let bytes = words
        .map(|word| {
            let byte = (word.len() == 2).then(|| u8::from_str_radix(word, 16).ok());
            byte.flatten()
                .ok_or_else(|| LineError::Byte(word.to_owned()))
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

fn decoded(text: &str, bare: Unit) -> Result<Decoded, LineError> {
    let mut words = text.split_whitespace();
    let shown = words.next().unwrap_or_default();
    let unit = Unit::from_sign(shown.trim_start_matches(|c: char| !c.is_alphabetic()));
    let read = Shown::parse(shown, bare, None)?;
    let mut value = Decoded {
        unit,
        ..Decoded::bare(read.value, read.resolution)
    };
    while let Some(key) = words.next() {
        let word = words.next().unwrap_or_default();
        let bad = || LineError::BehindValue(format!("{key} {word}"));
        match key {
            "step" => value.resolution = Length::parse(word, Unit::Mm).map_err(|_| bad())?,
            "status" => value.status = Some(word.parse().map_err(|_| bad())?),
            "channel" => value.channel = Some(word.parse().map_err(|_| bad())?),
            _ => return Err(bad()),
        }
    }
    Ok(value)
}
