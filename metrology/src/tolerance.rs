//! What is allowed: an AT grade, an angle, an amount on diameter, or a rise over a length.

use crate::domain::DomainError;
use crate::taper::{angle_worth, check_half_angle};
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

/// Why a tolerance cannot be turned into limits.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ToleranceError {
    /// No such grade.
    #[error("AT{0} is not a grade: ISO 1947 has AT1 to AT12")]
    Grade(u8),
    /// The table of ISO 1947 does not go to this cone length.
    #[error(
        "a cone length of {0} is outside the AT table of ISO 1947 (over 6 mm to 630 mm); state the tolerance as an angle or an \
         amount on diameter instead"
    )]
    ConeLength(Length),
    /// The tolerance is meant over the taper's length, and none was given.
    #[error(
        "the tolerance {tolerance} depends on the taper's length, which is not known; state the length"
    )]
    LengthNeeded {
        /// The tolerance as it is written.
        tolerance: String,
    },
    /// A length or an angle out of range.
    #[error(transparent)]
    Domain(#[from] DomainError),
}

/// Upper ends of the cone length classes of ISO 1947 in mm; a class holds its upper end and not its lower.
const CLASS_TO_MM: [i64; 10] = [10, 16, 25, 40, 63, 100, 160, 250, 400, 630];
/// Lower end of the first class, itself outside.
const CLASS_OVER_MM: i64 = 6;

/// The values of the AT table, tenths of a microradian. Each grade is two steps of this series wider than
/// the one before, and each longer class one step narrower, so 32 numbers hold the table of 120.
///
/// Source: ISO 1947, from memory; seven values of AT4 printed for 7:24 tapers agree, and a test holds every
/// cell against the table written out.
const AT_SERIES_TENTHS: [u32; 32] = [
    63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1_000, 1_250, 1_600, 2_000, 2_500,
    3_150, 4_000, 5_000, 6_300, 8_000, 10_000, 12_500, 16_000, 20_000, 25_000, 31_500, 40_000,
    50_000, 63_000, 80_000,
];

/// The coarsest grade of ISO 1947; the finest is 1.
pub const COARSEST_AT: u8 = 12;

/// AT_α of ISO 1947: the width of the tolerance zone of a cone's **included** angle.
///
/// The microradians are the master values; minutes and seconds as printed beside them are rounded by up to
/// two seconds. Domain: grades 1 to 12, cone lengths over 6 mm to 630 mm.
///
/// # Errors
/// A grade or a cone length outside the table.
///
/// ```
/// use conewright_metrology::tolerance::at_alpha;
/// assert!((at_alpha(4, "48.4mm".parse()?)?.urad() - 80.0).abs() < 1e-9);
/// assert!(at_alpha(4, "6mm".parse()?).is_err(), "the table begins over 6 mm");
/// assert!(at_alpha(13, "48.4mm".parse()?).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn at_alpha(grade: u8, cone_length: Length) -> Result<Angle, ToleranceError> {
    if !(1..=COARSEST_AT).contains(&grade) {
        return Err(ToleranceError::Grade(grade));
    }
    let over = |mm: i64| cone_length.pm() > mm * Unit::Mm.pm();
    let class = CLASS_TO_MM
        .iter()
        .position(|to| !over(*to))
        .filter(|_| over(CLASS_OVER_MM))
        .ok_or(ToleranceError::ConeLength(cone_length))?;
    let step = CLASS_TO_MM.len() - 1 - class + 2 * usize::from(grade - 1);
    let tenths = AT_SERIES_TENTHS[step];
    Ok(Angle::from_rad(f64::from(tenths) * 1e-7))
}

