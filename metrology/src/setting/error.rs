//! Why a bar cannot be set.

use super::BarKind;
use crate::domain::DomainError;
use crate::{Angle, Length};

/// Why a bar cannot be set.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SettingError {
    /// A dimension that this kind of bar needs is not stated.
    #[error("a {kind} needs its {what}; state it")]
    Missing {
        /// The kind of bar.
        kind: BarKind,
        /// The dimension.
        what: &'static str,
    },
    /// A dimension or an angle out of range.
    #[error(transparent)]
    Domain(#[from] DomainError),
    /// The angle would need a stack of no height, or less.
    #[error(
        "a half angle of {half_angle} would need a stack of {height_mm} mm in this {kind}; check the angle and the bar's \
         constant"
    )]
    NoStack {
        /// The kind of bar.
        kind: BarKind,
        /// The half angle wanted.
        half_angle: Angle,
        /// The stack that it would need, mm, as a text.
        height_mm: String,
    },
    /// A sine bar so steep that an error of its centre distance swamps the angle.
    #[error(
        "a half angle of {half_angle} is too steep for a sine bar, which is refused above {}°: there one micrometre of its \
         centre distance is worth {:.1}″",
        super::REFUSE_ABOVE_DEG,
        per_um.arcsec()
    )]
    SineTooSteep {
        /// The half angle wanted.
        half_angle: Angle,
        /// What a micrometre of the centre distance is worth there.
        per_um: Angle,
    },
    /// The discs of a tangent bar would touch before the angle is reached.
    #[error(
        "a half angle of {half_angle} is too steep for these discs, which touch at {steepest}; use a larger big disc or \
         another bar"
    )]
    TooSteep {
        /// The half angle wanted.
        half_angle: Angle,
        /// The steepest that these discs can set, where they touch.
        steepest: Angle,
    },
    /// The stack sets no angle in this bar.
    #[error("a stack of {height} sets no half angle in this {kind}: {domain}")]
    Height {
        /// The kind of bar.
        kind: BarKind,
        /// The stack.
        height: Length,
        /// What would be possible.
        domain: String,
    },
}

impl SettingError {
    /// What helps.
    #[must_use]
    pub fn hint(&self) -> String {
        match self {
            Self::SineTooSteep { half_angle, .. } => format!(
                "set the complement, {}, against a square face; or use a hinged or tangent bar (--bar-kind)",
                Angle::from_deg(90.0) - *half_angle
            ),
            _ => {
                "check the angle, and the kind, the numbers and the constant of the bar".to_owned()
            }
        }
    }
}
