//! Random numbers that a seed decides for good.

/// SplitMix64: the next state is the last one plus a constant, and the output mixes its bits.
///
/// Kept here because a seed in a test or in the demo must mean the same set-up for ever, which random
/// number libraries do not promise across versions. Source: Steele, Lea and Flood, "Fast splittable
/// pseudorandom number generators", OOPSLA 2014. Not for secrets.
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    /// A generator; every seed is good.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// 64 random bits.
    pub const fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in [0, 1).
    pub fn unit(&mut self) -> f64 {
        // 53 bits are what a double holds.
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Uniform in [low, high).
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Normal with mean 0 and standard deviation 1, by Box and Muller.
    pub fn normal(&mut self) -> f64 {
        // 1 - u is in (0, 1], so the logarithm is finite.
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// 1 or -1, evenly.
    pub const fn sign(&mut self) -> f64 {
        if self.bits() >> 63 == 0 { 1.0 } else { -1.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_sequence() {
        // The five outputs for seed 1234567 that implementations are commonly compared with (quoted from
        // memory of that published list).
        let mut random = Random::new(1_234_567);
        let got: Vec<u64> = (0..5).map(|_| random.bits()).collect();
        assert_eq!(
            got,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
    }

    #[test]
    fn normal_has_the_moments_of_a_normal() {
        let mut random = Random::new(7);
        let n = 100_000;
        let (mut sum, mut squares, mut fourth) = (0.0, 0.0, 0.0);
        for _ in 0..n {
            let x = random.normal();
            sum += x;
            squares += x * x;
            fourth += x.powi(4);
        }
        let n = f64::from(n);
        // Five standard errors: 1/sqrt(n), sqrt(2/n), sqrt(96/n).
        assert!((sum / n).abs() < 5.0 / n.sqrt());
        assert!((squares / n - 1.0).abs() < 5.0 * (2.0 / n).sqrt());
        assert!((fourth / n - 3.0).abs() < 5.0 * (96.0 / n).sqrt());
    }
}
