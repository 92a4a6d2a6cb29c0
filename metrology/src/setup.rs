//! What a session states about its part and its set-up. Resolved and self-contained: names of tapers,
//! kits and fixtures have become their numbers, so that a record needs nothing beside itself.

pub use crate::indicator::Indicator;

use crate::blocks::{Kit, Stack};
use crate::setting::Bar;
use crate::taper::Taper;
use crate::tolerance::{Tolerance, ToleranceError};
use crate::{Angle, Length};
use serde::{Deserialize, Serialize};

/// A named place on the travel.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Station {
    /// `A`, `B`, or the user's own.
    pub name: String,
    /// Distance from A along the travel.
    #[serde(rename = "position_mm")]
    pub position: Length,
}

/// Which station is nearer the taper's big end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum BigEnd {
    /// Station A.
    A,
    /// Station B.
    B,
}

/// On which side of the part's axis the indicator touches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum IndicatorSide {
    /// The side that the wheel grinds.
    Wheel,
    /// The side away from the wheel.
    Opposite,
}

/// The statement that lets a residual be called steeper or shallower.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sense {
    /// Which station is nearer the big end.
    pub big_end: BigEnd,
    /// Where the indicator stands.
    pub indicator: IndicatorSide,
}

/// A named way of holding, with what is known of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Fixture {
    /// Its name.
    pub name: String,
    /// Where it turns, when the user knows (a pivot pin): distance from A along the travel.
    #[serde(rename = "pivot_mm", default, skip_serializing_if = "Option::is_none")]
    pub pivot: Option<Length>,
    /// Where earlier sessions found that it turns, with its standard uncertainty: offered, not imposed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub learned_pivot: Option<LearnedPivot>,
    /// Earlier clamp shifts, each the change of slope (mm per mm, without unit) when the clamp was tightened.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub clamp_shifts: Vec<f64>,
}

/// A pivot found from rounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LearnedPivot {
    /// Distance from A along the travel.
    pub position_mm: f64,
    /// Standard uncertainty.
    pub u_mm: f64,
}

/// When a dwell counts as settled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SettleRule {
    /// The readings of this long before the mark must agree, s.
    pub hold_s: f64,
    /// Readings further back than this are not used, s.
    pub longest_s: f64,
    /// At least this many readings.
    pub least_readings: usize,
    /// They must lie within this of each other. Absent: the indicator's own noise tells.
    #[serde(rename = "band_mm", default, skip_serializing_if = "Option::is_none")]
    pub band: Option<Length>,
}

impl Default for SettleRule {
    fn default() -> Self {
        Self {
            hold_s: 0.5,
            longest_s: 2.0,
            least_readings: 3,
            band: None,
        }
    }
}

/// Everything a session states before the first reading.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Setup {
    /// The taper that is wanted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taper: Option<Taper>,
    /// The length ℓ over which an error is worth something on this part; the taper's own unless stated.
    #[serde(rename = "length_mm", default, skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
    /// What is allowed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Tolerance>,
    /// The stations, A first at 0.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stations: Vec<Station>,
    /// The order in which one round marks the stations, by name: `A B A` is the normal habit.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pass: Vec<String>,
    /// Which way is steeper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sense: Option<Sense>,
    /// The instrument that sets the angle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bar: Option<Bar>,
    /// The kit that its stack comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kit: Option<Kit>,
    /// The stack to set it with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stack: Option<Stack>,
    /// How the part is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixture: Option<Fixture>,
    /// The indicator.
    #[serde(default)]
    pub indicator: Indicator,
    /// The cable that says where the table stands on its travel: the places of a sweep come from its readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub position_cable: Option<String>,
    /// Peak-to-valley straightness of the table's travel over the span, where known.
    #[serde(
        rename = "straightness_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub straightness: Option<Length>,
    /// Largest error of a station's position, to either side, where stated.
    #[serde(
        rename = "station_error_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub station_error: Option<Length>,
    /// When a dwell counts as settled.
    #[serde(default)]
    pub settle: SettleRule,
}

impl Setup {
    /// The length over which an error is worth something: as stated, else the taper's own.
    #[must_use]
    pub fn taper_length(&self) -> Option<Length> {
        let of_taper = || self.taper.as_ref().and_then(|taper| taper.length);
        self.length.or_else(of_taper)
    }

    /// The wanted half angle; 0 of an edge, which has no taper.
    #[must_use]
    pub fn half_angle(&self) -> Angle {
        let taper = self.taper.as_ref();
        taper.map_or(Angle::ZERO, |taper| taper.half_angle)
    }

    /// The tolerance as limits of the half angle's error, arc-seconds; `None` where none is stated.
    ///
    /// # Errors
    /// The tolerance does not fit the taper.
    ///
    /// ```
    /// use conewright_metrology::setup::Setup;
    /// let setup = Setup { tolerance: Some("5arcsec".parse()?), ..Setup::default() };
    /// let [low, high] = setup.limits_arcsec()?.unwrap();
    /// assert!((low + 5.0).abs() < 1e-9 && (high - 5.0).abs() < 1e-9);
    /// let over_a_length = Setup { tolerance: Some("AT5".parse()?), ..Setup::default() };
    /// assert!(over_a_length.limits_arcsec().is_err(), "the length is not known");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn limits_arcsec(&self) -> Result<Option<[f64; 2]>, ToleranceError> {
        let Some(tolerance) = self.tolerance else {
            return Ok(None);
        };
        let limits = tolerance.limits(self.half_angle(), self.taper_length())?;
        Ok(Some(limits.map(Angle::arcsec)))
    }
}
