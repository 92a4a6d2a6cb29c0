//! Cables: the ways for readings to arrive, each served by a task of its own.

mod event;

pub use event::{CableEvent, CableEventKind};
