//! The angle from the readings themselves: the period of turning that explains them best.
//!
//! The spectrum gives candidates. A peak may be the turning itself or a harmonic of it (an oval part peaks at two a turn),
//! so each is tried as each order, with a model of several harmonics whose period is refined by least squares. A
//! turn twice as long explains everything that one turn does, so of the periods that explain about equally well the
//! shortest is taken, and the next are told as the doubt. A spindle that did not turn steadily betrays itself by the
//! phase of its strongest harmonic, turn by turn.

use super::RunoutError;
use super::spectrum::peaks;
use crate::harmonics::Harmonics;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

/// A period found in readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Period {
    /// Time of one turn.
    pub turn_s: f64,
    /// Its standard uncertainty, the readings' scatter taken as independent.
    pub turn_u_s: f64,
    /// The share of the readings' variance that it leaves.
    pub unexplained: f64,
    /// Other turn times that explain the readings nearly as well, best first: the doubt.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also_s: Vec<f64>,
}

/// Fewer readings than this tell no period.
pub(super) const LEAST_READINGS: usize = 24;
/// Readings a turn below which harmonics cannot be told from each other.
const LEAST_A_TURN: f64 = 8.0;
/// Turns below which nothing shows that the readings repeat.
const LEAST_TURNS: f64 = 1.9;
/// Orders that a peak of the spectrum is tried as.
const TRIED_AS: usize = 5;
/// Harmonics of the model.
const MODEL: usize = 6;
/// Harmonics of the model by which the last word is said: a flat or a keyway has many.
const FULL_MODEL: usize = 24;
/// A period that leaves more of the variance than this explains nothing.
const MOST_UNEXPLAINED: f64 = 0.6;
/// A period that leaves more than this must leave scatter, and nothing smooth.
const SMOOTH_UNEXPLAINED: f64 = 0.1;
/// A shorter period is taken while it leaves no more than this many times what the best leaves.
const AS_GOOD: f64 = 1.4;
/// A period is named as the doubt when it leaves up to this many times what the chosen one leaves.
const NEARLY_AS_GOOD: f64 = 2.0;
/// Shares of the variance below this are not compared: they are rounding and what the model's few harmonics miss.
const NOTHING_LEFT: f64 = 1e-5;
/// The angle may stray this far (degrees) before a spindle counts as unsteady.
const STRAY_DEG: f64 = 3.0;
/// Readings with which a period is first looked for; more are then added by doubling.
const FIRST_LOOK: usize = 2_048;

/// Finds the period of readings at rising times.
///
/// # Errors
/// Too few readings, no period that explains them, or a spindle that did not turn steadily.
pub(super) fn find(times_s: &[f64], y: &[f64]) -> Result<Period, RunoutError> {
    let n = times_s.len().min(y.len());
    let (first, last) = match (times_s.first(), times_s.last()) {
        (Some(first), Some(last)) if n >= LEAST_READINGS => (*first, *last),
        _ => {
            return Err(RunoutError::TooShort {
                points: n,
                needed: LEAST_READINGS,
            });
        }
    };
    let span = last - first;
    let mean = y.iter().sum::<f64>() / n as f64;
    let times: Vec<f64> = times_s.iter().map(|t| t - first).collect();
    let level: Vec<f64> = y.iter().map(|v| v - mean).collect();
    if level.iter().all(|v| *v == 0.0) {
        return Err(RunoutError::NoPeriod { unexplained: 1.0 });
    }
    let peaks = peaks(&times, &level);
    let (times, level) = thinned(times, level, &peaks, span);
    let samples = Samples {
        times: &times,
        y: &level,
    };
    let look = samples.first(FIRST_LOOK.min(samples.times.len()));
    let mut tried: Vec<Tried> = Vec::new();
    for peak in &peaks {
        for order in 1..=TRIED_AS {
            let started = peak / order as f64;
            let turns = started * span;
            let known = tried
                .iter()
                .any(|t| (t.started - started).abs() < 0.3 / span);
            if turns < LEAST_TURNS || n as f64 / turns < LEAST_A_TURN || known {
                continue;
            }
            let frequency = look.refined(started, 0.6);
            tried.push(Tried {
                started,
                frequency,
                unexplained: look.unexplained(frequency),
            });
        }
    }
    // Only what explains the first readings well is followed through all of them.
    let first_best = tried
        .iter()
        .map(|t| t.unexplained)
        .fold(f64::INFINITY, f64::min);
    tried.retain(|t| t.unexplained <= 3.0 * first_best.max(NOTHING_LEFT));
    for candidate in &mut tried {
        let mut seen = look.times.len();
        while seen < samples.times.len() {
            seen = (2 * seen).min(samples.times.len());
            candidate.frequency = samples.first(seen).refined(candidate.frequency, 0.2);
        }
        candidate.unexplained = samples.unexplained(candidate.frequency);
    }
    let best = tried
        .iter()
        .map(|t| t.unexplained)
        .fold(f64::INFINITY, f64::min);
    if best.is_nan() || best > MOST_UNEXPLAINED {
        return Err(RunoutError::NoPeriod {
            unexplained: best.min(1.0),
        });
    }
    let good_enough = best.max(NOTHING_LEFT) * AS_GOOD;
    let chosen = tried
        .iter()
        .filter(|t| t.unexplained <= good_enough && t.frequency * span >= LEAST_TURNS)
        .max_by(|a, b| a.frequency.total_cmp(&b.frequency))
        .ok_or(RunoutError::NoPeriod { unexplained: best })?;
    if samples.leaves_something_smooth(chosen.frequency) {
        return Err(RunoutError::NoPeriod {
            unexplained: chosen.unexplained,
        });
    }
    let astray_deg = samples.astray_deg(chosen.frequency);
    if astray_deg > STRAY_DEG {
        return Err(RunoutError::Unsteady { astray_deg });
    }
    let nearly = chosen.unexplained.max(NOTHING_LEFT) * NEARLY_AS_GOOD;
    let mut also: Vec<&Tried> = tried
        .iter()
        .filter(|t| t.unexplained <= nearly)
        // A longer turn always explains as much; only one that explains more is a doubt.
        .filter(|t| t.frequency > chosen.frequency || t.unexplained < chosen.unexplained / 1.1)
        .filter(|t| (t.frequency / chosen.frequency - 1.0).abs() > 0.05)
        .collect();
    also.sort_by(|a, b| a.unexplained.total_cmp(&b.unexplained));
    let turn_s = 1.0 / chosen.frequency;
    Ok(Period {
        turn_s,
        turn_u_s: turn_s * turn_s * samples.frequency_u(chosen.frequency),
        unexplained: chosen.unexplained,
        also_s: also.iter().map(|t| 1.0 / t.frequency).collect(),
    })
}

