//! A form that a record can be written in.

use protocol::record::Record;

/// A form that a record can be written in.
#[derive(Debug, Clone, Copy)]
pub struct Paper {
    /// The ending of its files, such as `html`.
    pub ending: &'static str,
    /// Its media type.
    pub kind: &'static str,
    /// Writes it, or says why it cannot be written.
    pub write: fn(Record) -> Result<Vec<u8>, String>,
}
