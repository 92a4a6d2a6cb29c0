//! An angle behind a type, read and written the ways the trade writes it.

use super::{QuantityError, decimal};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::f64::consts::PI;
use std::fmt;
use std::ops::{Add, Mul, Neg, Sub};

/// An angle in radians.
///
/// Published texts confuse half and included angles, so every name that holds one says which it is.
/// The two forms that describe a cone, `1:n` and taper per foot, are on diameter and are read as the
/// cone's **half** angle: `tan α = 1/(2n)`.
///
/// As JSON it is a number of degrees, in a field whose name ends in `_deg`.
///
/// ```
/// use conewright_metrology::Angle;
/// let half: Angle = "1:12".parse()?;
/// assert!((half.deg() - 2.385_944_030).abs() < 1e-9);
/// assert!((half.ratio_n() - 12.0).abs() < 1e-12);
/// let dms: Angle = "1d25m51s".parse()?;
/// assert!((dms.deg() - 1.430_833_333).abs() < 1e-9);
/// assert!("1d75m".parse::<Angle>().is_err(), "75 minutes are more than a degree");
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Angle(f64);

/// Arc-seconds in a radian.
const ARCSEC_PER_RAD: f64 = 180.0 * 3600.0 / PI;

const EXPECTED: &str = "an angle such as 1.431deg, 1d25m51s, 12arcsec, 40urad, 1:12 or 0.6in/ft";
const KNOWN: &str = "deg, d m s, arcmin, arcsec, urad, mrad, rad, 1:n, in/ft";
const DOMAIN: &str = "minutes and seconds are below 60, and a ratio is above 0";

/// Taper per foot as the trade writes it: *common practice*.
const PER_FOOT: [&str; 7] = [
    "in/ft",
    "in/foot",
    "inch/foot",
    "in per foot",
    "in per ft",
    "inch per foot",
    "\"/ft",
];

impl Angle {
    /// Whether a text describes a cone on diameter, by a ratio or by taper per foot, rather than an angle.
    ///
    /// ```
    /// use conewright_metrology::Angle;
    /// assert!(Angle::is_on_diameter("1:12") && Angle::is_on_diameter("0.6 in/foot"));
    /// assert!(!Angle::is_on_diameter("2um/60mm"));
    /// ```
    #[must_use]
    pub fn is_on_diameter(text: &str) -> bool {
        let per_foot = |(_, unit)| PER_FOOT.contains(&unit);
        text.contains(':') || decimal::split(text).is_some_and(per_foot)
    }

    /// No angle.
    pub const ZERO: Self = Self(0.0);

    /// From radians.
    #[must_use]
    pub const fn from_rad(rad: f64) -> Self {
        Self(rad)
    }

    /// From decimal degrees.
    #[must_use]
    pub fn from_deg(deg: f64) -> Self {
        Self(deg.to_radians())
    }

    /// From arc-seconds.
    #[must_use]
    pub fn from_arcsec(arcsec: f64) -> Self {
        Self(arcsec / ARCSEC_PER_RAD)
    }

    /// The half angle of a cone `1:n` on diameter: `α = atan(1/(2n))`. Source: ISO 1119, definition of C.
    #[must_use]
    pub fn half_of_ratio(n: f64) -> Self {
        Self((0.5 / n).atan())
    }

    /// Radians.
    #[must_use]
    pub const fn rad(self) -> f64 {
        self.0
    }

    /// Decimal degrees.
    #[must_use]
    pub fn deg(self) -> f64 {
        self.0.to_degrees()
    }

    /// Arc-seconds.
    #[must_use]
    pub fn arcsec(self) -> f64 {
        self.0 * ARCSEC_PER_RAD
    }

    /// Microradians.
    #[must_use]
    pub fn urad(self) -> f64 {
        self.0 * 1e6
    }

    /// The `n` of the cone `1:n` on diameter that has this half angle; infinite for a cylinder.
    #[must_use]
    pub fn ratio_n(self) -> f64 {
        0.5 / self.0.tan()
    }

    /// Tangent.
    #[must_use]
    pub fn tan(self) -> f64 {
        self.0.tan()
    }

    /// Sine.
    #[must_use]
    pub fn sin(self) -> f64 {
        self.0.sin()
    }

    /// Cosine.
    #[must_use]
    pub fn cos(self) -> f64 {
        self.0.cos()
    }

    /// The size without the sign.
    #[must_use]
    pub fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Degrees, minutes and seconds with `places` decimals of the second: `1°25'51.0"`.
    #[must_use]
    pub fn dms(self, places: usize) -> String {
        let scale = 10_f64.powi(i32::try_from(places).unwrap_or(0));
        // Rounding first keeps 59.96" from being printed as 60.0".
        let ticks = (self.arcsec().abs() * scale).round() / scale;
        let degrees = (ticks / 3600.0).floor();
        let minutes = ((ticks - degrees * 3600.0) / 60.0).floor();
        let seconds = (ticks - degrees * 3600.0 - minutes * 60.0).max(0.0);
        let sign = if self.0 < 0.0 && ticks > 0.0 { "-" } else { "" };
        format!(
            "{sign}{degrees}°{minutes:02}'{seconds:0w$.places$}\"",
            w = places + 2 + usize::from(places > 0)
        )
    }
}

