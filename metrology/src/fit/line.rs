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

/// Up to this many points are passed over once for each sum. They are in cache, and so they may be.
const IN_CACHE: usize = 4096;

/// As many points as a first guess of the line is made from.
const GUESSED_FROM: usize = 64;

/// Of a sum of squares about the first guess the share that must be left about the mean, or about the line, for the sum to tell
/// it: to twelve figures or so. Below it large sums cancel.
const LEFT_BY_SUMS: f64 = 1e-3;

/// A line's sums about the means.
struct About {
    mean_x: f64,
    mean_y: f64,
    sxx: f64,
    slope: f64,
    /// Sum of the squared residuals.
    squares: f64,
}

/// Takes the means out first; the sums of products about them do not cancel as those about zero do.
fn about_means(x: &[f64], y: &[f64]) -> About {
    let n = x.len() as f64;
    let (mean_x, mean_y) = (sum(x, y, |x, _| x) / n, sum(x, y, |_, y| y) / n);
    let sxx = sum(x, y, |x, _| (x - mean_x) * (x - mean_x));
    let slope = sum(x, y, |x, y| (x - mean_x) * (y - mean_y)) / sxx;
    let squares = sum(x, y, |x, y| {
        let residual = (y - mean_y) - slope * (x - mean_x);
        residual * residual
    });
    About {
        mean_x,
        mean_y,
        sxx,
        slope,
        squares,
    }
}

/// Many points do not stay in cache, and each pass over them waits for memory. One pass will do: the sums are taken about a line
/// that a few of the points give, which takes out of every value what would cancel later. None where that line is too far off
/// for it.
///
/// Source: T. F. Chan, G. H. Golub and R. J. LeVeque, *Algorithms for computing the sample variance*, The American Statistician
/// 37 (1983), on shifted data and on sums block by block.
fn about_a_guess(x: &[f64], y: &[f64]) -> Option<About> {
    let n = x.len() as f64;
    let few: Vec<usize> = (0..GUESSED_FROM)
        .map(|i| i * (x.len() - 1) / (GUESSED_FROM - 1))
        .collect();
    let at = |of: &[f64]| few.iter().map(|i| of[*i]).collect::<Vec<f64>>();
    let guess = about_means(&at(x), &at(y));
    // A point's own x, so that points which are all at one x have no distance from it at all.
    let near = few.iter().copied().min_by(|i, k| {
        let off = |i: usize| (x[i] - guess.mean_x).abs();
        off(*i).total_cmp(&off(*k))
    })?;
    let slope0 = if guess.slope.is_finite() {
        guess.slope
    } else {
        0.0
    };
    let x0 = x[near];
    let y0 = guess.mean_y + slope0 * (x0 - guess.mean_x);

    let mut sums = [0.0; 5];
    for (xs, ys) in x.chunks(IN_CACHE).zip(y.chunks(IN_CACHE)) {
        for (sum, of_block) in sums.iter_mut().zip(products(xs, ys, [x0, y0, slope0])) {
            *sum += of_block;
        }
    }
    let [dx, dxx, r, rx, rr] = sums;
    let (sxx, srx, srr) = (dxx - dx * dx / n, rx - r * dx / n, rr - r * r / n);
    let slope_off = srx / sxx;
    let squares = srr - slope_off * srx;
    let kept = dxx == 0.0 || sxx >= LEFT_BY_SUMS * dxx && squares >= LEFT_BY_SUMS * rr;
    let mean_x = x0 + dx / n;
    kept.then(|| About {
        mean_x,
        mean_y: y0 + slope0 * (dx / n) + r / n,
        sxx,
        slope: slope0 + slope_off,
        squares,
    })
}

/// Sums of d, dd, r, rd and rr, where d is a point's distance from `x0` and r its residual from the line through there.
fn products(x: &[f64], y: &[f64], at: [f64; 3]) -> [f64; 5] {
    let ((xs, x), (ys, y)) = (x.as_chunks(), y.as_chunks());
    let rest = x.iter().zip(y).map(|(x, y)| terms(*x, *y, at));
    let mut sums = products_by_lanes(xs, ys, at).map(|lanes| lanes.iter().sum::<f64>());
    for term in rest {
        for (sum, term) in sums.iter_mut().zip(term) {
            *sum += term;
        }
    }
    sums
}

fn terms(x: f64, y: f64, [x0, y0, slope]: [f64; 3]) -> [f64; 5] {
    let d = x - x0;
    let r = (y - y0) - slope * d;
    [d, d * d, r, r * d, r * r]
}

/// So many sums, side by side, leave a register for every one of them.
const FEW_LANES: usize = 4;

