//! The engine: one task that owns the cables' last values, the current session and its open step.
//!
//! Everything that happens comes to it as a message, and it works the messages off in order. So two clients who mark at the
//! same instant make two marks, and undo meets a whole mark or none. It never waits for the disk: it drafts a change, hands the
//! rows to the store, and puts the draft in force when the store has committed them. Readings go on to the clients meanwhile.

mod commit;
mod configured;
mod double_press;
mod draft;
mod feed;
mod fitted;
mod fixture;
mod handle;
mod incidents;
mod instruments;
mod lifecycle;
mod looks;
mod marks;
mod notes;
mod pedal;
mod pedal_presses;
mod presses;
mod recording;
mod request;
mod requests;
mod ring;
mod room;
mod roster;
mod run;
mod session;
mod source;
mod state;
mod status;
mod step;
mod stored_setup;
mod text;
mod waiting;
mod waiting_mark;
mod write_queue;

#[cfg(test)]
mod tests;

pub(crate) use configured::Configured;
pub(crate) use handle::Handle;
pub use pedal::ServePedal;
pub(crate) use request::Subscription;
pub use room::FreeRoom;
pub use roster::Serve;
pub(crate) use state::{Engine, EngineParts};
