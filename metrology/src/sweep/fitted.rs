//! A profile with its line and what is known of its uncertainty.

use super::{SweepError, SweepSums};
use crate::Length;
use crate::domain::{Unusable, WhyUnusable};
use crate::filter;
use crate::fit::{FitError, Line, line};
use crate::spread::{range, squares};

/// Below this many points a bow is not taken out before the scatter is judged: it would cost too much of what little
/// tells it.
pub(super) const BOW_OUT_FROM: usize = 10;

/// Places nearer to each other than this, mm, are one: a picometre.
const ONE_PLACE: f64 = 1e-9;

/// Why the points make no line, in a sweep's words.
pub(super) fn refused(error: &FitError, x: &[f64]) -> SweepError {
    match error {
        FitError::TooFew { points, .. } => SweepError::TooFew { points: *points },
        FitError::NotFinite { index } => SweepError::Unusable(Unusable {
            row: index + 1,
            column: "reading_mm",
            why: WhyUnusable::NotANumber,
        }),
        FitError::Degenerate => SweepError::OnePlace {
            position_mm: x.first().copied().unwrap_or(f64::NAN),
            points: x.len(),
        },
    }
}

/// A profile with its line and its sums.
pub(super) struct Fitted {
    pub x: Vec<f64>,
    pub y: Vec<f64>,
    pub line: Line,
    pub sums: SweepSums,
}

impl Fitted {
    pub(super) fn of(x: Vec<f64>, y: Vec<f64>) -> Result<Self, SweepError> {
        let line = line(&x, &y).map_err(|error| refused(&error, &x))?;
        if x.iter().all(|place| (place - x[0]).abs() < ONE_PLACE) {
            return Err(refused(&FitError::Degenerate, &x));
        }
        let mut sums = SweepSums::default();
        for (x, y) in x.iter().zip(&y) {
            sums.push(*x, *y);
        }
        Ok(Self { x, y, line, sums })
    }

    /// What line, or for many points the parabola, leaves of each reading.
    pub(super) fn rest(&self) -> Vec<f64> {
        let parabola = self
            .sums
            .so_far()
            .and_then(|so_far| so_far.parabola)
            .filter(|_| self.x.len() >= BOW_OUT_FROM);
        let fitted = |x: f64| match parabola {
            Some(coefficients) => self.sums.parabola_mm(coefficients, x),
            None => self.line.intercept + self.line.slope * x,
        };
        self.x
            .iter()
            .zip(&self.y)
            .map(|(x, y)| y - fitted(*x))
            .collect()
    }

    pub(super) fn span(&self) -> [f64; 2] {
        self.sums
            .so_far()
            .map_or([f64::NAN; 2], |so_far| so_far.span_mm)
    }

    /// Peak to valley about the line, along the reading.
    pub(super) fn height_mm(&self) -> f64 {
        let points = self.x.iter().zip(&self.y);
        range(points.map(|(x, y)| y - self.line.slope * x))
    }

    /// The profile behind the filter, in order of position, without the ends at which it cannot be filtered.
    pub(super) fn filtered(
        &self,
        cut_off: Length,
    ) -> Result<(Vec<f64>, Vec<f64>), filter::FilterError> {
        let order = self.by_place();
        let x: Vec<f64> = order.iter().map(|i| self.x[*i]).collect();
        let y: Vec<f64> = order.iter().map(|i| self.y[*i]).collect();
        let smooth = filter::open(&x, &y, cut_off.mm())?;
        Ok((x[smooth.kept].to_vec(), smooth.values))
    }

    /// The points' indices by rising place.
    pub(super) fn by_place(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.x.len()).collect();
        order.sort_by(|i, j| self.x[*i].total_cmp(&self.x[*j]));
        order
    }

    /// The slope's standard deviation for a scatter of 1.
    pub(super) fn influence(&self) -> f64 {
        1.0 / squares(&self.x).sqrt()
    }
}
