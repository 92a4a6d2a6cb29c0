//! Linear models of a few unknowns by least squares.

use crate::Counted;
use std::ops::Range;

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
    let mut columns = rows[..n].to_vec();
    let model = Orthogonal::of(&mut columns, P);
    if model.independent < P {
        return Err(FitError::Degenerate);
    }
    let mut residuals = observations[..n].to_vec();
    let along = model.taken_out(0..P, &mut residuals);
    Ok(LinearFit {
        unknowns: model.solved(P, &along),
        influence: model
            .columns
            .iter()
            .map(|row| model.solved(P, row))
            .collect(),
        residuals,
    })
}

/// The columns of a linear model made orthogonal, each of length 1, in memory that the caller keeps.
///
/// A model of the first columns alone is in it, to the same last bit as if it were made without the others.
pub(crate) struct Orthogonal<'c, const P: usize> {
    columns: &'c [[f64; P]],
    /// The columns as given are those here times this upper triangle.
    r: [[f64; P]; P],
    /// So many of the first columns depend on none before them; those behind are as they were given.
    pub independent: usize,
}

impl<'c, const P: usize> Orthogonal<'c, P> {
    /// Makes the first `wanted` columns orthogonal, up to one that depends on those before it.
    pub fn of(columns: &'c mut [[f64; P]], wanted: usize) -> Self {
        let mut r = [[0.0; P]; P];
        let mut independent = 0;
        for p in 0..wanted.min(P) {
            let before: f64 = columns.iter().map(|row| row[p] * row[p]).sum();
            for earlier in 0..p {
                let along: f64 = columns.iter().map(|row| row[earlier] * row[p]).sum();
                r[earlier][p] = along;
                for row in columns.iter_mut() {
                    row[p] -= along * row[earlier];
                }
            }
            let left: f64 = columns.iter().map(|row| row[p] * row[p]).sum();
            if left <= before * DEPENDENT * DEPENDENT || left == 0.0 {
                break;
            }
            r[p][p] = left.sqrt();
            for row in columns.iter_mut() {
                row[p] /= r[p][p];
            }
            independent = p + 1;
        }
        Self {
            columns,
            r,
            independent,
        }
    }

    /// Takes what lies along some columns out of the observations, and tells how much that was.
    ///
    /// The observations are orthogonalised like one more column, which keeps the residuals accurate.
    pub fn taken_out(&self, columns: Range<usize>, observations: &mut [f64]) -> [f64; P] {
        let mut along = [0.0; P];
        for p in columns {
            along[p] = self
                .columns
                .iter()
                .zip(&*observations)
                .map(|(row, y)| row[p] * y)
                .sum();
            for (row, y) in self.columns.iter().zip(&mut *observations) {
                *y -= along[p] * row[p];
            }
        }
        along
    }

    /// The unknowns of the first `columns` columns, from what lies along each.
    pub fn solved(&self, columns: usize, along: &[f64; P]) -> [f64; P] {
        let mut x = *along;
        for p in (0..columns.min(P)).rev() {
            for later in p + 1..columns.min(P) {
                x[p] -= self.r[p][later] * x[later];
            }
            x[p] /= self.r[p][p];
        }
        x
    }

    /// How the second unknown of the first `columns` depends on each observation.
    pub fn influence_on_second(&self, columns: usize, into: &mut [f64]) {
        for (row, influence) in self.columns.iter().zip(into) {
            *influence = self.solved(columns, row)[1];
        }
    }
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
