//! Why a stack cannot be built, and the closest that can.

use crate::setting::SettingError;
use crate::{Length, Unit};
use std::fmt;

/// Why there is no stack.
#[derive(Debug, Clone, PartialEq)]
pub enum StackError {
    /// The height is zero or negative.
    NotPositive {
        /// The height asked for.
        height: Length,
        /// The lowest stack that can be made.
        closest: Length,
    },
    /// The height is more than every block that may be used, one on another.
    BeyondKit {
        /// The height asked for.
        height: Length,
        /// The highest stack that can be made.
        closest: Length,
        /// How many blocks that takes.
        blocks: usize,
        /// The kit's name.
        kit: String,
    },
    /// The wear blocks alone are more than the height.
    BelowWear {
        /// The height asked for.
        height: Length,
        /// The two wear blocks together.
        closest: Length,
    },
    /// A block that was to be excluded is not in the kit.
    NotInKit {
        /// Its nominal length.
        nominal: Length,
        /// The nearest nominal length that the kit has.
        nearest: Length,
        /// The kit's name.
        kit: String,
    },
    /// No block is left to choose from.
    NoBlocks {
        /// The kit's name.
        kit: String,
    },
    /// A block of the kit has no length above zero.
    BadBlock {
        /// Its nominal length.
        nominal: Length,
        /// The kit's name.
        kit: String,
    },
    /// Each of two stacks can be made, but not both at once.
    NotBoth {
        /// The two heights.
        heights: [Length; 2],
        /// The kit's name.
        kit: String,
    },
    /// A rule that nothing can satisfy.
    Rule(&'static str),
    /// The bar cannot set the angle.
    Setting(SettingError),
}

/// `0.0125 mm` as it is read best: micrometres below a tenth of a millimetre.
fn off(length: Length) -> String {
    if length.abs() < Length::from_um(100) {
        format!("{} µm", length.decimal(Unit::Um))
    } else {
        length.to_string()
    }
}

impl fmt::Display for StackError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotPositive { height, closest } => write!(
                f,
                "a stack of {height} cannot be made: a height is above 0 mm; \
                 the lowest is {closest}, {} more",
                off(*closest - *height)
            ),
            Self::BeyondKit {
                height,
                closest,
                blocks,
                kit,
            } => write!(
                f,
                "a stack of {height} cannot be made from kit {kit}: \
                 the highest, of {blocks} blocks, is {closest}, {} less",
                off(*height - *closest)
            ),
            Self::BelowWear { height, closest } => write!(
                f,
                "a stack of {height} cannot be made between two wear blocks: \
                 they alone are {closest}, {} more; use thinner ones or none",
                off(*closest - *height)
            ),
            Self::NotInKit {
                nominal,
                nearest,
                kit,
            } => write!(
                f,
                "kit {kit} has no block of {nominal} to leave out; the nearest is {nearest}"
            ),
            Self::NoBlocks { kit } => write!(
                f,
                "kit {kit} has no block left to choose from; exclude fewer, or name another kit"
            ),
            Self::BadBlock { nominal, kit } => write!(
                f,
                "kit {kit} lists a block of {nominal}, which with its deviation is not above 0 mm; \
                 correct the kit"
            ),
            Self::NotBoth {
                heights: [first, second],
                kit,
            } => write!(
                f,
                "kit {kit} has not enough blocks for stacks of {first} and {second} at once, \
                 though each can be made alone; build one after the other"
            ),
            Self::Rule(rule) => f.write_str(rule),
            Self::Setting(setting) => setting.fmt(f),
        }
    }
}

impl std::error::Error for StackError {}

impl From<SettingError> for StackError {
    fn from(setting: SettingError) -> Self {
        Self::Setting(setting)
    }
}
