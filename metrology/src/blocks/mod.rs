//! Gauge blocks: a kit that is owned, and the stack chosen from it.

mod choose;
mod descent;
mod error;
mod fold;
mod kit;
mod limits;
mod pair;
mod pieces;
mod reach;
mod search;

pub use choose::{StackRules, WRING_U_UM, choose, stack_for_angle};
pub use error::StackError;
pub use kit::{Block, Grade, Kit, Stack, engraved_in};
pub use limits::{BlockLimits, LONGEST, SHORTEST};
pub use pair::choose_two;
