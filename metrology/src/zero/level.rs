//! Zeroing over the top: the part's axis level, and at the height of the wheel's centre.
//!
//! Where the axis of the part lies h above or below the wheel's, both parallel in plan and X apart, the wheel of radius R
//! leaves the part with the radius `r = √(X² + h²) − R`. So an axis that is not level costs the part something of second
//! order only, about h²/2X on radius, and enough is soon enough. Source: the triangle of the two axes; exact where they
//! lie parallel, and for the small slopes of a set-up good to the cosine of the slope.

pub use super::outcome::Level;

use super::{ZeroError, ZeroMark, ZeroOutcome};
use crate::setup::{BigEnd, Setup};
use crate::spread::extremes;
use crate::uncertainty::{Undecided, Verdict};
use crate::{Angle, Length};
use serde::{Deserialize, Serialize};

/// What the worth of a level axis is computed from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct LevelOptions {
    /// The wheel's diameter.
    #[serde(rename = "wheel_diameter_mm", skip_serializing_if = "Option::is_none")]
    pub wheel: Option<Length>,
    /// The part's diameter where it is ground; the taper's gauge diameter unless stated.
    #[serde(rename = "part_diameter_mm", skip_serializing_if = "Option::is_none")]
    pub part: Option<Length>,
    /// How far the part's axis lies above the wheel's centre at A; 0 unless stated.
    #[serde(rename = "height_mm", skip_serializing_if = "Option::is_none")]
    pub height: Option<Length>,
}

/// How much the part's diameter differs between its ends, mm, when its axis goes from `height` by `rise` and the axes are
/// `axes` apart, all mm.
///
/// ```
/// use conewright_metrology::zero::level::diameter_difference_mm;
/// // 0.1 mm over the length, axes 170 mm apart: 0.06 µm.
/// let worth = diameter_difference_mm(170.0, 0.0, 0.1);
/// assert!((worth - 0.1_f64.powi(2) / 170.0).abs() < 1e-11);
/// ```
#[must_use]
pub fn diameter_difference_mm(axes: f64, height: f64, rise: f64) -> f64 {
    // 2(√(X² + h₁²) − √(X² + h₀²)) without the cancellation.
    let (near, far) = (axes.hypot(height), axes.hypot(height + rise));
    2.0 * rise * (2.0 * height + rise) / (near + far)
}

/// Computes the outcome of a zero step that is about the level of the part's axis: the residual and the tap as ever, and
/// the worth by the second order. The verdict is on that worth.
///
/// # Errors
/// What [`super::outcome`] refuses, and diameters that are not above zero.
pub fn outcome(
    setup: &Setup,
    options: &LevelOptions,
    marks: &[ZeroMark],
) -> Result<ZeroOutcome, ZeroError> {
    // The half angle is not judged by this residual, and neither stack nor tolerance says anything of it.
    let edge = Setup {
        // What a fixture is known for is how it turns in the plane of the table, and this is square to it.
        fixture: None,
        stack: None,
        bar: None,
        tolerance: None,
        sense: None,
        ..setup.clone()
    };
    let mut found = super::outcome(&edge, marks)?;
    found.over_taper_um = None;
    let (Some(residual), Some(expanded)) = (found.residual_arcsec, found.residual_expanded_arcsec)
    else {
        return Ok(found);
    };
    let part = match Part::of(setup, options) {
        Ok(part) => part,
        Err(lacking) => {
            found.remarks.push(format!(
                "what it is worth on the part needs {}",
                lacking.join(" and ")
            ));
            return Ok(found);
        }
    };
    if [part.length, part.wheel, part.diameter]
        .iter()
        .any(|length| *length <= Length::ZERO)
    {
        return Err(ZeroError::Level);
    }
    let (rise, worth) = part.rise_and_worth(residual);
    let [low, high] = part.worth_within(residual, expanded);
    if let Some(limits) = setup.limits_arcsec()? {
        let verdict = verdict(setup, [low, high].map(|worth| part.as_angle(worth)), limits);
        found.verdict = Some(verdict);
        found.undecided_because = Undecided::usual(found.verdict);
        found.limits_arcsec = Some(limits);
    }
    let level = Level {
        rise_um: rise * 1e3,
        axes_mm: part.axes_mm(),
        worth_um: worth * 1e3,
        at_most_um: low.abs().max(high.abs()) * 1e3,
        angle_arcsec: part.as_angle(worth),
    };
    let enough = match found.verdict {
        Some(Verdict::In) => ": enough is enough",
        _ => "",
    };
    found.remarks.push(format!(
        "an axis that rises {:.1} µm over the part costs it {:.3} µm on diameter, {:.3} µm at most{enough}",
        level.rise_um,
        level.worth_um.abs(),
        level.at_most_um
    ));
    found.level = Some(level);
    Ok(found)
}

