//! A taper's angle and size from what can be gauged: diameters at two planes, rollers on stacks, balls in a bore.

use crate::domain::DomainError;
use crate::taper::check_half_angle;
use crate::{Angle, Length};

/// A half angle that was measured, with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredHalfAngle {
    /// The half angle; negative when the first plane is the smaller one.
    pub half_angle: Angle,
    /// Its standard uncertainty.
    pub u: Angle,
}

/// A diameter at a plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Section {
    /// The plane's distance from the gauge plane, positive toward the small end.
    pub plane: Length,
    /// The diameter there.
    pub diameter: Length,
}

fn uncertainty(what: &'static str, u: Length) -> Result<f64, DomainError> {
    if u < Length::ZERO {
        return Err(DomainError::new(what, u, "0 mm or more"));
    }
    Ok(u.mm())
}

/// Half angle from two diameters at two planes: `tan α = (d₁ − d₂)/(2 (z₂ − z₁))`.
///
/// `u` of each diameter and of each plane's place are standard uncertainties, independent of each other:
/// `u²(tan α) = (u_d² + 4 tan²α u_z²) / (2 (z₂ − z₁)²)` (JCGM 100, 5.1.2).
///
/// # Errors
/// Two planes that are one, a diameter that is not above zero, a negative uncertainty.
///
/// ```
/// use conewright_metrology::{Length, gauging::{Section, half_angle_of_sections}};
/// let section = |plane: &str, diameter: &str| -> Result<Section, conewright_metrology::QuantityError> {
///     Ok(Section { plane: plane.parse()?, diameter: diameter.parse()? })
/// };
/// let (big, small) = (section("0mm", "40mm")?, section("24mm", "38mm")?);
/// let found = half_angle_of_sections([big, small], Length::from_um(1), Length::ZERO)?;
/// assert!((found.half_angle.ratio_n() - 12.0).abs() < 1e-12);
/// assert!((found.u.arcsec() - 6.07).abs() < 0.01);
/// assert!(half_angle_of_sections([big, big], Length::from_um(1), Length::ZERO).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn half_angle_of_sections(
    [first, second]: [Section; 2],
    u_diameter: Length,
    u_plane: Length,
) -> Result<MeasuredHalfAngle, DomainError> {
    for section in [first, second] {
        if section.diameter <= Length::ZERO {
            return Err(DomainError::new("diameter", section.diameter, "above 0 mm"));
        }
    }
    let apart_mm = (second.plane - first.plane).mm();
    if apart_mm == 0.0 {
        return Err(DomainError::new(
            "distance of the two planes",
            second.plane - first.plane,
            "not 0 mm: two planes give an angle, one does not",
        ));
    }
    let u_d = uncertainty("uncertainty of a diameter", u_diameter)?;
    let u_z = uncertainty("uncertainty of a plane", u_plane)?;
    let tan = (first.diameter - second.diameter).mm() / (2.0 * apart_mm);
    let u_tan = u_d.hypot(2.0 * tan * u_z) / (std::f64::consts::SQRT_2 * apart_mm.abs());
    Ok(MeasuredHalfAngle {
        half_angle: Angle::from_rad(tan.atan()),
        u: Angle::from_rad(u_tan / (1.0 + tan * tan)),
    })
}

/// Two equal rollers on equal stacks at either side of a taper that stands on the plate, small end down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OverRollers {
    /// Radius ρ of the rollers.
    pub roller_radius: Length,
}

impl OverRollers {
    fn radius_mm(self) -> Result<f64, DomainError> {
        if self.roller_radius <= Length::ZERO {
            return Err(DomainError::new(
                "roller radius",
                self.roller_radius,
                "above 0 mm",
            ));
        }
        Ok(self.roller_radius.mm())
    }

