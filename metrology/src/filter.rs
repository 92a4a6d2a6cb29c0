//! The Gaussian profile filter, for open profiles along a line and for closed ones round a turn.
//!
//! Source: ISO 16610-21. The weighting function of cut-off λc is `s(x) = exp(−π (x/(α λc))²)/(α λc)` with
//! `α = √(ln 2/π)`, so that half of a wave of length λc is let through.

use crate::fit::{FitError, directions};
use crate::harmonics::{Harmonics, are_even};
use std::f64::consts::{PI, TAU};
use std::ops::Range;

/// α = √(ln 2/π) of ISO 16610-21.
pub const ALPHA: f64 = 0.469_718_639_349_825_5;

/// How far the weights reach, in cut-offs: beyond they are below 2e-6 of the middle one.
const REACH: f64 = 1.0;

/// The usual cut-offs round a turn, in undulations per revolution. Source: ISO 12181-2, table of transmission bands.
pub const UNDULATIONS: [u32; 4] = [15, 50, 150, 500];

/// Waves shorter than this many times the cut-off's frequency pass with less than 1e-11 of their height.
const NOTHING_PASSES: f64 = 6.1;

/// Why a profile cannot be filtered.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FilterError {
    /// The cut-off is not a number above zero.
    #[error("the cut-off is {cut_off}: it must be above 0")]
    CutOff {
        /// The cut-off, in the positions' unit.
        cut_off: f64,
    },
    /// The profile is shorter than two cut-offs, so that less than one would be left between its ends.
    #[error(
        "a cut-off of {cut_off} mm needs a profile of at least {} mm, and this one is {length} mm long: take a shorter cut-off, \
         or none",
        LEAST_LENGTH * cut_off
    )]
    TooLong {
        /// The cut-off.
        cut_off: f64,
        /// The profile's length, in the same unit.
        length: f64,
    },
    /// The readings are too far apart to carry waves of the cut-off.
    #[error(
        "neighbouring readings are up to {gap:.4} apart, and this cut-off needs them within {allowed:.4}: take more readings, \
         or a longer cut-off"
    )]
    TooCoarse {
        /// The widest gap between neighbours, in the positions' unit or in radians.
        gap: f64,
        /// The widest allowed: half the cut-off.
        allowed: f64,
    },
    /// The harmonics cannot be fitted.
    #[error(transparent)]
    Fit(FitError),
}

/// The share of a wave's amplitude that the filter lets through, by its frequency over the cut-off's: `2^−(f/fc)²`.
///
/// ```
/// use conewright_metrology::filter::transmission;
/// assert_eq!(transmission(1.0), 0.5);
/// assert!((transmission(2.0) - 0.0625).abs() < 1e-15);
/// ```
#[must_use]
pub fn transmission(f_over_cut_off: f64) -> f64 {
    (-f_over_cut_off * f_over_cut_off).exp2()
}

/// How much of an open profile is left out at each end, in cut-offs: there the weights lack more than they may.
pub const LEFT_OUT: f64 = 0.5;

/// An open profile is at least so many cut-offs long, so that one is left between its ends.
pub const LEAST_LENGTH: f64 = 2.0;

/// A filtered open profile.
#[derive(Debug, Clone, PartialEq)]
pub struct Smooth {
    /// Which points have a filtered value: all but those at the ends.
    pub kept: Range<usize>,
    /// Their filtered values.
    pub values: Vec<f64>,
}

