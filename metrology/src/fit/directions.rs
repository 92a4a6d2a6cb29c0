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
    let swapped = (sin.to_bits() ^ cos.to_bits()) & swap;
    let (s, c) = (sin.to_bits() ^ swapped, cos.to_bits() ^ swapped);
    let s_sign = (quarter & 2) << 62;
    let c_sign = (quarter.wrapping_add(1) & 2) << 62;
    (f64::from_bits(c ^ c_sign), f64::from_bits(s ^ s_sign))
}

/// Angles taken together: short enough to stay in the nearest cache, long enough for the loop to pay.
pub(super) const BLOCK: usize = 256;

/// Angles that may lie near to each other, as those of a turn with many readings do.
const RUN: usize = 32;

/// So near to the middle one (radians) they all go by it.
const NEAR: f64 = 0.0125;

/// Fills `cos` and `sin` for as many angles.
pub(super) fn fill(angles_rad: &[f64], cos: &mut [f64], sin: &mut [f64]) {
    let runs = cos.chunks_mut(RUN).zip(sin.chunks_mut(RUN));
    for (angles, (cos, sin)) in angles_rad.chunks(RUN).zip(runs) {
        if !fill_near(angles, cos, sin) {
            fill_any(angles, cos, sin);
        }
    }
}

fn fill_any(angles: &[f64], cos: &mut [f64], sin: &mut [f64]) {
    // All are asked, which is quicker than to stop at the first: nothing branches.
    let small = angles.iter().filter(|angle| angle.abs() < LARGEST);
    if small.count() == angles.len() {
        for ((angle, c), s) in angles.iter().zip(cos).zip(sin) {
            (*c, *s) = direction(*angle);
        }
    } else {
        for ((angle, c), s) in angles.iter().zip(cos).zip(sin) {
            (*s, *c) = angle.sin_cos();
        }
    }
}

/// Fills a run whose angles all lie near to the middle one, by the sums of angles: no quarter turns, and a short
/// series for the small angle between. False where it is no such run, with nothing filled.
fn fill_near(angles: &[f64], cos: &mut [f64], sin: &mut [f64]) -> bool {
    let (Ok(angles), Ok(cos), Ok(sin)) = (
        <&[f64; RUN]>::try_from(angles),
        <&mut [f64; RUN]>::try_from(cos),
        <&mut [f64; RUN]>::try_from(sin),
    ) else {
        return false;
    };
    let middle = angles[RUN / 2];
    let near = |angle: &&f64| (*angle - middle).abs() <= NEAR;
    // The ends tell it soon in most runs that are not near.
    if !near(&&angles[0]) || !near(&&angles[RUN - 1]) || middle.abs() >= LARGEST {
        return false;
    }
    if angles.iter().filter(near).count() < RUN {
        return false;
    }
    let (c, s) = direction(middle);
    for i in 0..RUN {
        let x = angles[i] - middle;
        let z = x * x;
        // sin x and cos x − 1; what is left out, x⁷/5040 and x⁸/40320, is below 1e-17.
        let sin_x = x + x * z * (z * (1.0 / 120.0) - 1.0 / 6.0);
        let cos_x_less_1 = z * (z * (1.0 / 24.0 - z * (1.0 / 720.0)) - 0.5);
        cos[i] = c + (c * cos_x_less_1 - s * sin_x);
        sin[i] = s + (s * cos_x_less_1 + c * sin_x);
    }
    true
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

    /// Runs of angles that lie near to each other, up and down, at the quarters and far from them, with some that do not: a
    /// step of a quarter turn, one angle aside, one that is no number.
    #[test]
    fn angles_near_to_each_other_are_the_librarys_too() {
        let mut angles: Vec<f64> = Vec::new();
        for (start, step) in [
            (0.0, 1e-5),
            (-2e-3, 1e-4),
            (1.58, -7.8e-4),
            (3.1, 7.6e-4),
            (0.7, 0.0),
            (99_999.99, 6e-4),
            (-54_321.0, -3e-4),
            (1e9, 0.0),
        ] {
            angles.extend((0..4 * RUN as i32).map(|i| start + step * f64::from(i)));
        }
        angles[RUN + 3] += 0.02;
        angles[3 * RUN - 1] -= 1.0;
        angles[5 * RUN + 9] = 4.0;
        angles[9 * RUN + 7] = f64::NAN;
        angles.truncate(angles.len() - 5);
        let (cos, sin) = directions(&angles);
        for (i, angle) in angles.iter().enumerate() {
            let (s, c) = angle.sin_cos();
            if angle.is_nan() {
                assert!(cos[i].is_nan() && sin[i].is_nan());
                continue;
            }
            assert!((sin[i] - s).abs() < 3e-16, "sin {angle}: {} {s}", sin[i]);
            assert!((cos[i] - c).abs() < 3e-16, "cos {angle}: {} {c}", cos[i]);
        }
        // The runs of a slow turn are taken by their middles, those of a fast one are not.
        let (mut cos, mut sin) = ([0.0; RUN], [0.0; RUN]);
        let turn = |step: f64| -> [f64; RUN] { std::array::from_fn(|i| 2.0 + step * i as f64) };
        assert!(fill_near(&turn(7.8e-4), &mut cos, &mut sin));
        assert!(!fill_near(&turn(7.9e-4), &mut cos, &mut sin));
    }
}