    /// What a micrometer over the rollers must show in mm, for the diameter `d₀` at the small end on the plate
    /// and stacks of height h: `M = 2 [d₀/2 + (h + ρ) tan α + ρ/cos α + ρ]`.
    ///
    /// # Errors
    /// A radius that is not above zero, a diameter or height below zero, a half angle out of range.
    ///
    /// ```
    /// use conewright_metrology::{Angle, gauging::OverRollers};
    /// let rollers = OverRollers { roller_radius: "5mm".parse()? };
    /// let half: Angle = "1:12".parse()?;
    /// let on_plate = rollers.over_mm("30mm".parse()?, half, "0mm".parse()?)?;
    /// let lifted = rollers.over_mm("30mm".parse()?, half, "24mm".parse()?)?;
    /// assert!((lifted - on_plate - 2.0).abs() < 1e-12, "24 mm of a 1:12 taper");
    /// assert!(rollers.over_mm("30mm".parse()?, half, "-1mm".parse()?).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn over_mm(
        self,
        small_end: Length,
        half: Angle,
        stacks: Length,
    ) -> Result<f64, DomainError> {
        check_half_angle(half)?;
        let rho = self.radius_mm()?;
        for (what, length) in [("small end diameter", small_end), ("stack height", stacks)] {
            if length < Length::ZERO {
                return Err(DomainError::new(what, length, "0 mm or more"));
            }
        }
        Ok(small_end.mm() + 2.0 * self.added_mm(half, stacks, rho))
    }

    /// `(h + ρ) tan α + ρ/cos α + ρ`, what height and rollers add to the radius.
    fn added_mm(self, half: Angle, stacks: Length, rho: f64) -> f64 {
        (stacks.mm() + rho) * half.tan() + rho / half.cos() + rho
    }

    /// Half angle from the measurements over the rollers at two heights, each `(h, M)`:
    /// `tan α = (M₂ − M₁)/(2 (h₂ − h₁))`. The rollers' own size drops out. `u_over` is the standard
    /// uncertainty of each measurement, `u_stack` that of each height.
    ///
    /// # Errors
    /// Two heights that are one, a measurement that is not above zero, a negative uncertainty.
    ///
    /// ```
    /// use conewright_metrology::{Length, gauging::OverRollers};
    /// let low = ("0mm".parse()?, "50.4mm".parse()?);
    /// let high = ("24mm".parse()?, "52.4mm".parse()?);
    /// let found = OverRollers::half_angle([low, high], Length::from_um(1), Length::ZERO)?;
    /// assert!((found.half_angle.ratio_n() - 12.0).abs() < 1e-12);
    /// assert!(OverRollers::half_angle([low, low], Length::from_um(1), Length::ZERO).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn half_angle(
        [(h1, m1), (h2, m2)]: [(Length, Length); 2],
        u_over: Length,
        u_stack: Length,
    ) -> Result<MeasuredHalfAngle, DomainError> {
        // Seen from the plate the sections grow with height: the same arithmetic with the planes exchanged.
        half_angle_of_sections(
            [
                Section {
                    plane: h1,
                    diameter: m2,
                },
                Section {
                    plane: h2,
                    diameter: m1,
                },
            ],
            u_over,
            u_stack,
        )
    }

    /// Diameter in mm at the small end on the plate, from one measurement over the rollers and the half angle.
    ///
    /// # Errors
    /// A radius or a measurement that is not above zero, a height below zero, a half angle out of range,
    /// or a measurement smaller than the rollers leave room for.
    ///
    /// ```
    /// use conewright_metrology::{Angle, Length, gauging::OverRollers};
    /// let rollers = OverRollers { roller_radius: "5mm".parse()? };
    /// let half: Angle = "1:12".parse()?;
    /// let over = rollers.over_mm("30mm".parse()?, half, "10mm".parse()?)?;
    /// let over = Length::from_mm(over).unwrap();
    /// assert!((rollers.small_end_mm("10mm".parse()?, over, half)? - 30.0).abs() < 1e-9);
    /// assert!(rollers.small_end_mm("10mm".parse()?, "19mm".parse()?, half).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn small_end_mm(
        self,
        stacks: Length,
        over: Length,
        half: Angle,
    ) -> Result<f64, DomainError> {
        check_half_angle(half)?;
        let rho = self.radius_mm()?;
        if stacks < Length::ZERO {
            return Err(DomainError::new("stack height", stacks, "0 mm or more"));
        }
        let small_mm = over.mm() - 2.0 * self.added_mm(half, stacks, rho);
        if small_mm < 0.0 {
            return Err(DomainError::new(
                "measurement over the rollers",
                over,
                "at least what the rollers and the taper between them take up",
            ));
        }
        Ok(small_mm)
    }
}

