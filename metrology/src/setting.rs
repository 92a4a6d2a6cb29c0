//! The instruments that set an angle with a stack of gauge blocks.

use crate::Length;
use serde::{Deserialize, Serialize};

/// What kind of instrument turns a stack's height into an angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BarKind {
    /// A sine bar: one edge lifted, the base a plane. `H = C sin α + c`.
    Sine,
    /// Two arms about a pivot, the stack between rollers on both arms. `H = 2 C sin(α/2) + c`.
    Hinged,
    /// Two discs standing on the plate with the stack between them.
    /// `H = (R₂ − R₁)/tan(α/2) − R₁ − R₂ + c`.
    Tangent,
}

/// A sine bar, a hinged bar or a tangent bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bar {
    /// The kind.
    pub kind: BarKind,
    /// Distance C of the rollers' centres (sine), or from pivot to roller (hinged). None for a tangent bar.
    #[serde(
        rename = "centre_distance_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub centre_distance: Option<Length>,
    /// What the maker or owner found the stack must have added.
    #[serde(rename = "constant_mm", default)]
    pub constant: Length,
    /// Radii R₁ < R₂ of a tangent bar's discs.
    #[serde(
        rename = "disc_radii_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub disc_radii: Option<[Length; 2]>,
    /// Standard uncertainty of the centre distance, where known.
    #[serde(
        rename = "centre_distance_u_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub centre_distance_u: Option<Length>,
}