/// The part at the wheel, from which it follows what a level axis is worth.
struct Part {
    length: Length,
    half_angle: Angle,
    wheel: Length,
    diameter: Length,
    /// How far the part's axis lies above the wheel's at A.
    height: Length,
}

impl Part {
    /// The part as stated.
    ///
    /// # Errors
    /// The names of what is not stated.
    fn of(setup: &Setup, options: &LevelOptions) -> Result<Self, Vec<&'static str>> {
        let length = setup.taper_length();
        let gauge_diameter = setup.taper.as_ref().and_then(|t| t.gauge_diameter);
        let diameter = options.part.or(gauge_diameter);
        let (Some(length), Some(wheel), Some(diameter)) = (length, options.wheel, diameter) else {
            let wanted = [
                (length.is_none(), "the part's length"),
                (options.wheel.is_none(), "the wheel's diameter"),
                (diameter.is_none(), "the part's diameter"),
            ];
            return Err(wanted
                .into_iter()
                .filter_map(|(lacking, what)| lacking.then_some(what))
                .collect());
        };
        Ok(Self {
            length,
            half_angle: setup.half_angle(),
            wheel,
            diameter,
            height: options.height.unwrap_or(Length::ZERO),
        })
    }

    /// Distance of the axes, mm.
    fn axes_mm(&self) -> f64 {
        (self.wheel.mm() + self.diameter.mm()) / 2.0
    }

    /// How much an axis at this angle to the travel rises over the part, and what that is worth on diameter, mm.
    fn rise_and_worth(&self, arcsec: f64) -> (f64, f64) {
        let rise = Angle::from_arcsec(arcsec).tan() * self.length.mm();
        let worth = diameter_difference_mm(self.axes_mm(), self.height.mm(), rise);
        (rise, worth)
    }

    /// The least and the most that it can be worth within the residual's uncertainty, mm.
    ///
    /// The worth has one turning point, where the axis rises through the wheel's centre; beyond it the ends decide.
    fn worth_within(&self, residual: f64, expanded: f64) -> [f64; 2] {
        let worth = |arcsec: f64| self.rise_and_worth(arcsec).1;
        let turning = Angle::from_rad((-self.height.mm() / self.length.mm()).atan()).arcsec();
        let reached = (residual - turning).abs() <= expanded;
        let places = [residual, residual - expanded, residual + expanded];
        let places = places.into_iter().chain(reached.then_some(turning));
        extremes(places.map(worth))
    }

    /// The ends' difference on diameter as an error of the half angle, arc-seconds.
    fn as_angle(&self, difference_mm: f64) -> f64 {
        let slope = self.half_angle.tan() + difference_mm / (2.0 * self.length.mm());
        (Angle::from_rad(slope.atan()) - self.half_angle).arcsec()
    }
}

/// The decision on an error of the half angle between two values, arc-seconds, counted positive where the far end comes out
/// larger.
fn verdict(setup: &Setup, [low, high]: [f64; 2], limits: [f64; 2]) -> Verdict {
    let other_way = [-high, -low];
    // A far end that comes out larger is the big end of a steeper cone, or the small end of a shallower one.
    let ways = match setup.sense.map(|sense| sense.big_end) {
        Some(BigEnd::B) => vec![[low, high]],
        Some(BigEnd::A) => vec![other_way],
        None => vec![[low, high], other_way],
    };
    let inside = |[low, high]: &[f64; 2]| limits[0] <= *low && *high <= limits[1];
    let outside = |[low, high]: &[f64; 2]| *high < limits[0] || limits[1] < *low;
    if ways.iter().all(inside) {
        Verdict::In
    } else if ways.iter().all(outside) {
        Verdict::Out
    } else {
        Verdict::Undecided
    }
}
