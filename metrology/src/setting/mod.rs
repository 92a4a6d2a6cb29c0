//! The instruments that set an angle with a stack of gauge blocks.
//!
//! Each sets the part's **half** angle: the axis is turned until the cone's element lies along the travel.

mod error;

pub use error::SettingError;

use crate::domain::DomainError;
use crate::taper::check_half_angle;
use crate::{Angle, Length};
use serde::{Deserialize, Serialize};
use std::fmt;

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

impl fmt::Display for BarKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Sine => "sine bar",
            Self::Hinged => "hinged bar",
            Self::Tangent => "tangent bar",
        })
    }
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

/// Above this half angle an error of the centre distance costs more angle than the same error of the stack
/// at rest, and grows without bound: common practice is to set the complement instead.
pub const WARN_ABOVE_DEG: f64 = 45.0;

/// A sine bar is refused above this half angle. Common practice warns above 45°; the limit of 60°, where the centre distance
/// costs 1.7 times what it does at 45°, is a convention of this program.
pub const REFUSE_ABOVE_DEG: f64 = 60.0;

/// What an error of the stack or of the centre distance is worth as an angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// Half angle per stack height, rad/mm.
    pub stack_rad_per_mm: f64,
    /// Half angle per centre distance, rad/mm; none for a tangent bar, which has no centre distance.
    pub centre_rad_per_mm: Option<f64>,
}

/// A bar's dimensions after they were checked, mm.
enum Geometry {
    Sine { c: f64 },
    Hinged { c: f64 },
    Tangent { r: [f64; 2] },
}

impl Geometry {
    /// Height without the constant for a half angle within the domain.
    fn height_mm(&self, half: Angle) -> f64 {
        match self {
            Self::Sine { c } => c * half.sin(),
            Self::Hinged { c } => 2.0 * c * (half * 0.5).sin(),
            Self::Tangent { r: [r1, r2] } => (r2 - r1) / (half * 0.5).tan() - r1 - r2,
        }
    }

    /// Half angle for a height without the constant; NaN when there is none.
    fn half_angle(&self, height_mm: f64) -> Angle {
        Angle::from_rad(match self {
            Self::Sine { c } => (height_mm / c).asin(),
            Self::Hinged { c } => 2.0 * (height_mm / (2.0 * c)).asin(),
            Self::Tangent { r: [r1, r2] } => 2.0 * ((r2 - r1) / (height_mm + r1 + r2)).atan(),
        })
    }
}

impl Bar {
    fn geometry(&self) -> Result<Geometry, SettingError> {
        let missing = |what| SettingError::Missing {
            kind: self.kind,
            what,
        };
        let above_zero = |what, length: Length| {
            (length > Length::ZERO)
                .then_some(length.mm())
                .ok_or_else(|| DomainError::new(what, length, "above 0 mm"))
        };
        if self.kind == BarKind::Tangent {
            let [r1, r2] = self.disc_radii.ok_or_else(|| missing("disc radii"))?;
            let r = [
                above_zero("small disc radius", r1)?,
                above_zero("big disc radius", r2)?,
            ];
            if r2 <= r1 {
                return Err(DomainError::new(
                    "big disc radius",
                    r2,
                    "larger than the small disc's radius",
                )
                .into());
            }
            return Ok(Geometry::Tangent { r });
        }
        let c = self
            .centre_distance
            .ok_or_else(|| missing("centre distance"))?;
        let c = above_zero("centre distance", c)?;
        Ok(if self.kind == BarKind::Sine {
            Geometry::Sine { c }
        } else {
            Geometry::Hinged { c }
        })
    }

