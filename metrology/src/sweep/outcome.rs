//! What a sweep tells. The names are those of the JSON that `status`, `analyse` and the record give.

use crate::counted::is_zero;
use crate::uncertainty::{Component, Undecided, Verdict};
use crate::zero::{Pivot, Sloping, Tap};
use serde::{Deserialize, Serialize};

/// Two parallel lines with all points between them, closest together.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Zone {
    /// Rise of both lines.
    pub slope: f64,
    /// The lower line at position 0.
    pub low_mm: f64,
    /// The upper line at position 0.
    pub high_mm: f64,
}

/// A profile filter that was asked for, and used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Filtered {
    /// Which filter.
    pub filter: String,
    /// Its cut-off.
    pub cut_off_mm: f64,
    /// How much of the profile it leaves out at each end; absent in records from before ends were left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left_out_mm: Option<f64>,
}

/// The outcome of a sweep.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SweepOutcome {
    /// How many points the line is fitted to.
    pub points: usize,
    /// As how many independent ones they count in the uncertainty; absent where neighbours do not err alike.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub effective_points: Option<f64>,
    /// Rise of the reading per length of travel, by least squares; no unit.
    pub slope: f64,
    /// Its standard uncertainty by the scatter about the line; absent for two points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slope_u: Option<f64>,
    /// The line at position 0.
    pub intercept_mm: f64,
    /// Its standard uncertainty by the scatter about the line; absent for two points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub intercept_u_mm: Option<f64>,
    /// Standard deviation of a point about the line, with n − 2 degrees of freedom; absent for two points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub residual_sd_mm: Option<f64>,
    /// Straightness about the least squares line, peak to valley, square to it. ISO 12780-1: STRt.
    pub straightness_ls_um: f64,
    /// Straightness as the width of the minimum zone.
    pub straightness_mz_um: f64,
    /// Signed sagitta of the quadratic part over the swept length: positive when the middle is nearer to the indicator
    /// than the ends; absent with fewer than three places.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bow_um: Option<f64>,
    /// How many points lie far from the rest; they are counted in unless the answer says that they were left out.
    pub outliers: usize,
    /// Which, as rows from 1.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outlier_rows: Vec<usize>,
    /// How many points were left out because that was asked for.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub rejected: usize,
    /// The filter that straightness and bow were taken behind, when one was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filtered: Option<Filtered>,
    /// Where the first and the last place lie.
    pub from_mm: f64,
    /// The last.
    pub to_mm: f64,
    /// The minimum zone's lines.
    pub zone: Zone,
    /// atan of the slope.
    pub residual_arcsec: f64,
    /// Its expanded uncertainty, 95 %; absent when nothing tells how well the readings repeat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub residual_expanded_arcsec: Option<f64>,
    /// Which way, when the session states its sense.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cone: Option<Sloping>,
    /// What the residual is worth over the swept length, µm (not on diameter).
    pub over_span_um: f64,
    /// What it is worth on diameter over the taper's length, µm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_taper_um: Option<f64>,
    /// Error of the half angle, positive for a steeper cone: with a sense and a taper, or with a stack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_error_arcsec: Option<f64>,
    /// Its expanded uncertainty, 95 %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_expanded_arcsec: Option<f64>,
    /// The tolerance as limits of the half angle's error, arc-seconds, lower and upper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits_arcsec: Option<[f64; 2]>,
    /// The decision, when a tolerance was stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Why the decision is undecided, when it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub undecided_because: Option<Undecided>,
    /// The advice, when the set-up is judged and not the part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tap: Option<Tap>,
    /// Where the set-up turns, as stated or remembered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pivot: Option<Pivot>,
    /// The budget, largest first.
    pub budget: Vec<Component>,
    /// What was done to the readings because the set-up asks for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<String>,
    /// What else the user should know, in sentences.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}
