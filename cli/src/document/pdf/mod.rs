//! A record, and the card of a set-up, as PDF: vectors, text that can be selected, black and grey alone.
//!
//! Both are pure functions of the record: the same record makes the same bytes.

pub mod card;
mod font;
mod line;
mod pages;
mod paint;
mod plot;
pub mod record;
mod step;
mod summary;
mod table;
mod text;

#[cfg(test)]
mod tests;

pub use pages::Paper;
pub use paint::Unwritten;
