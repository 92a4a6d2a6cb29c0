//! The spectrum of readings at rising times, for where to look for a period.

/// Peaks of the spectrum that are tried.
const PEAKS: usize = 6;
/// The frequencies of the spectrum's highest peaks, highest first.
pub(super) fn peaks(times: &[f64], y: &[f64]) -> Vec<f64> {
    // An even grid with at least as many places as readings, and three times as many noughts after it: the peaks then
    // lie within an eighth of what the time resolves.
    let size = times.len().next_power_of_two();
    let span = times[times.len() - 1];
    let mut grid = vec![[0.0; 2]; 4 * size];
    let mut after = 1;
    for (i, place) in grid.iter_mut().take(size).enumerate() {
        let t = span * i as f64 / (size - 1) as f64;
        while after + 1 < times.len() && times[after] < t {
            after += 1;
        }
        let (before, next) = (times[after - 1], times[after]);
        let share = ((t - before) / (next - before)).clamp(0.0, 1.0);
        place[0] = y[after - 1] + share * (y[after] - y[after - 1]);
    }
    fourier(&mut grid);
    let step = (size - 1) as f64 / (span * grid.len() as f64);
    let power: Vec<f64> = grid[..grid.len() / 2]
        .iter()
        .map(|[re, im]| re * re + im * im)
        .collect();
    let mut peaks: Vec<usize> = (2..power.len() - 1)
        .filter(|i| power[*i] >= power[*i - 1] && power[*i] > power[*i + 1])
        .collect();
    peaks.sort_by(|a, b| power[*b].total_cmp(&power[*a]));
    peaks
        .into_iter()
        .take(PEAKS)
        .map(|i| i as f64 * step)
        .collect()
}

/// Fourier transform in place of a number of values that is a power of two.
/// Source: J. W. Cooley and J. W. Tukey, Mathematics of Computation 19 (1965), 297–301.
fn fourier(values: &mut [[f64; 2]]) {
    let n = values.len();
    let bits = n.trailing_zeros();
    for i in 0..n {
        let j = i.reverse_bits() >> (usize::BITS - bits);
        if i < j {
            values.swap(i, j);
        }
    }
    let mut half = 1;
    while half < n {
        for k in 0..half {
            let (sin, cos) = (-std::f64::consts::PI * k as f64 / half as f64).sin_cos();
            for even in (k..n).step_by(2 * half) {
                let [re, im] = values[even + half];
                let turned = [re * cos - im * sin, re * sin + im * cos];
                let [a, b] = values[even];
                values[even] = [a + turned[0], b + turned[1]];
                values[even + half] = [a - turned[0], b - turned[1]];
            }
        }
        half *= 2;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    #[test]
    fn the_transform_is_the_sum_it_stands_for() {
        let y: Vec<f64> = (0..16_u32).map(|i| f64::from(i * i % 7)).collect();
        let mut values: Vec<[f64; 2]> = y.iter().map(|y| [*y, 0.0]).collect();
        fourier(&mut values);
        for (k, got) in values.iter().enumerate() {
            let sum = |f: fn(f64) -> f64| -> f64 {
                y.iter()
                    .enumerate()
                    .map(|(i, y)| y * f(-TAU * (k * i) as f64 / 16.0))
                    .sum()
            };
            assert!(
                (got[0] - sum(f64::cos)).abs() < 1e-12 && (got[1] - sum(f64::sin)).abs() < 1e-12
            );
        }
    }
}
