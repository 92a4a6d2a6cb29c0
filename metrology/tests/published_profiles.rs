//! Circle fit and profile filter against published answers.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::filter::{closed, open, transmission};
use conewright_metrology::fit::{circle, minimum_zone};
use conewright_metrology::harmonics::Harmonics;
use std::f64::consts::TAU;

fn rows(file: &str) -> Vec<Vec<f64>> {
    let mut reader = csv::Reader::from_reader(file.as_bytes());
    reader
        .records()
        .map(|row| {
            row.unwrap()
                .iter()
                .filter_map(|field| field.parse().ok())
                .collect()
        })
        .collect()
}

/// W. Gander, G. H. Golub and R. Strebel, *Least-squares fitting of circles and ellipses*, BIT 34 (1994), 558–578: six points
/// with centre (4.739782, 2.983533), radius 4.714226 and a root mean square distance of 0.4523271 as printed.
#[test]
fn the_circle_of_gander_golub_and_strebel() {
    let points: Vec<[f64; 2]> = rows(include_str!("data/circle_ls_gander.csv"))
        .iter()
        .map(|r| [r[0], r[1]])
        .collect();
    assert_eq!(points.len(), 6);
    let fit = circle(&points).unwrap();
    assert!((fit.centre[0] - 4.739_782).abs() < 5e-7, "{fit:?}");
    assert!((fit.centre[1] - 2.983_533).abs() < 5e-7, "{fit:?}");
    assert!((fit.radius - 4.714_226).abs() < 5e-7, "{fit:?}");
    let squares: f64 = points.iter().map(|p| fit.deviation(*p).powi(2)).sum();
    // Printed is the root of the mean square: 0.4523271² · 6 = 1.2276.
    assert!(
        ((squares / 6.0).sqrt() - 0.452_327_1).abs() < 5e-8,
        "{}",
        (squares / 6.0).sqrt()
    );
    // The minimum zone is narrower than the zone about that centre, and no small move betters it.
    let ring = minimum_zone::circle(&points).unwrap();
    let out = points.iter().map(|p| fit.deviation(*p));
    let (low, high) = out.fold((f64::MAX, f64::MIN), |(l, h), d| (l.min(d), h.max(d)));
    assert!(ring.width < high - low, "{} {}", ring.width, high - low);
}

/// The amplitude characteristic of ISO 16610-21, at seven frequencies, on waves of a closed and of an open profile.
#[test]
fn the_gaussian_filter_lets_through_what_iso_16610_says() {
    let table = rows(include_str!("data/gaussian_filter.csv"));
    assert_eq!(table.len(), 7);
    for row in table {
        let (ratio, share) = (row[0], row[1]);
        assert!((transmission(ratio) - share).abs() < 1e-12, "{ratio}");
        // Closed: a wave of a whole number of undulations, by the even way and by the uneven one.
        let order = (50.0 * ratio).round();
        let even: Vec<f64> = (0..800).map(|i| TAU * f64::from(i) / 800.0).collect();
        let uneven: Vec<f64> = (0..4_000)
            .map(|i| TAU * f64::from(i) / 4_000.0 + 2e-4 * f64::from(i % 3))
            .collect();
        for (angles, exact) in [(even, 1e-9), (uneven, 2e-3)] {
            let wave: Vec<f64> = angles.iter().map(|t| (order * t - 0.7).cos()).collect();
            let smooth = closed(&angles, &wave, 50).unwrap();
            let left = Harmonics::fit(&angles, &smooth, order as usize).unwrap();
            let got = left.amplitude(order as usize);
            assert!((got - share).abs() < exact, "closed {ratio}: {got} {share}");
        }
        // Open: the middle of a long profile, where no end is in reach. Its weights end at one cut-off, where they are
        // below a millionth of the middle one.
        let x: Vec<f64> = (0..=4_000).map(|i| f64::from(i) * 0.01).collect();
        let wave: Vec<f64> = x
            .iter()
            .map(|x| (TAU * ratio * (x - 20.0) / 2.0).cos())
            .collect();
        let smooth = open(&x, &wave, 2.0).unwrap();
        assert!(
            (smooth[2_000] - share).abs() < 1e-5,
            "open {ratio}: {} {share}",
            smooth[2_000]
        );
    }
}
