//! Cables: the ways for readings to arrive, each served by a task of its own.
//!
//! [`run`] is the task: it opens the port that the configuration names, reports readings and states as
//! [`CableEvent`]s, and waits when the device is gone. [`ports`] lists what there is, without opening any.
//! A failure is a state with words that say what to do; nothing here ends because a device left.

mod as_configured;
mod capture;
mod event;
mod event_reporter;
mod fault;
mod holder;
mod identify;
mod list;
mod listen;
mod port;
mod proposal;
mod raw;
mod replay;
mod select;
mod serve;
mod task;
mod timers;

pub use capture::{CaptureFault, Captured, after, capture};
pub use event::{CableEvent, CableEventKind};
pub use fault::Fault;
pub use holder::{Holder, Holders, denial, may_open};
pub use identify::{Listening, Tried, identify};
pub use list::{PortInfo, UsbIdentity, ports};
pub use listen::listen;
pub use port::{Opened, Opener, SystemOpener};
pub use proposal::proposal;
pub use raw::{Raw, Received};
pub use replay::{Replay, SPEEDS, replay_lines};
pub(crate) use task::{GRACE_AGAIN, Patience, Retry};
pub use task::{run, run_with};
