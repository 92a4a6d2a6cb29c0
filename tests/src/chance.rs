//! Seeded chance for simulations: the same run every time.

use metrology::random::Random;

/// A run of chance.
pub struct Chance(Random);

impl Chance {
    /// Equal seeds give equal runs.
    #[must_use]
    pub const fn seeded(seed: u64) -> Self {
        Self(Random::new(seed))
    }

    /// Evenly among `0..n`.
    pub fn below(&mut self, n: usize) -> usize {
        self.0.below(n)
    }

    /// Evenly between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0.between(low, high)
    }

    /// Normal about zero, by Box and Muller. Not [`Random::normal`], which would give other simulated steps, and so other
    /// figures than `docs/uncertainty.md` states.
    pub fn normal(&mut self, sd: f64) -> f64 {
        let radius = (-2.0 * self.between(f64::MIN_POSITIVE, 1.0).ln()).sqrt();
        sd * radius * self.between(0.0, std::f64::consts::TAU).cos()
    }
}
