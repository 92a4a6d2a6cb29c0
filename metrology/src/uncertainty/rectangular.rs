//! The half width that holds a share of a sum of limits of error and normal scatter.
//!
//! A sum with few rectangular errors has shorter tails than the normal distribution: a single one is held to 95 % by 1.645
//! standard uncertainties, two equal ones by 1.902, and 1.960 would hold them too often. The sum's distribution is
//! taken as it is, from its characteristic function: for a symmetric one `P(|X| ≤ U) = (2/π) ∫ sin(tU)/t · φ(t) dt`.
//! Source: J. Gil-Pelaez, Biometrika 38 (1951), 481–482; JCGM 101 for taking distributions as they are.

use std::f64::consts::PI;

/// The least normal share, of the whole's standard uncertainty: it rounds the corners that would make the integral long, and
/// moves the half width by less than a thousandth.
const ROUNDED: f64 = 0.03;

/// By how much more or less than the coverage a half width must hold to be surely too wide or too narrow. The share that is
/// held grows with the half width, and the sums that tell it are good to some 1e-14.
const SURE: f64 = 1e-12;

/// Where the search begins, in units of the whole: between a rectangle's half width and a normal distribution's.
const BEGIN: [f64; 2] = [1.8, 1.9];

/// Half width that holds `coverage` of a normal error with standard deviation `normal` plus independent rectangular errors
/// with the standard uncertainties `parts`.
pub(super) fn half_width(normal: f64, parts: &[f64], coverage: f64) -> f64 {
    let sum = Sum::of(normal, parts);
    sum.bisected(coverage, sum.near(coverage)) * sum.whole
}

/// A sum of errors, in units of its standard uncertainty.
struct Sum {
    /// The standard uncertainty.
    whole: f64,
    /// A half width that holds as good as all.
    reach: f64,
    step: f64,
    /// φ(t)/t at each step of t but 0.
    characteristic: Vec<f64>,
}

impl Sum {
    fn of(normal: f64, parts: &[f64]) -> Self {
        let whole = (normal * normal + parts.iter().map(|p| p * p).sum::<f64>()).sqrt();
        // In units of the whole, so that the steps below suit any result.
        let sd = (normal / whole).max(ROUNDED);
        let limits: Vec<f64> = parts
            .iter()
            .map(|part| part.abs() / whole * 3.0_f64.sqrt())
            .collect();
        let reach = 8.0 * sd + limits.iter().sum::<f64>();
        let step = PI / (2.0 * reach);
        let count = (7.5 / sd / step).ceil() as usize;
        let characteristic = (1..=count).map(|i| {
            let t = step * i as f64;
            (-0.5 * (sd * t).powi(2)).exp() * of_limits(&limits, t) / t
        });
        Self {
            whole,
            reach,
            step,
            characteristic: characteristic.collect(),
        }
    }

    /// The share within ± this half width.
    fn held(&self, half_width: f64) -> f64 {
        // sin kθ from step to step by turning; at t = 0 the integrand is the half width itself.
        let (sin, cos) = (self.step * half_width).sin_cos();
        let (mut s, mut c, mut sum) = (0.0, 1.0, half_width / 2.0);
        for value in &self.characteristic {
            (s, c) = (s * cos + c * sin, c * cos - s * sin);
            sum += s * value;
        }
        sum * self.step * 2.0 / PI
    }

