//! Numbers that look like chance, from which parts are drawn.

use std::f64::consts::TAU;

/// A fixed run of numbers that look like chance, the same for all readings: a record is computed again to the last digit.
/// SplitMix64 of G. L. Steele, D. Lea and C. H. Flood, *Fast splittable pseudorandom number generators* (2014).
pub(super) struct Chance(u64);

impl Chance {
    /// The run from its start.
    pub(super) const fn new() -> Self {
        Self(1)
    }

    /// Evenly from 0 to 1.
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Standard normal, by Box and Muller.
    pub(super) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.next()).ln()).sqrt();
        radius * (TAU * self.next()).cos()
    }

    /// χ² of so many degrees of freedom: the sum of as many squares; of many, by E. B. Wilson and M. M. Hilferty, PNAS 17
    /// (1931), 684–688.
    pub(super) fn chi_square(&mut self, dof: f64) -> f64 {
        if dof <= 30.0 {
            return (0..dof.round().max(1.0) as usize)
                .map(|_| self.normal().powi(2))
                .sum();
        }
        let spread = 2.0 / (9.0 * dof);
        dof * (1.0 - spread + self.normal() * spread.sqrt()).powi(3)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fixed_run_is_of_the_distributions_it_stands_for() {
        let mut chance = Chance::new();
        let n = 20_000;
        let squares: f64 = (0..n).map(|_| chance.normal().powi(2)).sum();
        assert!((squares / f64::from(n) - 1.0).abs() < 0.03);
        for dof in [4.0, 60.0] {
            let sum: f64 = (0..n).map(|_| chance.chi_square(dof)).sum();
            assert!((sum / f64::from(n) / dof - 1.0).abs() < 0.03, "{dof}");
        }
    }
}
