//! What a session states about its part and its set-up. Resolved and self-contained: names of tapers,
//! kits and fixtures have become their numbers, so that a record needs nothing beside itself.

use crate::blocks::{Kit, Stack};
use crate::dial::IndicatorCheck;
use crate::setting::Bar;
use crate::taper::Taper;
use crate::tolerance::Tolerance;
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

/// What is known of the indicator beside its readings.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Indicator {
    /// The cable it speaks through; none when readings are typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cable: Option<String>,
    /// One step of its display.
    #[serde(
        rename = "resolution_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub resolution: Option<Length>,
    /// Largest error of indication over the span used, to either side.
    #[serde(
        rename = "error_limit_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub error_limit: Option<Length>,
    /// How readings at one place repeat, as the user states it: the standard deviation of a single reading that is come to
    /// anew. It counts beside the display's step, never in its place.
    #[serde(
        rename = "repeatability_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub repeatability: Option<Length>,
    /// One division, for readings typed in divisions.
    #[serde(
        rename = "division_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub division: Option<Length>,
    /// Angle of a lever-type indicator's lever to the surface: `true = shown · cos φ`.
    #[serde(
        rename = "lever_angle_deg",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub lever_angle: Option<Angle>,
    /// What a dial step found of it; then this counts, and not the limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check: Option<IndicatorCheck>,
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