    /// The half width that holds the coverage, where it is known of one that it holds less, and of another that it holds
    /// more: between them the bisection looks, and beyond them it need not.
    fn bisected(&self, coverage: f64, [less, more]: [f64; 2]) -> f64 {
        let (mut low, mut high) = (0.0, self.reach);
        for _ in 0..45 {
            let middle = f64::midpoint(low, high);
            if middle <= less || (middle < more && self.held(middle) < coverage) {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    /// A half width that surely holds less than the coverage and one that surely holds more, close to each other; 0 and the
    /// reach where they are not found.
    fn near(&self, coverage: f64) -> [f64; 2] {
        let over = |half_width: f64| self.held(half_width) - coverage;
        let [mut before, mut now] = BEGIN;
        let (mut over_before, mut over_now) = (over(before), over(now));
        let mut slope = f64::NAN;
        // By secants, which double the right figures in two steps or less.
        for _ in 0..12 {
            if over_now.abs() < SURE {
                break;
            }
            slope = (over_now - over_before) / (now - before);
            // Where the share hardly grows a secant points too far.
            let most = f64::midpoint(now, self.reach);
            let next = (now - over_now / slope).max(now / 2.0).min(most);
            (before, over_before) = (now, over_now);
            (now, over_now) = (next, over(next));
        }
        let by = 3.0 * SURE / slope;
        let found = [now - by, now + by];
        if slope > 0.0 && over(found[0]) < -SURE && over(found[1]) > SURE {
            found
        } else {
            [0.0, self.reach]
        }
    }
}

/// The characteristic function of all limits at `t`. Limits of one kind follow one another, and share their sine.
fn of_limits(limits: &[f64], t: f64) -> f64 {
    let (mut last, mut share, mut product) = (0.0, 1.0, 1.0);
    for &a in limits {
        if a != last {
            last = a;
            share = if a > 0.0 {
                (a * t).sin() / (a * t)
            } else {
                1.0
            };
        }
        product *= share;
    }
    product
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sums whose half widths are known: one rectangle holds 95 % within 0.95 of its limit; two equal ones make a triangle,
    /// `2a (1 − √0.05)`; many make a normal distribution.
    #[test]
    fn half_widths_by_hand() {
        let root = 3.0_f64.sqrt();
        for (normal, parts, want) in [
            (0.0, vec![1.0], 0.95 * root),
            (
                0.0,
                vec![2.0, 2.0],
                2.0 * 2.0 * root * (1.0 - 0.05_f64.sqrt()),
            ),
            (3.0, vec![], 3.0 * 1.959_963_985),
            (0.0, vec![1.0; 60], 60.0_f64.sqrt() * 1.958_0),
            (1.0, vec![1e-6], 1.959_963_985),
        ] {
            let got = half_width(normal, &parts, 0.95);
            assert!(
                (got / want - 1.0).abs() < 2e-3,
                "{normal} {parts:?}: {got} {want}"
            );
        }
    }

    /// One rectangle and normal scatter, by integrating the normal distribution over the rectangle.
    #[test]
    fn a_rectangle_with_scatter_as_integrated() {
        use statrs::distribution::{ContinuousCDF, Normal};
        let normal = Normal::standard();
        for sd in [0.2, 1.0, 3.0] {
            let limit = 3.0_f64.sqrt();
            let got = half_width(sd, &[1.0], 0.95);
            let n = 4_000;
            let held: f64 = (0..n)
                .map(|i| limit * (2.0 * (f64::from(i) + 0.5) / f64::from(n) - 1.0))
                .map(|at| normal.cdf((got - at) / sd) - normal.cdf((-got - at) / sd))
                .sum::<f64>()
                / f64::from(n);
            assert!((held - 0.95).abs() < 1e-6, "{sd}: {held}");
        }
    }

    /// The bisection that begins near the half width ends at the same bits as one that looks everywhere.
    #[test]
    fn what_is_not_looked_at_changes_nothing() {
        let mut random = crate::random::Random::new(1);
        for _ in 0..300 {
            let normal = random.pick(&[0.0, 0.01, 0.3, 1.0, 10.0]) * random.unit();
            let mut parts = vec![];
            for _ in 0..random.below(4) {
                let part = random.between(0.01, 2.0);
                parts.extend(vec![part; 1 + random.below(3)]);
            }
            if normal == 0.0 && parts.is_empty() {
                continue;
            }
            let coverage = random.pick(&[0.95, 0.95, 0.5, 0.99, 0.9999]);
            let sum = Sum::of(normal, &parts);
            let near = sum.near(coverage);
            assert!(coverage != 0.95 || near[1] - near[0] < 1e-9, "{near:?}");
            let everywhere = sum.bisected(coverage, [0.0, sum.reach]);
            assert_eq!(
                sum.bisected(coverage, near),
                everywhere,
                "{normal} {parts:?}"
            );
        }
    }
}
