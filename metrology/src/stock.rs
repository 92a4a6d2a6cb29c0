//! What is left to grind, from a diameter or from a stand-off, and in how many passes.

use crate::domain::DomainError;
use crate::taper::check_half_angle;
use crate::{Angle, Length};

/// What is left to grind. Negative where the part is undersize: nothing puts that back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stock {
    /// On diameter, mm.
    pub on_diameter_mm: f64,
    /// Infeed square to the part's axis, mm.
    pub infeed_square_to_axis_mm: f64,
    /// Infeed square to the cone's surface, mm: the table is swung so that the cone's element lies along the
    /// travel, and the wheel comes in square to that.
    pub infeed_square_to_surface_mm: f64,
}

impl Stock {
    /// From what is left on diameter: per side half of it, square to the surface times cos α.
    ///
    /// # Errors
    /// A half angle out of range, or an amount that is not a number.
    ///
    /// ```
    /// use conewright_metrology::{Angle, stock::Stock};
    /// let stock = Stock::on_diameter(0.1, Angle::from_deg(60.0))?;
    /// assert!((stock.infeed_square_to_axis_mm - 0.05).abs() < 1e-15);
    /// assert!((stock.infeed_square_to_surface_mm - 0.025).abs() < 1e-15);
    /// assert!(Stock::on_diameter(f64::NAN, Angle::from_deg(60.0)).is_err());
    /// # Ok::<(), conewright_metrology::DomainError>(())
    /// ```
    pub fn on_diameter(on_diameter_mm: f64, half: Angle) -> Result<Self, DomainError> {
        check_half_angle(half)?;
        if !on_diameter_mm.is_finite() {
            return Err(DomainError::new(
                "stock on diameter",
                format_args!("{on_diameter_mm} mm"),
                "a finite amount",
            ));
        }
        Ok(Self {
            on_diameter_mm,
            infeed_square_to_axis_mm: on_diameter_mm / 2.0,
            infeed_square_to_surface_mm: on_diameter_mm / 2.0 * half.cos(),
        })
    }

    /// From a diameter measured at a plane where `wanted_mm` is wanted ([`crate::taper::Taper::diameter_at`]),
    /// on an outside taper: `d_m − d`. For a bore the sign is the other way: exchange the two.
    ///
    /// # Errors
    /// A diameter that is not above zero, or a half angle out of range.
    ///
    /// ```
    /// use conewright_metrology::stock::Stock;
    /// let stock = Stock::from_diameter("40.12mm".parse()?, 40.0, "1:12".parse()?)?;
    /// assert!((stock.infeed_square_to_axis_mm - 0.06).abs() < 1e-12);
    /// let undersize = Stock::from_diameter("39.99mm".parse()?, 40.0, "1:12".parse()?)?;
    /// assert!(undersize.on_diameter_mm < 0.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn from_diameter(
        measured: Length,
        wanted_mm: f64,
        half: Angle,
    ) -> Result<Self, DomainError> {
        if measured <= Length::ZERO {
            return Err(DomainError::new(
                "measured diameter",
                measured,
                "above 0 mm",
            ));
        }
        if !(wanted_mm > 0.0 && wanted_mm.is_finite()) {
            return Err(DomainError::new(
                "wanted diameter",
                format_args!("{wanted_mm} mm"),
                "above 0 mm",
            ));
        }
        Self::on_diameter(measured.mm() - wanted_mm, half)
    }

    /// From a stand-off: the mating gauge or part stops `short` of where it should seat: `2 e tan α` on
    /// diameter. Negative when it goes too far on.
    ///
    /// # Errors
    /// A half angle out of range.
    ///
    /// ```
    /// use conewright_metrology::stock::Stock;
    /// let stock = Stock::from_stand_off("1.2mm".parse()?, "1:12".parse()?)?;
    /// assert!((stock.on_diameter_mm - 0.1).abs() < 1e-12, "1:12 takes 0.1 mm in 1.2 mm");
    /// assert!(Stock::from_stand_off("1.2mm".parse()?, "90deg".parse()?).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn from_stand_off(short: Length, half: Angle) -> Result<Self, DomainError> {
        check_half_angle(half)?;
        Self::on_diameter(2.0 * short.mm() * half.tan(), half)
    }
}

/// How many passes of at most `depth` take off an infeed; none when nothing is left, or the part is undersize.
///
/// # Errors
/// A depth that is not above zero, or an infeed that is not a number or would need more than
/// [`MOST_PASSES`] passes.
///
/// ```
/// use conewright_metrology::stock::passes;
/// assert_eq!(passes(0.05, "0.02mm".parse()?)?, 3);
/// assert_eq!(passes(0.06, "0.02mm".parse()?)?, 3, "a multiple needs no extra pass");
/// assert_eq!(passes(-0.01, "0.02mm".parse()?)?, 0);
/// assert!(passes(0.05, "0mm".parse()?).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn passes(infeed_mm: f64, depth: Length) -> Result<u32, DomainError> {
    if depth <= Length::ZERO {
        return Err(DomainError::new("depth of a pass", depth, "above 0 mm"));
    }
    // A picometre of room, because 0.06 mm computed from diameters is not three times 0.02 mm to the last bit.
    let passes = ((infeed_mm - 1e-9) / depth.mm()).ceil();
    if passes.is_nan() || passes > f64::from(MOST_PASSES) {
        return Err(DomainError::new(
            "infeed",
            format_args!("{infeed_mm} mm"),
            "at most 100000 passes of the depth given",
        ));
    }
    Ok(passes.max(0.0) as u32)
}

/// More passes than this are a mistake in a unit.
pub const MOST_PASSES: u32 = 100_000;