/// The filtered values of an open profile, without [`LEFT_OUT`] cut-offs at each end.
///
/// `x` must rise or fall throughout (equal neighbours allowed); each point weighs with the stretch of the profile that it
/// stands for, so spacing may be uneven. ISO 16610-28 knows several ways to go on to the very end, and each makes up a
/// part of the profile: a short wave then passes there with up to nine tenths of its height. Half a cut-off from the end
/// only 0.4 % of the weight lies outside; a straight line under the weights (order 1 of the moment criterion of ISO
/// 16610-28) stands in for it, so that a straight profile comes out as it is, and any wave within 1 % of its height as
/// by ISO 16610-21.
///
/// # Errors
/// A cut-off that is not above zero, a profile shorter than [`LEAST_LENGTH`] cut-offs, readings too far apart, or points
/// out of order.
///
/// ```
/// use conewright_metrology::filter::open;
/// let x: Vec<f64> = (0..=600).map(|i| f64::from(i) * 0.1).collect();
/// let wave: Vec<f64> = x.iter().map(|x| (std::f64::consts::TAU * x / 8.0).sin()).collect();
/// let smooth = open(&x, &wave, 8.0)?;
/// assert_eq!(smooth.kept, 40..561, "4 mm are left out at each end");
/// for (smooth, wave) in smooth.values.iter().zip(&wave[smooth.kept]) {
///     assert!((smooth - 0.5 * wave).abs() < 0.01, "half of a wave as long as the cut-off");
/// }
/// assert!(open(&x, &wave, 30.5).is_err(), "the profile is shorter than two of them");
/// # Ok::<(), conewright_metrology::filter::FilterError>(())
/// ```
pub fn open(x: &[f64], y: &[f64], cut_off: f64) -> Result<Smooth, FilterError> {
    if !(cut_off > 0.0 && cut_off.is_finite()) {
        return Err(FilterError::CutOff { cut_off });
    }
    let n = usable_points(x, y)?;
    if x[0] > x[n - 1] {
        let reversed = |v: &[f64]| v[..n].iter().rev().copied().collect::<Vec<f64>>();
        let mut smooth = open(&reversed(x), &reversed(y), cut_off)?;
        smooth.values.reverse();
        smooth.kept = n - smooth.kept.end..n - smooth.kept.start;
        return Ok(smooth);
    }
    let length = x[n - 1] - x[0];
    if !x[..n].is_sorted() || length == 0.0 {
        return Err(FilterError::Fit(FitError::Degenerate));
    }
    if LEAST_LENGTH * cut_off > length * (1.0 + ROUNDED) {
        return Err(FilterError::TooLong { cut_off, length });
    }
    let gap = x[..n]
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .fold(0.0, f64::max);
    if gap > cut_off / 2.0 {
        return Err(FilterError::TooCoarse {
            gap,
            allowed: cut_off / 2.0,
        });
    }
    // The stretch that a point stands for: half way to each neighbour.
    let stretch = |i: usize| {
        let (before, after) = (i.saturating_sub(1), (i + 1).min(n - 1));
        (x[after] - x[before]) / 2.0
    };
    let points: Vec<Weighed> = (0..n)
        .map(|i| Weighed {
            x: x[i],
            y: y[i],
            stretch: stretch(i),
        })
        .collect();
    let end = cut_off * (LEFT_OUT - ROUNDED);
    let (first, last) = (x[0] + end, x[n - 1] - end);
    let kept = x[..n].partition_point(|x| *x < first)..x[..n].partition_point(|x| *x <= last);
    let cell = cut_off / CELLS;
    if (n as f64) < 4.0 * length / cell {
        let values = weighed(&points, kept.clone(), cut_off);
        return Ok(Smooth { kept, values });
    }
    let cells = gathered(&points, cell);
    let smooth = weighed(&cells, 0..cells.len(), cut_off);
    let values = between_cells(&cells, &smooth, &x[kept.clone()]);
    Ok(Smooth { kept, values })
}

/// How many points a profile has.
///
/// # Errors
/// Fewer than three points, or one that is not a number.
fn usable_points(x: &[f64], y: &[f64]) -> Result<usize, FilterError> {
    let points = x.len().min(y.len());
    if points < 3 {
        return Err(FilterError::Fit(FitError::TooFew { points, needed: 3 }));
    }
    match (0..points).find(|i| !(x[*i] + y[*i]).is_finite()) {
        Some(index) => Err(FilterError::Fit(FitError::NotFinite { index })),
        None => Ok(points),
    }
}

/// Lengths that differ by less than this share are equal: a profile of 15.999999999 mm counts as one of 16 mm.
const ROUNDED: f64 = 1e-9;

/// Into so many cells a cut-off's length is divided where readings lie closer than a quarter of one: each cell then counts
/// as one point at its middle of gravity. A wave as long as the cut-off keeps its height to 3 parts in 10⁵ by it, shorter
/// ones are let through less anyway; without it a million readings would cost as many weights each as lie under the filter.
const CELLS: f64 = 500.0;

/// A point of a profile with the stretch that it stands for.
#[derive(Clone, Copy)]
struct Weighed {
    x: f64,
    y: f64,
    stretch: f64,
}

/// The points gathered into cells of a length, each at its middle of gravity.
fn gathered(points: &[Weighed], cell: f64) -> Vec<Weighed> {
    let start = points.first().map_or(0.0, |point| point.x);
    let number = |point: &Weighed| ((point.x - start) / cell).floor();
    points
        .chunk_by(|a, b| number(a) == number(b))
        .map(|within| {
            let stretch: f64 = within.iter().map(|p| p.stretch).sum();
            let mean = |of: &dyn Fn(&Weighed) -> f64| {
                let first = within.first().map_or(0.0, of);
                // Points at one place stand for no stretch; deviations from the first do not cancel.
                let sum: f64 = within.iter().map(|p| (of(p) - first) * p.stretch).sum();
                first + if stretch > 0.0 { sum / stretch } else { 0.0 }
            };
            Weighed {
                x: mean(&|p| p.x),
                y: mean(&|p| p.y),
                stretch,
            }
        })
        .collect()
}

/// The filtered values of cells at places, in proportion between two cells and straight on beyond the outer ones.
fn between_cells(cells: &[Weighed], smooth: &[f64], places: &[f64]) -> Vec<f64> {
    let mut after = 1;
    places
        .iter()
        .map(|place| {
            while after + 1 < cells.len() && cells[after].x < *place {
                after += 1;
            }
            let (low, high) = (cells[after - 1].x, cells[after].x);
            let share = (place - low) / (high - low);
            smooth[after - 1] + share * (smooth[after] - smooth[after - 1])
        })
        .collect()
}

