//! The limaçon by least squares: the circle as readings round a turn see it.
//!
//! An indicator against a turning part does not see the part's radius, only its changes. For an axis off centre by e the
//! reading is `m + a cos θ + b sin θ` up to e²/2R: a limaçon, linear in its unknowns. Source: ISO 12181-1 (least squares reference circle); D. J.
//! Whitehouse, *Handbook of Surface and Nanometrology*, on the limaçon approximation, from memory.

use super::FitError;
use super::directions::{BLOCK, fill};
use crate::Angle;
use std::ops::Range;

/// A least squares limaçon `y = mean + a cos θ + b sin θ`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limacon {
    /// Mean level.
    pub mean: f64,
    /// Amplitude along angle 0.
    pub a: f64,
    /// Amplitude along 90°.
    pub b: f64,
    /// Residual standard deviation with n − 3 degrees of freedom; not a number for three points.
    pub residual_sd: f64,
    /// How many points.
    pub points: usize,
    /// Inverse of the normal matrix of (mean, a, b): its diagonal times a single value's variance is theirs.
    pub cofactors: [[f64; 3]; 3],
}

impl Limacon {
    /// Distance of the circle's centre from the axis of turning, in the readings' unit.
    #[must_use]
    pub fn eccentricity(&self) -> f64 {
        (self.a * self.a + self.b * self.b).sqrt()
    }

    /// Direction of the centre from the axis: where the reading is highest, within 0 to 360°.
    #[must_use]
    pub fn high_spot(&self) -> Angle {
        Angle::from_rad(self.b.atan2(self.a).rem_euclid(std::f64::consts::TAU))
    }

    /// The limaçon's value in a direction given by its cosine and sine.
    #[must_use]
    pub fn at(&self, cos: f64, sin: f64) -> f64 {
        self.mean + self.a * cos + self.b * sin
    }
}

/// Sums from which a limaçon is solved. One more reading costs the same however many there were.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LimaconSums {
    points: usize,
    /// Level that is taken off every value, so that the sums of squares do not cancel.
    origin: f64,
    /// Sums of c, s, y, cc, cs, yc, ys, yy.
    sums: [f64; 8],
}

/// Running sums kept side by side, so that one addition need not wait for the last.
const LANES: usize = 4;

fn products(c: f64, s: f64, y: f64) -> [f64; 8] {
    [c, s, y, c * c, c * s, y * c, y * s, y * y]
}

/// As many values as there are lanes.
type Lanes = [f64; LANES];

/// Products lane by lane.
fn each(a: Lanes, b: Lanes) -> Lanes {
    std::array::from_fn(|lane| a[lane] * b[lane])
}

/// Four sums of terms of readings and their directions. It is a function of its own so that the lanes stay side by side: where they
/// are added up at once the compiler pairs them otherwise, and takes half as long again.
#[inline(never)]
fn add_up(
    directions: [&[Lanes]; 2],
    y: &[Lanes],
    terms: impl Fn([Lanes; 2], Lanes) -> [Lanes; 4],
) -> [Lanes; 4] {
    let mut sums = [[0.0; LANES]; 4];
    let [cos, sin] = directions;
    for ((c, s), v) in cos.iter().zip(sin).zip(y) {
        for (sum, term) in sums.iter_mut().zip(terms([*c, *s], *v)) {
            *sum = std::array::from_fn(|lane| sum[lane] + term[lane]);
        }
    }
    sums
}

impl LimaconSums {
    /// Adds a reading in a direction given by its cosine and sine.
    pub fn push(&mut self, cos: f64, sin: f64, y: f64) {
        if self.points == 0 {
            self.origin = y;
        }
        self.points += 1;
        for (sum, term) in self
            .sums
            .iter_mut()
            .zip(products(cos, sin, y - self.origin))
        {
            *sum += term;
        }
    }

    /// How many readings were added.
    #[must_use]
    pub const fn points(&self) -> usize {
        self.points
    }

    /// Adds readings in directions given by their cosines and sines.
    pub(super) fn extend(&mut self, cos: &[f64], sin: &[f64], y: &[f64]) {
        let points = cos.len().min(sin.len()).min(y.len());
        let (cos, sin, y) = (&cos[..points], &sin[..points], &y[..points]);
        if self.points == 0 {
            self.origin = y.first().copied().unwrap_or(0.0);
        }
        self.points += points;
        let origin = self.origin;
        let whole = points - points % LANES;
        let directions = [cos.as_chunks().0, sin.as_chunks().0];
        let readings = y.as_chunks().0;
        // Twice four sums: the lanes of all eight would not fit into the registers.
        let of_directions = add_up(directions, readings, |[c, s], _| {
            [c, s, each(c, c), each(c, s)]
        });
        let of_readings = add_up(directions, readings, |[c, s], v| {
            let v = v.map(|v| v - origin);
            [v, each(v, c), each(v, s), each(v, v)]
        });
        let [c, s, cc, cs] = of_directions;
        let [v, vc, vs, vv] = of_readings;
        for (sum, added) in self.sums.iter_mut().zip([c, s, v, cc, cs, vc, vs, vv]) {
            *sum += added.iter().sum::<f64>();
        }
        for i in whole..points {
            for (sum, term) in self
                .sums
                .iter_mut()
                .zip(products(cos[i], sin[i], y[i] - origin))
            {
                *sum += term;
            }
        }
    }

