//! The two wires: what instruments send, and what the background process and its clients say to each other.
//!
//! Like `metrology`, this crate knows no tasks, no files, no clock and no environment: bytes, values and
//! times come in as arguments.

pub mod api;
pub mod capture;
pub mod dwell;
pub mod evidence;
pub mod fold;
pub mod frame;
mod gaps;
pub mod identify;
pub mod log;
pub mod marks;
pub mod pass;
pub mod place;
pub mod plan;
pub mod record;
mod rest;
pub mod screen;
pub mod sheet;
pub mod step;
pub mod style;
pub mod typed;
