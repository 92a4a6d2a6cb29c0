//! The background process as a library: cables, session, store and API.

pub mod bench;
pub mod cable;
pub mod clock;
pub mod store;
