//! Zeroing over the top: the part's axis level, and at the height of the wheel's centre.
//!
//! Where the axis of the part lies h above or below the wheel's, both parallel in plan and X apart, the wheel of radius R
//! leaves the part with the radius `r = √(X² + h²) − R`. So an axis that is not level costs the part something of second
//! order only, about h²/2X on radius, and enough is soon enough. Source: the triangle of the two axes; exact where they
//! lie parallel, and for the small slopes of a set-up good to the cosine of the slope.

use super::{ZeroError, ZeroMark, ZeroOutcome};
use crate::setup::{BigEnd, Setup};
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

/// What the part loses by an axis that does not lie level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Level {
    /// How much the axis rises over the part's length.
    pub rise_um: f64,
    /// Distance of the axes, X.
    pub axes_mm: f64,
    /// What it is worth on diameter over the part's length: by how much the ends come out different.
    pub worth_um: f64,
    /// The largest that it can be worth within the residual's uncertainty, 95 %.
    pub at_most_um: f64,
    /// The error of the half angle that this is, arc-seconds.
    pub angle_arcsec: f64,
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
    let length = setup
        .length
        .or_else(|| setup.taper.as_ref().and_then(|taper| taper.length));
    let part = options
        .part
        .or_else(|| setup.taper.as_ref().and_then(|t| t.gauge_diameter));
    let (Some(length), Some(wheel), Some(part)) = (length, options.wheel, part) else {
        let wanted = [
            (length.is_none(), "the part's length"),
            (options.wheel.is_none(), "the wheel's diameter"),
            (part.is_none(), "the part's diameter"),
        ];
        let wanted: Vec<&str> = wanted.iter().filter(|w| w.0).map(|w| w.1).collect();
        found.remarks.push(format!(
            "what it is worth on the part needs {}",
            wanted.join(" and ")
        ));
        return Ok(found);
    };
    let (axes, height) = (
        (wheel.mm() + part.mm()) / 2.0,
        options.height.unwrap_or(Length::ZERO).mm(),
    );
    if wheel <= Length::ZERO || part <= Length::ZERO || length <= Length::ZERO {
        return Err(ZeroError::Level);
    }
    let difference = |arcsec: f64| {
        let rise = Angle::from_arcsec(arcsec).tan() * length.mm();
        (rise, diameter_difference_mm(axes, height, rise))
    };
    let (rise, worth) = difference(residual);
    // The worth has one turning point, where the axis rises through the wheel's centre; beyond it the ends decide.
    let ends = [residual - expanded, residual + expanded].map(|arcsec| difference(arcsec).1);
    let turning = Angle::from_rad((-height / length.mm()).atan()).arcsec();
    let reached = (residual - turning).abs() <= expanded;
    let turning = reached.then(|| difference(turning).1);
    let low = ends.iter().copied().chain(turning).fold(worth, f64::min);
    let high = ends.iter().copied().chain(turning).fold(worth, f64::max);
    let half_angle = setup
        .taper
        .as_ref()
        .map_or(Angle::ZERO, |taper| taper.half_angle);
    // The ends' difference on diameter as an error of the half angle.
    let as_angle = |difference_mm: f64| {
        let slope = half_angle.tan() + difference_mm / (2.0 * length.mm());
        (Angle::from_rad(slope.atan()) - half_angle).arcsec()
    };
    if let Some(tolerance) = setup.tolerance {
        let limits = tolerance
            .limits(half_angle, Some(length))
            .map_err(ZeroError::Tolerance)?
            .map(Angle::arcsec);
        let mut ways = vec![[as_angle(low), as_angle(high)]];
        match setup.sense.map(|sense| sense.big_end) {
            // A far end that comes out larger is the big end of a steeper cone, or the small end of a shallower one.
            Some(BigEnd::B) => {}
            Some(BigEnd::A) => ways[0] = [-ways[0][1], -ways[0][0]],
            None => ways.push([-ways[0][1], -ways[0][0]]),
        }
        let inside = |[low, high]: &[f64; 2]| limits[0] <= *low && *high <= limits[1];
        let outside = |[low, high]: &[f64; 2]| *high < limits[0] || limits[1] < *low;
        found.verdict = Some(if ways.iter().all(inside) {
            Verdict::In
        } else if ways.iter().all(outside) {
            Verdict::Out
        } else {
            Verdict::Undecided
        });
        found.undecided_because = Undecided::usual(found.verdict);
        found.limits_arcsec = Some(limits);
    }
    let level = Level {
        rise_um: rise * 1e3,
        axes_mm: axes,
        worth_um: worth * 1e3,
        at_most_um: low.abs().max(high.abs()) * 1e3,
        angle_arcsec: as_angle(worth),
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
