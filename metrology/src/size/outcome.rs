//! What a size step tells. The names are those of the JSON that `status`, `analyse` and the record give.

use crate::grind::NextPass;
use crate::uncertainty::{Component, Undecided, Verdict};
use serde::{Deserialize, Serialize};

/// Whether there is anything left to grind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Finish {
    /// There is stock left, more than its uncertainty.
    Left,
    /// What is left lies within its uncertainty: at size, or too far already by less than that.
    AtSize,
    /// An outside taper is too small already: nothing puts that back.
    Undersize,
    /// A bore is too large already.
    Oversize,
}

/// Rounds that disagree by more than they scatter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RoundsDisagree {
    /// The first round, from 1, that disagrees with those before it, and with which the part may be in a new state.
    pub from_round: u32,
    /// The largest change of a measured length, µm.
    pub by_um: f64,
    /// The change of the half angle, where the rounds to either side tell one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_arcsec: Option<f64>,
}

/// One measured plane.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Plane {
    /// Distance from the gauge plane, positive toward the small end.
    pub plane_mm: f64,
    /// Its diameter as measured, at 20 °C when a temperature was given.
    pub diameter_mm: f64,
    /// What it is to be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wanted_mm: Option<f64>,
    /// What is left there, on diameter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stock_um: Option<f64>,
}

/// How the infeed that is left divides into passes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Passes {
    /// Roughing passes.
    pub count: u32,
    /// Infeed of each.
    pub depth_um: f64,
    /// Infeed of the last of them, which takes what is left.
    pub last_um: f64,
    /// What then stays for finishing.
    pub finishing_um: f64,
}

/// A pass that was ground between two measurements of the size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Ground {
    /// The infeed that was advised. Nothing tells whether the machine was given another one.
    pub infeed_um: f64,
    /// What was left on diameter before it.
    pub before_um: f64,
    /// What it was to leave.
    pub expected_um: f64,
    /// What it left.
    pub after_um: f64,
}

/// The outcome of a size step.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SizeOutcome {
    /// Half angle, where what was measured tells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_deg: Option<f64>,
    /// Its standard uncertainty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_u_arcsec: Option<f64>,
    /// Its expanded uncertainty, 95 %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_expanded_arcsec: Option<f64>,
    /// Measured minus wanted half angle: positive for a steeper cone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_error_arcsec: Option<f64>,
    /// The tolerance as limits of that error, lower and upper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits_arcsec: Option<[f64; 2]>,
    /// The decision on the half angle, when a tolerance was stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Why the decision is undecided, when it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub undecided_because: Option<Undecided>,
    /// What is left to grind, on diameter, at the plane where least is left; with three planes or more by the cone through
    /// them. Negative: too far already.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stock_on_diameter_um: Option<f64>,
    /// The plane where that is, when it was found from diameters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stock_plane_mm: Option<f64>,
    /// Its expanded uncertainty, 95 %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stock_expanded_um: Option<f64>,
    /// The infeed that it is, square to the axis unless an option says to the cone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub infeed_um: Option<f64>,
    /// The infeed square to the part's axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub infeed_square_to_axis_um: Option<f64>,
    /// The infeed square to the cone's surface, the table swung so that its element lies along the travel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub infeed_square_to_cone_um: Option<f64>,
    /// Whether there is anything left; absent where nothing tells how sure that is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub finish: Option<Finish>,
    /// How it divides into passes, when a depth was given and something is left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passes: Option<Passes>,
    /// The next pass, where the plan says what is at size and something is left; its infeed is that of `infeed_um`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_pass: Option<NextPass>,
    /// The passes so far, where the part was ground between its measurements.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ground: Vec<Ground>,
    /// How the wheel goes over the cone, where its width was stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grind: Option<GrindPlan>,
    /// The rounds are not of one state of the part, and nobody said that it was ground between.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rounds_disagree: Option<RoundsDisagree>,
    /// The planes, in the order measured.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub planes: Vec<Plane>,
    /// The budget, largest first: of the half angle where it was measured, else of the stock.
    pub budget: Vec<Component>,
    /// What was done to the readings because the set-up or an option asks for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<String>,
    /// What the user should know, in sentences.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}

/// How the wheel goes over the cone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GrindPlan {
    /// The wheel's width.
    pub wheel_width_mm: f64,
    /// The middle of the wheel at each roughing plunge, from the big end along the cone.
    pub plunges_mm: Vec<f64>,
    /// By how much neighbouring plunges overlap; 0 for a single one.
    pub overlap_mm: f64,
    /// How far the wheel runs out beyond the small end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead_out_mm: Option<f64>,
    /// The radius of the wheel's corner, where the cone meets a shoulder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blend_radius_mm: Option<f64>,
    /// What the measured error of the half angle costs on diameter at the big and at the small end when the size is right at the
    /// gauge plane: positive where the part stays too large. Absent where no angle was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle_costs_um: Option<[f64; 2]>,
}
