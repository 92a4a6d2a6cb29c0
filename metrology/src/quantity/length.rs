//! A length is an exact signed integer of picometres.

use super::{QuantityError, decimal};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub, SubAssign};

/// A length, held exactly as a signed integer of picometres.
///
/// 1 µm = 10⁶ pm and 0.00001 in = 254 000 pm, so every decimal that an indicator can show, metric or
/// inch, is held without rounding. The domain is ±1 km ([`Length::LIMIT`]): inside it a length goes
/// through a JSON number in millimetres and back unchanged, since 10¹⁵ < 2⁵³.
///
/// As JSON it is a number of millimetres, in a field whose name ends in `_mm`.
///
/// ```
/// use conewright_metrology::{Length, Unit};
/// let shown: Length = "0.00005in".parse()?;
/// assert_eq!(shown.pm(), 1_270_000);
/// assert_eq!(Length::parse("2.5", Unit::Mm)?.to_string(), "2.5 mm");
/// assert!(Length::parse("2.5 furlong", Unit::Mm).is_err());
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length(i64);

/// The units in which a length is read and shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Millimetre.
    Mm,
    /// Micrometre.
    Um,
    /// Inch, 25.4 mm exactly.
    In,
}

const PM_PER_MM: i64 = 1_000_000_000;
const PM_PER_UM: i64 = 1_000_000;
const PM_PER_IN: i64 = 25_400_000_000;

impl Unit {
    /// Picometres in one of this unit; exact.
    #[must_use]
    pub const fn pm(self) -> i64 {
        match self {
            Self::Mm => PM_PER_MM,
            Self::Um => PM_PER_UM,
            Self::In => PM_PER_IN,
        }
    }

    /// The unit's sign as it is printed.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Um => "µm",
            Self::In => "in",
        }
    }

    /// The unit of a sign as people and instruments write it (`mm`, `um`, `µm`, `in`, `inch`, `"`).
    #[must_use]
    pub fn from_sign(sign: &str) -> Option<Self> {
        match sign.trim().to_ascii_lowercase().as_str() {
            "mm" => Some(Self::Mm),
            // Micro sign and Greek mu look the same and are typed alike.
            "um" | "\u{b5}m" | "\u{3bc}m" => Some(Self::Um),
            "in" | "inch" | "\"" => Some(Self::In),
            _ => None,
        }
    }
}

/// A value as an instrument or a user wrote it: the exact length and one unit of its last place.
///
/// ```
/// use conewright_metrology::{Shown, Unit};
/// let s = Shown::parse("-0,0120", Unit::Mm, None)?;
/// assert_eq!((s.value.um(), s.resolution.um()), (-12.0, 0.1));
/// let dial = Shown::parse("-3.5div", Unit::Mm, Some("2um".parse()?))?;
/// assert_eq!(dial.value.um(), -7.0);
/// assert!(Shown::parse("-3.5div", Unit::Mm, None).is_err(), "a division of unknown size");
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Shown {
    /// The value.
    pub value: Length,
    /// One unit of the last place shown.
    pub resolution: Length,
}

const EXPECTED: &str = "a length such as 12.5, 2.5um, 0.0001in or -3.5div";
const KNOWN: &str = "mm, um, in, div";
const DOMAIN: &str = "a length is a whole number of picometres within 1 km to either side of zero";

impl Length {
    /// No length at all.
    pub const ZERO: Self = Self(0);
    /// The largest length, 1 km; the smallest is its negative.
    pub const LIMIT: Self = Self(1_000_000 * PM_PER_MM);

    /// A length of whole picometres. Meant for constants and for values checked before; the domain is
    /// ±[`Length::LIMIT`] and is not checked here.
    #[must_use]
    pub const fn from_pm(pm: i64) -> Self {
        Self(pm)
    }

    /// A length of whole micrometres, for constants.
    #[must_use]
    pub const fn from_um(um: i64) -> Self {
        Self(um * PM_PER_UM)
    }

