//! Seeded chance for simulations: the same run every time.

/// SplitMix64 of G. L. Steele, D. Lea and C. H. Flood, *Fast splittable pseudorandom number generators* (2014): small, and good
/// enough for thousands of simulated steps.
pub struct Chance(u64);

impl Chance {
    /// A run of chance; equal seeds give equal runs.
    #[must_use]
    pub fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly among `0..n`; the bias of 2⁻⁶⁴·n does not matter here.
    pub fn below(&mut self, n: usize) -> usize {
        ((u128::from(self.next()) * n as u128) >> 64) as usize
    }

    /// Evenly between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    /// Normal about zero, by Box and Muller.
    pub fn normal(&mut self, sd: f64) -> f64 {
        let radius = (-2.0 * self.between(f64::MIN_POSITIVE, 1.0).ln()).sqrt();
        sd * radius * self.between(0.0, std::f64::consts::TAU).cos()
    }
}
