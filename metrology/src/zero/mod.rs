//! Zeroing, the main step: the reference edge is made to lie along the table's travel.

mod outcome;

pub use outcome::{ClampShift, Pivot, Round, Sloping, Tap, ZeroOutcome};
