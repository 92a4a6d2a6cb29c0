//! A kit that is owned, and a stack as it is told.

use crate::{Length, Unit};
use serde::{Deserialize, Serialize};

/// One gauge block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Block {
    /// The length marked on it.
    #[serde(rename = "nominal_mm")]
    pub nominal: Length,
    /// Deviation from nominal by its calibration, where the user has it.
    #[serde(
        rename = "deviation_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub deviation: Option<Length>,
    /// Standard uncertainty of its length by its calibration, where the user has it.
    #[serde(rename = "u_mm", default, skip_serializing_if = "Option::is_none")]
    pub u: Option<Length>,
}

/// A grade of ISO 3650, which gives limit deviations by length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Grade {
    /// Calibration grade.
    K,
    /// Grade 0.
    #[serde(rename = "0")]
    Zero,
    /// Grade 1.
    #[serde(rename = "1")]
    One,
    /// Grade 2.
    #[serde(rename = "2")]
    Two,
}

/// The gauge blocks that a user owns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kit {
    /// What it is called: `metric-88`.
    pub name: String,
    /// Its blocks.
    pub blocks: Vec<Block>,
    /// Grade, where known: without it and without calibrated blocks the stack has no uncertainty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grade: Option<Grade>,
    /// Where the list comes from.
    pub source: String,
}

impl Kit {
    /// The unit of what is engraved on its blocks.
    #[must_use]
    pub fn unit(&self) -> Unit {
        engraved_in(self.blocks.iter().map(|block| block.nominal))
    }
}

/// The unit in which lengths are engraved on blocks: the one in which they have fewer digits, millimetres where both have the
/// same. An inch block is 2.54254 mm long, and none is engraved so.
///
/// ```
/// use conewright_metrology::{Length, Unit, blocks::engraved_in};
/// let blocks: [Length; 2] = ["1in".parse()?, "0.1001in".parse()?];
/// assert_eq!(engraved_in(blocks), Unit::In);
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[must_use]
pub fn engraved_in(blocks: impl IntoIterator<Item = Length>) -> Unit {
    let digits = |length: Length, unit| length.decimal(unit).len();
    let [mm, inch] = blocks.into_iter().fold([0, 0], |[mm, inch], length| {
        [
            mm + digits(length, Unit::Mm),
            inch + digits(length, Unit::In),
        ]
    });
    if inch < mm { Unit::In } else { Unit::Mm }
}

/// A chosen stack, with what it really sets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stack {
    /// The height asked for, mm, rounded to the picometre.
    #[serde(rename = "height_mm")]
    pub height: Length,
    /// The blocks, largest first, nominal.
    #[serde(rename = "blocks_mm")]
    pub blocks: Vec<Length>,
    /// Their sum, with their deviations where known.
    #[serde(rename = "sum_mm")]
    pub sum: Length,
    /// Sum minus height, µm.
    pub error_um: f64,
    /// Whether the error lies within what was asked.
    pub within: bool,
    /// Standard uncertainty of the stack's height, µm, where grade or calibration tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u_um: Option<f64>,
    /// With a bar: the half angle that the stack really sets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle_set_deg: Option<f64>,
    /// With a bar: set minus wanted half angle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle_error_arcsec: Option<f64>,
}
