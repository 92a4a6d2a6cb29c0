//! A taper: an axis, a half angle, a gauge plane with its diameter, and the usable length.

use crate::domain::DomainError;
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

/// The domain of a half angle, in words: at 0° there is no cone, at 90° no axis to grind along.
pub const HALF_ANGLE_DOMAIN: &str = "above 0° and below 90°";

/// Refuses a half angle outside [`HALF_ANGLE_DOMAIN`], and one that is not a number.
///
/// # Errors
/// The angle and the domain.
///
/// ```
/// use conewright_metrology::{Angle, taper::check_half_angle};
/// assert!(check_half_angle(Angle::from_deg(89.999)).is_ok());
/// assert!(check_half_angle(Angle::from_deg(90.0)).is_err());
/// assert!(check_half_angle(Angle::from_deg(-1.43)).is_err());
/// ```
pub fn check_half_angle(half: Angle) -> Result<Angle, DomainError> {
    if half > Angle::ZERO && half < Angle::from_deg(90.0) {
        Ok(half)
    } else {
        Err(DomainError::new("half angle", half, HALF_ANGLE_DOMAIN))
    }
}

impl Taper {
    /// A taper of which the angle alone is known.
    ///
    /// # Errors
    /// A half angle of 0° or less, of 90° or more, or that is not a number.
    ///
    /// ```
    /// use conewright_metrology::taper::Taper;
    /// let seat = Taper::from_half_angle("1:12", "1:12".parse()?, "ISO 1119")?;
    /// assert!((seat.ratio_n() - 12.0).abs() < 1e-12);
    /// assert!(Taper::from_half_angle("cylinder", "0deg".parse()?, "the user").is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn from_half_angle(
        name: impl Into<String>,
        half: Angle,
        source: impl Into<String>,
    ) -> Result<Self, DomainError> {
        Ok(Self {
            name: name.into(),
            half_angle: check_half_angle(half)?,
            gauge_diameter: None,
            small_diameter: None,
            length: None,
            source: source.into(),
        })
    }

    /// Refuses a taper that was read from outside and is no cone: a half angle out of range, a
    /// diameter or length that is not above zero, or a cone that comes to its point before its length ends.
    ///
    /// # Errors
    /// Which number, and its domain.
    ///
    /// ```
    /// use conewright_metrology::taper::Taper;
    /// let mut cone = Taper::from_half_angle("1:3", "1:3".parse()?, "ISO 1119")?;
    /// cone.gauge_diameter = Some("10mm".parse()?);
    /// cone.length = Some("31mm".parse()?);
    /// assert!(cone.check().is_err(), "a 1:3 cone of 10 mm ends in a point after 30 mm");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn check(&self) -> Result<(), DomainError> {
        check_half_angle(self.half_angle)?;
        for (what, length) in [
            ("gauge diameter", self.gauge_diameter),
            ("small diameter", self.small_diameter),
            ("taper length", self.length),
        ] {
            if let Some(length) = length.filter(|length| *length <= Length::ZERO) {
                return Err(DomainError::new(what, length, "above 0 mm"));
            }
        }
        match self.small_diameter_mm() {
            Some(small) if small <= 0.0 => Err(DomainError::new(
                "taper length",
                self.length.unwrap_or_default(),
                "shorter than the cone from its gauge diameter to its point",
            )),
            _ => Ok(()),
        }
    }

    /// The `n` of `1:n` on diameter: `n = 1/(2 tan α)`. Source: ISO 1119, rate of taper.
    ///
    /// ```
    /// use conewright_metrology::taper::Taper;
    /// let steep = Taper::from_half_angle("7:24", "7:24".parse()?, "ISO 297")?;
    /// assert!((steep.ratio_n() - 24.0 / 7.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn ratio_n(&self) -> f64 {
        self.half_angle.ratio_n()
    }

    /// The included angle 2α.
    ///
    /// ```
    /// use conewright_metrology::taper::Taper;
    /// let cone = Taper::from_half_angle("1:3", "1:3".parse()?, "ISO 1119")?;
    /// assert_eq!(cone.included_angle().dms(0), "18°55'29\"");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn included_angle(&self) -> Angle {
        self.half_angle * 2.0
    }

    /// Diameter in mm at `z` from the gauge plane, positive toward the small end: `D − 2 z tan α`.
    /// None when no gauge diameter is known, or beyond the cone's point.
    ///
    /// ```
    /// use conewright_metrology::taper::Taper;
    /// let mut cone = Taper::from_half_angle("1:12", "1:12".parse()?, "ISO 1119")?;
    /// assert_eq!(cone.diameter_at("30mm".parse()?), None, "no gauge diameter");
    /// cone.gauge_diameter = Some("40mm".parse()?);
    /// assert!((cone.diameter_at("30mm".parse()?).unwrap() - 37.5).abs() < 1e-12);
    /// assert_eq!(cone.diameter_at("481mm".parse()?), None, "beyond the point");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn diameter_at(&self, z: Length) -> Option<f64> {
        let diameter_mm = self.gauge_diameter?.mm() - 2.0 * z.mm() * self.half_angle.tan();
        (diameter_mm >= 0.0).then_some(diameter_mm)
    }

    /// Diameter in mm at the small end: computed when gauge diameter and length are known, else as the
    /// source prints it. May be zero or less for numbers that [`Taper::check`] refuses.
    ///
    /// ```
    /// use conewright_metrology::taper::Taper;
    /// let mut cone = Taper::from_half_angle("1:12", "1:12".parse()?, "ISO 1119")?;
    /// cone.small_diameter = Some("37mm".parse()?);
    /// assert_eq!(cone.small_diameter_mm(), Some(37.0));
    /// cone.gauge_diameter = Some("40mm".parse()?);
    /// cone.length = Some("30mm".parse()?);
    /// assert!((cone.small_diameter_mm().unwrap() - 37.5).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn small_diameter_mm(&self) -> Option<f64> {
        match (self.gauge_diameter, self.length) {
            (Some(gauge), Some(length)) => {
                Some(gauge.mm() - 2.0 * length.mm() * self.half_angle.tan())
            }
            _ => self.small_diameter.map(Length::mm),
        }
    }
}

