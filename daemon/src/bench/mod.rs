//! The virtual bench: a model of a set-up drives the far end of a pty, so that the demo, practice without
//! hardware and the tests run the same daemon over the same kind of port as a real instrument.
//!
//! [`Bench`] is the model, pure and seeded: table travel, edge, pivot, taps, clamp, noise, drift, display.
//! [`VirtualCable`] is the instrument: its own thread shows the model's readings as frames on a pty.
//! Everything but the timing is decided by the seed.

mod far_end;
mod line;
mod model;
mod plug;
mod pty;
mod speech;

pub use model::{Bench, ClampShift, Hand, Knock, Part, SetUp, Truth, Under};
pub use pty::VirtualCable;
pub use speech::{Manner, Speech};
