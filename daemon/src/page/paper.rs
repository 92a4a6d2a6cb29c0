//! A form that a record can be written in.

use config::Config;
use std::io::{Read, Write};

/// What reads a record as JSON and writes it in a form.
pub type WritePaper = fn(&mut dyn Read, &Config, &mut dyn Write) -> Result<(), String>;

/// A form that a record can be written in.
#[derive(Debug, Clone, Copy)]
pub struct Paper {
    /// The ending of its files, such as `html`.
    pub ending: &'static str,
    /// Its media type.
    pub kind: &'static str,
    /// Reads a record as JSON and writes it as the configuration says, or says why it cannot be written.
    pub write: WritePaper,
}
