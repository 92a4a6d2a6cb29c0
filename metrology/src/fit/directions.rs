//! Cosines and sines of many angles at once.
//!
//! A fit over a million readings spends most of its time in the library's sine. Here the angles go through the same
//! polynomials without a branch, in a loop that the compiler turns into vector instructions.

use std::f64::consts::FRAC_2_PI;

/// π/2 in three parts, the first two short enough that a whole number below 2²⁰ times them is exact.
/// Source: the parts of fdlibm's `e_rem_pio2` (Sun Microsystems, 1993).
const HALF_PI: [f64; 3] = [
    1.570_796_326_734_125_6,
    6.077_100_506_303_966e-11,
    2.022_266_248_795_950_6e-21,
];

/// Angles beyond this (radians) go to the library: the quarter turns are then too many to be taken off exactly.
const LARGEST: f64 = 1e5;

/// Added and taken off again it rounds to a whole number, and leaves that number in the lowest bits between.
const ROUND: f64 = 6_755_399_441_055_744.0;

/// Coefficients of `sin x = x + x³ S(x²)` for |x| ≤ π/4. Source: fdlibm `k_sin`.
const SIN: [f64; 6] = [
    -1.666_666_666_666_663_2e-1,
    8.333_333_333_322_49e-3,
    -1.984_126_982_985_795e-4,
    2.755_731_370_707_006_8e-6,
    -2.505_076_025_340_686_3e-8,
    1.589_690_995_211_55e-10,
];

/// Coefficients of `cos x = 1 − x²/2 + x⁴ C(x²)` for |x| ≤ π/4. Source: fdlibm `k_cos`.
const COS: [f64; 6] = [
    4.166_666_666_666_66e-2,
    -1.388_888_888_887_411e-3,
    2.480_158_728_947_673e-5,
    -2.755_731_435_139_066_3e-7,
    2.087_572_321_298_175e-9,
    -1.135_964_755_778_819_5e-11,
];

fn polynomial(coefficients: &[f64; 6], z: f64) -> f64 {
    let [a, b, c, d, e, f] = coefficients;
    a + z * (b + z * (c + z * (d + z * (e + z * f))))
}

/// Cosine and sine of an angle in radians up to [`LARGEST`].
#[inline(always)]
fn direction(angle: f64) -> (f64, f64) {
    let shifted = angle * FRAC_2_PI + ROUND;
    let quarter = shifted.to_bits();
    let turns = shifted - ROUND;
    let x = ((angle - turns * HALF_PI[0]) - turns * HALF_PI[1]) - turns * HALF_PI[2];
    let z = x * x;
    let sin = x + x * z * polynomial(&SIN, z);
    let cos = 1.0 - 0.5 * z + z * z * polynomial(&COS, z);
    // Odd quarters swap the two; the sign bits follow the quarter.
    let swap = (quarter & 1).wrapping_neg();
    let (s, c) = (sin.to_bits(), cos.to_bits());
    let s_sign = (quarter & 2) << 62;
    let c_sign = (quarter.wrapping_add(1) & 2) << 62;
    let s = (s & !swap) | (c & swap);
    let c = (c & !swap) | (sin.to_bits() & swap);
    (f64::from_bits(c ^ c_sign), f64::from_bits(s ^ s_sign))
}

/// Angles taken together: short enough to stay in the nearest cache, long enough for the loop to pay.
pub(super) const BLOCK: usize = 256;

/// Fills `cos` and `sin` for up to [`BLOCK`] angles.
pub(super) fn fill(angles_rad: &[f64], cos: &mut [f64], sin: &mut [f64]) {
    if angles_rad.iter().all(|angle| angle.abs() < LARGEST) {
        for ((angle, c), s) in angles_rad.iter().zip(cos).zip(sin) {
            (*c, *s) = direction(*angle);
        }
    } else {
        for ((angle, c), s) in angles_rad.iter().zip(cos).zip(sin) {
            (*s, *c) = angle.sin_cos();
        }
    }
}

/// Cosines and sines of angles in radians, to 3e-16; an angle that is not a number gives no number.
///
/// ```
/// let (cos, sin) = conewright_metrology::fit::directions(&[0.0, std::f64::consts::FRAC_PI_6]);
/// assert!((sin[1] - 0.5).abs() < 1e-15 && cos[0] == 1.0);
/// ```
#[must_use]
pub fn directions(angles_rad: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let (mut cos, mut sin) = (vec![0.0; angles_rad.len()], vec![0.0; angles_rad.len()]);
    let blocks = cos.chunks_mut(BLOCK).zip(sin.chunks_mut(BLOCK));
    for (angles, (cos, sin)) in angles_rad.chunks(BLOCK).zip(blocks) {
        fill(angles, cos, sin);
    }
    (cos, sin)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the platform's library, which is itself within one unit of the last place.
    #[test]
    fn they_are_the_librarys() {
        let angles: Vec<f64> = (0..200_003)
            .map(|i| f64::from(i) * 0.7 - 70_000.0 + f64::from(i % 97) * 1e-3)
            .chain([0.0, -0.0, 1e-300, 99_999.9, 1e5, -1e5, 1e9, -1e17])
            .collect();
        let (cos, sin) = directions(&angles);
        for (i, angle) in angles.iter().enumerate() {
            let (s, c) = angle.sin_cos();
            assert!((sin[i] - s).abs() < 3e-16, "sin {angle}: {} {s}", sin[i]);
            assert!((cos[i] - c).abs() < 3e-16, "cos {angle}: {} {c}", cos[i]);
        }
        let (cos, sin) = directions(&[f64::NAN, 0.0, f64::INFINITY, 1.0]);
        assert!(cos[0].is_nan() && sin[2].is_nan() && cos[3] == 1.0_f64.cos());
    }
}
