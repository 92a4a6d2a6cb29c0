//! The pedal: a key, keypad or foot switch of its own that marks whatever window has the focus.
//!
//! [`run`] is its task: it opens the device that the configuration names, takes it for itself so that its keys type nowhere
//! else, reports presses and states, and waits when the device is gone. [`devices`] lists what there is, without
//! opening any.

mod event;
mod keys;
mod list;
mod open;
mod press;
mod select;
mod task;

pub use event::PedalEvent;
pub use keys::{Keys, PedalOpener};
pub use list::{InputDevice, devices};
pub use open::SystemPedal;
pub use press::KeyChange;
pub use task::{run, run_with};
