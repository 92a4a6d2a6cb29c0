//! A record as text: how it is laid out, sealed, and read back.

use super::{FORMAT, Record, Signature, VERSION};
use crate::evidence::{CableReadings, Reading, Time};
use metrology::Length;
use serde::{Deserialize, Serialize};
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter, Serializer};
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use std::io::{self, Write};

/// Why a text is not a record that can be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// Not JSON, or not laid out as a record is; with line and column.
    #[error("the record cannot be read: {0}")]
    Malformed(String),
    /// JSON of something else.
    #[error("this is not a record: its format is `{0}`, not `{FORMAT}`")]
    OtherFormat(String),
    /// Written by a newer program.
    #[error("the record is of version {0}; this program reads up to version {VERSION}")]
    Newer(u32),
}

#[derive(Deserialize)]
struct Head {
    #[serde(default)]
    format: String,
    #[serde(default)]
    version: u32,
}

impl Record {
    /// Reads a record; what it says is not checked here ([`super::verify`]).
    ///
    /// # Errors
    /// [`ReadError`]: no JSON, another format, or a newer version.
    pub fn read(text: &str) -> Result<Self, ReadError> {
        let malformed = |error: serde_json::Error| ReadError::Malformed(error.to_string());
        let head: Head = serde_json::from_str(text).map_err(malformed)?;
        if head.format != FORMAT {
            return Err(ReadError::OtherFormat(head.format));
        }
        if head.version > VERSION {
            return Err(ReadError::Newer(head.version));
        }
        serde_json::from_str(text).map_err(malformed)
    }

    /// Writes the record with its seal: the digest is made here, whatever stood in its place.
    #[must_use]
    pub fn write(mut self) -> String {
        self.digest.clear();
        let mut text = layout(&self);
        // A large record is large twice, and not four times: its evidence goes before its text is worked on.
        drop(self);
        let seal = seal_of(&text);
        debug_assert!(text.contains(OPEN));
        let end = text.rfind(OPEN).map_or(text.len(), |at| at + OPEN.len());
        text.insert_str(end, &seal);
        text
    }

    /// Writes the record with its seal, and takes the readings of the cables that are [`later`] as it goes: they need not be
    /// held. `readings` is given the step's place in the record, the cable, and where each reading goes.
    ///
    /// # Errors
    /// Those of `readings`, and of `out`.
    pub fn write_to<E: From<io::Error>>(
        mut self,
        out: &mut impl Write,
        mut readings: impl FnMut(
            usize,
            &str,
            &mut dyn FnMut(Reading) -> io::Result<()>,
        ) -> Result<(), E>,
    ) -> Result<(), E> {
        self.digest.clear();
        let text = layout(&self);
        let mut places = Vec::new();
        for (index, step) in self.steps.iter().enumerate() {
            let cables = step.evidence.readings.iter();
            let later = cables.filter(|(_, held)| held.iter().eq([&LATER]));
            places.extend(later.map(|(cable, _)| (index, cable.clone())));
        }
        // Readings stand on lines of their own, and no text of a record has a line end.
        let begins = format!("\n{}", " ".repeat(2 * BROKEN_DEPTH));
        let mark = format!("{begins}{}", row(&LATER));
        let mut rest = &*text;
        let mut seal = Seal::default();
        for (index, cable) in places {
            let Some((before, after)) = rest.split_once(&mark) else {
                return Err(io::Error::other("a place for readings is missing").into());
            };
            rest = after;
            seal.take(before);
            out.write_all(before.as_bytes())?;
            let mut separator = "";
            readings(index, &cable, &mut |reading| {
                let line = format!("{separator}{begins}{}", row(&reading));
                separator = ",";
                seal.take(&line);
                out.write_all(line.as_bytes())
            })?;
        }
        let digest = digest_at(rest);
        let open = rest[digest..]
            .find(OPEN)
            .map_or(rest.len(), |at| digest + at + OPEN.len());
        seal.take(&rest[..digest]);
        out.write_all(&rest.as_bytes()[..open])?;
        out.write_all(seal.words().as_bytes())?;
        out.write_all(&rest.as_bytes()[open..])?;
        Ok(())
    }

    /// The seal of this record as it is now: what [`Record::write`] writes as its digest.
    #[must_use]
    pub fn seal(&self) -> String {
        // What stands in the digest's own place is not sealed.
        seal_of(&layout(self))
    }

    /// The seal that the record has. One that never was written has the one that it would get.
    #[must_use]
    pub fn sealed(&self) -> Cow<'_, str> {
        if self.digest.is_empty() {
            self.seal().into()
        } else {
            (&*self.digest).into()
        }
    }
}

/// What stands before the seal.
const OPEN: &str = "\"digest\": \"";
/// Where what is sealed ends.
const DIGEST: &str = "\"digest\"";

/// Stands for readings that are written later. No cable sends it.
const LATER: Reading = Reading {
    seq: u64::MAX,
    t: Time(i64::MIN),
    value: Length::ZERO,
    resolution: Length::ZERO,
};

