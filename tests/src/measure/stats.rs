//! Medians and percentiles of times.

use std::time::{Duration, Instant};

/// Sorted times, ms.
#[derive(Debug, Clone, Default)]
pub(super) struct Times(Vec<f64>);

impl Times {
    pub(super) fn push(&mut self, took: Duration) {
        self.0.push(took.as_secs_f64() * 1e3);
    }

    /// The time that this share of them does not exceed: nearest rank.
    pub(super) fn at(&self, share: f64) -> f64 {
        let mut sorted = self.0.clone();
        sorted.sort_by(f64::total_cmp);
        let rank = (share * sorted.len() as f64).ceil() as usize;
        sorted[rank.clamp(1, sorted.len()) - 1]
    }

    pub(super) fn median(&self) -> f64 {
        self.at(0.5)
    }
}

impl FromIterator<f64> for Times {
    fn from_iter<I: IntoIterator<Item = f64>>(ms: I) -> Self {
        Self(ms.into_iter().collect())
    }
}

/// The time that some work takes, and what it gives.
pub(super) fn timed<T>(work: impl FnOnce() -> T) -> (Duration, T) {
    let begun = Instant::now();
    let done = work();
    (begun.elapsed(), done)
}

/// Two pieces of work in turn, so many times: what slows the machine for a while slows both.
pub(super) fn in_turn(
    rounds: usize,
    mut ours: impl FnMut(),
    mut other: impl FnMut(),
) -> [Times; 2] {
    let mut times = [Times::default(), Times::default()];
    for _ in 0..rounds {
        times[0].push(timed(&mut ours).0);
        times[1].push(timed(&mut other).0);
    }
    times
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_percentile_is_one_of_the_times() {
        let times: Times = (1..=100).rev().map(f64::from).collect();
        assert_eq!(
            [0.0, 0.5, 0.99, 1.0].map(|share| times.at(share)),
            [1.0, 50.0, 99.0, 100.0]
        );
        let one: Times = [7.0].into_iter().collect();
        assert_eq!((one.median(), one.at(0.99)), (7.0, 7.0));
    }
}
