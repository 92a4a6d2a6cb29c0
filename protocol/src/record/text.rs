//! A record as text: how it is laid out, sealed, and read back.

use super::{FORMAT, Record, VERSION};
use serde::{Deserialize, Serialize};
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter, Serializer};
use sha2::{Digest, Sha256};
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
        let open = "\"digest\": \"";
        debug_assert!(text.contains(open));
        let end = text.rfind(open).map_or(text.len(), |at| at + open.len());
        text.insert_str(end, &seal);
        text
    }

    /// The seal of this record as it is now: what [`Record::write`] writes as its digest.
    #[must_use]
    pub fn seal(&self) -> String {
        // What stands in the digest's own place is not sealed.
        seal_of(&layout(self))
    }
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

/// The digest of a record's text: SHA-256 over everything before the last `"digest"`, without the white space between
/// tokens, so that a text that was only laid out anew keeps its seal and one changed digit breaks it.
fn seal_of(text: &str) -> String {
    let end = text.rfind("\"digest\"").unwrap_or(text.len());
    let mut hash = Sha256::new();
    let (mut in_string, mut escaped) = (false, false);
    let mut kept = Vec::with_capacity(PIECE);
    for byte in text[..end].bytes() {
        if in_string {
            (in_string, escaped) = match byte {
                _ if escaped => (true, false),
                b'\\' => (true, true),
                b'"' => (false, false),
                _ => (true, false),
            };
        } else if byte == b'"' {
            in_string = true;
        } else if byte.is_ascii_whitespace() {
            continue;
        }
        kept.push(byte);
        if kept.len() == PIECE {
            hash.update(&kept);
            kept.clear();
        }
    }
    hash.update(&kept);
    let hex: String = hash
        .finalize()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    format!("sha256:{hex}")
}

/// Whether the seal in the text fits the text.
#[must_use]
pub(super) fn seal_holds(text: &str, record: &Record) -> bool {
    seal_of(text) == record.digest
}
