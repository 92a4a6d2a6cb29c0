//! The two concentric circles, closest together, between which all points lie.

use super::field::Field;
use super::level::{Level, Round};
use crate::fit::FitError;
use crate::fit::circle::approach;
use crate::fit::directions::directions;

/// The minimum zone of readings round a turn: between two concentric limaçons, or circles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// Centre, from the axis of turning or the origin of the points.
    pub centre: [f64; 2],
    /// Radius (or level, where the radius is not known) of the inner circle.
    pub inner: f64,
    /// Radius (or level) of the outer circle.
    pub outer: f64,
    /// Outer minus inner.
    pub width: f64,
    /// The four points it hangs on, by index; two on the outer circle, two on the inner.
    pub contacts: [usize; 4],
    /// For each contact whether it lies on the outer circle.
    pub on_outer: [bool; 4],
    /// What each contact weighs: the width is the outer contacts' weighted distance less the inner ones'. The weights of
    /// either circle sum to 1; two contacts in one direction leave the others none.
    pub weights: [f64; 4],
}

/// The minimum zone of readings at angles in radians, as two concentric limaçons. Exact.
///
/// # Errors
/// Fewer than four readings, fewer than three directions, or a value that is not a number.
///
/// ```
/// use conewright_metrology::fit::{FitError, minimum_zone};
/// // Off centre by 4 µm and oval by ±1 µm.
/// let angles: Vec<f64> = (0..72).map(|i| (f64::from(i) * 5.0).to_radians()).collect();
/// let y: Vec<f64> = angles.iter().map(|t| 4e-3 * t.cos() + 1e-3 * (2.0 * t).cos()).collect();
/// let ring = minimum_zone::limacon(&angles, &y)?;
/// assert!((ring.width - 2e-3).abs() < 1e-12 && (ring.centre[0] - 4e-3).abs() < 1e-12);
/// # Ok::<(), FitError>(())
/// ```
pub fn limacon(angles_rad: &[f64], y: &[f64]) -> Result<Ring, FitError> {
    let (cos, sin) = directions(angles_rad);
    limacon_of_directions(&cos, &sin, y)
}

/// The minimum zone of readings in directions given by their cosines and sines, for a caller that has them.
///
/// # Errors
/// As [`limacon`].
pub fn limacon_of_directions(cos: &[f64], sin: &[f64], y: &[f64]) -> Result<Ring, FitError> {
    let points = cos.len().min(sin.len()).min(y.len());
    FitError::check(points, 4, |i| (cos[i] + sin[i] + y[i]).is_finite())?;
    // The level is taken off so that the readings' own size, not their zero, sets what rounding is.
    let origin = y[0];
    let level: Vec<f64> = y[..points].iter().map(|v| v - origin).collect();
    let round = Round {
        cos: &cos[..points],
        sin: &sin[..points],
        y: &level,
    };
    let found = round.levelled(round.start()?)?;
    let [high, low] = round.farthest(found.a, found.b);
    Ok(Ring {
        centre: [found.a, found.b],
        inner: origin + low.1,
        outer: origin + high.1,
        width: high.1 - low.1,
        contacts: found.four.at,
        on_outer: found.four.sign.map(|sign| sign > 0.0),
        weights: found.shares(),
    })
}

/// Re-linearisations after which a zone that still moves is given up; one that converges needs about four.
const STEPS: usize = 60;

/// The minimum zone circles of points in a plane.
///
/// About a centre the distances change with a limaçon, so the zone is that of [`limacon`], made anew about each centre
/// found, until the centre stays. From near the least squares centre this gives the zone of a part that is nearly round; for
/// points scattered over an area there may be several zones that no small move betters, and it gives one of them.
///
/// # Errors
/// Fewer than four points, points on one line, or a value that is not a number.
///
/// ```
/// use conewright_metrology::fit::{FitError, minimum_zone};
/// let points = [[10.0, 0.0], [0.0, 10.002], [-10.0, 0.0], [0.0, -10.002]];
/// let ring = minimum_zone::circle(&points)?;
/// assert!((ring.width - 0.002).abs() < 1e-12);
/// # Ok::<(), FitError>(())
/// ```
pub fn circle(points: &[[f64; 2]]) -> Result<Ring, FitError> {
    FitError::check(points.len(), 4, |i| {
        (points[i][0] + points[i][1]).is_finite()
    })?;
    let mut centre = approach(points, 2)?.centre;
    let mut field = Field::whole(points);
    let mut best: Option<Ring> = None;
    let mut four: Option<[usize; 4]> = None;
    let mut step = [0.0_f64; 2];
    for _ in 0..STEPS {
        if field.reach(centre) < 0.0 {
            field = Field::whole(points);
        }
        field.look_from(centre);
        let round = field.round();
        let [high, low] = round.farthest(0.0, 0.0);
        let width = high.1 - low.1;
        if let Some(best) = &best
            && width >= best.width
        {
            // Too far: half the step from the best centre, until there is nothing left to gain.
            step = step.map(|s| s / 2.0);
            if step[0].abs() + step[1].abs() <= 4.0 * f64::EPSILON * best.outer {
                break;
            }
            centre = [best.centre[0] + step[0], best.centre[1] + step[1]];
            continue;
        }
        let found = match four.and_then(|four| field.places(four)) {
            Some(at) => round.levelled(round.signed(at)),
            None => Err(FitError::Degenerate),
        };
        let found = found.or_else(|_| round.levelled(round.start()?));
        // Beyond the field's reach a point that was left out may be an outermost one; and what is left may not tell a circle.
        let reach = field.reach(centre);
        let is_within = |level: &Level| level.a.hypot(level.b) <= reach;
        if reach.is_finite() && !found.as_ref().is_ok_and(is_within) {
            field = Field::whole(points);
            continue;
        }
        let found = found?;
        let contacts = found.four.at.map(|place| field.index(place));
        four = Some(contacts);
        best = Some(Ring {
            centre,
            inner: low.1,
            outer: high.1,
            width,
            contacts,
            on_outer: found.four.sign.map(|sign| sign > 0.0),
            weights: found.shares(),
        });
        step = [found.a, found.b];
        if step[0].abs() + step[1].abs() <= 4.0 * f64::EPSILON * high.1 {
            break;
        }
        field.narrow(centre, 2.0 * found.a.hypot(found.b), [low.1, high.1]);
        centre = [centre[0] + step[0], centre[1] + step[1]];
    }
    best.ok_or(FitError::Degenerate)
}