/// In place of a cable's readings in a record that is written by [`Record::write_to`].
#[must_use]
pub fn later() -> CableReadings {
    [LATER].into_iter().collect()
}

/// A reading as a record has it.
fn row(reading: &Reading) -> String {
    // Four numbers are always JSON.
    serde_json::to_string(reading).unwrap_or_default()
}

/// JSON with line breaks down to single marks and readings, each of those on one line.
fn layout(record: &Record) -> String {
    let mut out = Vec::new();
    let mut serializer = Serializer::with_formatter(&mut out, Shallow::default());
    // Writing into memory fails only for a map key that is no string, and a record has none.
    let written = record.serialize(&mut serializer);
    debug_assert!(written.is_ok());
    out.push(b'\n');
    String::from_utf8(out).unwrap_or_default()
}

/// Deeper than this, JSON stays on one line: steps, marks and readings are one line each.
const BROKEN_DEPTH: usize = 5;

#[derive(Default)]
struct Shallow {
    depth: usize,
    pretty: PrettyFormatter<'static>,
    compact: CompactFormatter,
}

/// Hands a call to the pretty formatter above the depth and to the compact one below it.
macro_rules! by_depth {
    ($($name:ident ( $($arg:ident : $type:ty),* ) shift $shift:expr;)*) => {$(
        fn $name<W: ?Sized + Write>(&mut self, to: &mut W, $($arg: $type),*) -> io::Result<()> {
            if $shift > 0 { self.depth += 1; }
            let result = if self.depth <= BROKEN_DEPTH {
                self.pretty.$name(to, $($arg),*)
            } else {
                self.compact.$name(to, $($arg),*)
            };
            if $shift < 0 { self.depth -= 1; }
            result
        }
    )*};
}

impl Formatter for Shallow {
    by_depth! {
        begin_array() shift 1;
        end_array() shift -1;
        begin_array_value(first: bool) shift 0;
        end_array_value() shift 0;
        begin_object() shift 1;
        end_object() shift -1;
        begin_object_key(first: bool) shift 0;
        begin_object_value() shift 0;
        end_object_value() shift 0;
    }
}

/// So much is handed to the hash at a time.
const PIECE: usize = 64 * 1024;

/// The digest of a record's text: SHA-256 over everything before the key `"digest"`, without the white space between
/// tokens, so that a text that was only laid out anew keeps its seal and one changed digit breaks it.
fn seal_of(text: &str) -> String {
    let mut seal = Seal::default();
    seal.take(&text[..digest_at(text)]);
    seal.words()
}

/// Where the digest's key stands in the text of a record, or in the end of one: behind it there may be a signature, and whoever signs
/// may have the name `digest`, which no colon follows.
fn digest_at(text: &str) -> usize {
    let is_key = |at: &usize| {
        let after = text[at + DIGEST.len()..].trim_start();
        after.starts_with(':')
    };
    let places = text.rmatch_indices(DIGEST).map(|(at, _)| at);
    places.into_iter().find(is_key).unwrap_or(text.len())
}

/// The end of a record's text with a signature, from `"digest"` on. Of a record that is written as it comes, the seal is known at its
/// end only; what `sign` gives for the seal is put behind it. None when the text does not end as a record does.
#[must_use]
pub fn sign_end(end: &str, sign: impl FnOnce(&str) -> Signature) -> Option<String> {
    let from = digest_at(end) + OPEN.len();
    let length = end.get(from..)?.find('"')?;
    let (before, after) = end.split_at(from + length + 1);
    let signature = serde_json::to_string_pretty(&sign(&end[from..from + length])).ok()?;
    let signature = signature.replace('\n', "\n  ");
    Some(format!("{before},\n  \"signature\": {signature}{after}"))
}

/// A seal in the making: the text may come in pieces.
#[derive(Default)]
struct Seal {
    hash: Sha256,
    in_string: bool,
    escaped: bool,
    kept: Vec<u8>,
}

impl Seal {
    fn take(&mut self, text: &str) {
        for byte in text.bytes() {
            if self.in_string {
                (self.in_string, self.escaped) = match byte {
                    _ if self.escaped => (true, false),
                    b'\\' => (true, true),
                    b'"' => (false, false),
                    _ => (true, false),
                };
            } else if byte == b'"' {
                self.in_string = true;
            } else if byte.is_ascii_whitespace() {
                continue;
            }
            self.kept.push(byte);
            if self.kept.len() == PIECE {
                self.hash.update(&self.kept);
                self.kept.clear();
            }
        }
    }

    fn words(mut self) -> String {
        self.hash.update(&self.kept);
        let digest = self.hash.finalize();
        let hex: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        format!("sha256:{hex}")
    }
}

/// Whether the seal in the text fits the text.
#[must_use]
pub(super) fn seal_holds(text: &str, record: &Record) -> bool {
    seal_of(text) == record.digest
}