/// A frequency that was tried, refined.
struct Tried {
    started: f64,
    frequency: f64,
    unexplained: f64,
}

#[derive(Clone, Copy)]
struct Samples<'a> {
    times: &'a [f64],
    y: &'a [f64],
}

impl Samples<'_> {
    fn first(&self, n: usize) -> Self {
        Self {
            times: &self.times[..n],
            y: &self.y[..n],
        }
    }

    fn span(&self) -> f64 {
        self.times.last().copied().unwrap_or(0.0)
    }

    fn model(&self, frequency: f64, most: usize) -> Option<Harmonics> {
        let angles: Vec<f64> = self.times.iter().map(|t| TAU * frequency * t).collect();
        let a_turn = self.times.len() as f64 / (frequency * self.span());
        let order = most.min((a_turn / 2.0 - 1.0) as usize).max(1);
        Harmonics::fit(&angles, self.y, order).ok()
    }

    /// The share of the variance about the mean that a turning at this frequency leaves.
    fn unexplained(&self, frequency: f64) -> f64 {
        self.left_by(self.model(frequency, MODEL))
    }

    fn left_by(&self, model: Option<Harmonics>) -> f64 {
        let mean = self.y.iter().sum::<f64>() / self.y.len() as f64;
        let whole: f64 = self.y.iter().map(|v| (v - mean).powi(2)).sum();
        model.map_or(1.0, |model| model.residual_squares / whole)
    }

    /// The best frequency near a start, where the whole time may hold `width` turns more or fewer than the start says.
    fn refined(&self, started: f64, width: f64) -> f64 {
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
    fn leaves_something_smooth(&self, frequency: f64) -> bool {
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
    fn frequency_u(&self, frequency: f64) -> f64 {
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
    fn astray_deg(&self, frequency: f64) -> f64 {
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

/// Readings averaged in blocks where they come much faster than the quickest peak needs.
fn thinned(times: Vec<f64>, y: Vec<f64>, peaks: &[f64], span: f64) -> (Vec<f64>, Vec<f64>) {
    let quickest = peaks.iter().copied().fold(0.0, f64::max);
    let a_wave = times.len() as f64 / (quickest * span);
    let block = (a_wave / 64.0) as usize;
    if block < 2 {
        return (times, y);
    }
    let mean = |v: &[f64]| -> Vec<f64> {
        v.chunks(block)
            .map(|c| c.iter().sum::<f64>() / c.len() as f64)
            .collect()
    };
    let (thin_times, thin_y) = (mean(&times), mean(&y));
    let start = thin_times[0];
    (thin_times.iter().map(|t| t - start).collect(), thin_y)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noise of roughly ±1, the same in every run.
    fn noise(i: usize) -> f64 {
        let a = (i as f64 * 0.754_877_666_246_692_8).fract() - 0.5;
        let b = (i as f64 * 0.569_840_290_998_053_3).fract() - 0.5;
        2.0 * (a + b)
    }

    fn readings(
        n: usize,
        rate: f64,
        turn_s: f64,
        form: impl Fn(f64) -> f64,
    ) -> (Vec<f64>, Vec<f64>) {
        (0..n)
            .map(|i| {
                let t = 100.0 + i as f64 / rate;
                (t, form(TAU * (t - 100.0) / turn_s))
            })
            .unzip()
    }

    #[test]
    fn periods_of_many_kinds_are_found() {
        type Form = fn(f64) -> f64;
        let forms: [(&str, Form); 4] = [
            ("off centre", |t| 5e-3 * t.cos()),
            ("oval, a little off centre", |t| {
                5e-3 * (2.0 * t).cos() + 1e-3 * (t - 1.0).cos()
            }),
            ("three lobes, off centre", |t| {
                3e-3 * (3.0 * t).cos() + 1e-3 * t.sin()
            }),
            ("a flat", |t| {
                if (t.rem_euclid(TAU) - 2.0).abs() < 0.4 {
                    -4e-3
                } else {
                    0.0
                }
            }),
        ];
        for (name, form) in forms {
            let sizes = [
                (60, 10.0, 1.2),
                (400, 20.0, 3.7),
                (1_500, 100.0, 2.11),
                (9_000, 1_000.0, 0.31),
            ];
            // The long ones once: they differ from the short ones in how many readings are looked at, not in form.
            let tried = if name == "off centre" { 4 } else { 2 };
            for (n, rate, turn_s) in sizes.into_iter().take(tried) {
                let (times, mut y) = readings(n, rate, turn_s, form);
                y.iter_mut()
                    .enumerate()
                    .for_each(|(i, y)| *y += 1e-4 * noise(i));
                let found = find(&times, &y).unwrap_or_else(|e| panic!("{name}, {turn_s} s: {e}"));
                let off = (found.turn_s - turn_s) / turn_s;
                assert!(off.abs() < 2e-3, "{name}, {turn_s} s: {found:?}");
            }
        }
    }

    #[test]
    fn a_hand_turned_spindle_is_refused() {
        // A tenth quicker at the end than at the start.
        let times: Vec<f64> = (0..600).map(|i| f64::from(i) * 0.05).collect();
        let quickening = |t: &f64| (TAU * (t / 5.0 + 0.05 * t * t / 150.0)).cos() * 5e-3;
        let y: Vec<f64> = times.iter().map(quickening).collect();
        assert!(
            matches!(find(&times, &y), Err(RunoutError::Unsteady { .. })),
            "{:?}",
            find(&times, &y)
        );
        // By jerks: a turn of very uneven speed each time.
        let jerky =
            |t: &f64| (TAU * t / 5.0 + 1.5 * (t * 0.9).sin() + 0.8 * (t * 0.37).cos()).cos() * 5e-3;
        let y: Vec<f64> = times.iter().map(jerky).collect();
        let refused = find(&times, &y).unwrap_err();
        assert!(
            refused.to_string().contains("mark clock positions"),
            "{refused}"
        );
        // Nothing but noise.
        let y: Vec<f64> = (0..600).map(noise).collect();
        assert!(matches!(
            find(&times, &y),
            Err(RunoutError::NoPeriod { .. })
        ));
        assert!(matches!(
            find(&times[..10], &y[..10]),
            Err(RunoutError::TooShort { points: 10, .. })
        ));
        assert!(matches!(
            find(&times, &[1.0; 600]),
            Err(RunoutError::NoPeriod { .. })
        ));
    }

    #[test]
    fn what_cannot_be_told_is_told_as_doubt() {
        // Oval and off centre by no more than the noise: half a turn explains nearly as much as a turn.
        let (times, mut y) = readings(600, 20.0, 4.0, |t| 5e-3 * (2.0 * t).cos() + 2e-4 * t.cos());
        y.iter_mut()
            .enumerate()
            .for_each(|(i, y)| *y += 3e-4 * noise(i));
        let found = find(&times, &y).unwrap();
        let both = std::iter::once(found.turn_s).chain(found.also_s.iter().copied());
        assert!(both.clone().any(|s| (s - 4.0).abs() < 0.01), "{found:?}");
        assert!(both.clone().any(|s| (s - 2.0).abs() < 0.01), "{found:?}");
    }
}