    /// Height in mm of the stack that sets a half angle, the bar's constant included.
    ///
    /// Sine bar `C sin α + c`; hinged bar `2 C sin(α/2) + c`; tangent bar
    /// `(R₂ − R₁)/tan(α/2) − R₁ − R₂ + c`, from the two discs' common tangents.
    ///
    /// # Errors
    /// A half angle outside 0° to 90° or above [`REFUSE_ABOVE_DEG`] on a sine bar, a dimension that is missing or out of its
    /// domain, an angle that would need no stack at all, or one at which the discs would touch.
    ///
    /// ```
    /// use conewright_metrology::{Length, setting::{Bar, BarKind}};
    /// let bar = Bar {
    ///     kind: BarKind::Sine,
    ///     centre_distance: Some("100mm".parse()?),
    ///     constant: Length::ZERO,
    ///     disc_radii: None,
    ///     centre_distance_u: None,
    /// };
    /// assert!((bar.stack_height_mm("1:12".parse()?)? - 4.163_054).abs() < 1e-6);
    /// assert!(bar.stack_height_mm("90deg".parse()?).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn stack_height_mm(&self, half_angle: Angle) -> Result<f64, SettingError> {
        let geometry = self.geometry()?;
        let half = check_half_angle(half_angle)?;
        if let Geometry::Sine { c } = geometry
            && half > Angle::from_deg(REFUSE_ABOVE_DEG)
        {
            return Err(SettingError::SineTooSteep {
                half_angle,
                per_um: Angle::from_rad(1e-3 * half.tan() / c),
            });
        }
        let bare_mm = geometry.height_mm(half);
        if let Geometry::Tangent { r: [r1, r2] } = geometry {
            let touching_mm = touching_gap_mm(r1, r2);
            if bare_mm < touching_mm {
                return Err(SettingError::TooSteep {
                    half_angle,
                    steepest: geometry.half_angle(touching_mm),
                });
            }
        }
        let height_mm = bare_mm + self.constant.mm();
        if height_mm > 0.0 {
            Ok(height_mm)
        } else {
            Err(SettingError::NoStack {
                kind: self.kind,
                half_angle,
                height_mm: format!("{height_mm:.4}"),
            })
        }
    }

    /// The half angle that a stack of this height really sets: the inverse of [`Bar::stack_height_mm`].
    ///
    /// # Errors
    /// A dimension that is missing or out of range, or a height that sets no angle between 0° and 90°.
    ///
    /// ```
    /// use conewright_metrology::{Length, setting::{Bar, BarKind}};
    /// let bar = Bar {
    ///     kind: BarKind::Sine,
    ///     centre_distance: Some("100mm".parse()?),
    ///     constant: Length::ZERO,
    ///     disc_radii: None,
    ///     centre_distance_u: None,
    /// };
    /// assert!((bar.half_angle("4.163mm".parse()?)?.deg() - 2.385_913).abs() < 1e-6);
    /// assert!(bar.half_angle("100mm".parse()?).is_err(), "a full right angle");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn half_angle(&self, height: Length) -> Result<Angle, SettingError> {
        let geometry = self.geometry()?;
        // Exact lengths are subtracted before anything is rounded, so the limits are met to the picometre.
        let bare_mm = (height - self.constant).mm();
        let (possible, domain) = match &geometry {
            Geometry::Sine { c } => (
                bare_mm > 0.0 && bare_mm < *c,
                format!("less its constant, it must be above 0 mm and below {c} mm"),
            ),
            Geometry::Hinged { c } => {
                let right_angle_mm = c * std::f64::consts::SQRT_2;
                (
                    bare_mm > 0.0 && bare_mm < right_angle_mm,
                    format!(
                        "less its constant, it must be above 0 mm and below {right_angle_mm:.4} mm"
                    ),
                )
            }
            Geometry::Tangent { r: [r1, r2] } => {
                let touching_mm = touching_gap_mm(*r1, *r2);
                (
                    height > Length::ZERO && bare_mm >= touching_mm && bare_mm > -2.0 * r1,
                    format!(
                        "it must be above 0 mm, and less its constant at least {touching_mm:.4} mm, where the discs touch"
                    ),
                )
            }
        };
        if possible && height > Length::ZERO {
            Ok(geometry.half_angle(bare_mm))
        } else {
            Err(SettingError::Height {
                kind: self.kind,
                height,
                domain,
            })
        }
    }

    /// What errors of the stack and of the centre distance are worth at a half angle.
    ///
    /// Sine bar: `dα = dH/(C cos α) − (dC/C) tan α`. Hinged bar: the same with α/2 and twice the second
    /// term. Tangent bar: `dα = −2 Δ dH/(L² + Δ²)` with `Δ = R₂ − R₁` and `L` the discs' distance along the
    /// plate. The constant c acts as the stack does, with the opposite sign.
    ///
    /// # Errors
    /// As [`Bar::stack_height_mm`].
    ///
    /// ```
    /// use conewright_metrology::{Length, setting::{Bar, BarKind}};
    /// let bar = Bar {
    ///     kind: BarKind::Sine,
    ///     centre_distance: Some("100mm".parse()?),
    ///     constant: Length::ZERO,
    ///     disc_radii: None,
    ///     centre_distance_u: None,
    /// };
    /// let at = bar.sensitivity("1:12".parse()?)?;
    /// assert!((at.stack_rad_per_mm * 1e-3 * 206_264.8 - 2.064).abs() < 1e-3, "2″ per µm");
    /// assert!(bar.sensitivity("0deg".parse()?).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn sensitivity(&self, half_angle: Angle) -> Result<Sensitivity, SettingError> {
        let bare_mm = self.stack_height_mm(half_angle)? - self.constant.mm();
        Ok(match self.geometry()? {
            Geometry::Sine { c } => Sensitivity {
                stack_rad_per_mm: 1.0 / (c * half_angle.cos()),
                centre_rad_per_mm: Some(-half_angle.tan() / c),
            },
            Geometry::Hinged { c } => {
                let quarter = half_angle * 0.5;
                Sensitivity {
                    stack_rad_per_mm: 1.0 / (c * quarter.cos()),
                    centre_rad_per_mm: Some(-2.0 * quarter.tan() / c),
                }
            }
            Geometry::Tangent { r: [r1, r2] } => {
                let (along, difference) = (bare_mm + r1 + r2, r2 - r1);
                Sensitivity {
                    stack_rad_per_mm: -2.0 * difference / (along * along + difference * difference),
                    centre_rad_per_mm: None,
                }
            }
        })
    }

    /// Standard uncertainty of the half angle that is set, from the stack's (mm) and, where it is stated,
    /// that of the centre distance; the two are independent.
    ///
    /// # Errors
    /// As [`Bar::stack_height_mm`]; a stack uncertainty that is negative or no number.
    ///
    /// ```
    /// use conewright_metrology::{Length, setting::{Bar, BarKind}};
    /// let mut bar = Bar {
    ///     kind: BarKind::Sine,
    ///     centre_distance: Some("100mm".parse()?),
    ///     constant: Length::ZERO,
    ///     disc_radii: None,
    ///     centre_distance_u: None,
    /// };
    /// let stack_only = bar.angle_u("1:12".parse()?, 0.000_2)?;
    /// bar.centre_distance_u = Some("1um".parse()?);
    /// let both = bar.angle_u("1:12".parse()?, 0.000_2)?;
    /// assert!(stack_only < both && both.arcsec() < 0.5);
    /// assert!(bar.angle_u("1:12".parse()?, -1.0).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn angle_u(&self, half_angle: Angle, stack_u_mm: f64) -> Result<Angle, SettingError> {
        if !(stack_u_mm >= 0.0 && stack_u_mm.is_finite()) {
            return Err(DomainError::new(
                "uncertainty of the stack",
                format_args!("{stack_u_mm} mm"),
                "0 mm or more",
            )
            .into());
        }
        let at = self.sensitivity(half_angle)?;
        let centre =
            at.centre_rad_per_mm.unwrap_or(0.0) * self.centre_distance_u.map_or(0.0, Length::mm);
        Ok(Angle::from_rad(
            (at.stack_rad_per_mm * stack_u_mm).hypot(centre),
        ))
    }

    /// What to know before a half angle above [`WARN_ABOVE_DEG`] is set; none at or below it.
    ///
    /// ```
    /// use conewright_metrology::{Length, setting::{Bar, BarKind}};
    /// let bar = Bar {
    ///     kind: BarKind::Sine,
    ///     centre_distance: Some("100mm".parse()?),
    ///     constant: Length::ZERO,
    ///     disc_radii: None,
    ///     centre_distance_u: None,
    /// };
    /// assert!(bar.warning("45deg".parse()?).is_none());
    /// assert!(bar.warning("60deg".parse()?).unwrap().contains("30.0000000°"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn warning(&self, half_angle: Angle) -> Option<String> {
        let right = Angle::from_deg(90.0);
        if half_angle <= Angle::from_deg(WARN_ABOVE_DEG) || half_angle >= right {
            return None;
        }
        let at = self.sensitivity(half_angle).ok()?;
        let worth = |rad_per_mm: f64| Angle::from_rad(rad_per_mm.abs() * 1e-3).arcsec();
        let centre = at
            .centre_rad_per_mm
            .map(|rad_per_mm| format!(" and one of the centre distance {:.2}″", worth(rad_per_mm)))
            .unwrap_or_default();
        Some(format!(
            "{half_angle} is above {WARN_ABOVE_DEG}°: in this {} one micrometre of the stack is worth {:.2}″{centre}; \
             setting the complement, {}, is surer",
            self.kind,
            worth(at.stack_rad_per_mm),
            right - half_angle,
        ))
    }
}

/// The gap between two discs standing on the plate and touching, mm: `2 √(R₁R₂) − R₁ − R₂`. It is negative,
/// because discs of different size touch below the level of the bigger one's side.
fn touching_gap_mm(r1: f64, r2: f64) -> f64 {
    2.0 * (r1 * r2).sqrt() - r1 - r2
}
