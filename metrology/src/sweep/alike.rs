//! Neighbouring readings that err alike tell less than as many independent ones.
//!
//! What a line leaves of a recorded sweep is often correlated: form that a line does not model, a slow drift, a filter in
//! the indicator. The usual formula then states the slope far too narrowly. Here the residuals are looked at as an
//! autoregressive series of order 1, as they are and as means of 2, 4, 8 … neighbours, so that a slow wave below quick
//! noise is found as well. Fitting takes out part of what is correlated, so the correlation is not read off the residuals
//! directly: it is the one that would leave residuals with the ratio that is seen, of the squares of their differences to
//! their own squares (J. von Neumann, *Annals of Mathematical Statistics* 12 (1941), 367–395).
//!
//! How far to raise that correlation for its own uncertainty, and how many degrees of freedom are left, was set by
//! simulation (`tests/src/coverage/sweep.rs`), between 40 and 2 000 readings.

use crate::spread::mean;
use crate::uncertainty::{COVERAGE, t_factor};

/// With fewer readings a correlation cannot be told from chance, and those are set one by one anyway.
pub(super) const LEAST_READINGS: usize = 20;

/// Means of neighbours are taken until fewer than this many are left.
const LEAST_CELLS: usize = 10;

/// At most so many cells are looked at: what lies closer together changes the slope no more than white noise does.
const MOST_CELLS: usize = 1024;

/// When a correlation counts and how far it is raised, in its standard deviations.
#[derive(Debug, Clone, Copy)]
struct Caution {
    /// So far it is above zero, at 1/√n for white noise.
    stands_out: f64,
    /// So far it is raised.
    raised: f64,
}

/// For the readings as they are.
const READINGS: Caution = Caution {
    stands_out: 1.0,
    raised: 2.0,
};

/// For means of neighbours: the widest of several answers counts, so each one may dare more.
const MEANS: Caution = Caution {
    stands_out: 1.3,
    raised: 0.5,
};

/// No correlation is taken as nearer to 1 than this: the answer no longer depends on it.
const NEAREST_TO_ONE: f64 = 1e-4;

/// What a random walk about its own line still has: its largest parts alone make so many degrees of freedom.
const LEAST_DEGREES_OF_FREEDOM: f64 = 3.0;

/// A power of the place counts as dependent on the lower ones when this little of it is left.
const DEPENDENT: f64 = 1e-6;

/// Halvings of the range in which the correlation is searched: enough for its last digit that matters.
const HALVINGS: usize = 26;

/// The slope's uncertainty with correlated residuals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Alike {
    /// Standard uncertainty of the slope.
    pub slope_u: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

impl Alike {
    pub(super) fn expanded(&self) -> f64 {
        self.slope_u * t_factor(COVERAGE, self.degrees_of_freedom)
    }
}

/// The widest uncertainty of a line's slope over all lengths of means at which the residuals are correlated; none where
/// they are not at any.
///
/// `rest` is what a polynomial of `UNKNOWNS` coefficients leaves at the places `x`, in an order in which neighbours may err
/// alike.
pub(super) fn widest<const UNKNOWNS: usize>(x: &[f64], rest: &[f64]) -> Option<Alike> {
    if x.len() < LEAST_READINGS {
        return None;
    }
    let finest = x.len().min(MOST_CELLS);
    let mut cells = finest;
    let mut found: Option<Alike> = None;
    while cells >= LEAST_CELLS {
        let caution = if cells == finest { READINGS } else { MEANS };
        let now = Series::<UNKNOWNS>::of(&means(x, cells), &means(rest, cells))
            .and_then(|series| series.alike(caution));
        found = match (found, now) {
            (Some(found), Some(now)) if found.expanded() >= now.expanded() => Some(found),
            (found, now) => now.or(found),
        };
        cells /= 2;
    }
    found
}

