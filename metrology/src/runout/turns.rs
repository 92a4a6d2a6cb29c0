//! What repeats from turn to turn and what does not.

use super::angles::Angled;
use crate::fit::{directions, limacon_of_directions};
use crate::spread::{mean, range};
use std::f64::consts::TAU;

/// Most angles at which the turns are compared.
const MOST_PLACES: usize = 720;

/// Synchronous and asynchronous error motion of readings over several turns, mm, as ISO 230-7 defines them: peak to valley
/// of the turns' mean without its first harmonic, and the widest spread between turns at one angle. `None` for a single
/// turn, or too few readings in one.
///
/// The turns are compared at the angles that were read in the first; where another turn was read between them, in
/// proportion between its neighbours.
pub(super) fn split(angled: &Angled) -> Option<(f64, f64)> {
    if angled.turns < 2 {
        return None;
    }
    let rising = angled.angles.last()? >= angled.angles.first()?;
    let way = if rising { 1.0 } else { -1.0 };
    let mut readings: Vec<(f64, f64)> = angled
        .angles
        .iter()
        .zip(&angled.y)
        .map(|(a, y)| (way * a, *y))
        .collect();
    readings.sort_by(|p, q| p.0.total_cmp(&q.0));
    let (start, end) = (readings.first()?.0, readings.last()?.0);
    let mut first: Vec<f64> = readings
        .iter()
        .map(|(a, _)| *a)
        .take_while(|a| *a < start + TAU - 1e-9)
        .collect();
    let every = first.len().div_ceil(MOST_PLACES);
    first = first.into_iter().step_by(every.max(1)).collect();
    let at = |angle: f64| -> Option<f64> {
        const HAIR: f64 = 1e-9;
        if angle < start - HAIR || angle > end + HAIR {
            return None;
        }
        let after = readings.partition_point(|(a, _)| *a < angle);
        let next = readings.get(after).or(readings.last())?;
        let before = readings.get(after.saturating_sub(1))?;
        let way = next.0 - before.0;
        let share = if way > 0.0 {
            ((angle - before.0) / way).clamp(0.0, 1.0)
        } else {
            0.0
        };
        Some(before.1 + share * (next.1 - before.1))
    };
    let mut places = Vec::with_capacity(first.len());
    let mut means = Vec::with_capacity(first.len());
    let mut widest: f64 = 0.0;
    for angle in first {
        let values: Vec<f64> = (0..angled.turns)
            .filter_map(|turn| at(angle + TAU * turn as f64))
            .collect();
        if values.len() < 2 {
            continue;
        }
        widest = widest.max(range(values.iter().copied()));
        places.push(angle);
        means.push(mean(&values));
    }
    let (cos, sin) = directions(&places);
    let circle = limacon_of_directions(&cos, &sin, &means).ok()?;
    let rest = (0..means.len()).map(|i| means[i] - circle.at(cos[i], sin[i]));
    Some((range(rest), widest))
}
