//! Line and bow from running sums: one more point costs the same however many there were.

/// The sums of a profile's points.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SweepSums {
    points: usize,
    /// Taken off every position and reading, so that the sums do not cancel.
    origin: [f64; 2],
    /// Σ xᵏ for k = 1 … 4.
    x: [f64; 4],
    /// Σ y xᵏ for k = 0 … 2, then Σ y².
    y: [f64; 4],
    low: f64,
    high: f64,
}

/// What the sums tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepSoFar {
    /// How many points.
    pub points: usize,
    /// Rise per length, by least squares.
    pub slope: f64,
    /// The line at position 0, mm.
    pub intercept_mm: f64,
    /// Standard deviation about the line; absent for two points.
    pub residual_sd_mm: Option<f64>,
    /// Signed sagitta of the quadratic part; absent with fewer than three places.
    pub bow_um: Option<f64>,
    /// Standard deviation about the parabola; absent with fewer than four points or three places.
    pub parabola_sd_mm: Option<f64>,
    /// The places swept so far, lowest and highest, mm.
    pub span_mm: [f64; 2],
    /// Coefficients of the parabola over places scaled to −1 … 1, when there is one.
    pub(super) parabola: Option<[f64; 3]>,
}

impl SweepSums {
    /// Adds a point.
    pub fn push(&mut self, position_mm: f64, reading_mm: f64) {
        if self.points == 0 {
            self.origin = [position_mm, reading_mm];
            (self.low, self.high) = (position_mm, position_mm);
        }
        self.points += 1;
        self.low = self.low.min(position_mm);
        self.high = self.high.max(position_mm);
        let (x, y) = (position_mm - self.origin[0], reading_mm - self.origin[1]);
        let x2 = x * x;
        for (sum, term) in self.x.iter_mut().zip([x, x2, x2 * x, x2 * x2]) {
            *sum += term;
        }
        for (sum, term) in self.y.iter_mut().zip([y, y * x, y * x2, y * y]) {
            *sum += term;
        }
    }

    /// Line and bow of the points so far; `None` before there are two places.
    ///
    /// ```
    /// use conewright_metrology::sweep::SweepSums;
    /// let mut sums = SweepSums::default();
    /// for (x, y) in [(0.0, 0.0), (30.0, 0.004), (60.0, 0.002)] {
    ///     sums.push(x, y);
    /// }
    /// let so_far = sums.so_far().unwrap();
    /// assert!((so_far.bow_um.unwrap() - 3.0).abs() < 1e-9, "the middle is 3 µm nearer than its neighbours' mean");
    /// assert!((so_far.slope - 0.002 / 60.0).abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn so_far(&self) -> Option<SweepSoFar> {
        let n = self.points as f64;
        let half = (self.high - self.low) / 2.0;
        if self.points < 2 || half <= 0.0 {
            return None;
        }
        // Moved to the mean of the places and scaled by half their range, the powers are of the order of one.
        let mean = self.x[0] / n;
        let [s1, s2, s3, s4] = self.x;
        let m2 = (s2 - n * mean * mean) / half.powi(2);
        let m3 = (s3 - 3.0 * mean * s2 + 3.0 * mean * mean * s1 - n * mean.powi(3)) / half.powi(3);
        let m4 = (s4 - 4.0 * mean * s3 + 6.0 * mean * mean * s2 - 4.0 * mean.powi(3) * s1
            + n * mean.powi(4))
            / half.powi(4);
        let level = self.y[0] / n;
        let y1 = (self.y[1] - mean * self.y[0]) / half;
        let y2 = (self.y[2] - 2.0 * mean * self.y[1] + mean * mean * self.y[0]) / half.powi(2);
        let yy = (self.y[3] - self.y[0] * level).max(0.0);
        if m2 <= 0.0 {
            return None;
        }
        let rise = y1 / m2;
        let slope = rise / half;
        let line_squares = (yy - rise * y1).max(0.0);
        // The quadratic part of the powers, square to mean and line.
        let q = m4 - m2 * m2 / n - m3 * m3 / m2;
        let yq = y2 - level * m2 - rise * m3;
        let bent = (q > 1e-9 * n).then(|| yq / q);
        let square_sd =
            |squares: f64, unknowns: f64| (n > unknowns).then(|| (squares / (n - unknowns)).sqrt());
        Some(SweepSoFar {
            points: self.points,
            slope,
            intercept_mm: self.origin[1] + level - slope * (self.origin[0] + mean),
            residual_sd_mm: square_sd(line_squares, 2.0),
            bow_um: bent.map(|b| -b * 1e3),
            parabola_sd_mm: bent.and_then(|b| square_sd((line_squares - b * yq).max(0.0), 3.0)),
            span_mm: [self.low, self.high],
            // y = level + rise·u + bent·(u² − m₃/m₂·u − m₂/n) with u = (x − mean)/half.
            parabola: bent.map(|b| [level - b * m2 / n, rise - b * m3 / m2, b]),
        })
    }

    /// The parabola's value at a position, for one of [`SweepSoFar`] made from these sums.
    pub(super) fn parabola_mm(&self, coefficients: [f64; 3], position_mm: f64) -> f64 {
        let mean = self.origin[0] + self.x[0] / self.points as f64;
        let u = (position_mm - mean) / ((self.high - self.low) / 2.0);
        let [a, b, c] = coefficients;
        self.origin[1] + a + u * (b + u * c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::{line, linear};
    use proptest::prelude::*;

    proptest! {
        /// The sums against fits that keep every point.
        #[test]
        fn sums_are_the_fits(
            points in prop::collection::vec((-50.0..150.0_f64, -0.05..0.05_f64), 4..80),
            level in -30.0..30.0_f64,
        ) {
            let (x, y): (Vec<f64>, Vec<f64>) = points.iter().map(|(x, y)| (*x, level + y)).unzip();
            let mut sums = SweepSums::default();
            x.iter().zip(&y).for_each(|(x, y)| sums.push(*x, *y));
            let got = sums.so_far().unwrap();
            let want = line(&x, &y).unwrap();
            prop_assert!((got.slope - want.slope).abs() < 1e-10);
            prop_assert!((got.intercept_mm - want.intercept).abs() < 1e-8);
            prop_assert!((got.residual_sd_mm.unwrap() - want.residual_sd).abs() < 1e-9);
            let [low, high] = got.span_mm;
            let scaled = |x: &f64| (x - low.midpoint(high)) / ((high - low) / 2.0);
            let rows: Vec<[f64; 3]> = x.iter().map(|x| [1.0, scaled(x), scaled(x).powi(2)]).collect();
            if let Ok(fit) = linear(&rows, &y) {
                let influence: f64 = fit.influence.iter().map(|row| row[2].abs()).fold(0.0, f64::max);
                prop_assume!(influence < 1e3);
                prop_assert!((got.bow_um.unwrap() + fit.unknowns[2] * 1e3).abs() < 1e-5);
                if x.len() > 3 {
                    let sd = (fit.residual_squares() / (x.len() - 3) as f64).sqrt();
                    prop_assert!((got.parabola_sd_mm.unwrap() - sd).abs() < 1e-6);
                }
                for (row, (x, residual)) in rows.iter().zip(x.iter().zip(&fit.residuals)) {
                    let fitted: f64 = row.iter().zip(fit.unknowns).map(|(r, u)| r * u).sum();
                    let got = sums.parabola_mm(got.parabola.unwrap(), *x);
                    prop_assert!((got - fitted).abs() < 1e-7, "{residual}");
                }
            }
        }
    }
}
