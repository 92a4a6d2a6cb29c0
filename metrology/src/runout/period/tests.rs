//! Periods of known readings, and readings that have none.

use super::*;
use std::f64::consts::TAU;

/// Noise of roughly ±1, the same in every run.
fn noise(i: usize) -> f64 {
    let a = (i as f64 * 0.754_877_666_246_692_8).fract() - 0.5;
    let b = (i as f64 * 0.569_840_290_998_053_3).fract() - 0.5;
    2.0 * (a + b)
}

fn readings(n: usize, rate: f64, turn_s: f64, form: impl Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
    (0..n)
        .map(|i| {
            let t = 100.0 + i as f64 / rate;
            (t, form(TAU * (t - 100.0) / turn_s))
        })
        .unzip()
}

#[test]
fn periods_of_many_kinds_are_found() {
    type Form = fn(f64) -> f64;
    let forms: [(&str, Form); 4] = [
        ("off centre", |t| 5e-3 * t.cos()),
        ("oval, a little off centre", |t| {
            5e-3 * (2.0 * t).cos() + 1e-3 * (t - 1.0).cos()
        }),
        ("three lobes, off centre", |t| {
            3e-3 * (3.0 * t).cos() + 1e-3 * t.sin()
        }),
        ("a flat", |t| {
            if (t.rem_euclid(TAU) - 2.0).abs() < 0.4 {
                -4e-3
            } else {
                0.0
            }
        }),
    ];
    for (name, form) in forms {
        let sizes = [
            (60, 10.0, 1.2),
            (400, 20.0, 3.7),
            (1_500, 100.0, 2.11),
            (9_000, 1_000.0, 0.31),
        ];
        // The long ones once: they differ from the short ones in how many readings are looked at, not in form.
        let tried = if name == "off centre" { 4 } else { 2 };
        for (n, rate, turn_s) in sizes.into_iter().take(tried) {
            let (times, mut y) = readings(n, rate, turn_s, form);
            y.iter_mut()
                .enumerate()
                .for_each(|(i, y)| *y += 1e-4 * noise(i));
            let found = find(&times, &y).unwrap_or_else(|e| panic!("{name}, {turn_s} s: {e}"));
            let off = (found.turn_s - turn_s) / turn_s;
            assert!(off.abs() < 2e-3, "{name}, {turn_s} s: {found:?}");
        }
    }
}

#[test]
fn a_hand_turned_spindle_is_refused() {
    // A tenth quicker at the end than at the start.
    let times: Vec<f64> = (0..600).map(|i| f64::from(i) * 0.05).collect();
    let quickening = |t: &f64| (TAU * (t / 5.0 + 0.05 * t * t / 150.0)).cos() * 5e-3;
    let y: Vec<f64> = times.iter().map(quickening).collect();
    assert!(
        matches!(find(&times, &y), Err(RunoutError::Unsteady { .. })),
        "{:?}",
        find(&times, &y)
    );
    // By jerks: a turn of very uneven speed each time.
    let jerky =
        |t: &f64| (TAU * t / 5.0 + 1.5 * (t * 0.9).sin() + 0.8 * (t * 0.37).cos()).cos() * 5e-3;
    let y: Vec<f64> = times.iter().map(jerky).collect();
    let refused = find(&times, &y).unwrap_err();
    assert!(
        refused.to_string().contains("mark clock positions"),
        "{refused}"
    );
    // Nothing but noise.
    let y: Vec<f64> = (0..600).map(noise).collect();
    assert!(matches!(
        find(&times, &y),
        Err(RunoutError::NoPeriod { .. })
    ));
    assert!(matches!(
        find(&times[..10], &y[..10]),
        Err(RunoutError::TooShort { points: 10, .. })
    ));
    assert!(matches!(
        find(&times, &[1.0; 600]),
        Err(RunoutError::NoPeriod { .. })
    ));
}

#[test]
fn what_cannot_be_told_is_told_as_doubt() {
    // Oval and off centre by no more than the noise: half a turn explains nearly as much as a turn.
    let (times, mut y) = readings(600, 20.0, 4.0, |t| 5e-3 * (2.0 * t).cos() + 2e-4 * t.cos());
    y.iter_mut()
        .enumerate()
        .for_each(|(i, y)| *y += 3e-4 * noise(i));
    let found = find(&times, &y).unwrap();
    let both = std::iter::once(found.turn_s).chain(found.also_s.iter().copied());
    assert!(both.clone().any(|s| (s - 4.0).abs() < 0.01), "{found:?}");
    assert!(both.clone().any(|s| (s - 2.0).abs() < 0.01), "{found:?}");
}
