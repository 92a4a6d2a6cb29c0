//! The background process as a library with one entry: [`run()`], which is given everything it works with.
//!
//! Cables tell the engine what arrives; the engine tells the clients, and hands to the store what has to last;
//! the API asks the engine. One thread carries a reading from its cable to the live views; requests have a thread of
//! their own, and the store's writing another.

mod api;
pub mod bench;
pub mod cable;
pub mod clock;
pub mod doctor;
mod engine;
mod fatal;
mod home;
pub mod pedal;
mod plain;
mod record;
pub mod reload;
mod run;
mod socket;
pub mod store;
mod timeline;

pub use engine::{Serve, ServePedal};
pub use fatal::Fatal;
pub use home::Home;
pub use run::{Parts, run, run_blocking};
pub use socket::Socket;

/// The program's version.
pub const PROGRAM: &str = env!("CARGO_PKG_VERSION");
