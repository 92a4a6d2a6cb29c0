//! What the computer does that spoils readings: facts from its own files, judged, each with what to do.
//!
//! [`gather`] reads the facts below a root, which is `/` but in tests; [`judge`] is pure. [`rules`] are the udev rules that
//! put most of it right, and [`install`] puts them in place.

mod facts;
mod judge;
mod rules;

pub use facts::{
    Asked, DataFacts, Facts, InputFacts, PortFacts, RulesFacts, RuntimeFacts, Taker, TakerRule,
    gather,
};
pub use judge::{Finding, judge};
pub use rules::{InstallFault, Installed, RULES_FILE, install, rules};