/// Radial error in mm over `length` along the axis when the half angle is off by `error`:
/// `δr = ℓ (tan(α+ε) − tan α)`. Positive for a steeper cone.
///
/// Written as `ℓ sin ε / (cos α cos(α+ε))`, which is the same and loses no digits: the difference of the
/// tangents would leave five figures of an arc-second. Domain: α and α + ε within (−90°, 90°).
///
/// ```
/// use conewright_metrology::{Angle, taper::radial_error_mm};
/// let one_arcsec = radial_error_mm("1:12".parse()?, Angle::from_arcsec(1.0), "30mm".parse()?);
/// assert!((one_arcsec * 1e3 - 0.145_7).abs() < 1e-4, "0.15 µm per arc-second over 30 mm");
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[must_use]
pub fn radial_error_mm(half: Angle, error: Angle, length: Length) -> f64 {
    length.mm() * error.sin() / (half.cos() * (half + error).cos())
}

/// Error on diameter in mm over `length` along the axis when the half angle is off by `error`:
/// `2 ℓ (tan(α+ε) − tan α)`, twice [`radial_error_mm`]. Positive for a steeper cone.
///
/// ```
/// use conewright_metrology::{Angle, taper::error_on_diameter_mm};
/// let steeper = error_on_diameter_mm("1:12".parse()?, Angle::from_arcsec(6.0), "30mm".parse()?);
/// let shallower = error_on_diameter_mm("1:12".parse()?, Angle::from_arcsec(-6.0), "30mm".parse()?);
/// assert!(steeper > 0.0017 && shallower < -0.0017);
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[must_use]
pub fn error_on_diameter_mm(half: Angle, error: Angle, length: Length) -> f64 {
    2.0 * radial_error_mm(half, error, length)
}

