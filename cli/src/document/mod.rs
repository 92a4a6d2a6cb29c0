//! A record as documents for people: a table for a spreadsheet, and a page to read and print.
//!
//! Both are pure functions of the record. The record itself, complete, is its JSON.

pub mod csv;
mod facts;
pub mod html;
mod page;
pub mod pdf;
pub(crate) mod plot;
pub(crate) mod streamed;

use jiff::Timestamp;
use protocol::evidence::Time;

/// UTC of a moment to the second: `2026-03-01 10:30:05`.
fn utc(t: Time) -> String {
    Timestamp::from_nanosecond(i128::from(t.0)).map_or_else(
        |_| String::from("?"),
        |at| at.strftime("%Y-%m-%d %H:%M:%S").to_string(),
    )
}

#[cfg(test)]
pub(crate) mod example;
#[cfg(test)]
mod styled;
#[cfg(test)]
mod tests;