/// A ball in a taper bore, big end up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BallInBore {
    /// The ball's radius.
    pub radius: Length,
    /// Depth of its top below the bore's face; negative where it stands proud.
    pub top_below_face: Length,
}

impl BallInBore {
    /// Depth of the centre below the face, mm.
    fn centre_mm(self) -> f64 {
        (self.top_below_face + self.radius).mm()
    }
}

/// A bore as two balls find it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredBore {
    /// The half angle with its standard uncertainty.
    pub half_angle: MeasuredHalfAngle,
    /// The bore's diameter at its face, mm.
    pub diameter_at_face_mm: f64,
}

/// Half angle and size of a taper bore from a big and a small ball:
/// `sin α = (R − r) / ((H_r + r) − (H_R + R))`, the difference of the radii over the distance of the centres.
/// The diameter at the face is `2 (R/cos α + (H_R + R) tan α)`.
///
/// `u_radius` and `u_depth` are the standard uncertainties of each radius and each depth, independent of each
/// other.
///
/// # Errors
/// Radii that are not above zero or not in order, balls that do not lie as in a taper, a negative uncertainty.
///
/// ```
/// use conewright_metrology::{Length, gauging::{BallInBore, two_balls}};
/// let ball = |radius: &str, top: &str| -> Result<BallInBore, conewright_metrology::QuantityError> {
///     Ok(BallInBore { radius: radius.parse()?, top_below_face: top.parse()? })
/// };
/// let (big, small) = (ball("10mm", "2mm")?, ball("8mm", "44mm")?);
/// let bore = two_balls(big, small, Length::ZERO, Length::from_um(2))?;
/// assert!((bore.half_angle.half_angle.sin() - 0.05).abs() < 1e-15);
/// assert!(two_balls(small, big, Length::ZERO, Length::from_um(2)).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn two_balls(
    big: BallInBore,
    small: BallInBore,
    u_radius: Length,
    u_depth: Length,
) -> Result<MeasuredBore, DomainError> {
    if small.radius <= Length::ZERO {
        return Err(DomainError::new(
            "radius of the small ball",
            small.radius,
            "above 0 mm",
        ));
    }
    if big.radius <= small.radius {
        return Err(DomainError::new(
            "radius of the big ball",
            big.radius,
            "larger than the small ball's",
        ));
    }
    let u_r = uncertainty("uncertainty of a radius", u_radius)?;
    let u_h = uncertainty("uncertainty of a depth", u_depth)?;
    let apart_mm = small.centre_mm() - big.centre_mm();
    let sin = (big.radius - small.radius).mm() / apart_mm;
    if !(sin > 0.0 && sin < 1.0) {
        return Err(DomainError::new(
            "distance of the balls' centres",
            format_args!("{apart_mm:.4} mm"),
            "more than the difference of the radii, the small ball deeper",
        ));
    }
    let half = Angle::from_rad(sin.asin());
    // A radius acts twice, in the numerator and through its centre: d sin α = ±(1 + sin α) dR / distance.
    let u_sin = std::f64::consts::SQRT_2 * ((1.0 + sin) * u_r).hypot(sin * u_h) / apart_mm;
    Ok(MeasuredBore {
        half_angle: MeasuredHalfAngle {
            half_angle: half,
            u: Angle::from_rad(u_sin / half.cos()),
        },
        diameter_at_face_mm: 2.0 * (big.radius.mm() / half.cos() + big.centre_mm() * half.tan()),
    })
}