    /// The share of the readings' variance that a limaçon solved from these sums leaves.
    fn left_share(&self, fit: &Limacon) -> f64 {
        let n = self.points as f64;
        let [_, _, y, .., yy] = self.sums;
        fit.residual_sd * fit.residual_sd * (n - 3.0) / (yy - y * y / n)
    }

    /// Solves for the limaçon. The residual standard deviation is the sums' own: good to about 1e-8 of the amplitudes.
    ///
    /// # Errors
    /// Fewer than three points, or fewer than three directions.
    pub fn solve(&self) -> Result<Limacon, FitError> {
        if self.points < 3 {
            return Err(FitError::TooFew {
                points: self.points,
                needed: 3,
            });
        }
        let n = self.points as f64;
        let [c, s, y, cc, cs, yc, ys, yy] = self.sums;
        // The mean is taken out first; what remains is two by two.
        let (mc, ms, my) = (c / n, s / n, y / n);
        let (scc, scs, sss) = (cc - c * mc, cs - c * ms, (n - cc) - s * ms);
        let (syc, sys) = (yc - y * mc, ys - y * ms);
        let determinant = scc * sss - scs * scs;
        // Two directions only, or a heap of points in one: rounding alone keeps the determinant from zero.
        if determinant.is_nan() || determinant <= 1e-13 * n * n {
            return Err(FitError::Degenerate);
        }
        let a = (syc * sss - sys * scs) / determinant;
        let b = (sys * scc - syc * scs) / determinant;
        let (qaa, qab, qbb) = (sss / determinant, -scs / determinant, scc / determinant);
        let (qma, qmb) = (-(mc * qaa + ms * qab), -(mc * qab + ms * qbb));
        let qmm = 1.0 / n - mc * qma - ms * qmb;
        let squares = (yy - y * my - a * syc - b * sys).max(0.0);
        Ok(Limacon {
            mean: self.origin + my - a * mc - b * ms,
            a,
            b,
            residual_sd: (squares / (n - 3.0)).sqrt(),
            points: self.points,
            cofactors: [[qmm, qma, qmb], [qma, qaa, qab], [qmb, qab, qbb]],
        })
    }
}

/// Fits a limaçon to readings at angles in radians.
///
/// # Errors
/// Fewer than three points, fewer than three directions, or a value that is not a number.
///
/// ```
/// use conewright_metrology::fit::{FitError, limacon};
/// use std::f64::consts::FRAC_PI_2;
/// // Nothing at 0° and 180°, 5 µm at 90°, -5 µm at 270°.
/// let angles = [0.0, FRAC_PI_2, 2.0 * FRAC_PI_2, 3.0 * FRAC_PI_2];
/// let fit = limacon(&angles, &[0.0, 0.005, 0.0, -0.005])?;
/// assert!((fit.eccentricity() - 0.005).abs() < 1e-15);
/// assert!((fit.high_spot().deg() - 90.0).abs() < 1e-9);
/// assert_eq!(limacon(&[0.0, 0.0, 3.1], &[1.0, 1.0, 2.0]), Err(FitError::Degenerate));
/// # Ok::<(), FitError>(())
/// ```
pub fn limacon(angles_rad: &[f64], y: &[f64]) -> Result<Limacon, FitError> {
    let points = angles_rad.len().min(y.len());
    let (angles, y) = (&angles_rad[..points], &y[..points]);
    // Block by block, each in cache: for a million readings the memory for their directions would cost more than they do.
    by_blocks(y, |block, visit| {
        let (mut cos, mut sin) = ([0.0; BLOCK], [0.0; BLOCK]);
        let angles = &angles[block.clone()];
        fill(angles, &mut cos, &mut sin);
        visit(&cos[..angles.len()], &sin[..angles.len()]);
    })
}

/// Fits a limaçon to readings in directions given by their cosines and sines, for a caller that has them.
///
/// # Errors
/// As [`limacon`].
pub fn limacon_of_directions(cos: &[f64], sin: &[f64], y: &[f64]) -> Result<Limacon, FitError> {
    let points = cos.len().min(sin.len()).min(y.len());
    let (cos, sin) = (&cos[..points], &sin[..points]);
    by_blocks(&y[..points], |block, visit| {
        visit(&cos[block.clone()], &sin[block.clone()])
    })
}

/// Of the readings' variance the share that must be left for the sums themselves to tell it: to ten figures or more. Below it
/// large sums cancel, and the residuals are taken one by one.
const LEFT_BY_SUMS: f64 = 1e-3;

