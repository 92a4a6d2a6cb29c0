//! Why a stack cannot be built, and the closest that can.

use crate::setting::SettingError;
use crate::{Length, Unit};

/// Why there is no stack.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StackError {
    /// The height is zero or negative.
    #[error(
        "a stack of {height} cannot be made: a height is above 0 mm; the lowest is {closest}, {} more",
        off(*closest - *height)
    )]
    NotPositive {
        /// The height asked for.
        height: Length,
        /// The lowest stack that can be made.
        closest: Length,
    },
    /// The height is more than every block that may be used, one on another.
    #[error(
        "a stack of {height} cannot be made from kit {kit}: the highest, of {blocks} blocks, is {closest}, {} less",
        off(*height - *closest)
    )]
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
    #[error(
        "a stack of {height} cannot be made between two wear blocks: they alone are {closest}, {} more; use thinner ones or \
         none",
        off(*closest - *height)
    )]
    BelowWear {
        /// The height asked for.
        height: Length,
        /// The two wear blocks together.
        closest: Length,
    },
    /// A block that was to be excluded is not in the kit.
    #[error("kit {kit} has no block of {nominal} to leave out; the nearest is {nearest}")]
    NotInKit {
        /// Its nominal length.
        nominal: Length,
        /// The nearest nominal length that the kit has.
        nearest: Length,
        /// The kit's name.
        kit: String,
    },
    /// No block is left to choose from.
    #[error("kit {kit} has no block left to choose from; exclude fewer, or name another kit")]
    NoBlocks {
        /// The kit's name.
        kit: String,
    },
    /// A block of the kit has no length above zero.
    #[error(
        "kit {kit} lists a block of {nominal}, which with its deviation is not above 0 mm; correct the kit"
    )]
    BadBlock {
        /// Its nominal length.
        nominal: Length,
        /// The kit's name.
        kit: String,
    },
    /// Each of two stacks can be made, but not both at once.
    #[error(
        "kit {kit} has not enough blocks for stacks of {} and {} at once, though each can be made alone; build one after the \
         other",
        heights[0],
        heights[1]
    )]
    NotBoth {
        /// The two heights.
        heights: [Length; 2],
        /// The kit's name.
        kit: String,
    },
    /// A rule that nothing can satisfy.
    #[error("{0}")]
    Rule(&'static str),
    /// The bar cannot set the angle.
    #[error(transparent)]
    Setting(#[from] SettingError),
}

/// `0.0125 mm` as it is read best: micrometres below a tenth of a millimetre.
fn off(length: Length) -> String {
    if length.abs() < Length::from_um(100) {
        format!("{} µm", length.decimal(Unit::Um))
    } else {
        length.to_string()
    }
}
