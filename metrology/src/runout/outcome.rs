//! What a run-out step tells. The names are those of the JSON that `status`, `analyse` and the record give.

use super::Period;
use crate::counted::is_zero;
use crate::uncertainty::{Component, Undecided, Verdict};
use serde::{Deserialize, Serialize};

/// An amount of the part itself, told apart from the readings' scatter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct OwnAmount {
    /// The amount, µm.
    pub um: f64,
    /// Its limits, 95 %, µm.
    pub interval_um: [f64; 2],
}

/// One plane across the axis, read round a turn or several.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Section {
    /// Where the plane is, when planes were given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plane_mm: Option<f64>,
    /// How many readings.
    pub points: usize,
    /// Whole turns that they cover.
    pub turns: usize,
    /// Time of a turn, when it was found from the readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn_s: Option<f64>,
    /// What is known of that time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub period: Option<Period>,
    /// Total indicator reading: largest minus smallest. ISO 1101: circular run-out.
    pub tir_um: f64,
    /// The limits of `part_runout`, widened where needed to hold `tir_um` too; absent when nothing tells the scatter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tir_interval_um: Option<[f64; 2]>,
    /// The part's own run-out all round, without the readings' scatter, which makes `tir_um` too large, and with the places
    /// between them; absent when nothing tells the scatter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_runout: Option<OwnAmount>,
    /// Distance of the least squares circle's centre from the axis; the run-out from it alone is twice that.
    pub eccentricity_um: f64,
    /// The limits, 95 %, of the eccentricity; absent when nothing tells the scatter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eccentricity_interval_um: Option<[f64; 2]>,
    /// Where the part stands out most by being off centre, degrees from 0 to below 360.
    pub high_spot_deg: f64,
    /// Its expanded uncertainty, 95 %; 180 when it may be anywhere, absent when nothing tells the
    /// scatter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high_spot_expanded_deg: Option<f64>,
    /// The circle's level, mm, as the indicator shows it: what it reads all round when the part is true.
    pub mean_mm: f64,
    /// Roundness about the least squares circle, peak to valley. ISO 12181-1: RONt, LSCI. Absent for three readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub roundness_ls_um: Option<f64>,
    /// Roundness by the minimum zone circles. ISO 12181-1: RONt, MZCI. Absent for three readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub roundness_mz_um: Option<f64>,
    /// The limits of `part_roundness`, widened where needed to hold `roundness_mz_um` too; absent behind a filter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub roundness_interval_um: Option<[f64; 2]>,
    /// The part's own minimum zone roundness, as `part_runout`; absent behind a filter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_roundness: Option<OwnAmount>,
    /// Centre of the minimum zone circles from the axis, along 0° and along 90°.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone_centre_um: Option<[f64; 2]>,
    /// Levels of the minimum zone circles, inner and outer, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone_mm: Option<[f64; 2]>,
    /// Amplitudes of the orders 2, 3, … as far as the angles tell them.
    pub harmonics_um: Vec<f64>,
    /// The orders among them that neither the readings' scatter nor the indicator explains.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub proved_orders: Vec<usize>,
    /// The most lobes a turn that the places show; absent where they show all that are computed with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lobes_shown: Option<usize>,
    /// The part that repeats turn by turn, less the eccentricity, peak to valley. ISO 230-7: synchronous error motion.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub synchronous_um: Option<f64>,
    /// The part that does not: the widest spread between turns at one angle. ISO 230-7: asynchronous error motion.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub asynchronous_um: Option<f64>,
    /// How many readings lie far from the rest.
    pub outliers: usize,
    /// Which, as rows from 1.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outlier_rows: Vec<usize>,
    /// How many were left out because that was asked for.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub rejected: usize,
    /// Readings outside the marked turns.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub unplaced: usize,
    /// The decision on the run-out, when a limit was stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Why the decision is undecided, when it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub undecided_because: Option<Undecided>,
    /// The budget of the eccentricity, largest first.
    pub budget: Vec<Component>,
}

/// The part's axis against the axis of turning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Axis {
    /// Distance of the axes at `plane_mm`.
    pub offset_um: f64,
    /// Angle between them.
    pub tilt_urad: f64,
    /// The way that the part's axis leans as the plane's place grows, degrees.
    pub direction_deg: f64,
    /// The way of the offset, degrees.
    pub offset_direction_deg: f64,
    /// The plane that the offset is for: the first by place.
    pub plane_mm: f64,
    /// The limits, 95 %, of the tilt; absent when nothing tells the scatter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_interval_urad: Option<[f64; 2]>,
}

/// The run-out that the axis alone gives at some plane.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Elsewhere {
    /// The plane.
    pub plane_mm: f64,
    /// Twice the eccentricity.
    pub runout_um: f64,
    /// The eccentricity there.
    pub eccentricity_um: f64,
    /// Its high spot.
    pub high_spot_deg: f64,
}

/// What to do to true the part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Truing {
    /// The angle to bring under the indicator: the high spot.
    pub at_deg: f64,
    /// How far the part is to go there, away from the indicator.
    pub move_um: f64,
    /// The reading to come to, as shown.
    pub target_mm: f64,
    /// The low spot, half a turn on: from there the same way is toward the indicator.
    pub opposite_deg: f64,
}

/// The outcome of a run-out step. Its own fields are those of the first plane by place.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct RunoutOutcome {
    /// The plane, or the first of several by place.
    #[serde(flatten)]
    pub section: Section,
    /// Every plane by place, when there are several.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub planes: Vec<Section>,
    /// The part's axis, with two planes or more at angles of one zero.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axis: Option<Axis>,
    /// The run-out at the planes that were asked for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub elsewhere: Vec<Elsewhere>,
    /// The advice, when an eccentricity is proved.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub truing: Option<Truing>,
    /// Part and spindle apart, when a second set-up with the part turned was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reversal: Option<Box<super::ReversalOutcome>>,
    /// The filter that roundness was taken behind, when one was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filter_upr: Option<u32>,
    /// What was done to the readings because the set-up or an option asks for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<String>,
    /// What else the user should know, in sentences.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}