/// Error of the half angle that is worth `on_diameter_mm` over `length`: the inverse of
/// [`error_on_diameter_mm`].
///
/// `tan(α+ε) = tan α + q` with `q = t/(2ℓ)`, so `tan ε = q / (1 + tan α (tan α + q))`, again without a
/// difference of near equals. Domain: `length` above zero.
///
/// ```
/// use conewright_metrology::{Angle, taper::{angle_worth, error_on_diameter_mm}};
/// let (half, length) = ("1:12".parse()?, "30mm".parse()?);
/// let error = angle_worth(half, 0.002, length);
/// assert!((error_on_diameter_mm(half, error, length) - 0.002).abs() < 1e-15);
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[must_use]
pub fn angle_worth(half: Angle, on_diameter_mm: f64, length: Length) -> Angle {
    let q = on_diameter_mm / (2.0 * length.mm());
    let tan = half.tan();
    Angle::from_rad(q.atan2(1.0 + tan * (tan + q)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_domain_of_a_half_angle_on_both_sides() {
        let just_below = 90.0 - 1e-9;
        for (deg, allowed) in [
            (f64::MIN_POSITIVE, true),
            (0.0, false),
            (-0.0, false),
            (-1e-12, false),
            (just_below, true),
            (90.0, false),
            (180.0, false),
            (f64::NAN, false),
            (f64::INFINITY, false),
        ] {
            let taper = Taper::from_half_angle("t", Angle::from_deg(deg), "test");
            assert_eq!(taper.is_ok(), allowed, "{deg}°");
            if let Err(refused) = taper {
                assert!(refused.to_string().contains(HALF_ANGLE_DOMAIN), "{refused}");
            }
        }
    }

    #[test]
    fn a_cone_may_reach_its_point_and_not_pass_it() {
        let mut cone = Taper::from_half_angle("1:10", Angle::half_of_ratio(10.0), "test").unwrap();
        cone.gauge_diameter = Some(Length::from_um(10_000));
        for (length_um, allowed) in [(1, true), (99_999, true), (100_001, false), (0, false)] {
            cone.length = Some(Length::from_um(length_um));
            assert_eq!(cone.check().is_ok(), allowed, "{length_um} µm");
        }
        cone.length = None;
        cone.small_diameter = Some(Length::from_um(-1));
        assert_eq!(cone.check().unwrap_err().what, "small diameter");
    }

    // Common practice, no published source: what is found over the span that the indicator travels is
    // worth less over the shorter seat, in proportion.
    #[test]
    fn an_error_over_60_mm_is_worth_a_little_over_a_third_on_23_mm() {
        let half = Angle::half_of_ratio(20.020);
        let error = Angle::from_arcsec(10.0);
        let worth = |um| radial_error_mm(half, error, Length::from_um(um));
        let share = worth(23) / worth(60);
        assert!((1.0 / 3.0..0.4).contains(&share), "{share}");
    }

    proptest! {
        // The naive difference of tangents is the oracle where it has digits to spare.
        #[test]
        fn the_error_is_the_difference_of_tangents(deg in 0.01_f64..80.0, error_deg in -5.0_f64..5.0) {
            let (half, error) = (Angle::from_deg(deg), Angle::from_deg(error_deg));
            let length = Length::from_um(100_000);
            let naive = 100.0 * ((half + error).tan() - half.tan());
            let ours = radial_error_mm(half, error, length);
            prop_assert!((ours - naive).abs() <= 1e-11 * (1.0 + naive.abs()), "{ours} {naive}");
        }

        #[test]
        fn worth_goes_there_and_back(deg in 0.01_f64..80.0, t_um in -500.0_f64..500.0) {
            let (half, length) = (Angle::from_deg(deg), Length::from_um(23_000));
            let error = angle_worth(half, t_um * 1e-3, length);
            let back_um = error_on_diameter_mm(half, error, length) * 1e3;
            prop_assert!((back_um - t_um).abs() <= 1e-12 * (1.0 + t_um.abs()), "{back_um}");
        }
    }
}
