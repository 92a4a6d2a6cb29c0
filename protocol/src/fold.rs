//! A step's outcome as a pure function of set-up and evidence: the same code live, after a crash, on export
//! and in `verify`.

use crate::evidence::Evidence;
use metrology::setup::Setup;
use metrology::zero::ZeroOutcome;
use serde::{Deserialize, Serialize};

/// The purposes that a step can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StepKind {
    /// The reference edge is made to lie along the travel.
    Zero,
}

impl StepKind {
    /// Every kind, in the order of the work.
    pub const ALL: [Self; 1] = [Self::Zero];

    /// Its name in commands and files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Zero => "zero",
        }
    }
}

/// What a step computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Outcome {
    /// Of a zero step.
    Zero(ZeroOutcome),
}

/// Computes a step's outcome.
///
/// # Errors
/// What in the evidence cannot be used, in a sentence for the user.
pub fn outcome(kind: StepKind, setup: &Setup, evidence: &Evidence) -> Result<Outcome, String> {
    let _ = (setup, evidence);
    match kind {
        StepKind::Zero => Ok(Outcome::Zero(ZeroOutcome::default())),
    }
}
