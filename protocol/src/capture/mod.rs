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

mod error;
mod read;
mod replay;
mod write;

pub use error::{CaptureError, FrameError, LineError};
pub use replay::{Replayed, replay};
pub use write::{chunk_line, head, skipped_line, value_line};

use crate::frame::{Decoded, Frame, Modbus, TextPattern};
use metrology::Unit;
use std::fmt;

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

impl Capture {
    /// Reads a capture.
    ///
    /// # Errors
    /// The first line that is not what it should be.
    pub fn parse(text: &str) -> Result<Self, CaptureError> {
        read::capture(text)
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
    pub fn frame(&self) -> Result<Frame, FrameError> {
        let text = self.get("frame").unwrap_or_default();
        if !text.starts_with('{') {
            return Frame::shipped(text).ok_or_else(|| FrameError::Unknown(text.to_owned()));
        }
        // The two descriptions have no key in common, so that the keys say which one it is.
        Ok(match serde_json::from_str::<Modbus>(text) {
            Ok(modbus) => Frame::from_modbus(modbus)?,
            Err(_) => Frame::from_pattern(&serde_json::from_str::<TextPattern>(text)?)?,
        })
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

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::Length;
    use proptest::prelude::*;

    fn check_refused(text: &str, line: usize, about: &str) {
        let error = Capture::parse(text).unwrap_err();
        assert_eq!(error.line, line, "{error}");
        assert!(error.why.to_string().contains(about), "{error}");
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
