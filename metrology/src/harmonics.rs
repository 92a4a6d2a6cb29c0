//! What a profile round a turn is made of: amplitudes and phases by undulations per revolution.
//!
//! Order 1 is the eccentricity, 2 ovality, 3 what a three-jaw chuck leaves. The fit is by least squares, so angles may be
//! uneven: at uneven angles the orders are not independent, and reading them off one by one, as is right for even
//! angles, would let one leak into another. Source: ISO 12181-1, harmonic content.

pub(crate) mod normal;

use crate::fit::{FitError, directions};
use normal::{Sums, cholesky, diagonal, forward, normal_matrix, solve};
use std::f64::consts::TAU;

/// A profile's mean and its harmonics 1 to the highest order fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Harmonics {
    /// Mean level.
    pub mean: f64,
    /// `[a, b]` of `a cos kθ + b sin kθ` for k = 1, 2, …
    pub terms: Vec<[f64; 2]>,
    /// Sum of the squared residuals.
    pub residual_squares: f64,
    /// How many readings.
    pub points: usize,
    /// Lower triangle of the normal matrix's Cholesky factor, row by row; of (mean, a₁, b₁, a₂, …).
    factor: Vec<f64>,
}

/// The highest order that is fitted unless another is asked for.
pub const USUAL_ORDER: usize = 15;

/// Angles further than this (radians) from their even place are uneven.
const EVEN: f64 = 1e-9;

/// Whether angles in radians are evenly spread over whole turns, in order; then the orders do not touch each other.
#[must_use]
pub fn are_even(angles_rad: &[f64]) -> bool {
    let n = angles_rad.len();
    let (Some(first), Some(last)) = (angles_rad.first(), angles_rad.last()) else {
        return false;
    };
    if n < 3 {
        return false;
    }
    let step = (last - first) / (n - 1) as f64;
    let turns = step * n as f64 / TAU;
    let whole = turns.round();
    // With a step of whole turns, or two readings a turn, not even the first order shows.
    let readings_a_turn = TAU / step.abs();
    if whole == 0.0 || (turns - whole).abs() * TAU > EVEN * n as f64 || readings_a_turn <= 2.0 {
        return false;
    }
    let step = TAU * whole / n as f64;
    angles_rad
        .iter()
        .enumerate()
        .all(|(i, a)| (a - first - step * i as f64).abs() <= EVEN)
}

/// The highest order that readings at these angles tell without guessing.
///
/// Even angles: below half the readings of a turn. Uneven ones: half the readings must be left over, and the widest gap
/// must be shorter than an undulation.
#[must_use]
pub fn highest_order(angles_rad: &[f64]) -> usize {
    let mut places: Vec<f64> = angles_rad.iter().map(|a| a.rem_euclid(TAU)).collect();
    places.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (places.first().copied(), places.last().copied()) else {
        return 0;
    };
    let across = first + TAU - last;
    // Two readings closer than this are at one place: several turns over the same angles.
    places.dedup_by(|a, b| *a - *b < 1e-6);
    if places.len() > 1 && across < 1e-6 {
        places.pop();
    }
    let distinct = places.len();
    let gap = places
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .fold(across, f64::max);
    let even = distinct as f64 * gap <= TAU * (1.0 + 1e-6);
    if even {
        distinct.saturating_sub(1) / 2
    } else {
        let left_over = (distinct / 2).saturating_sub(1) / 2;
        left_over.min((TAU / gap) as usize)
    }
}