/// The same sums of whole lanes. A function of its own, so that the lanes stay side by side (see `limacon.rs`).
#[inline(never)]
fn products_by_lanes(
    x: &[[f64; FEW_LANES]],
    y: &[[f64; FEW_LANES]],
    at: [f64; 3],
) -> [[f64; FEW_LANES]; 5] {
    let mut sums = [[0.0; FEW_LANES]; 5];
    for (x, y) in x.iter().zip(y) {
        for lane in 0..FEW_LANES {
            for (sum, term) in sums.iter_mut().zip(terms(x[lane], y[lane], at)) {
                sum[lane] += term;
            }
        }
    }
    sums
}

/// Fits a line through points `(x[i], y[i])`.
///
/// No sum is taken about zero, where it would cancel: up to 4096 points are summed about their means, more about a first guess
/// of the line. Held to NIST's certified values for the Norris data to nine figures (`tests/published_fits.rs`).
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
    let many = points > IN_CACHE;
    let about = many.then(|| about_a_guess(x, y)).flatten();
    let About {
        mean_x,
        mean_y,
        sxx,
        slope,
        squares,
    } = about.unwrap_or_else(|| about_means(x, y));
    if !(mean_x + mean_y).is_finite() {
        let index = (0..points)
            .find(|i| !(x[*i] + y[*i]).is_finite())
            .unwrap_or(0);
        return Err(FitError::NotFinite { index });
    }
    if sxx <= 0.0 {
        return Err(FitError::Degenerate);
    }
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
    use crate::random::Random;

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

    /// More points than are kept in cache, at `x0` and on from there, on a line of this slope with noise between −1 and 1 times
    /// `noise`.
    fn many(x0: f64, slope: f64, noise: f64) -> (Vec<f64>, Vec<f64>) {
        let mut random = Random::new(3);
        let points = 3 * IN_CACHE + 5;
        let x: Vec<f64> = (0..points).map(|i| x0 + 1e-3 * i as f64).collect();
        let on_line = x.iter().map(|x| 900.0 + slope * (x - x0));
        let y = on_line.map(|y| y + noise * random.between(-1.0, 1.0));
        (x.clone(), y.collect())
    }

    #[test]
    fn one_pass_gives_what_several_do() {
        // Readings about 900 are themselves rounded by 1e-13, and so is a slope over these 12 mm by 1e-15 or so.
        for (x0, slope, noise) in [
            (0.0, 1e-4, 1e-3),
            (-6.0, 0.0, 1e-3),
            (1e4, 2e-5, 1e-6),
            (0.0, 50.0, 1e-3),
            (0.0, 1e-3, 1e-8),
        ] {
            let (x, y) = many(x0, slope, noise);
            let one = about_a_guess(&x, &y).unwrap();
            let several = about_means(&x, &y);
            let near = |a: f64, b: f64, by: f64| assert!((a - b).abs() <= by, "{a} {b} {slope}");
            near(one.mean_x, several.mean_x, 1e-14 * x[x.len() - 1].abs());
            near(one.mean_y, several.mean_y, 1e-11);
            near(one.sxx / several.sxx, 1.0, 1e-12);
            near(one.slope, several.slope, 1e-14 * (1.0 + slope));
            near(one.squares / several.squares, 1.0, 1e-8);
        }
    }

    /// Every point that the guess is made from lies far off, and no other: the sums about such a guess would cancel.
    #[test]
    fn a_guess_that_is_far_off_is_not_used() {
        let x: Vec<f64> = (0..200_000).map(|i| 1e-3 * f64::from(i)).collect();
        let mut y: Vec<f64> = x.iter().map(|x| 1e-4 * x).collect();
        for i in 0..GUESSED_FROM {
            y[i * (x.len() - 1) / (GUESSED_FROM - 1)] += 1e3 * i as f64;
        }
        assert!(about_a_guess(&x, &y).is_none());
        let (fit, several) = (line(&x, &y).unwrap(), about_means(&x, &y));
        assert_eq!(fit.slope, several.slope);
    }

    #[test]
    fn many_points_at_one_x_make_no_line() {
        let y: Vec<f64> = (0..IN_CACHE + 9).map(|i| i as f64).collect();
        let x = vec![0.1; y.len()];
        assert_eq!(line(&x, &y), Err(FitError::Degenerate));
        // A bad one among many, whether or not the guess is made from it.
        for index in [0, 777, y.len() - 1] {
            let (x, mut y) = many(0.0, 1e-4, 1e-3);
            y[index] = f64::INFINITY;
            assert_eq!(line(&x, &y), Err(FitError::NotFinite { index }));
            assert_eq!(line(&y, &x), Err(FitError::NotFinite { index }));
        }
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
