//! How often the stated 95 % intervals hold the truth, over simulated steps of which the truth is known.

mod dial;
mod runout;
mod size;
mod sweep;
mod zero;

use crate::chance::Chance;
use std::collections::BTreeMap;

/// Thousands of simulated steps of one kind.
pub struct Case {
    /// The step.
    pub step: &'static str,
    /// What is simulated, in a few words.
    pub what: &'static str,
    /// Whether a run takes so long that a test makes fewer of them.
    pub costly: bool,
    /// One simulated step: for each interval that it states, whether that holds the truth.
    run: fn(&mut Chance) -> Vec<Held>,
}

/// Whether one interval held the truth.
pub struct Held {
    interval: &'static str,
    held: bool,
}

impl Held {
    /// A value with its expanded uncertainty. None states nothing and is not counted.
    fn within(
        interval: &'static str,
        value: f64,
        expanded: Option<f64>,
        truth: f64,
    ) -> Option<Self> {
        expanded.map(|u| Self {
            interval,
            held: (value - truth).abs() <= u,
        })
    }

    /// An interval by its limits.
    fn between(interval: &'static str, limits: Option<[f64; 2]>, truth: f64) -> Option<Self> {
        limits.map(|[low, high]| Self {
            interval,
            held: low <= truth && truth <= high,
        })
    }
}

/// How often one interval of a case held the truth.
pub struct Coverage {
    /// The step.
    pub step: &'static str,
    /// The case.
    pub what: &'static str,
    /// The interval.
    pub interval: &'static str,
    /// How many intervals were stated.
    pub stated: usize,
    /// How many of them held the truth.
    pub held: usize,
}

impl Coverage {
    /// Held of stated, per cent.
    #[must_use]
    pub fn percent(&self) -> f64 {
        100.0 * self.held as f64 / self.stated as f64
    }
}

/// Every case, in the order of the work.
#[must_use]
pub fn cases() -> Vec<Case> {
    let mut cases = Vec::new();
    cases.extend(zero::cases());
    cases.extend(sweep::cases());
    cases.extend(runout::cases());
    cases.extend(size::cases());
    cases.extend(dial::cases());
    cases
}

/// Simulates a case so many times.
#[must_use]
pub fn simulate(case: &Case, runs: usize, seed: u64) -> Vec<Coverage> {
    let mut chance = Chance::seeded(seed);
    let mut counts: BTreeMap<&'static str, (usize, usize)> = BTreeMap::new();
    for _ in 0..runs {
        for Held { interval, held } in (case.run)(&mut chance) {
            let (stated, holding) = counts.entry(interval).or_default();
            *stated += 1;
            *holding += usize::from(held);
        }
    }
    counts
        .into_iter()
        .map(|(interval, (stated, held))| Coverage {
            step: case.step,
            what: case.what,
            interval,
            stated,
            held,
        })
        .collect()
}