impl Harmonics {
    /// Fits harmonics 1 to `order` to readings at angles in radians.
    ///
    /// The normal matrix of a trigonometric fit holds only sums of cos mθ and sin mθ, so one pass of O(n · order) makes it,
    /// whatever the angles; for even ones it is diagonal and not needed.
    ///
    /// # Errors
    /// Fewer readings than unknowns (2 · order + 1), angles that do not tell the orders apart, or a value that is not a number.
    ///
    /// ```
    /// use conewright_metrology::harmonics::Harmonics;
    /// // Three lobes of 2 µm, the first at 10°, seen at uneven angles.
    /// let angles: Vec<f64> = (0..40_u32).map(|i| f64::from(i * i % 173).to_radians() * 2.0).collect();
    /// let y: Vec<f64> = angles.iter().map(|t| 2e-3 * (3.0 * (t - 10_f64.to_radians())).cos()).collect();
    /// let found = Harmonics::fit(&angles, &y, 5)?;
    /// assert!((found.amplitude(3) - 2e-3).abs() < 1e-12 && found.amplitude(2) < 1e-12);
    /// assert!((found.peak_deg(3) - 10.0).abs() < 1e-9);
    /// assert!(Harmonics::fit(&angles[..8], &y[..8], 5).is_err());
    /// # Ok::<(), conewright_metrology::fit::FitError>(())
    /// ```
    pub fn fit(angles_rad: &[f64], y: &[f64], order: usize) -> Result<Self, FitError> {
        let points = angles_rad.len().min(y.len());
        let (angles, y) = (&angles_rad[..points], &y[..points]);
        let unknowns = 2 * order + 1;
        if points < unknowns {
            return Err(FitError::TooFew {
                points,
                needed: unknowns,
            });
        }
        if let Some(index) = (0..points).find(|i| !(angles[*i] + y[*i]).is_finite()) {
            return Err(FitError::NotFinite { index });
        }
        let even = are_even(angles) && {
            let step = (angles[points - 1] - angles[0]).abs() / (points - 1) as f64;
            (order as f64) < TAU / step / 2.0
        };
        let (cos, sin) = directions(angles);
        let highest = if even { order } else { 2 * order };
        let sums = Sums::of(angles, y, order, highest);
        let factor = if even {
            diagonal(points as f64, order)
        } else {
            cholesky(normal_matrix(&sums.powers, order), unknowns).ok_or(FitError::Degenerate)?
        };
        let solution = solve(&factor, &sums.right, unknowns);
        let mut fit = Self {
            mean: sums.level + solution[0],
            terms: solution[1..]
                .chunks(2)
                .map(|pair| [pair[0], pair[1]])
                .collect(),
            residual_squares: 0.0,
            points,
            factor,
        };
        fit.residual_squares = (0..points)
            .map(|i| (y[i] - fit.at(cos[i], sin[i])).powi(2))
            .sum();
        Ok(fit)
    }

    /// The highest order fitted.
    #[must_use]
    pub fn order(&self) -> usize {
        self.terms.len()
    }

    /// Amplitude of an order (half its height from peak to valley); 0 for an order that was not fitted.
    #[must_use]
    pub fn amplitude(&self, order: usize) -> f64 {
        let [a, b] = self.term(order);
        (a * a + b * b).sqrt()
    }

    /// The first angle at which an order peaks, degrees, from 0 to below 360°/order.
    #[must_use]
    pub fn peak_deg(&self, order: usize) -> f64 {
        let [a, b] = self.term(order);
        b.atan2(a).rem_euclid(TAU).to_degrees() / order.max(1) as f64
    }

    fn term(&self, order: usize) -> [f64; 2] {
        order
            .checked_sub(1)
            .and_then(|i| self.terms.get(i))
            .copied()
            .unwrap_or_default()
    }

    /// The fitted profile's value in a direction given by its cosine and sine.
    #[must_use]
    pub fn at(&self, cos: f64, sin: f64) -> f64 {
        let (mut ck, mut sk, mut sum) = (1.0, 0.0, self.mean);
        for [a, b] in &self.terms {
            (ck, sk) = (ck * cos - sk * sin, sk * cos + ck * sin);
            sum += a * ck + b * sk;
        }
        sum
    }

    /// Readings less unknowns.
    #[must_use]
    pub fn degrees_of_freedom(&self) -> usize {
        self.points - 2 * self.order() - 1
    }

    /// Standard deviation of a single reading about the fitted profile; `None` without a degree of freedom.
    #[must_use]
    pub fn residual_sd(&self) -> Option<f64> {
        let dof = self.degrees_of_freedom();
        (dof > 0).then(|| (self.residual_squares / dof as f64).sqrt())
    }

