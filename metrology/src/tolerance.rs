//! What is allowed: an AT grade, an angle, an amount on diameter, or a rise over a length.

use crate::{Angle, Length, QuantityError, Unit};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Which way an AT tolerance lies about the nominal half angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AtSide {
    /// Half to each side: ±AT/2 on the included angle. Written `AT4`.
    Both,
    /// All toward a steeper cone. Written `+AT4`.
    Steeper,
    /// All toward a shallower cone. Written `-AT4`.
    Shallower,
}

/// The tolerance of a taper's angle, in the form that the user stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tolerance {
    /// An AT grade of ISO 1947, 1 to 12, by the cone's length; on the **included** angle.
    At {
        /// 1 to 12.
        grade: u8,
        /// Which way it lies.
        side: AtSide,
    },
    /// The **half** angle to within ± this: `5arcsec`.
    HalfAngle(Angle),
    /// To within ± this on diameter over the taper's length: `2um`.
    OnDiameter(Length),
    /// The edge (the half angle) to within ± this rise over this length: `1um/60mm`.
    Slope {
        /// The rise of the element, not on diameter.
        rise: Length,
        /// The length it is meant over.
        over: Length,
    },
}

impl Serialize for Tolerance {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

const EXPECTED: &str = "a tolerance such as AT4, +AT4, 5arcsec, 2um or 1um/60mm";

impl std::fmt::Display for Tolerance {
    /// The form in which it can be read back.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::At { grade, side } => {
                let sign = match side {
                    AtSide::Both => "",
                    AtSide::Steeper => "+",
                    AtSide::Shallower => "-",
                };
                write!(f, "{sign}AT{grade}")
            }
            Self::HalfAngle(angle) => write!(f, "{}arcsec", angle.arcsec()),
            Self::OnDiameter(length) => write!(f, "{}um", length.decimal(Unit::Um)),
            Self::Slope { rise, over } => {
                write!(
                    f,
                    "{}um/{}mm",
                    rise.decimal(Unit::Um),
                    over.decimal(Unit::Mm)
                )
            }
        }
    }
}

impl std::str::FromStr for Tolerance {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let domain = |domain| QuantityError::OutOfDomain {
            text: text.to_owned(),
            domain,
        };
        let trimmed = text.trim();
        let (side, unsigned) = match trimmed.as_bytes().first() {
            Some(b'+') => (AtSide::Steeper, &trimmed[1..]),
            Some(b'-') => (AtSide::Shallower, &trimmed[1..]),
            _ => (AtSide::Both, trimmed),
        };
        if let Some(grade) = unsigned
            .strip_prefix("AT")
            .or_else(|| unsigned.strip_prefix("at"))
        {
            return match grade.parse() {
                Ok(grade @ 1..=12) => Ok(Self::At { grade, side }),
                _ => Err(domain("the grades of ISO 1947 are AT1 to AT12")),
            };
        }
        let positive = "a tolerance is above zero";
        if let Some((rise, over)) = trimmed.split_once('/')
            && !trimmed.ends_with("in/ft")
        {
            let (rise, over) = (rise.parse()?, over.parse()?);
            return if rise > Length::ZERO && over > Length::ZERO {
                Ok(Self::Slope { rise, over })
            } else {
                Err(domain(positive))
            };
        }
        if let Ok(length) = trimmed.parse::<Length>() {
            return if length > Length::ZERO {
                Ok(Self::OnDiameter(length))
            } else {
                Err(domain(positive))
            };
        }
        match trimmed.parse::<Angle>() {
            Ok(angle) if angle > Angle::ZERO => Ok(Self::HalfAngle(angle)),
            Ok(_) => Err(domain(positive)),
            Err(_) => Err(QuantityError::Unreadable {
                text: text.to_owned(),
                expected: EXPECTED,
            }),
        }
    }
}

impl<'de> Deserialize<'de> for Tolerance {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}
