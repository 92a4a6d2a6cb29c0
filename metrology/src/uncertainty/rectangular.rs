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

/// Half width that holds `coverage` of a normal error with standard deviation `normal` plus independent rectangular errors
/// with the standard uncertainties `parts`.
pub(super) fn half_width(normal: f64, parts: &[f64], coverage: f64) -> f64 {
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
    let characteristic: Vec<f64> = (1..=count)
        .map(|i| {
            let t = step * i as f64;
            let of_limit = |a: &f64| {
                if *a > 0.0 {
                    (a * t).sin() / (a * t)
                } else {
                    1.0
                }
            };
            (-0.5 * (sd * t).powi(2)).exp() * limits.iter().map(of_limit).product::<f64>() / t
        })
        .collect();
    let held = |half_width: f64| -> f64 {
        // sin kθ from step to step by turning; at t = 0 the integrand is the half width itself.
        let (sin, cos) = (step * half_width).sin_cos();
        let (mut s, mut c, mut sum) = (0.0, 1.0, half_width / 2.0);
        for value in &characteristic {
            (s, c) = (s * cos + c * sin, c * cos - s * sin);
            sum += s * value;
        }
        sum * step * 2.0 / PI
    };
    let (mut low, mut high) = (0.0, reach);
    for _ in 0..45 {
        let middle = f64::midpoint(low, high);
        if held(middle) < coverage {
            low = middle;
        } else {
            high = middle;
        }
    }
    high * whole
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
}