    /// For a result `Σ weightᵢ · profile(angleᵢ)`, less what mean and first order add to it when `from` is 2: its variance
    /// over that of a single reading.
    #[must_use]
    pub fn variance_factor(&self, weights: &[(f64, f64)], from: usize) -> f64 {
        let unknowns = 2 * self.order() + 1;
        let mut gradient = vec![0.0; unknowns];
        for (angle, weight) in weights {
            if from == 0 {
                gradient[0] += weight;
            }
            for k in from.max(1)..=self.order() {
                let (s, c) = (k as f64 * angle).sin_cos();
                gradient[2 * k - 1] += weight * c;
                gradient[2 * k] += weight * s;
            }
        }
        self.variance_of(&gradient)
    }

    /// Variance, over that of a single reading, of a linear combination of (mean, a₁, b₁, a₂, …).
    #[must_use]
    pub fn variance_of(&self, gradient: &[f64]) -> f64 {
        let half = forward(&self.factor, gradient, 2 * self.order() + 1);
        half.iter().map(|v| v * v).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turn(n: u32, turns: f64) -> Vec<f64> {
        (0..n)
            .map(|i| 0.3 + TAU * turns * f64::from(i) / f64::from(n))
            .collect()
    }

    #[test]
    fn even_angles_are_seen() {
        assert!(are_even(&turn(12, 1.0)));
        assert!(are_even(&turn(360, 3.0)));
        assert!(are_even(&turn(37, -2.0)));
        assert!(!are_even(&turn(12, 0.98)));
        assert!(!are_even(&turn(12, 6.0)), "two readings a turn");
        assert!(!are_even(&turn(12, 12.0)), "one place");
        let mut off = turn(12, 1.0);
        off[5] += 1e-6;
        assert!(!are_even(&off));
    }

    #[test]
    fn the_highest_order_is_what_the_angles_tell() {
        assert_eq!(highest_order(&turn(12, 1.0)), 5);
        assert_eq!(highest_order(&turn(13, 1.0)), 6);
        assert_eq!(
            highest_order(&turn(36, 3.0)),
            5,
            "three times the same twelve places"
        );
        assert_eq!(highest_order(&turn(4, 1.0)), 1);
        assert_eq!(highest_order(&[0.0, 0.1, 0.2, 3.0, 4.0, 5.0]), 1);
        assert_eq!(highest_order(&[]), 0);
    }

    /// Even angles by the short way and by the long one, with their variances.
    #[test]
    fn the_two_ways_agree() {
        let angles = turn(48, 2.0);
        let y: Vec<f64> = angles
            .iter()
            .map(|t| (2.0 * t).cos() + (5.0 * t).sin() + t * 0.1)
            .collect();
        let short = Harmonics::fit(&angles, &y, 8).unwrap();
        let (cos, sin) = directions(&angles);
        // Out of order they are uneven to `are_even`, and the same readings.
        let shuffled: Vec<usize> = (0..48).map(|i| i * 7 % 48).collect();
        let other = |v: &[f64]| -> Vec<f64> { shuffled.iter().map(|i| v[*i]).collect() };
        assert!(!are_even(&other(&angles)));
        let long = Harmonics::fit(&other(&angles), &other(&y), 8).unwrap();
        for k in 1..=8 {
            assert!(
                (short.amplitude(k) - long.amplitude(k)).abs() < 1e-12,
                "{k}"
            );
        }
        let weights = [(0.4, 1.0), (2.5, -1.0)];
        for from in [0, 2] {
            let (a, b) = (
                short.variance_factor(&weights, from),
                long.variance_factor(&weights, from),
            );
            assert!((a / b - 1.0).abs() < 1e-12);
        }
        assert!((short.at(cos[3], sin[3]) - long.at(cos[3], sin[3])).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_told_apart_is_refused() {
        // Twelve places tell no sixth sine, however many turns.
        let angles: Vec<f64> = (0..36)
            .map(|i| TAU * f64::from(i * 5 % 12) / 12.0)
            .collect();
        assert_eq!(
            Harmonics::fit(&angles, &[0.0; 36], 6),
            Err(FitError::Degenerate)
        );
        let nan = Harmonics::fit(&angles, &[f64::NAN; 36], 2);
        assert_eq!(nan, Err(FitError::NotFinite { index: 0 }));
    }
}