/// AT_D of ISO 1947 in µm: the width of the zone on diameter, square to the axis, over the cone's length:
/// `AT_D = AT_α · L`, for cones steeper than 1:3 divided by cos α.
///
/// # Errors
/// A grade or cone length outside the table, a half angle out of range.
///
/// ```
/// use conewright_metrology::tolerance::at_on_diameter_um;
/// let size_40 = at_on_diameter_um(4, "65.4mm".parse()?, "7:24".parse()?)?;
/// assert!((size_40 - 4.12).abs() < 0.01, "printed as 0.0041 mm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn at_on_diameter_um(
    grade: u8,
    cone_length: Length,
    half: Angle,
) -> Result<f64, ToleranceError> {
    check_half_angle(half)?;
    let along = at_alpha(grade, cone_length)?.rad() * cone_length.um();
    // A hair of room keeps the cone 1:3 itself, computed from its angle, on the side where it belongs.
    let steep = half.tan() > STEEP_TAN * (1.0 + 1e-12);
    Ok(if steep { along / half.cos() } else { along })
}

/// tan α of the cone 1:3, above which AT_D takes the cosine into account.
const STEEP_TAN: f64 = 1.0 / 6.0;

impl Tolerance {
    /// Lower and upper limit of the **half** angle's error; positive is steeper.
    ///
    /// - `At`: AT_α is the width of the zone of the included angle, so the half angle's zone is AT_α/2 wide:
    ///   ±AT_α/4 for both sides, 0 to +AT_α/2 for steeper, −AT_α/2 to 0 for shallower.
    /// - `OnDiameter(t)`: the errors that are worth ±t over the length; the two differ a little in size.
    /// - `Slope`: ±atan(rise/over), whatever the taper.
    ///
    /// # Errors
    /// No length where one is needed, a length outside the AT table or not above zero, or a half angle out of
    /// its domain.
    ///
    /// ```
    /// use conewright_metrology::tolerance::Tolerance;
    /// let at: Tolerance = "+AT4".parse()?;
    /// let [lower, upper] = at.limits("1:12".parse()?, Some("50mm".parse()?))?;
    /// assert_eq!((lower.urad(), upper.urad().round()), (0.0, 40.0));
    /// assert!(at.limits("1:12".parse()?, None).is_err(), "AT goes by the cone's length");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn limits(
        &self,
        half_angle: Angle,
        length: Option<Length>,
    ) -> Result<[Angle; 2], ToleranceError> {
        // A session without a taper still has an edge to lay along the travel: its half angle is 0.
        let half = if half_angle == Angle::ZERO {
            half_angle
        } else {
            check_half_angle(half_angle)?
        };
        let needed = || match length {
            Some(length) if length > Length::ZERO => Ok(length),
            Some(length) => Err(ToleranceError::Domain(DomainError::new(
                "taper length",
                length,
                "above 0 mm",
            ))),
            None => Err(ToleranceError::LengthNeeded {
                tolerance: self.to_string(),
            }),
        };
        let both = |limit: Angle| [-limit, limit];
        Ok(match self {
            Self::At { grade, side } => {
                let width = at_alpha(*grade, needed()?)? * 0.5;
                match side {
                    AtSide::Both => both(width * 0.5),
                    AtSide::Steeper => [Angle::ZERO, width],
                    AtSide::Shallower => [-width, Angle::ZERO],
                }
            }
            Self::HalfAngle(limit) => both(*limit),
            Self::OnDiameter(t) => {
                let length = needed()?;
                [
                    angle_worth(half, -t.mm(), length),
                    angle_worth(half, t.mm(), length),
                ]
            }
            Self::Slope { rise, over } => both(Angle::from_rad(rise.mm().atan2(over.mm()))),
        })
    }
}

impl Serialize for Tolerance {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

/// Beyond these a tolerance on the half angle says nothing, and its decimals could not be read back.
const LEAST_ARCSEC: f64 = 1e-6;
const MOST_ARCSEC: f64 = 90.0 * 3600.0;

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
            && !Angle::is_on_diameter(trimmed)
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
            Ok(angle) if angle <= Angle::ZERO => Err(domain(positive)),
            Ok(angle) if (LEAST_ARCSEC..=MOST_ARCSEC).contains(&angle.arcsec()) => {
                Ok(Self::HalfAngle(angle))
            }
            Ok(_) => Err(domain(
                "a tolerance on the half angle is at least a millionth of an arc-second and at most 90°",
            )),
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
