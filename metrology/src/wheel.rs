//! The wheel's surface speed against the speed marked on it. Shown with the cautions, never as permission.

use crate::{DomainError, Length};
use std::f64::consts::PI;
use std::fmt;

/// Surface speed in m/s of a wheel of `diameter` at `per_minute` turns: `v = π d n`.
///
/// Domain: a diameter above zero to [`LARGEST_DIAMETER`], turns above zero to [`FASTEST_PER_MINUTE`].
///
/// # Errors
/// Which value is out of range.
///
/// ```
/// use conewright_metrology::wheel::surface_speed_m_per_s;
/// let v = surface_speed_m_per_s("200mm".parse()?, 2850.0)?;
/// assert!((v - 29.845).abs() < 0.001);
/// assert!(surface_speed_m_per_s("0mm".parse()?, 2850.0).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn surface_speed_m_per_s(diameter: Length, per_minute: f64) -> Result<f64, DomainError> {
    if diameter <= Length::ZERO || diameter > LARGEST_DIAMETER {
        return Err(DomainError::new(
            "wheel diameter",
            diameter,
            "above 0 mm, to 2000 mm",
        ));
    }
    if !(per_minute > 0.0 && per_minute <= FASTEST_PER_MINUTE) {
        return Err(DomainError::new(
            "wheel speed",
            format_args!("{per_minute} 1/min"),
            "above 0, to 200000 turns a minute",
        ));
    }
    Ok(PI * diameter.mm() * 1e-3 * per_minute / 60.0)
}

/// The largest wheel that is believed.
pub const LARGEST_DIAMETER: Length = Length::from_um(2_000_000);
/// The fastest spindle that is believed, turns a minute.
pub const FASTEST_PER_MINUTE: f64 = 200_000.0;

/// A wheel's surface speed beside the speed marked on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedCheck {
    /// Surface speed, m/s.
    pub speed_m_per_s: f64,
    /// The largest speed marked on the wheel, m/s.
    pub marked_m_per_s: f64,
}

impl SpeedCheck {
    /// Compares a wheel's speed with its marking.
    ///
    /// # Errors
    /// A diameter, a speed or a marking out of range.
    ///
    /// ```
    /// use conewright_metrology::wheel::SpeedCheck;
    /// let check = SpeedCheck::new("200mm".parse()?, 3800.0, 35.0)?;
    /// assert!(check.too_fast());
    /// assert!(check.to_string().contains("do not run"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(
        diameter: Length,
        per_minute: f64,
        marked_m_per_s: f64,
    ) -> Result<Self, DomainError> {
        if !(marked_m_per_s > 0.0 && marked_m_per_s.is_finite()) {
            return Err(DomainError::new(
                "marked speed",
                format_args!("{marked_m_per_s} m/s"),
                "above 0 m/s, as printed on the wheel",
            ));
        }
        Ok(Self {
            speed_m_per_s: surface_speed_m_per_s(diameter, per_minute)?,
            marked_m_per_s,
        })
    }

    /// Whether the wheel would run faster than it is marked for. False is no permission.
    #[must_use]
    pub fn too_fast(&self) -> bool {
        self.speed_m_per_s > self.marked_m_per_s
    }
}

/// What is said beside every speed.
pub const PREVAILS: &str = "the wheel's own marking and its maker's rules prevail; ring test, guards and a \
                            trial run with nobody in line come first";

impl fmt::Display for SpeedCheck {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            speed_m_per_s,
            marked_m_per_s,
        } = self;
        if self.too_fast() {
            write!(
                f,
                "{speed_m_per_s:.1} m/s is more than the {marked_m_per_s} m/s marked on the wheel: do not run it; {PREVAILS}"
            )
        } else {
            write!(
                f,
                "{speed_m_per_s:.1} m/s against {marked_m_per_s} m/s marked on the wheel; {PREVAILS}"
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_on_both_sides() {
        let d = Length::from_um(200_000);
        for (diameter, per_minute, allowed) in [
            (Length::from_pm(1), 1.0, true),
            (Length::ZERO, 1.0, false),
            (LARGEST_DIAMETER, 1.0, true),
            (LARGEST_DIAMETER + Length::from_pm(1), 1.0, false),
            (d, 0.0, false),
            (d, f64::MIN_POSITIVE, true),
            (d, FASTEST_PER_MINUTE, true),
            (d, FASTEST_PER_MINUTE + 1.0, false),
            (d, f64::NAN, false),
        ] {
            let speed = surface_speed_m_per_s(diameter, per_minute);
            assert_eq!(speed.is_ok(), allowed, "{diameter} {per_minute}");
        }
        assert!(SpeedCheck::new(d, 1000.0, 0.0).is_err());
        assert!(SpeedCheck::new(d, 1000.0, f64::NAN).is_err());
    }

    #[test]
    fn at_the_marked_speed_and_just_above() {
        let mut check = SpeedCheck {
            speed_m_per_s: 35.0,
            marked_m_per_s: 35.0,
        };
        assert!(!check.too_fast());
        assert!(check.to_string().contains(PREVAILS));
        check.speed_m_per_s = 35.0 + 1e-9;
        assert!(check.too_fast());
    }
}
