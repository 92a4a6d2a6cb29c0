//! A step's kind.

use serde::{Deserialize, Serialize};

/// The purposes that a step can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StepKind {
    /// The reference edge is made to lie along the travel, or the axis level.
    Zero,
    /// A cone or an edge is swept: its line, and how straight it is.
    Sweep,
    /// Readings round a turn.
    Runout,
    /// What is left to grind.
    Size,
    /// A print of marking dye is judged.
    Contact,
    /// The indicator itself is checked on gauge blocks.
    Dial,
}

impl StepKind {
    /// Every kind, in the order of the work.
    pub const ALL: [Self; 6] = [
        Self::Zero,
        Self::Sweep,
        Self::Runout,
        Self::Size,
        Self::Contact,
        Self::Dial,
    ];
}
