//! The straight line by least squares, over any number of points.

use super::FitError;

/// A least squares line `y = intercept + slope · x` with its uncertainties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// y at x = 0.
    pub intercept: f64,
    /// Rise per x.
    pub slope: f64,
    /// Standard deviation of the intercept; not a number for two points, which leave nothing to judge by.
    pub intercept_sd: f64,
    /// Standard deviation of the slope; not a number for two points.
    pub slope_sd: f64,
    /// Residual standard deviation with n − 2 degrees of freedom; not a number for two points.
    pub residual_sd: f64,
    /// Mean of x, where the line is known best.
    pub mean_x: f64,
    /// Correlation coefficient of the estimated intercept and slope, −1 … 1.
    pub correlation: f64,
    /// How many points.
    pub points: usize,
}

/// A line's value at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Predicted {
    /// The line's y there.
    pub y: f64,
    /// Its standard uncertainty by the scatter about the line; not a number for two points.
    pub u: f64,
}

impl Line {
    /// The line's value at `x` with its standard uncertainty: that of the line itself, without the scatter of one more
    /// reading. Both in the unit of y.
    ///
    /// Source: JCGM 100:2008, H.3.4, here about the mean of x, where level and slope do not depend on each other.
    ///
    /// ```
    /// use conewright_metrology::fit::line;
    /// let fit = line(&[0.0, 40.0, 80.0], &[0.001, 0.004, 0.005])?;
    /// let (middle, far) = (fit.predict(40.0), fit.predict(400.0));
    /// assert!((middle.y - 0.01 / 3.0).abs() < 1e-15 && middle.u < far.u);
    /// # Ok::<(), conewright_metrology::fit::FitError>(())
    /// ```
    #[must_use]
    pub fn predict(&self, x: f64) -> Predicted {
        let level_u = self.residual_sd / (self.points as f64).sqrt();
        Predicted {
            y: self.intercept + self.slope * x,
            u: level_u.hypot((x - self.mean_x) * self.slope_sd),
        }
    }
}

/// Running sums kept side by side, so that one addition need not wait for the last.
const LANES: usize = 8;

/// Sum of `f` over the points in [`LANES`] independent accumulators.
fn sum(x: &[f64], y: &[f64], f: impl Fn(f64, f64) -> f64) -> f64 {
    let mut lanes = [0.0; LANES];
    let (xs, ys) = (x.chunks_exact(LANES), y.chunks_exact(LANES));
    let rest: f64 = xs
        .remainder()
        .iter()
        .zip(ys.remainder())
        .map(|(a, b)| f(*a, *b))
        .sum();
    for (a, b) in xs.zip(ys) {
        for lane in 0..LANES {
            lanes[lane] += f(a[lane], b[lane]);
        }
    }
    lanes.iter().sum::<f64>() + rest
}

/// Fits a line through points `(x[i], y[i])`.
///
/// Means are taken out first: the sums of products about the mean do not cancel as those about zero do. Held to NIST's
/// certified values for the Norris data to nine figures (`tests/published_fits.rs`).
///
/// # Errors
/// Fewer than two points, all at one x, or a value that is not a number.
///
/// ```
/// use conewright_metrology::fit::{FitError, line};
/// let fit = line(&[0.0, 40.0, 80.0], &[0.001, 0.003, 0.005])?;
/// assert!((fit.slope - 5e-5).abs() < 1e-18);
/// assert_eq!(line(&[40.0, 40.0], &[0.001, 0.002]), Err(FitError::Degenerate));
/// # Ok::<(), FitError>(())
/// ```
pub fn line(x: &[f64], y: &[f64]) -> Result<Line, FitError> {
    let points = x.len().min(y.len());
    let (x, y) = (&x[..points], &y[..points]);
    if points < 2 {
        return Err(FitError::TooFew { points, needed: 2 });
    }
    let n = points as f64;
    let (mean_x, mean_y) = (sum(x, y, |x, _| x) / n, sum(x, y, |_, y| y) / n);
    if !(mean_x + mean_y).is_finite() {
        let index = (0..points)
            .find(|i| !(x[*i] + y[*i]).is_finite())
            .unwrap_or(0);
        return Err(FitError::NotFinite { index });
    }
    let sxx = sum(x, y, |x, _| (x - mean_x) * (x - mean_x));
    if sxx <= 0.0 {
        return Err(FitError::Degenerate);
    }
    let slope = sum(x, y, |x, y| (x - mean_x) * (y - mean_y)) / sxx;
    let squares = sum(x, y, |x, y| {
        let residual = (y - mean_y) - slope * (x - mean_x);
        residual * residual
    });
    let residual_sd = (squares / (n - 2.0)).sqrt();
    Ok(Line {
        intercept: mean_y - slope * mean_x,
        slope,
        intercept_sd: residual_sd * (1.0 / n + mean_x * mean_x / sxx).sqrt(),
        slope_sd: residual_sd / sxx.sqrt(),
        residual_sd,
        mean_x,
        correlation: -mean_x / mean_x.hypot((sxx / n).sqrt()),
        points,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_points_make_a_line_without_scatter() {
        let fit = line(&[0.0, 60.0], &[0.0, 0.2]).unwrap();
        assert!((fit.slope - 0.2 / 60.0).abs() < 1e-18);
        assert!(fit.slope_sd.is_nan() && fit.residual_sd.is_nan());
    }

    #[test]
    fn a_far_offset_does_not_cancel() {
        let x: Vec<f64> = (0..100).map(|i| 1e6 + f64::from(i)).collect();
        let y: Vec<f64> = x.iter().map(|x| 3.0 + 2e-5 * (x - 1e6)).collect();
        assert!((line(&x, &y).unwrap().slope - 2e-5).abs() < 1e-15);
    }

    #[test]
    fn bad_points_are_named() {
        let nan = line(&[0.0, 1.0, f64::NAN], &[0.0, 1.0, 2.0]);
        assert_eq!(nan, Err(FitError::NotFinite { index: 2 }));
        assert_eq!(
            line(&[1.0], &[1.0]),
            Err(FitError::TooFew {
                points: 1,
                needed: 2
            })
        );
    }
}