/// The weighted line's value at some of the points.
fn weighed(points: &[Weighed], wanted: Range<usize>, cut_off: f64) -> Vec<f64> {
    let n = points.len();
    let reach = REACH * cut_off;
    let scale = -PI / (ALPHA * cut_off).powi(2);
    let (mut from, mut to) = (0, 0);
    wanted
        .map(|i| {
            let here = points[i];
            while here.x - points[from].x > reach {
                from += 1;
            }
            while to < n && points[to].x - here.x <= reach {
                to += 1;
            }
            // Weighted sums of 1, d, d² and of y with them; the line's value at d = 0 is the filtered one.
            let mut s = [0.0; 5];
            for point in &points[from..to] {
                let d = point.x - here.x;
                let w = (scale * d * d).exp() * point.stretch;
                let v = point.y - here.y;
                for (sum, term) in s.iter_mut().zip([w, w * d, w * d * d, w * v, w * v * d]) {
                    *sum += term;
                }
            }
            let determinant = s[0] * s[2] - s[1] * s[1];
            here.y + (s[3] * s[2] - s[4] * s[1]) / determinant
        })
        .collect()
}

/// The filtered profile at readings round a turn, by a cut-off in undulations per revolution.
///
/// Evenly spread readings are filtered exactly, harmonic by harmonic; others by weights about each angle. Several turns
/// are one profile: readings at one angle are averaged by the filter, as the part's own form is what it keeps.
///
/// # Errors
/// A cut-off of zero, or readings too far apart for it: neighbours must be within half an undulation.
///
/// ```
/// use conewright_metrology::filter::closed;
/// let angles: Vec<f64> = (0..360).map(|i| f64::from(i).to_radians()).collect();
/// let lobes: Vec<f64> = angles.iter().map(|t| (15.0 * t).cos()).collect();
/// let smooth = closed(&angles, &lobes, 15)?;
/// assert!((smooth[0] - 0.5).abs() < 1e-9);
/// assert!(closed(&angles[..20], &lobes[..20], 15).is_err(), "most of the turn is missing");
/// # Ok::<(), conewright_metrology::filter::FilterError>(())
/// ```
pub fn closed(angles_rad: &[f64], y: &[f64], cut_off_upr: u32) -> Result<Vec<f64>, FilterError> {
    if cut_off_upr == 0 {
        return Err(FilterError::CutOff { cut_off: 0.0 });
    }
    let n = usable_points(angles_rad, y)?;
    let (angles, y) = (&angles_rad[..n], &y[..n]);
    let wave = TAU / f64::from(cut_off_upr);
    let mut order: Vec<usize> = (0..n).collect();
    let place: Vec<f64> = angles.iter().map(|a| a.rem_euclid(TAU)).collect();
    order.sort_by(|i, j| place[*i].total_cmp(&place[*j]));
    let sorted: Vec<f64> = order.iter().map(|i| place[*i]).collect();
    let across = sorted[0] + TAU - sorted[n - 1];
    let gap = sorted
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .fold(across, f64::max);
    if gap > wave / 2.0 {
        return Err(FilterError::TooCoarse {
            gap,
            allowed: wave / 2.0,
        });
    }
    let highest = (f64::from(cut_off_upr) * NOTHING_PASSES).ceil() as usize;
    let readings_a_turn = TAU * (n - 1) as f64 / (angles[n - 1] - angles[0]).abs();
    // One pass per order is worth it only while there are not more orders than weights to a reading.
    if are_even(angles) && (highest as f64) < readings_a_turn / 2.0 {
        let mut kept = Harmonics::fit(angles, y, highest).map_err(FilterError::Fit)?;
        for (k, term) in kept.terms.iter_mut().enumerate() {
            let share = transmission((k + 1) as f64 / f64::from(cut_off_upr));
            *term = term.map(|v| v * share);
        }
        let (cos, sin) = directions(angles);
        return Ok(cos.iter().zip(&sin).map(|(c, s)| kept.at(*c, *s)).collect());
    }
    let scale = -PI / (ALPHA * wave).powi(2);
    let reach = (REACH * wave).min(PI);
    // A place counted on past the turn, so that the weights may reach round.
    let at = |k: usize| sorted[k % n] + TAU * (k / n) as f64;
    let mut smooth = vec![0.0; n];
    let (mut from, mut to) = (0, 0);
    for i in n..2 * n {
        while at(i) - at(from) > reach {
            from += 1;
        }
        while to < 3 * n && at(to) - at(i) <= reach {
            to += 1;
        }
        let (mut weights, mut sum) = (0.0, 0.0);
        let own = y[order[i % n]];
        for k in from.max(1)..to.min(3 * n - 1) {
            let d = at(k) - at(i);
            let w = (scale * d * d).exp() * (at(k + 1) - at(k - 1)) / 2.0;
            weights += w;
            sum += w * (y[order[k % n]] - own);
        }
        smooth[order[i % n]] = own + sum / weights;
    }
    Ok(smooth)
}

#[cfg(test)]
mod tests;
