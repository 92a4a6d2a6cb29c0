//! What the filter lets through, and what it refuses.

use super::*;

#[test]
fn alpha_is_what_it_is_called() {
    assert!((ALPHA - (std::f64::consts::LN_2 / PI).sqrt()).abs() < 1e-15);
}

/// A straight profile is not bent at its ends, evenly read or not.
#[test]
fn a_straight_profile_passes_unchanged() {
    let x: Vec<f64> = (0..200)
        .map(|i| f64::from(i) * 0.3 + 0.1 * f64::from(i % 3))
        .collect();
    let y: Vec<f64> = x.iter().map(|x| 5.0 - 0.02 * x).collect();
    let smooth = open(&x, &y, 8.0).unwrap();
    assert!(x[smooth.kept.start] >= 4.0 && x[smooth.kept.start - 1] < 4.0);
    for (got, want) in smooth.values.iter().zip(&y[smooth.kept.clone()]) {
        assert!((got - want).abs() < 1e-12);
    }
    let falling = |v: &[f64]| v.iter().rev().copied().collect::<Vec<_>>();
    let back = open(&falling(&x), &falling(&y), 8.0).unwrap();
    assert_eq!(back.kept, 200 - smooth.kept.end..200 - smooth.kept.start);
    assert!((back.values[0] - y[smooth.kept.end - 1]).abs() < 1e-12);
}

/// Closely read profiles are gathered into cells first; a wave as long as the cut-off hardly notices.
#[test]
fn cells_change_a_wave_of_the_cut_off_by_parts_in_a_hundred_thousand() {
    let n = 5_000;
    let x: Vec<f64> = (0..n).map(|i| 4.0 * f64::from(i) / f64::from(n)).collect();
    let y: Vec<f64> = x.iter().map(|x| (TAU * x).sin() + 0.3 * x).collect();
    let points: Vec<Weighed> = (0..x.len())
        .map(|i| Weighed {
            x: x[i],
            y: y[i],
            stretch: 4.0 / f64::from(n) / if i == 0 || i + 1 == x.len() { 2.0 } else { 1.0 },
        })
        .collect();
    let celled = open(&x, &y, 1.0).unwrap();
    let direct = weighed(&points, celled.kept.clone(), 1.0);
    let worst = direct
        .iter()
        .zip(&celled.values)
        .map(|(a, b)| (a - b).abs());
    let worst = worst.fold(0.0, f64::max);
    assert!(worst > 0.0, "the cells were used");
    assert!(worst < 5e-5, "{worst}");
}

#[test]
fn the_limits_of_a_filter() {
    let x: Vec<f64> = (0..=10).map(f64::from).collect();
    let y = vec![0.0; 11];
    assert_eq!(open(&x, &y, 5.0).unwrap().kept, 3..8);
    assert_eq!(
        open(&x, &y, 5.01),
        Err(FilterError::TooLong {
            cut_off: 5.01,
            length: 10.0
        })
    );
    assert!(open(&x, &y, 2.0).is_ok());
    assert_eq!(
        open(&x, &y, 1.99),
        Err(FilterError::TooCoarse {
            gap: 1.0,
            allowed: 0.995
        })
    );
    assert_eq!(open(&x, &y, 0.0), Err(FilterError::CutOff { cut_off: 0.0 }));
    assert!(
        open(&[0.0, 2.0, 1.0, 3.0], &[0.0; 4], 1.5).is_err(),
        "out of order"
    );
    // Thirty readings a turn just carry fifteen undulations.
    let turn = |n: u32| {
        (0..n)
            .map(|i| TAU * f64::from(i) / f64::from(n))
            .collect::<Vec<_>>()
    };
    assert!(closed(&turn(31), &[0.0; 31], 15).is_ok());
    assert!(matches!(
        closed(&turn(29), &[0.0; 29], 15),
        Err(FilterError::TooCoarse { .. })
    ));
}
