//! The normal equations of a trigonometric fit, and their solution by Cholesky's factor (lower triangle, row by row).

use crate::fit::directions;

/// The sums over readings round a turn that every fit of harmonics needs, in one pass of O(n · order).
pub(crate) struct Sums {
    /// How many readings.
    pub points: usize,
    /// Their mean. It is taken off first, so that a far level does not eat the digits of small undulations.
    pub level: f64,
    /// Sums of `[cos mθ, sin mθ]`, m = 0, 1, …
    pub powers: Vec<[f64; 2]>,
    /// Sums of reading times (1, cos θ, sin θ, cos 2θ, …).
    pub right: Vec<f64>,
    /// Sum of the squared readings.
    pub squares: f64,
}

impl Sums {
    /// Sums for harmonics 1 to `order`; `highest` is the order up to which the powers are wanted.
    pub(crate) fn of(angles_rad: &[f64], y: &[f64], order: usize, highest: usize) -> Self {
        let points = angles_rad.len();
        let (cos, sin) = directions(angles_rad);
        let level = y.iter().sum::<f64>() / points as f64;
        let mut powers = vec![[0.0; 2]; highest + 1];
        let mut right = vec![0.0; 2 * order + 1];
        let mut squares = 0.0;
        for ((c, s), y) in cos.iter().zip(&sin).zip(y) {
            let (mut ck, mut sk) = (1.0, 0.0);
            let y = y - level;
            right[0] += y;
            squares += y * y;
            for k in 1..=highest {
                (ck, sk) = (ck * c - sk * s, sk * c + ck * s);
                powers[k][0] += ck;
                powers[k][1] += sk;
                if k <= order {
                    right[2 * k - 1] += y * ck;
                    right[2 * k] += y * sk;
                }
            }
        }
        powers[0] = [points as f64, 0.0];
        Self {
            points,
            level,
            powers,
            right,
            squares,
        }
    }
}

/// The normal matrix's lower triangle from the sums of cos mθ and sin mθ, m = 0 … 2·order:
/// `cos k cos l = ½ [cos(k−l) + cos(k+l)]` and the like.
pub(crate) fn normal_matrix(powers: &[[f64; 2]], order: usize) -> Vec<f64> {
    let unknowns = 2 * order + 1;
    // Unknown 0 is the mean, then for each order its cosine and its sine.
    let kind = |i: usize| (i.div_ceil(2), i > 0 && i.is_multiple_of(2));
    let mut matrix = Vec::with_capacity(unknowns * (unknowns + 1) / 2);
    for i in 0..unknowns {
        for j in 0..=i {
            let ((k, k_sine), (l, l_sine)) = (kind(i), kind(j));
            let (sum, difference) = (powers[k + l], powers[k.abs_diff(l)]);
            // sin(k−l) changes its sign with the order.
            let sine = if k >= l {
                difference[1]
            } else {
                -difference[1]
            };
            matrix.push(match (k_sine, l_sine) {
                (false, false) => 0.5 * (difference[0] + sum[0]),
                (true, true) => 0.5 * (difference[0] - sum[0]),
                (true, false) => 0.5 * (sum[1] + sine),
                (false, true) => 0.5 * (sum[1] - sine),
            });
        }
    }
    matrix
}

/// The factor for even angles: nothing but the diagonal.
pub(super) fn diagonal(points: f64, order: usize) -> Vec<f64> {
    let unknowns = 2 * order + 1;
    let mut factor = vec![0.0; unknowns * (unknowns + 1) / 2];
    for i in 0..unknowns {
        let square = if i == 0 { points } else { points / 2.0 };
        factor[i * (i + 1) / 2 + i] = square.sqrt();
    }
    factor
}

/// Cholesky factor of a symmetric matrix given by its lower triangle; `None` when it is not well positive.
pub(crate) fn cholesky(mut matrix: Vec<f64>, n: usize) -> Option<Vec<f64>> {
    let row = |i: usize| i * (i + 1) / 2;
    for i in 0..n {
        let before = matrix[row(i) + i];
        for j in 0..=i {
            let mut sum = matrix[row(i) + j];
            for k in 0..j {
                sum -= matrix[row(i) + k] * matrix[row(j) + k];
            }
            if i == j {
                // What is left of a column that depends on those before it is rounding.
                if sum.is_nan() || sum <= before * 1e-11 {
                    return None;
                }
                matrix[row(i) + i] = sum.sqrt();
            } else {
                matrix[row(i) + j] = sum / matrix[row(j) + j];
            }
        }
    }
    Some(matrix)
}

/// Solves `L z = right`.
pub(crate) fn forward(factor: &[f64], right: &[f64], n: usize) -> Vec<f64> {
    let row = |i: usize| i * (i + 1) / 2;
    let mut z = right.to_vec();
    for i in 0..n {
        for k in 0..i {
            z[i] -= factor[row(i) + k] * z[k];
        }
        z[i] /= factor[row(i) + i];
    }
    z
}

/// Solves `L Lᵀ x = right`.
pub(crate) fn solve(factor: &[f64], right: &[f64], n: usize) -> Vec<f64> {
    backward(factor, forward(factor, right, n), n)
}

/// Solves `Lᵀ x = z`.
pub(crate) fn backward(factor: &[f64], mut x: Vec<f64>, n: usize) -> Vec<f64> {
    let row = |i: usize| i * (i + 1) / 2;
    for i in (0..n).rev() {
        for k in i + 1..n {
            x[i] -= factor[row(k) + i] * x[k];
        }
        x[i] /= factor[row(i) + i];
    }
    x
}
