//! The angle from the readings themselves: the period of turning that explains them best.
//!
//! The spectrum gives candidates. A peak may be the turning itself or a harmonic of it (an oval part peaks at two a turn),
//! so each is tried as each order, with a model of several harmonics whose period is refined by least squares. A
//! turn twice as long explains everything that one turn does, so of the periods that explain about equally well the
//! shortest is taken, and the next are told as the doubt. A spindle that did not turn steadily betrays itself by the
//! phase of its strongest harmonic, turn by turn.

mod samples;
#[cfg(test)]
mod tests;

use super::RunoutError;
use super::spectrum::peaks;
use crate::spread::mean;
use samples::Samples;
use serde::{Deserialize, Serialize};

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
/// A period that leaves more of the variance than this explains nothing.
const MOST_UNEXPLAINED: f64 = 0.6;
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
    let (times, level) = levelled(times_s, y)?;
    let readings = times.len();
    let span = times[readings - 1];
    let peaks = peaks(&times, &level);
    let (times, level) = thinned(times, level, &peaks, span);
    let samples = Samples {
        times: &times,
        y: &level,
    };
    let look = samples.first(FIRST_LOOK.min(samples.times.len()));
    let tried = followed(samples, look, tried(look, &peaks, span, readings));
    let chosen = chosen(&tried, span)?;
    if samples.leaves_something_smooth(chosen.frequency) {
        return Err(RunoutError::NoPeriod {
            unexplained: chosen.unexplained,
        });
    }
    let astray_deg = samples.astray_deg(chosen.frequency);
    if astray_deg > STRAY_DEG {
        return Err(RunoutError::Unsteady { astray_deg });
    }
    let turn_s = 1.0 / chosen.frequency;
    Ok(Period {
        turn_s,
        turn_u_s: turn_s * turn_s * samples.frequency_u(chosen.frequency),
        unexplained: chosen.unexplained,
        also_s: doubts(&tried, chosen),
    })
}

/// The readings about their mean, at times from 0.
fn levelled(times_s: &[f64], y: &[f64]) -> Result<(Vec<f64>, Vec<f64>), RunoutError> {
    let points = times_s.len().min(y.len());
    let first = match times_s.first() {
        Some(first) if points >= LEAST_READINGS => *first,
        _ => {
            return Err(RunoutError::TooShort {
                points,
                needed: LEAST_READINGS,
            });
        }
    };
    let mean = mean(y);
    let level: Vec<f64> = y.iter().map(|v| v - mean).collect();
    if level.iter().all(|v| *v == 0.0) {
        return Err(RunoutError::NoPeriod { unexplained: 1.0 });
    }
    Ok((times_s.iter().map(|t| t - first).collect(), level))
}

/// A frequency that was tried, refined.
struct Tried {
    started: f64,
    frequency: f64,
    unexplained: f64,
}

/// The frequencies that the peaks may stand for, each peak as each order, refined by the first readings.
fn tried(look: Samples<'_>, peaks: &[f64], span: f64, readings: usize) -> Vec<Tried> {
    let mut tried: Vec<Tried> = Vec::new();
    for peak in peaks {
        for order in 1..=TRIED_AS {
            let started = peak / order as f64;
            let turns = started * span;
            let known = tried
                .iter()
                .any(|t| (t.started - started).abs() < 0.3 / span);
            if turns < LEAST_TURNS || readings as f64 / turns < LEAST_A_TURN || known {
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
    tried
}

/// What explains the first readings well, refined by more and more of them, at last by all.
fn followed(samples: Samples<'_>, look: Samples<'_>, mut tried: Vec<Tried>) -> Vec<Tried> {
    let first_best = least_unexplained(&tried);
    tried.retain(|t| t.unexplained <= 3.0 * first_best.max(NOTHING_LEFT));
    for candidate in &mut tried {
        let mut seen = look.times.len();
        while seen < samples.times.len() {
            seen = (2 * seen).min(samples.times.len());
            candidate.frequency = samples.first(seen).refined(candidate.frequency, 0.2);
        }
        candidate.unexplained = samples.unexplained(candidate.frequency);
    }
    tried
}

/// The least that any of them leaves; infinite when none was tried.
fn least_unexplained(tried: &[Tried]) -> f64 {
    let left = tried.iter().map(|t| t.unexplained);
    left.fold(f64::INFINITY, f64::min)
}

/// The shortest period of those that explain about equally well.
fn chosen(tried: &[Tried], span: f64) -> Result<&Tried, RunoutError> {
    let best = least_unexplained(tried);
    if best.is_nan() || best > MOST_UNEXPLAINED {
        return Err(RunoutError::NoPeriod {
            unexplained: best.min(1.0),
        });
    }
    let good_enough = best.max(NOTHING_LEFT) * AS_GOOD;
    tried
        .iter()
        .filter(|t| t.unexplained <= good_enough && t.frequency * span >= LEAST_TURNS)
        .max_by(|a, b| a.frequency.total_cmp(&b.frequency))
        .ok_or(RunoutError::NoPeriod { unexplained: best })
}

/// Other turn times that explain the readings nearly as well, best first.
fn doubts(tried: &[Tried], chosen: &Tried) -> Vec<f64> {
    let nearly = chosen.unexplained.max(NOTHING_LEFT) * NEARLY_AS_GOOD;
    let mut also: Vec<&Tried> = tried
        .iter()
        .filter(|t| t.unexplained <= nearly)
        // A longer turn always explains as much; only one that explains more is a doubt.
        .filter(|t| t.frequency > chosen.frequency || t.unexplained < chosen.unexplained / 1.1)
        .filter(|t| (t.frequency / chosen.frequency - 1.0).abs() > 0.05)
        .collect();
    also.sort_by(|a, b| a.unexplained.total_cmp(&b.unexplained));
    also.iter().map(|t| 1.0 / t.frequency).collect()
}

/// Readings averaged in blocks where they come much faster than the quickest peak needs.
fn thinned(times: Vec<f64>, y: Vec<f64>, peaks: &[f64], span: f64) -> (Vec<f64>, Vec<f64>) {
    let quickest = peaks.iter().copied().fold(0.0, f64::max);
    let a_wave = times.len() as f64 / (quickest * span);
    let block = (a_wave / 64.0) as usize;
    if block < 2 {
        return (times, y);
    }
    let means = |v: &[f64]| -> Vec<f64> { v.chunks(block).map(mean).collect() };
    let (thin_times, thin_y) = (means(&times), means(&y));
    let start = thin_times[0];
    (thin_times.iter().map(|t| t - start).collect(), thin_y)
}
