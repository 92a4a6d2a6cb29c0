//! What a display's steps do to the slope of a sweep.

use std::f64::consts::PI;

/// The rise over the sweep, in steps, at which rounding hurts the slope most; taken as the least, since a display that
/// never changed does not tell how much was hidden.
const WORST_RISE: f64 = 0.6;

/// Standard uncertainty of a slope over a span of 1, from readings in steps of 1 that scatter by `sd` before rounding and
/// rise by `rise` from end to end: many even places, the line's place within a step anywhere.
///
/// The error of a rounded reading, averaged over the scatter, is `Σₖ (−1)ᵏ/(πk) · exp(−2π²k²σ²) · sin 2πk f` at the value
/// f (B. Widrow, I. Kollár, *Quantization Noise*, Cambridge 2008, from memory). Its slope over the span is
/// `12 ∫ e(u) u du` for u from −½ to ½, which for one k is `12/(πk) · (2 sin(w/2)/w² − cos(w/2)/w) · cos φ` with
/// `w = 2πk·rise`; squared and averaged over φ it is summed here. Held to a simulation in the tests.
pub(super) fn slope_rounding(rise: f64, sd: f64) -> f64 {
    let rise = rise.abs().max(WORST_RISE);
    let squares: f64 = (1..=200)
        .map(f64::from)
        .map(|k| {
            let w = 2.0 * PI * k * rise;
            let shape = 2.0 * (w / 2.0).sin() / (w * w) - (w / 2.0).cos() / w;
            let left = (-2.0 * PI * PI * k * k * sd * sd).exp();
            (12.0 / (PI * k) * shape * left).powi(2) / 2.0
        })
        .sum();
    squares.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Even places over the span, the line at many places within a step, no scatter: the slope of what is shown.
    #[test]
    fn it_is_as_simulated() {
        for rise in [0.6, 1.0, 1.7, 3.3] {
            let (places, lines) = (2_000, 400);
            let mut squares = 0.0;
            for l in 0..lines {
                let level = f64::from(l) / f64::from(lines);
                let mut slope = 0.0;
                for p in 0..places {
                    let u = (f64::from(p) + 0.5) / f64::from(places) - 0.5;
                    let value = level + rise * u;
                    slope += 12.0 * (value.round() - value) * u / f64::from(places);
                }
                squares += slope * slope / f64::from(lines);
            }
            let simulated = squares.sqrt();
            let told = slope_rounding(rise, 0.0);
            assert!(
                (told / simulated - 1.0).abs() < 0.01,
                "{rise}: {told} {simulated}"
            );
        }
        // A scatter of half a step wipes the steps out.
        assert!(slope_rounding(0.6, 0.5) < 0.01);
        assert_eq!(slope_rounding(0.0, 0.0), slope_rounding(0.6, 0.0));
    }
}
