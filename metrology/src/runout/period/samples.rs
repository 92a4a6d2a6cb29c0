//! Readings at times, and what a turning at some frequency explains of them.

use crate::harmonics::Harmonics;
use crate::spread::squares;
use std::f64::consts::TAU;

/// Harmonics of the model.
const MODEL: usize = 6;
/// Harmonics of the model by which the last word is said: a flat or a keyway has many.
const FULL_MODEL: usize = 24;
/// A period that leaves more than this must leave scatter, and nothing smooth.
const SMOOTH_UNEXPLAINED: f64 = 0.1;

/// Readings at rising times from 0.
#[derive(Clone, Copy)]
pub(super) struct Samples<'a> {
    pub times: &'a [f64],
    pub y: &'a [f64],
}

impl Samples<'_> {
    /// The first of them.
    pub(super) fn first(&self, n: usize) -> Self {
        Self {
            times: &self.times[..n],
            y: &self.y[..n],
        }
    }

    /// The time from first to last.
    pub(super) fn span(&self) -> f64 {
        self.times.last().copied().unwrap_or(0.0)
    }

    /// A turning at this frequency as a sum of harmonics, as many as the readings carry and at most so many.
    fn model(&self, frequency: f64, most: usize) -> Option<Harmonics> {
        let angles: Vec<f64> = self.times.iter().map(|t| TAU * frequency * t).collect();
        let a_turn = self.times.len() as f64 / (frequency * self.span());
        let order = most.min((a_turn / 2.0 - 1.0) as usize).max(1);
        Harmonics::fit(&angles, self.y, order).ok()
    }

    /// The share of the variance about the mean that a turning at this frequency leaves.
    pub(super) fn unexplained(&self, frequency: f64) -> f64 {
        self.left_by(self.model(frequency, MODEL))
    }

    /// The share of the variance that a model leaves; all of it without one.
    fn left_by(&self, model: Option<Harmonics>) -> f64 {
        let whole = squares(self.y);
        model.map_or(1.0, |model| model.residual_squares / whole)
    }

    /// The best frequency near a start, where the whole time may hold `width` turns more or fewer than the start says.
    pub(super) fn refined(&self, started: f64, width: f64) -> f64 {
        let mut step = width / self.span() / 8.0;
        let mut best = (started, f64::INFINITY);
        for i in -8..=8 {
            let frequency = started + step * f64::from(i);
            if frequency > 0.0 {
                let left = self.unexplained(frequency);
                if left < best.1 {
                    best = (frequency, left);
                }
            }
        }
        // Near the best what is left is a parabola in the frequency.
        for _ in 0..4 {
            let below = self.unexplained(best.0 - step);
            let above = self.unexplained(best.0 + step);
            let bend = below + above - 2.0 * best.1;
            let moved = if bend > 0.0 {
                (step * (below - above) / (2.0 * bend)).clamp(-step, step)
            } else {
                0.0
            };
            let left = self.unexplained(best.0 + moved);
            if left <= best.1 {
                best = (best.0 + moved, left);
            }
            step /= 6.0;
        }
        best.0
    }

    /// Whether a turning of many harmonics still leaves much, and that mostly smooth: then it is no scatter, and something
    /// does not repeat. Source: J. von Neumann, Annals of Mathematical Statistics 12 (1941): the mean square of successive
    /// differences is twice the variance for independent values.
    pub(super) fn leaves_something_smooth(&self, frequency: f64) -> bool {
        let Some(model) = self.model(frequency, FULL_MODEL) else {
            return true;
        };
        if self.left_by(Some(model.clone())) < SMOOTH_UNEXPLAINED {
            return false;
        }
        let rest: Vec<f64> = self
            .times
            .iter()
            .zip(self.y)
            .map(|(t, y)| {
                let (sin, cos) = (TAU * frequency * t).sin_cos();
                y - model.at(cos, sin)
            })
            .collect();
        let steps: f64 = rest
            .windows(2)
            .map(|pair| (pair[1] - pair[0]).powi(2))
            .sum();
        steps < rest.iter().map(|r| r * r).sum::<f64>()
    }

    /// Standard uncertainty of the frequency: `σ √(6/n) / (π T √Σ k² A²)`, from the sensitivity of the model to it.
    pub(super) fn frequency_u(&self, frequency: f64) -> f64 {
        let Some(model) = self.model(frequency, MODEL) else {
            return f64::NAN;
        };
        let weighted: f64 = (1..=model.order())
            .map(|k| (k as f64 * model.amplitude(k)).powi(2))
            .sum();
        let sd = model.residual_sd().unwrap_or(0.0);
        let n = self.times.len() as f64;
        sd * (6.0 / n).sqrt() / (std::f64::consts::PI * self.span() * weighted.sqrt())
    }

    /// How far (degrees of the turn) single turns lie from a steady turning, beyond what their scatter explains.
    pub(super) fn astray_deg(&self, frequency: f64) -> f64 {
        let Some(model) = self.model(frequency, MODEL) else {
            return f64::INFINITY;
        };
        let strongest = (1..=model.order())
            .max_by(|a, b| model.amplitude(*a).total_cmp(&model.amplitude(*b)))
            .unwrap_or(1);
        let whole = model.peak_deg(strongest);
        let turns = frequency * self.span();
        let mut worst: f64 = 0.0;
        // Windows of one turn, half a turn apart.
        for half in 0..(2.0 * turns) as usize - 1 {
            let from = half as f64 / 2.0 / frequency;
            let to = from + 1.0 / frequency;
            let start = self.times.partition_point(|t| *t < from);
            let end = self.times.partition_point(|t| *t < to);
            let window = Samples {
                times: &self.times[start..end],
                y: &self.y[start..end],
            };
            let angles: Vec<f64> = window.times.iter().map(|t| TAU * frequency * t).collect();
            let order = strongest.max(2).min((angles.len().saturating_sub(1)) / 2);
            let Ok(turn) = Harmonics::fit(&angles, window.y, order) else {
                continue;
            };
            let period = 360.0 / strongest as f64;
            let off = turn.peak_deg(strongest) - whole;
            let off = (off - period * (off / period).round()).abs();
            let scatter = model.residual_sd().unwrap_or(0.0) * (2.0 / angles.len() as f64).sqrt();
            let expected = (scatter / model.amplitude(strongest)).to_degrees() / strongest as f64;
            worst = worst.max(off - 4.0 * expected);
        }
        worst
    }
}