/// The degrees-minutes-seconds form, in the signs people type: `1d25m51s`, `1°25'51"`.
fn parse_dms(text: &str) -> Option<Result<Angle, ()>> {
    let (degrees, mut rest) = decimal::split(text)?;
    let negative = text.trim_start().starts_with(['-', '\u{2212}']);
    rest = rest.strip_prefix('d').or_else(|| rest.strip_prefix('°'))?;
    let mut arcsec = degrees.to_f64().abs() * 3600.0;
    let mut whole = degrees.places == 0;
    for (signs, weight) in [(["m", "'", "′"], 60.0), (["s", "\"", "″"], 1.0)] {
        if rest.trim().is_empty() {
            break;
        }
        let (part, after) = decimal::split(rest)?;
        let Some(after) = signs.iter().find_map(|s| after.strip_prefix(s)) else {
            // Minutes may be left out: 1d51s.
            continue;
        };
        if !whole || part.digits < 0 || part.to_f64() >= 60.0 {
            return Some(Err(()));
        }
        whole = part.places == 0;
        arcsec += part.to_f64() * weight;
        rest = after;
    }
    rest.trim()
        .is_empty()
        .then(|| Ok(Angle::from_arcsec(if negative { -arcsec } else { arcsec })))
}

impl std::str::FromStr for Angle {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let domain = || QuantityError::OutOfDomain {
            text: text.to_owned(),
            domain: DOMAIN,
        };
        let unreadable = || QuantityError::Unreadable {
            text: text.to_owned(),
            expected: EXPECTED,
        };
        if let Some((rise, run)) = text.split_once(':') {
            let number = |part: &str| match decimal::split(part) {
                Some((n, "")) => Ok(n.to_f64()),
                _ => Err(unreadable()),
            };
            let (rise, run) = (number(rise)?, number(run)?);
            if rise <= 0.0 || run <= 0.0 {
                return Err(domain());
            }
            return Ok(Self::half_of_ratio(run / rise));
        }
        let (number, unit) = decimal::split(text).ok_or_else(unreadable)?;
        if let Some(decimal) = decimal::without_exponent(text) {
            return Err(QuantityError::Exponent {
                text: text.to_owned(),
                decimal,
            });
        }
        let value = number.to_f64();
        let angle = match unit {
            "deg" | "degree" | "degrees" => Self::from_deg(value),
            "arcmin" => Self::from_arcsec(value * 60.0),
            "arcsec" => Self::from_arcsec(value),
            "urad" | "µrad" | "μrad" => Self(value * 1e-6),
            "mrad" => Self(value * 1e-3),
            "rad" => Self(value),
            unit if PER_FOOT.contains(&unit) && value > 0.0 => Self::half_of_ratio(12.0 / value),
            unit if PER_FOOT.contains(&unit) => return Err(domain()),
            "" => return Err(unreadable()),
            unit => match parse_dms(text) {
                Some(dms) => dms.map_err(|()| domain())?,
                None => {
                    return Err(QuantityError::UnknownUnit {
                        text: text.to_owned(),
                        unit: unit.to_owned(),
                        known: KNOWN,
                    });
                }
            },
        };
        Ok(angle)
    }
}

impl fmt::Display for Angle {
    /// Decimal degrees to a thousandth of an arc-second: `2.3859440°`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.7}°", self.deg())
    }
}

impl Add for Angle {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Angle {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<f64> for Angle {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}

impl Serialize for Angle {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(self.deg())
    }
}

impl<'de> Deserialize<'de> for Angle {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        f64::deserialize(from).map(Self::from_deg)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn texts_of_angles() {
        let deg = |text: &str| text.parse::<Angle>().ok().map(Angle::deg);
        for (text, expected) in [
            ("1.431deg", Some(1.431)),
            ("-1.431 deg", Some(-1.431)),
            ("1d25m51s", Some(1.430_833_333_333)),
            ("-1d25m51s", Some(-1.430_833_333_333)),
            ("-0d30m", Some(-0.5)),
            ("1°25'51\"", Some(1.430_833_333_333)),
            ("1d", Some(1.0)),
            ("1d36s", Some(1.01)),
            ("1d59m59.9s", Some(1.999_972_222_222)),
            ("1d60m", None),
            ("1d0m60s", None),
            ("1.5d30m", None),
            ("3600arcsec", Some(1.0)),
            ("60arcmin", Some(1.0)),
            ("40urad", Some(0.002_291_831_181)),
            ("0.6in/ft", Some(1.432_096_184_165)),
            ("0,6 in/foot", Some(1.432_096_184_165)),
            ("0.6 in per foot", Some(1.432_096_184_165)),
            ("1,431deg", Some(1.431)),
            ("1e-3deg", None),
            ("1:20", Some(1.432_096_184_165)),
            ("7:24", Some(8.297_144_969_836)),
            ("1:0", None),
            ("0:5", None),
            ("1:-3", None),
            ("0in/ft", None),
            ("1.431", None),
            ("", None),
            ("deg", None),
            ("1 grad", None),
        ] {
            match (deg(text), expected) {
                (Some(got), Some(want)) => assert!((got - want).abs() < 1e-11, "{text}: {got}"),
                (got, want) => assert_eq!(got, want, "{text}"),
            }
        }
    }

    #[test]
    fn seconds_that_round_up_carry() {
        assert_eq!(Angle::from_arcsec(59.96).dms(1), "0°01'00.0\"");
        assert_eq!(Angle::from_deg(-1.430_833_333_333).dms(0), "-1°25'51\"");
    }

    proptest! {
        #[test]
        fn dms_is_read_back(arcsec in -300_000.0_f64..300_000.0) {
            let text = Angle::from_arcsec(arcsec).dms(3);
            let back: Angle = text.parse().unwrap();
            prop_assert!((back.arcsec() - arcsec).abs() < 0.000_6, "{text}");
        }

        #[test]
        fn any_text_is_read_or_refused(text in ".{0,40}") {
            let _ = text.parse::<Angle>();
        }
    }
}
