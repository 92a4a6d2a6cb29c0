//! What a dial step tells. The names are those of the JSON that `status`, `analyse` and the record give.

use crate::indicator::IndicatorCheck;
use crate::uncertainty::{Component, Undecided, Verdict};
use serde::{Deserialize, Serialize};

/// What was found at one nominal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// The nominal.
    pub nominal_mm: f64,
    /// Mean error of the readings that were come to upward, as shown minus nominal, µm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_um: Option<f64>,
    /// Mean error of the readings that were come to downward.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub down_um: Option<f64>,
}

/// The outcome of a dial step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DialOutcome {
    /// How many readings.
    pub points: usize,
    /// Largest minus smallest error of indication over all readings. ISO 463, ISO 13102: error of indication.
    pub error_span_um: f64,
    /// Largest difference of the mean errors upward and downward at one nominal. ISO 463: hysteresis. Absent when no nominal
    /// was read both ways.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hysteresis_um: Option<f64>,
    /// Largest range of the readings at one nominal come to one way. ISO 463: repeatability. Absent without repeats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability_um: Option<f64>,
    /// Standard deviation of a reading at one nominal come to one way. Absent without repeats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability_sd_um: Option<f64>,
    /// The nominals, rising.
    pub steps: Vec<Step>,
    /// What later steps use of it.
    pub check: IndicatorCheck,
    /// Expanded uncertainty, 95 %, of a single later reading anywhere in the checked range, come to either way, its
    /// correction made if one is wanted. Absent where nothing tells how readings repeat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expanded_um: Option<f64>,
    /// The decision on the stated limit of the indicator's error, when there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Why the decision is undecided, when it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub undecided_because: Option<Undecided>,
    /// The budget of such a reading, largest first.
    pub budget: Vec<Component>,
    /// What the user should know, in sentences.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}
