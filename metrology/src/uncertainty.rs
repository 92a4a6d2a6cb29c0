//! Uncertainty budgets of JCGM 100, and the decision of ISO 14253-1.

use serde::{Deserialize, Serialize};

/// One line of a budget as it is shown: a component's contribution to the result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Component {
    /// What it comes from, in the trade's words.
    pub component: String,
    /// Standard uncertainty contributed to the result, in `unit`.
    pub u: f64,
    /// The result's unit.
    pub unit: String,
    /// Degrees of freedom; absent where they are infinite.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub degrees_of_freedom: Option<f64>,
}

/// The decision of ISO 14253-1: conformity is proved, its opposite is proved, or neither.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Within the tolerance even with the uncertainty against it.
    In,
    /// Beyond the tolerance even with the uncertainty in its favour.
    Out,
    /// The limit lies within the expanded uncertainty of the value.
    Undecided,
}
