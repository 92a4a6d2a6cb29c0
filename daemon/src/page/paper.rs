//! A form that a record can be written in.

use config::Config;
use protocol::record::Record;

/// A form that a record can be written in.
#[derive(Debug, Clone, Copy)]
pub struct Paper {
    /// The ending of its files, such as `html`.
    pub ending: &'static str,
    /// Its media type.
    pub kind: &'static str,
    /// Writes it as the configuration says, or says why it cannot be written.
    pub write: fn(Record, &Config) -> Result<Vec<u8>, String>,
}
