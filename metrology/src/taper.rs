//! A taper: an axis, a half angle, a gauge plane with its diameter, and the usable length.

use crate::{Angle, Length};
use serde::{Deserialize, Serialize};

/// A taper. `d(z) = D − 2 z tan α`, z from the gauge plane toward the small end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Taper {
    /// What it is called: `morse-2`, `7:24-40`, `1:12`.
    pub name: String,
    /// The half angle α, between the axis and the cone's element.
    #[serde(rename = "half_angle_deg")]
    pub half_angle: Angle,
    /// Diameter D at the gauge plane.
    #[serde(
        rename = "gauge_diameter_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub gauge_diameter: Option<Length>,
    /// Diameter at the small end, as the source prints it.
    #[serde(
        rename = "small_diameter_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub small_diameter: Option<Length>,
    /// Usable length from the gauge plane.
    #[serde(rename = "length_mm", default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    /// Where the numbers come from.
    pub source: String,
}
