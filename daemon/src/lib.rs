//! The background process as a library with one entry: [`run()`], which is given everything it works with.
//!
//! Cables report to the engine what arrives. The engine shows it to the clients, and hands to the store what has to last.
//! The API asks the engine. One thread carries a reading from its cable to the live views; requests have a thread of
//! their own, and the store's writing another.

mod api;
pub mod bench;
pub mod cable;
pub mod clock;
pub mod doctor;
mod engine;
mod fatal;
mod files;
mod home;
mod page;
pub mod pedal;
mod plain;
mod program;
mod record;
pub mod reload;
mod run;
mod socket;
pub mod store;
mod timeline;
mod watched;

pub use engine::{FreeRoom, Serve, ServePedal};
pub use fatal::Fatal;
pub use home::{Home, holder_of, is_held};
pub use page::Paper;
pub use program::PROGRAM;
pub use record::of_file as record_of_file;
pub use run::{Parts, run, run_blocking};
pub use socket::Socket;