    /// The length nearest to a number of millimetres; `None` outside the domain or for a NaN.
    #[must_use]
    pub fn from_mm(mm: f64) -> Option<Self> {
        let pm = (mm * PM_PER_MM as f64).round();
        (pm.abs() <= Self::LIMIT.0 as f64).then_some(Self(pm as i64))
    }

    /// Picometres, exact.
    #[must_use]
    pub const fn pm(self) -> i64 {
        self.0
    }

    /// Millimetres, the nearest `f64`.
    #[must_use]
    pub fn mm(self) -> f64 {
        self.0 as f64 / PM_PER_MM as f64
    }

    /// Micrometres, the nearest `f64`.
    #[must_use]
    pub fn um(self) -> f64 {
        self.0 as f64 / PM_PER_UM as f64
    }

    /// Inches, the nearest `f64`.
    #[must_use]
    pub fn inches(self) -> f64 {
        self.0 as f64 / PM_PER_IN as f64
    }

    /// The size without the sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// Reads a length; a bare number is in `bare`. Divisions are not known here ([`Shown::parse`]).
    ///
    /// # Errors
    /// What is wrong with the text, what was expected, and the domain.
    pub fn parse(text: &str, bare: Unit) -> Result<Self, QuantityError> {
        Shown::parse(text, bare, None).map(|shown| shown.value)
    }

    /// The exact decimal in `unit` without trailing zeros, and without the unit's sign.
    ///
    /// An inch value is exact for a multiple of 254 pm; others are cut after 12 places, far below a picometre.
    #[must_use]
    pub fn decimal(self, unit: Unit) -> String {
        let per = unit.pm().unsigned_abs();
        let size = self.0.unsigned_abs();
        let (whole, rest) = (size / per, size % per);
        // Twelve decimals. A metric unit has fewer, and they need no wide division: a record may hold millions of lengths.
        const PLACES: u64 = 1_000_000_000_000;
        let fraction = match PLACES % per {
            0 => u128::from(rest * (PLACES / per)),
            _ => u128::from(rest) * u128::from(PLACES) / u128::from(per),
        };
        let sign = if self.0 < 0 { "-" } else { "" };
        let mut text = format!("{sign}{whole}.{fraction:012}");
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
        text
    }
}

impl Shown {
    /// Reads a value and the place of its last digit. A bare number is in `bare`; `div` counts
    /// divisions of the given size.
    ///
    /// # Errors
    /// What is wrong with the text, what was expected, and the domain.
    pub fn parse(text: &str, bare: Unit, division: Option<Length>) -> Result<Self, QuantityError> {
        let unreadable = || QuantityError::Unreadable {
            text: text.to_owned(),
            expected: EXPECTED,
        };
        let (number, sign) = decimal::split(text).ok_or_else(unreadable)?;
        if let Some(decimal) = decimal::without_exponent(text) {
            return Err(QuantityError::Exponent {
                text: text.to_owned(),
                decimal,
            });
        }
        let pm = match sign {
            "" => bare.pm(),
            "div" | "divs" | "division" | "divisions" => {
                division
                    .map(Length::pm)
                    .ok_or_else(|| QuantityError::DivisionUnknown {
                        text: text.to_owned(),
                    })?
            }
            sign => Unit::from_sign(sign)
                .ok_or_else(|| QuantityError::UnknownUnit {
                    text: text.to_owned(),
                    unit: sign.to_owned(),
                    known: KNOWN,
                })?
                .pm(),
        };
        let value = number
            .times_pm(pm)
            .filter(|pm| pm.unsigned_abs() <= Length::LIMIT.0.unsigned_abs())
            .map(Length)
            .ok_or_else(|| QuantityError::OutOfDomain {
                text: text.to_owned(),
                domain: DOMAIN,
            })?;
        Ok(Self {
            value,
            resolution: Length(number.last_place_pm(pm)),
        })
    }
}

impl std::str::FromStr for Length {
    type Err = QuantityError;
    /// A bare number is in millimetres.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        Self::parse(text, Unit::Mm)
    }
}

