//! Linear models of a few unknowns by least squares.

use crate::Counted;

/// Why nothing can be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FitError {
    /// Fewer points than the fit has unknowns.
    #[error("{}, and the fit needs at least {needed}", Counted(*points, "point"))]
    TooFew {
        /// How many points there are.
        points: usize,
        /// How many are needed.
        needed: usize,
    },
    /// The points do not tell the unknowns apart: all at one place, or columns that depend on each other.
    #[error("the points do not tell the unknowns apart: they need different places")]
    Degenerate,
    /// A point that is not a number.
    #[error("point {} is not a number", index + 1)]
    NotFinite {
        /// Its index, from 0.
        index: usize,
    },
}

impl FitError {
    /// Refuses too few points, and a point that is not finite.
    pub(super) fn check(
        points: usize,
        needed: usize,
        finite: impl Fn(usize) -> bool,
    ) -> Result<(), Self> {
        if points < needed {
            return Err(Self::TooFew { points, needed });
        }
        match (0..points).find(|index| !finite(*index)) {
            Some(index) => Err(Self::NotFinite { index }),
            None => Ok(()),
        }
    }
}

/// The outcome of a linear least squares fit with `P` unknowns.
#[derive(Debug, Clone, PartialEq)]
pub struct LinearFit<const P: usize> {
    /// The unknowns.
    pub unknowns: [f64; P],
    /// How each unknown depends on each observation: row `i` is the `P` derivatives by observation `i`. The
    /// variance of an unknown is the sum of their squares times the variance of an observation.
    pub influence: Vec<[f64; P]>,
    /// Observation minus model.
    pub residuals: Vec<f64>,
}

impl<const P: usize> LinearFit<P> {
    /// Observations minus unknowns.
    #[must_use]
    pub fn degrees_of_freedom(&self) -> usize {
        self.residuals.len() - P
    }

    /// Sum of the squared residuals.
    #[must_use]
    pub fn residual_squares(&self) -> f64 {
        self.residuals.iter().map(|r| r * r).sum()
    }
}

/// A column counts as dependent on those before it when this little of it is left.
const DEPENDENT: f64 = 1e-10;

/// Fits `observations[i] ≈ Σ unknowns[p] · rows[i][p]` by least squares.
///
/// Modified Gram–Schmidt, which unlike the normal equations does not square the condition number. Source: Å. Björck,
/// *Numerical Methods for Least Squares Problems*, SIAM 1996, section 2.4.
///
/// # Errors
/// [`FitError`] when there are too few rows, dependent columns, or a value that is not a number.
///
/// ```
/// use conewright_metrology::fit::{FitError, linear};
/// // A B A with a drift of 1 per turn: intercept, slope and drift.
/// let rows = [[1.0, 0.0, 0.0], [1.0, 2.0, 1.0], [1.0, 0.0, 2.0]];
/// let fit = linear(&rows, &[5.0, 8.0, 7.0])?;
/// assert!(fit.unknowns.iter().zip([5.0, 1.0, 1.0]).all(|(a, b)| (a - b).abs() < 1e-12));
/// assert_eq!(linear(&rows[..2], &[5.0, 8.0]), Err(FitError::TooFew { points: 2, needed: 3 }));
/// # Ok::<(), FitError>(())
/// ```
pub fn linear<const P: usize>(
    rows: &[[f64; P]],
    observations: &[f64],
) -> Result<LinearFit<P>, FitError> {
    let n = rows.len().min(observations.len());
    let finite = |i: usize| rows[i].iter().all(|v| v.is_finite()) && observations[i].is_finite();
    FitError::check(n, P, finite)?;
    let mut q = rows[..n].to_vec();
    let mut r = [[0.0; P]; P];
    for p in 0..P {
        let before: f64 = rows[..n].iter().map(|row| row[p] * row[p]).sum();
        for earlier in 0..p {
            let along: f64 = q.iter().map(|row| row[earlier] * row[p]).sum();
            r[earlier][p] = along;
            for row in &mut q {
                row[p] -= along * row[earlier];
            }
        }
        let left: f64 = q.iter().map(|row| row[p] * row[p]).sum();
        if left <= before * DEPENDENT * DEPENDENT || left == 0.0 {
            return Err(FitError::Degenerate);
        }
        r[p][p] = left.sqrt();
        for row in &mut q {
            row[p] /= r[p][p];
        }
    }
    // The observations are orthogonalised like one more column, which keeps the residuals accurate.
    let mut residuals = observations[..n].to_vec();
    let mut along = [0.0; P];
    for p in 0..P {
        along[p] = q.iter().zip(&residuals).map(|(row, y)| row[p] * y).sum();
        for (row, y) in q.iter().zip(&mut residuals) {
            *y -= along[p] * row[p];
        }
    }
    let influence: Vec<[f64; P]> = q.iter().map(|row| back_substitute(&r, row)).collect();
    Ok(LinearFit {
        unknowns: back_substitute(&r, &along),
        influence,
        residuals,
    })
}

/// Solves `r x = b` for an upper triangular `r`.
fn back_substitute<const P: usize>(r: &[[f64; P]; P], b: &[f64; P]) -> [f64; P] {
    let mut x = *b;
    for p in (0..P).rev() {
        for later in p + 1..P {
            x[p] -= r[p][later] * x[later];
        }
        x[p] /= r[p][p];
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_fitted_is_named() {
        let same = [[1.0, 3.0], [1.0, 3.0], [1.0, 3.0]];
        assert_eq!(linear(&same, &[1.0, 2.0, 3.0]), Err(FitError::Degenerate));
        assert_eq!(
            linear(&[[1.0, 0.0], [1.0, f64::NAN]], &[1.0, 2.0]),
            Err(FitError::NotFinite { index: 1 })
        );
        assert_eq!(
            linear::<2>(&[], &[]),
            Err(FitError::TooFew {
                points: 0,
                needed: 2
            })
        );
    }

    #[test]
    fn the_influence_is_the_derivative() {
        let rows = [[1.0, 0.0], [1.0, 1.0], [1.0, 3.0], [1.0, 7.0]];
        let y = [1.0, 2.5, 2.0, 9.0];
        let fit = linear(&rows, &y).unwrap();
        for i in 0..y.len() {
            let mut moved = y;
            moved[i] += 1.0;
            let other = linear(&rows, &moved).unwrap();
            for p in 0..2 {
                let change = other.unknowns[p] - fit.unknowns[p];
                assert!((change - fit.influence[i][p]).abs() < 1e-12);
            }
        }
    }
}
