//! A drawn part looked at all round: its run-out and its roundness.

use crate::fit::{directions, minimum_zone};
use crate::harmonics::USUAL_ORDER;
use std::f64::consts::TAU;

/// Places round a turn at which each part is looked at.
const PLACES: usize = 240;

/// The places round a turn at which parts are looked at.
pub(super) struct Turn {
    cos: Vec<f64>,
    sin: Vec<f64>,
    /// cos θ, sin θ, cos 2θ, … at each place.
    waves: Vec<f64>,
}

impl Turn {
    pub(super) fn new() -> Self {
        let places: Vec<f64> = (0..PLACES)
            .map(|i| TAU * i as f64 / PLACES as f64)
            .collect();
        let (cos, sin) = directions(&places);
        let waves = waves(&cos, &sin);
        Self { cos, sin, waves }
    }

    /// The height of a part at each place, its mean aside.
    pub(super) fn profile(&self, part: &[f64]) -> Vec<f64> {
        (self.waves.chunks(2 * USUAL_ORDER))
            .map(|wave| wave.iter().zip(&part[1..]).map(|(w, p)| w * p).sum())
            .collect()
    }

    /// By how much a peak near a place is higher than the place: by the parabola through it and its neighbours.
    fn beyond(around: [f64; 3]) -> f64 {
        let [before, at, after] = around;
        let bend = 2.0 * at - before - after;
        if at < before || at < after || bend <= 0.0 {
            return 0.0;
        }
        (after - before).powi(2) / (8.0 * bend)
    }

    /// Peak to valley, between the places too.
    pub(super) fn range(&self, y: &[f64]) -> f64 {
        let peak = |sign: f64| {
            let at = |i: usize| sign * y[i % PLACES];
            let highest = (0..PLACES).max_by(|i, j| at(*i).total_cmp(&at(*j)));
            let i = highest.unwrap_or(0) + PLACES;
            at(i) + Self::beyond([at(i - 1), at(i), at(i + 1)])
        };
        peak(1.0) + peak(-1.0)
    }

    /// Width of the minimum zone, between the places too.
    pub(super) fn zone(&self, y: &[f64]) -> f64 {
        let Ok(ring) = minimum_zone::limacon_of_directions(&self.cos, &self.sin, y) else {
            return self.range(y);
        };
        let [a, b] = ring.centre;
        let beyond = (0..ring.contacts.len()).map(|contact| {
            let sign = if ring.on_outer[contact] { 1.0 } else { -1.0 };
            let around = [PLACES - 1, 0, 1].map(|step| {
                let i = (ring.contacts[contact] + step) % PLACES;
                sign * (y[i] - a * self.cos[i] - b * self.sin[i])
            });
            ring.weights[contact] * Self::beyond(around)
        });
        ring.width + beyond.sum::<f64>()
    }
}

/// cos θ, sin θ, cos 2θ, … at each place.
fn waves(cos: &[f64], sin: &[f64]) -> Vec<f64> {
    let mut waves = Vec::with_capacity(cos.len() * 2 * USUAL_ORDER);
    for (c, s) in cos.iter().zip(sin) {
        let (mut ck, mut sk) = (1.0, 0.0);
        for _ in 0..USUAL_ORDER {
            (ck, sk) = (ck * c - sk * s, sk * c + ck * s);
            waves.extend([ck, sk]);
        }
    }
    waves
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The highest of 15 lobes lies between the places; the parabola finds it.
    #[test]
    fn extremes_between_the_places_are_found() {
        let turn = Turn::new();
        for phase in [0.0_f64, 0.1, 0.2, 0.35] {
            let mut part = vec![0.0; 2 * USUAL_ORDER + 1];
            part[2 * USUAL_ORDER - 1] = phase.cos();
            part[2 * USUAL_ORDER] = phase.sin();
            let y = turn.profile(&part);
            assert!((turn.range(&y) - 2.0).abs() < 2e-3, "{phase}");
            assert!((turn.zone(&y) - 2.0).abs() < 2e-3, "{phase}");
        }
    }
}
