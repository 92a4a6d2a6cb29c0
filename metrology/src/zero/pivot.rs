//! Where the set-up turns, learned from what taps did.
//!
//! A tap turns the set-up by δ about a point at p and slides it a little: `Δr(x) = δ(x − p) + s`. Between two rounds the
//! line's reading changes by Δa at A and Δb at B. Both are noisy, so the direction (Δa : Δb) comes from a total least
//! squares fit through the origin, and `p = L·Δa/(Δa − Δb)`.

use super::Pivot;
use super::round::RoundLine;

/// The slide that a tap is allowed beside its turn, as a share of its movement: common practice with a light mallet or a
/// screw, and the least doubt that one tap leaves about where it turned.
const SLIDE: f64 = 0.02;

/// A turn counts only when it is larger than this many standard uncertainties: less tells no direction.
const SIGNIFICANT: f64 = 3.0;

/// What one tap did at the two outer stations, mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Change {
    pub at_a: f64,
    pub at_b: f64,
    /// Standard uncertainty of each.
    pub u: f64,
    /// The rounds before and after.
    pub rounds: [u32; 2],
}

impl Change {
    pub(super) fn between(
        before: &RoundLine<'_>,
        after: &RoundLine<'_>,
        span: [f64; 2],
        u_mark: f64,
    ) -> Self {
        let change = |x: f64| after.reading_at(x) - before.reading_at(x);
        Self {
            at_a: change(span[0]),
            at_b: change(span[1]),
            u: u_mark * 2.0_f64.sqrt(),
            rounds: [before.round, after.round],
        }
    }
}

/// The pivot from the changes of one setting; `None` when no turn stands out of the noise.
pub(super) fn learn(changes: &[Change], span: [f64; 2]) -> Option<Pivot> {
    let turning: Vec<&Change> = changes
        .iter()
        .filter(|c| (c.at_a - c.at_b).abs() > SIGNIFICANT * c.u * 2.0_f64.sqrt())
        .collect();
    if turning.is_empty() {
        return None;
    }
    // Scatter matrix of the changes, each weighted by its variance: its main axis is the direction.
    let [mut aa, mut ab, mut bb] = [0.0; 3];
    for change in &turning {
        let weight = 1.0 / change.u.max(f64::MIN_POSITIVE).powi(2);
        aa += weight * change.at_a * change.at_a;
        ab += weight * change.at_a * change.at_b;
        bb += weight * change.at_b * change.at_b;
    }
    let (sin, cos) = (0.5 * (2.0 * ab).atan2(aa - bb)).sin_cos();
    let length = span[1] - span[0];
    let turn = cos - sin;
    if turn == 0.0 {
        return None;
    }
    let across: f64 = turning
        .iter()
        .map(|c| ((c.at_b * cos - c.at_a * sin) / c.u.max(f64::MIN_POSITIVE)).powi(2))
        .sum();
    let along = aa * cos * cos + 2.0 * ab * sin * cos + bb * sin * sin;
    let degrees_of_freedom = (turning.len() - 1) as f64;
    // The scatter about the direction, where several taps show it, and never less than the marks' own.
    let birge = if turning.len() > 1 {
        (across / degrees_of_freedom).max(1.0)
    } else {
        1.0
    };
    let u_direction = (birge / along + SLIDE * SLIDE / turning.len() as f64).sqrt();
    let mut rounds: Vec<u32> = turning.iter().flat_map(|c| c.rounds).collect();
    rounds.dedup();
    Some(Pivot {
        position_mm: span[0] + length * cos / turn,
        u_mm: Some(length * u_direction / (turn * turn)),
        from_rounds: rounds,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(turn: f64, pivot: f64, slide: f64) -> Change {
        Change {
            at_a: -turn * pivot + slide,
            at_b: turn * (80.0 - pivot) + slide,
            u: 1e-4,
            rounds: [1, 2],
        }
    }

    #[test]
    fn one_clean_tap_tells_the_pivot_anywhere() {
        for p in [-40.0, 0.0, 12.5, 40.0, 80.0, 120.0] {
            for turn in [2e-3, -2e-3] {
                let pivot = learn(&[change(turn, p, 0.0)], [0.0, 80.0]).unwrap();
                assert!((pivot.position_mm - p).abs() < 1e-9, "{p}: {pivot:?}");
            }
        }
    }

    #[test]
    fn a_mere_slide_or_no_movement_tells_nothing() {
        assert_eq!(learn(&[], [0.0, 80.0]), None);
        assert_eq!(learn(&[change(0.0, 0.0, 0.05)], [0.0, 80.0]), None);
        assert_eq!(learn(&[change(1e-6, 20.0, 0.0)], [0.0, 80.0]), None);
    }

    #[test]
    fn several_taps_average_their_slides() {
        let taps = [
            change(3e-3, 20.0, 2e-3),
            change(-2e-3, 20.0, 2e-3),
            change(1e-3, 20.0, -1e-3),
        ];
        let pivot = learn(&taps, [0.0, 80.0]).unwrap();
        assert!(
            (pivot.position_mm - 20.0).abs() < 2.0 * pivot.u_mm.unwrap(),
            "{pivot:?}"
        );
        assert!((pivot.position_mm - 20.0).abs() < 1.0, "{pivot:?}");
    }
}
