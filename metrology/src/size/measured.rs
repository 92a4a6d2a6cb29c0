//! What a size step is told: what was measured, and what is asked for beyond the plain figures.

use crate::Length;
use crate::gauging::BallInBore;
use crate::thermal::STEEL_UM_PER_M_K;
use serde::{Deserialize, Serialize};

/// A diameter at a plane.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SectionReading {
    /// Distance from the gauge plane, positive toward the small end.
    pub plane_mm: f64,
    /// The diameter there, as measured.
    pub diameter_mm: f64,
}

/// A measurement over two equal rollers on equal stacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Over {
    /// Height of the stacks.
    #[serde(rename = "stacks_mm")]
    pub stacks: Length,
    /// The measurement over the rollers.
    #[serde(rename = "over_mm")]
    pub over: Length,
}

/// A ball in a bore, and the depths at which its top was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ball {
    /// Its radius.
    pub radius: Length,
    /// Depths of its top below the bore's face, in the order measured.
    pub tops_below_face: Vec<Length>,
}

impl From<BallInBore> for Ball {
    fn from(ball: BallInBore) -> Self {
        Self {
            radius: ball.radius,
            tops_below_face: vec![ball.top_below_face],
        }
    }
}

/// What was measured in one state of the part, in the order measured. The second value at a place is of the second round.
#[derive(Debug, Clone, PartialEq)]
pub enum Measured {
    /// Diameters at planes.
    Sections(Vec<SectionReading>),
    /// The gauge or the mating part stops short of where it should seat; negative when it goes too far on.
    StandOff {
        /// By so much, each time that it was measured.
        short: Vec<Length>,
    },
    /// Over rollers, the small end down on the plate.
    Rollers {
        /// Radius of the rollers.
        radius: Length,
        /// The measurements.
        over: Vec<Over>,
    },
    /// A big and a small ball in a bore, big end up.
    Balls {
        /// The big one.
        big: Ball,
        /// The small one.
        small: Ball,
    },
}

/// Which side of the material the cone is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Surface {
    /// An outside taper: grinding makes it smaller.
    #[default]
    Outside,
    /// A bore: grinding makes it larger.
    Bore,
}

/// Which way the machine feeds in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Infeed {
    /// Square to the part's axis.
    #[default]
    Axis,
    /// Square to the cone's surface.
    Cone,
}

/// Temperatures, for a part that is measured warm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Temperature {
    /// Of the part.
    pub part_c: f64,
    /// Of the instrument; its scale is taken to grow as the part does. 20 °C unless stated.
    #[serde(default = "twenty")]
    pub instrument_c: f64,
    /// Standard uncertainty of the difference of the two, K.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u_k: Option<f64>,
    /// Linear expansion of both; steel's unless stated.
    #[serde(default = "steel")]
    pub expansion_um_per_m_k: f64,
}

const fn twenty() -> f64 {
    20.0
}

const fn steel() -> f64 {
    STEEL_UM_PER_M_K
}

/// What is asked for beyond the plain figures.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SizeOptions {
    /// Outside taper or bore.
    pub surface: Surface,
    /// Which infeed `infeed_um` is.
    pub infeed: Infeed,
    /// Standard uncertainty of a measured length, where it is known better than by the set-up's indicator. The display's step
    /// counts beside it.
    #[serde(rename = "diameter_u_mm", skip_serializing_if = "Option::is_none")]
    pub diameter_u: Option<Length>,
    /// Standard uncertainty of a plane's place, or of a stand-off.
    #[serde(rename = "plane_u_mm", skip_serializing_if = "Option::is_none")]
    pub plane_u: Option<Length>,
    /// Bring the diameters to 20 °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub temperature: Option<Temperature>,
    /// Infeed of one pass.
    #[serde(rename = "pass_mm", skip_serializing_if = "Option::is_none")]
    pub pass: Option<Length>,
    /// Infeed that is left for finishing.
    #[serde(rename = "allowance_mm", skip_serializing_if = "Option::is_none")]
    pub allowance: Option<Length>,
    /// At size when at most this is left on diameter: with the infeed of a pass it tells the next one. Steps that were opened
    /// before that was told lack it.
    #[serde(rename = "within_mm", skip_serializing_if = "Option::is_none")]
    pub within: Option<Length>,
    /// The wheel's width: with it the plan names the roughing plunges.
    #[serde(rename = "wheel_width_mm", skip_serializing_if = "Option::is_none")]
    pub wheel_width: Option<Length>,
    /// How much of that width neighbouring plunges overlap at the least.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overlap: Option<f64>,
    /// The radius of the wheel's corner.
    #[serde(rename = "blend_radius_mm", skip_serializing_if = "Option::is_none")]
    pub blend_radius: Option<Length>,
    /// How far the wheel runs out beyond the small end.
    #[serde(rename = "lead_out_mm", skip_serializing_if = "Option::is_none")]
    pub lead_out: Option<Length>,
}
