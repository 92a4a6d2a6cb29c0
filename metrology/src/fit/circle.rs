//! The circle by least squares of points in a plane: where the radius is known, readings round a turn are such points.

use super::directions::BLOCK;
use super::{FitError, LimaconSums};

/// A circle in a plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circle {
    /// Centre.
    pub centre: [f64; 2],
    /// Radius.
    pub radius: f64,
}

impl Circle {
    /// Distance of a point from the centre, less the radius.
    #[must_use]
    pub fn deviation(&self, [x, y]: [f64; 2]) -> f64 {
        let (dx, dy) = (x - self.centre[0], y - self.centre[1]);
        // A plain root: the squares of lengths in mm neither overflow nor vanish, and `hypot` costs twice the time.
        (dx * dx + dy * dy).sqrt() - self.radius
    }

    /// Distances of points from the centre, with the directions they lie in. A point at the very centre has none: its
    /// cosine and sine are then 0, which leaves it out of where the centre should go.
    pub(super) fn directions(
        &self,
        points: &[[f64; 2]],
        cos: &mut [f64],
        sin: &mut [f64],
        distance: &mut [f64],
    ) {
        for (((point, c), s), d) in points.iter().zip(cos).zip(sin).zip(distance) {
            let (dx, dy) = (point[0] - self.centre[0], point[1] - self.centre[1]);
            let length = (dx * dx + dy * dy).sqrt();
            let scale = if length > 0.0 { 1.0 / length } else { 0.0 };
            (*c, *s, *d) = (dx * scale, dy * scale, length);
        }
    }

    /// The sum of a term of every point's deviation, in accumulators side by side, so that one addition need not wait for the last.
    fn sum(&self, points: &[[f64; 2]], term: impl Fn(f64) -> f64) -> f64 {
        const LANES: usize = 4;
        let mut lanes = [0.0; LANES];
        let chunks = points.chunks_exact(LANES);
        let rest: f64 = chunks
            .remainder()
            .iter()
            .map(|p| term(self.deviation(*p)))
            .sum();
        for chunk in chunks {
            for lane in 0..LANES {
                lanes[lane] += term(self.deviation(chunk[lane]));
            }
        }
        lanes.iter().sum::<f64>() + rest
    }

    fn squares(&self, points: &[[f64; 2]]) -> f64 {
        self.sum(points, |deviation| deviation * deviation)
    }
}

/// Steps after which a fit that still moves is given up: one that converges needs fewer than ten.
const STEPS: usize = 200;

/// Fits a circle to points in a plane by least squares of their distances from it.
///
/// Gauss–Newton, from the mean of the points: each step is a limaçon about the present centre. A step that makes things
/// worse is halved. Held to the published example of Gander, Golub and Strebel (1994).
///
/// # Errors
/// Fewer than three points, points on one line, or a value that is not a number.
///
/// ```
/// use conewright_metrology::fit::{FitError, circle};
/// let fit = circle(&[[3.0, 0.0], [1.0, 2.0], [-1.0, 0.0], [1.0, -2.0]])?;
/// assert!((fit.centre[0] - 1.0).abs() < 1e-12 && (fit.radius - 2.0).abs() < 1e-12);
/// assert_eq!(circle(&[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]]), Err(FitError::Degenerate));
/// # Ok::<(), FitError>(())
/// ```
pub fn circle(points: &[[f64; 2]]) -> Result<Circle, FitError> {
    FitError::check(points.len(), 3, |i| {
        (points[i][0] + points[i][1]).is_finite()
    })?;
    approach(points, STEPS)
}

/// Gauss–Newton from the algebraic circle, for at most so many steps.
///
/// # Errors
/// Points on one line.
pub(super) fn approach(points: &[[f64; 2]], steps: usize) -> Result<Circle, FitError> {
    let n = points.len() as f64;
    let mut now = algebraic(points)?;
    let mut squares = now.squares(points);
    for _ in 0..steps {
        let mut sums = LimaconSums::default();
        let (mut cos, mut sin, mut distance) = ([0.0; BLOCK], [0.0; BLOCK], [0.0; BLOCK]);
        for block in points.chunks(BLOCK) {
            now.directions(block, &mut cos, &mut sin, &mut distance);
            sums.extend(&cos[..block.len()], &sin[..block.len()], &distance);
        }
        let step = sums.solve()?;
        let mut share = 1.0;
        let (next, left) = loop {
            let centre = [
                now.centre[0] + share * step.a,
                now.centre[1] + share * step.b,
            ];
            let mut next = Circle {
                centre,
                radius: 0.0,
            };
            next.radius = next.sum(points, |distance| distance) / n;
            let left = next.squares(points);
            if left <= squares || share < 1e-6 {
                break (next, left);
            }
            share /= 2.0;
        };
        let before = std::mem::replace(&mut squares, left);
        let moved = share * step.eccentricity();
        if squares < before || moved > 1e-6 * next.radius {
            now = next;
        }
        if moved <= 1e-14 * now.radius || squares >= before {
            break;
        }
    }
    Ok(now)
}

/// The circle whose equation `x² + y² + px + qy + r = 0` the points meet best: a start, biased for a short arc.
fn algebraic(points: &[[f64; 2]]) -> Result<Circle, FitError> {
    let n = points.len() as f64;
    let mean = [0, 1].map(|axis| points.iter().map(|p| p[axis]).sum::<f64>() / n);
    let (mut uu, mut uv, mut vv, mut uz, mut vz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for [x, y] in points {
        let (u, v) = (x - mean[0], y - mean[1]);
        let z = u * u + v * v;
        uu += u * u;
        uv += u * v;
        vv += v * v;
        uz += u * z;
        vz += v * z;
    }
    let determinant = uu * vv - uv * uv;
    if determinant.is_nan() || determinant <= 1e-13 * (uu + vv).powi(2) {
        return Err(FitError::Degenerate);
    }
    let u = (uz * vv - vz * uv) / (2.0 * determinant);
    let v = (vz * uu - uz * uv) / (2.0 * determinant);
    let radius = (u * u + v * v + (uu + vv) / n).sqrt();
    Ok(Circle {
        centre: [mean[0] + u, mean[1] + v],
        radius,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_fitted_is_named() {
        let few = FitError::TooFew {
            points: 2,
            needed: 3,
        };
        assert_eq!(circle(&[[0.0, 0.0], [1.0, 0.0]]), Err(few));
        assert_eq!(circle(&[[2.0, 1.0]; 5]), Err(FitError::Degenerate));
        let nan = circle(&[[0.0, 0.0], [1.0, 0.0], [0.0, f64::NAN]]);
        assert_eq!(nan, Err(FitError::NotFinite { index: 2 }));
    }

    /// A short arc, where the algebraic start is biased: points without scatter give their circle back.
    #[test]
    fn an_arc_gives_its_circle() {
        let points: Vec<[f64; 2]> = (0..30)
            .map(|i| f64::from(i) * 0.02)
            .map(|t| [100.0 + 50.0 * f64::cos(t), -3.0 + 50.0 * f64::sin(t)])
            .collect();
        let fit = circle(&points).unwrap();
        assert!((fit.radius - 50.0).abs() < 1e-8 && (fit.centre[0] - 100.0).abs() < 1e-8);
    }
}