/// Fits readings whose directions are given block by block.
fn by_blocks(
    y: &[f64],
    directions: impl Fn(&Range<usize>, &mut dyn FnMut(&[f64], &[f64])),
) -> Result<Limacon, FitError> {
    let blocks = || {
        (0..y.len())
            .step_by(BLOCK)
            .map(|start| start..(start + BLOCK).min(y.len()))
    };
    let mut sums = LimaconSums::default();
    for block in blocks() {
        directions(&block, &mut |cos, sin| {
            sums.extend(cos, sin, &y[block.clone()])
        });
    }
    let fit = sums.solve();
    if !fit
        .as_ref()
        .is_ok_and(|fit| (fit.mean + fit.a + fit.b).is_finite())
    {
        let mut bad = None;
        for block in blocks() {
            directions(&block, &mut |cos, sin| {
                let off = |i: usize| !(cos[i] + sin[i] + y[block.start + i]).is_finite();
                bad = bad.or((0..cos.len()).find(|i| off(*i)).map(|i| block.start + i));
            });
        }
        if let Some(index) = bad {
            return Err(FitError::NotFinite { index });
        }
    }
    let mut fit = fit?;
    if sums.left_share(&fit) < LEFT_BY_SUMS {
        let mut squares = 0.0;
        for block in blocks() {
            directions(&block, &mut |cos, sin| {
                squares += residual_squares(&fit, cos, sin, &y[block.clone()]);
            });
        }
        fit.residual_sd = (squares / (y.len() as f64 - 3.0)).sqrt();
    }
    Ok(fit)
}

fn residual_squares(fit: &Limacon, cos: &[f64], sin: &[f64], y: &[f64]) -> f64 {
    let mut lanes = [0.0; LANES];
    let whole = y.len() - y.len() % LANES;
    let square = |i: usize| {
        let residual = y[i] - fit.at(cos[i], sin[i]);
        residual * residual
    };
    for start in (0..whole).step_by(LANES) {
        for (lane, sum) in lanes.iter_mut().enumerate() {
            *sum += square(start + lane);
        }
    }
    lanes.iter().sum::<f64>() + (whole..y.len()).map(square).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_far_level_does_not_cancel() {
        let angles: Vec<f64> = (0..36).map(|i| f64::from(i).to_radians() * 10.0).collect();
        let y: Vec<f64> = angles
            .iter()
            .map(|t| 900.0 + 2e-3 * (t - 1.0).cos())
            .collect();
        let fit = limacon(&angles, &y).unwrap();
        assert!(
            (fit.eccentricity() - 2e-3).abs() < 1e-13,
            "{}",
            fit.eccentricity()
        );
        assert!((fit.high_spot().rad() - 1.0).abs() < 1e-10);
        assert!(fit.residual_sd < 1e-12);
    }

    #[test]
    fn what_cannot_be_fitted_is_named() {
        let nan = limacon(&[0.0, 1.0, 2.0], &[0.0, f64::NAN, 0.0]);
        assert_eq!(nan, Err(FitError::NotFinite { index: 1 }));
        let few = FitError::TooFew {
            points: 2,
            needed: 3,
        };
        assert_eq!(limacon(&[0.0, 1.0], &[0.0, 1.0]), Err(few));
    }

    proptest! {
        /// The sums that take one reading at a time and those that take all agree, with the uncertainties.
        #[test]
        fn live_sums_are_the_final_ones(
            points in prop::collection::vec((0.0..std::f64::consts::TAU, -0.1..0.1_f64), 8..60)
        ) {
            let (angles, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
            prop_assume!(limacon(&angles, &y).is_ok());
            let fit = limacon(&angles, &y).unwrap();
            let mut sums = LimaconSums::default();
            for (t, v) in angles.iter().zip(&y) {
                sums.push(t.cos(), t.sin(), *v);
            }
            let live = sums.solve().unwrap();
            prop_assert!((live.a - fit.a).abs() < 1e-9 && (live.b - fit.b).abs() < 1e-9);
            prop_assert!((live.mean - fit.mean).abs() < 1e-9);
            prop_assert!((live.residual_sd - fit.residual_sd).abs() < 1e-7);
        }
    }

    #[test]
    fn the_cofactors_are_the_inverse_of_the_normal_matrix() {
        let angles = [0.1, 0.9, 2.0, 2.2, 4.0, 5.5];
        let fit = limacon(&angles, &[0.0, 1.0, 0.5, 2.0, 1.0, 0.3]).unwrap();
        let rows: Vec<[f64; 3]> = angles
            .iter()
            .map(|t: &f64| [1.0, t.cos(), t.sin()])
            .collect();
        for i in 0..3 {
            for j in 0..3 {
                let product: f64 = (0..3)
                    .map(|k| rows.iter().map(|r| r[i] * r[k]).sum::<f64>() * fit.cofactors[k][j])
                    .sum();
                assert!((product - f64::from(u8::from(i == j))).abs() < 1e-12);
            }
        }
    }
}
