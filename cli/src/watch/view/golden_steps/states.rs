//! What a user can be looking at in each step. Each outcome is computed from readings, as the daemon does it.

mod common;
mod contact;
mod dial;
mod runout;
mod size;
mod sweep;
mod zero;

use crate::watch::state::Watch;

/// What a user can be looking at in each step, each with a legend.
pub fn states() -> Vec<(&'static str, Watch)> {
    [
        zero::states(),
        sweep::states(),
        runout::states(),
        size::states(),
        contact::states(),
        dial::states(),
    ]
    .concat()
}
