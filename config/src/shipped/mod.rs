//! The shipped data: tapers, kits and cautions, embedded in the program, each entry with its source.
//!
//! The tables are read once, on first use. They are part of the program, so a fault in one is a fault of
//! the program and stops it; the tests read every row.

mod cautions;
mod kits;
mod tapers;

pub use cautions::{Caution, Occasion, cautions_for, occasions, shipped_cautions};
pub use kits::{KitGroup, MAX_BLOCKS, shipped_kits};
pub use tapers::shipped_tapers;

use serde::de::DeserializeOwned;

/// The rows of an embedded table.
fn rows<T: DeserializeOwned>(table: &str, text: &str) -> Vec<T> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .unwrap_or_else(|e| panic!("the shipped table {table} is broken: {e}"))
}