/// The means of so many cells of neighbours, of equal number to within one.
fn means(values: &[f64], cells: usize) -> Vec<f64> {
    let edge = |cell: usize| cell * values.len() / cells;
    (0..cells)
        .map(|cell| mean(&values[edge(cell)..edge(cell + 1)]))
        .collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Residuals in order, and what was fitted.
struct Series<const UNKNOWNS: usize> {
    /// The fitted powers of the place, orthonormal: the level, the slope, and so on.
    basis: [Vec<f64>; UNKNOWNS],
    /// The differences' quadratic form applied to each: `v'Bv` is the sum of the squared differences of `v`.
    rough: [Vec<f64>; UNKNOWNS],
    /// Length of the places about their mean, by which the second of the basis becomes the slope.
    length: f64,
    squares: f64,
    differences: f64,
}

/// What residuals of errors with variance 1 and a given correlation are expected to show.
struct Expected {
    squares: f64,
    differences: f64,
    /// Variance of the second unknown over the orthonormal basis.
    slope: f64,
}

impl<const UNKNOWNS: usize> Series<UNKNOWNS> {
    fn of(x: &[f64], rest: &[f64]) -> Option<Self> {
        let mean = mean(x);
        let from_mean: Vec<f64> = x.iter().map(|x| x - mean).collect();
        let length = dot(&from_mean, &from_mean).sqrt();
        let mut basis: [Vec<f64>; UNKNOWNS] = std::array::from_fn(|_| Vec::new());
        for power in 0..UNKNOWNS {
            let mut column: Vec<f64> = from_mean
                .iter()
                .map(|x| (x / length).powi(power as i32))
                .collect();
            let before = dot(&column, &column).sqrt();
            for earlier in &basis[..power] {
                let along = dot(earlier, &column);
                for (c, e) in column.iter_mut().zip(earlier) {
                    *c -= along * e;
                }
            }
            let left = dot(&column, &column).sqrt();
            // Means over passes to and fro may all lie at one place.
            if left.is_nan() || left <= DEPENDENT * before {
                return None;
            }
            for c in &mut column {
                *c /= left;
            }
            basis[power] = column;
        }
        let mut rest = rest.to_vec();
        for column in &basis {
            let along = dot(column, &rest);
            for (r, c) in rest.iter_mut().zip(column) {
                *r -= along * c;
            }
        }
        let squares = dot(&rest, &rest);
        let differences = rest
            .windows(2)
            .map(|pair| (pair[1] - pair[0]).powi(2))
            .sum();
        let rough = std::array::from_fn(|k| rough(&basis[k]));
        (squares > 0.0).then_some(Self {
            basis,
            rough,
            length,
            squares,
            differences,
        })
    }

    /// What errors of variance 1 with the correlation `neighbours` between one and the next are expected to leave.
    fn expected(&self, neighbours: f64) -> Expected {
        let count = self.basis.first().map_or(0, Vec::len) as f64;
        let spread: [Vec<f64>; UNKNOWNS] =
            std::array::from_fn(|k| covariance(&self.basis[k], neighbours));
        let mut squares = count;
        let mut differences = 2.0 * (count - 1.0) * (1.0 - neighbours);
        for ((own, own_rough), own_spread) in self.basis.iter().zip(&self.rough).zip(&spread) {
            squares -= dot(own, own_spread);
            differences -= 2.0 * dot(own_rough, own_spread);
            for (other, other_rough) in self.basis.iter().zip(&self.rough) {
                differences += dot(own, other_rough) * dot(other, own_spread);
            }
        }
        Expected {
            squares,
            differences,
            slope: dot(&self.basis[1], &spread[1]),
        }
    }

    /// The slope's uncertainty, when the correlation between neighbours stands out.
    fn alike(&self, caution: Caution) -> Option<Alike> {
        let count = self.basis.first().map_or(0, Vec::len) as f64;
        let seen = self.differences / self.squares;
        // The ratio falls as the correlation rises.
        let rougher = |neighbours: f64| {
            let expected = self.expected(neighbours);
            expected.differences / expected.squares > seen
        };
        let least = caution.stands_out / count.sqrt();
        if !rougher(least) {
            return None;
        }
        let (mut low, mut high) = (-(1.0 - least).ln(), -NEAREST_TO_ONE.ln());
        for _ in 0..HALVINGS {
            let middle = low.midpoint(high);
            if rougher(1.0 - (-middle).exp()) {
                low = middle;
            } else {
                high = middle;
            }
        }
        let neighbours = 1.0 - (-low).exp();
        // Variance of an autocorrelation of order 1 by M. S. Bartlett, *Journal of the Royal Statistical Society*,
        // Supplement 8 (1946), 27–41, from memory.
        let variance = (1.0 - neighbours * neighbours) / count;
        let raised =
            (neighbours * (1.0 + caution.raised * variance.sqrt())).min(1.0 - NEAREST_TO_ONE);
        let expected = self.expected(raised);
        let of_a_variance = count * (1.0 - neighbours.powi(2)) / (1.0 + neighbours.powi(2));
        let by_the_variance = 1.0 / (of_a_variance - UNKNOWNS as f64).max(0.5);
        let by_the_correlation = 1.0 / (count * (1.0 - neighbours.powi(2)));
        Some(Alike {
            slope_u: (self.squares / expected.squares * expected.slope).sqrt() / self.length,
            degrees_of_freedom: (1.0 / (by_the_variance + by_the_correlation))
                .max(LEAST_DEGREES_OF_FREEDOM),
        })
    }
}

/// The covariance matrix of a stationary series of order 1 with variance 1, times a vector.
fn covariance(vector: &[f64], neighbours: f64) -> Vec<f64> {
    let mut product = vec![0.0; vector.len()];
    let mut so_far = 0.0;
    for (p, v) in product.iter_mut().zip(vector) {
        so_far = v + neighbours * so_far;
        *p = so_far;
    }
    let mut so_far = 0.0;
    for (p, v) in product.iter_mut().zip(vector).rev() {
        // What lies behind, without the vector's own element, which was counted on the way forward.
        *p += neighbours * so_far;
        so_far = v + neighbours * so_far;
    }
    product
}

/// The matrix of the squared differences of neighbours, times a vector.
fn rough(vector: &[f64]) -> Vec<f64> {
    let mut product = vec![0.0; vector.len()];
    for i in 1..vector.len() {
        let difference = vector[i] - vector[i - 1];
        product[i] += difference;
        product[i - 1] -= difference;
    }
    product
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is expected, against the matrices written out: `P Σ P` with `P` what the fit leaves.
    #[test]
    fn the_expected_residuals_are_those_of_the_matrices() {
        let x: Vec<f64> = (0..12)
            .map(|i| f64::from(i) + 0.3 * f64::from(i % 3))
            .collect();
        let rest: Vec<f64> = (0..12).map(|i| f64::from((i * 7) % 5)).collect();
        let series = Series::<3>::of(&x, &rest).unwrap();
        let n = x.len();
        for neighbours in [0.0, 0.4, 0.9, 0.999] {
            // A column of the covariance's root would do as well; here each pair of errors is gone through.
            let left = |i: usize| {
                let mut unit = vec![0.0; n];
                unit[i] = 1.0;
                for column in &series.basis {
                    let along = column[i];
                    unit.iter_mut()
                        .zip(column)
                        .for_each(|(u, c)| *u -= along * c);
                }
                unit
            };
            let (mut squares, mut differences, mut slope) = (0.0, 0.0, 0.0);
            for i in 0..n {
                for j in 0..n {
                    let covariance = f64::powi(neighbours, i.abs_diff(j) as i32);
                    squares += covariance * dot(&left(i), &left(j));
                    differences += covariance * dot(&left(i), &rough(&left(j)));
                    slope += covariance * series.basis[1][i] * series.basis[1][j];
                }
            }
            let got = series.expected(neighbours);
            assert!((got.squares - squares).abs() < 1e-9);
            assert!((got.differences - differences).abs() < 1e-9);
            assert!((got.slope - slope).abs() < 1e-9);
        }
    }

    /// The limits: a correlation of twenty readings is looked for, of nineteen not; means at one place tell nothing.
    #[test]
    fn few_readings_tell_no_correlation() {
        let x: Vec<f64> = (0..20).map(f64::from).collect();
        let wave: Vec<f64> = x.iter().map(|x| (x / 3.0).sin()).collect();
        assert!(widest::<2>(&x, &wave).is_some());
        assert_eq!(widest::<2>(&x[..19], &wave[..19]), None);
        let same: Vec<f64> = (0..20).map(|i| if i < 10 { 1.0 } else { -1.0 }).collect();
        let quick: Vec<f64> = (0..20).map(|i| f64::from(i % 2)).collect();
        assert_eq!(widest::<2>(&x, &quick), None, "neighbours differ");
        assert!(
            widest::<3>(&same, &wave).is_none(),
            "two places are no parabola"
        );
    }
}