impl fmt::Display for Length {
    /// Exact, in millimetres: `12.5 mm`. What it prints can be read back.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} mm", self.decimal(Unit::Mm)))
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Self) {
        self.0 -= other.0;
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(self.mm())
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Self::from_mm(f64::deserialize(from)?).ok_or_else(|| serde::de::Error::custom(DOMAIN))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn pm(text: &str) -> Option<i64> {
        Length::parse(text, Unit::Mm).ok().map(Length::pm)
    }

    #[test]
    fn texts_of_lengths() {
        for (text, expected) in [
            ("12.5", Some(12_500_000_000)),
            ("12,5mm", Some(12_500_000_000)),
            (" - 0.012 ", Some(-12_000_000)),
            ("\u{2212}0.012", Some(-12_000_000)),
            ("2.5um", Some(2_500_000)),
            ("2.5 µm", Some(2_500_000)),
            ("0.00001in", Some(254_000)),
            ("1\"", Some(25_400_000_000)),
            (".5", Some(500_000_000)),
            (".0005in", Some(12_700_000)),
            ("-,012", Some(-12_000_000)),
            ("5.", Some(5_000_000_000)),
            // The finest decimal of a picometre, and one place beyond it.
            ("0.000000001", Some(1)),
            ("0.0000000001", None),
            // The limit and one picometre past it.
            ("1000000", Some(Length::LIMIT.pm())),
            ("1000000.000000001", None),
            ("", None),
            ("mm", None),
            ("1.2.3", None),
            ("--1", None),
            ("+-1", None),
            ("1e3", None),
            ("NaN", None),
            ("3 furlongs", None),
            ("3.5div", None),
            ("9999999999999999999999999999", None),
        ] {
            assert_eq!(pm(text), expected, "{text:?}");
        }
    }

    #[test]
    fn an_exponent_is_refused_with_the_decimal_that_works() {
        for (text, decimal) in [
            ("1e-3", "0.001"),
            ("-1.50E-2 mm", "-0.0150mm"),
            ("2.5e3um", "2500um"),
            ("12e0", "12"),
        ] {
            let error = Length::parse(text, Unit::Mm).unwrap_err();
            let told = format!("`{text}` has an exponent: write all its digits, as in `{decimal}`");
            assert_eq!(error.to_string(), told);
            assert!(Length::parse(decimal, Unit::Mm).is_ok(), "{decimal}");
        }
        // No number of a shop: only that it cannot be read is said.
        let far = Length::parse("1e99", Unit::Mm).unwrap_err();
        assert!(matches!(far, QuantityError::UnknownUnit { .. }), "{far}");
    }

    #[test]
    fn divisions_are_read_by_their_usual_words() {
        let division = Some(Length::from_um(2));
        for text in [
            "12div",
            "12 div",
            "12 divs",
            "12 divisions",
            "12,0 division",
        ] {
            let shown = Shown::parse(text, Unit::Mm, division).unwrap();
            assert_eq!(shown.value, Length::from_um(24), "{text}");
        }
    }

    proptest! {
        #[test]
        fn what_is_printed_is_read_back(v in -1_000_000_000_000_000_i64..=1_000_000_000_000_000) {
            let length = Length::from_pm(v);
            prop_assert_eq!(length.to_string().parse::<Length>(), Ok(length));
            let json = serde_json::to_string(&length).unwrap();
            prop_assert_eq!(serde_json::from_str::<Length>(&json).unwrap(), length);
        }

        #[test]
        fn every_inch_decimal_is_exact(digits in -9_999_999_i64..=9_999_999) {
            let text = format!("{}in", Length::from_pm(digits * 254_000).decimal(Unit::In));
            prop_assert_eq!(pm(&text), Some(digits * 254_000));
        }

        #[test]
        fn any_text_is_read_or_refused(text in ".{0,40}") {
            let _ = Shown::parse(&text, Unit::Mm, Some(Length::from_um(2)));
        }
    }
}
