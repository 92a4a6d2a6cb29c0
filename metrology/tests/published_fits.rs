//! Line fit and budget against published answers.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::fit::line;
use conewright_metrology::uncertainty::{Budget, t_factor};

/// Agreement to `figures` significant figures.
fn same(got: f64, certified: f64, figures: i32) {
    let off = (got / certified - 1.0).abs();
    assert!(
        off < 0.5 * 10_f64.powi(1 - figures),
        "{got} against {certified}"
    );
}

/// NIST Statistical Reference Datasets, linear regression, Norris: data and certified values as in the file.
#[test]
fn the_line_fit_meets_nist_norris_to_nine_figures() {
    let file = include_str!("data/nist_norris.dat");
    let lines: Vec<&str> = file.lines().collect();
    let numbers = |line: &str| -> Vec<f64> {
        line.split_whitespace()
            .filter_map(|word| word.parse().ok())
            .collect()
    };
    let (y, x): (Vec<f64>, Vec<f64>) = lines[59..]
        .iter()
        .map(|line| numbers(line))
        .filter(|pair| pair.len() == 2)
        .map(|pair| (pair[0], pair[1]))
        .unzip();
    assert_eq!(x.len(), 36);
    let certified = |start: &str| {
        let line = lines[30..46]
            .iter()
            .find(|line| line.trim_start().starts_with(start));
        numbers(line.unwrap())
    };
    let fit = line(&x, &y).unwrap();
    let (b0, b1) = (certified("B0"), certified("B1"));
    same(fit.intercept, b0[0], 9);
    same(fit.intercept_sd, b0[1], 9);
    same(fit.slope, b1[0], 9);
    same(fit.slope_sd, b1[1], 9);
    let residual_sd = lines[30..46]
        .iter()
        .position(|l| l.contains("Residual"))
        .unwrap()
        + 31;
    same(
        fit.residual_sd,
        *numbers(lines[residual_sd]).last().unwrap(),
        9,
    );
}

/// JCGM 100:2008, annex H.1, the calibration of an end gauge. The published figures hold the rounding of their day: the
/// expanded uncertainty is made from the combined one rounded to 32 nm, the degrees of freedom are cut to a whole.
#[test]
fn the_budget_meets_jcgm_100_annex_h1() {
    let mut budget = Budget::new("nm");
    budget.add("calibration of the standard", 25.0, Some(18.0));
    budget.add("mean of the differences", 13.0 / 5.0_f64.sqrt(), Some(24.0));
    budget.add("comparator, random", 10.0 / 2.57, Some(5.0));
    budget.add("comparator, systematic", 20.0 / 3.0, Some(8.0));
    budget.add(
        "difference of expansion",
        50e6 * 0.1 * 1e-6 / 3.0_f64.sqrt(),
        Some(50.0),
    );
    budget.add(
        "difference of temperature",
        50e6 * 11.5e-6 * 0.05 / 3.0_f64.sqrt(),
        Some(2.0),
    );
    assert_eq!(budget.combined().round(), 32.0, "u_c = 32 nm");
    assert!(
        (budget.combined().powi(2) - 1002.0).abs() < 2.0,
        "{}",
        budget.combined().powi(2)
    );
    let dof = budget.effective_degrees_of_freedom();
    assert!((dof - 16.7).abs() < 0.1, "{dof}");
    assert_eq!(dof.floor(), 16.0);
    let t99 = t_factor(0.99, dof.floor());
    assert!((t99 - 2.92).abs() < 0.005, "{t99}");
    assert_eq!(
        (t99 * budget.combined().round()).round(),
        93.0,
        "U99 = 93 nm"
    );
    assert_eq!(
        budget.components()[0].component,
        "calibration of the standard"
    );
}

/// JCGM 100:2008, table G.2, a row of each column.
#[test]
fn students_factor_meets_table_g2() {
    for (coverage, dof, printed) in [
        (0.90, 1.0, 6.31),
        (0.95, 2.0, 4.30),
        (0.95, 5.0, 2.57),
        (0.99, 10.0, 3.17),
        (0.95, 50.0, 2.01),
        (0.6827, 3.0, 1.20),
        (0.9545, 20.0, 2.13),
        (0.95, f64::INFINITY, 1.960),
    ] {
        let t = t_factor(coverage, dof);
        assert!((t - printed).abs() <= 0.005, "{coverage} {dof}: {t}");
    }
}

/// JCGM 100:2008, annex H.3, the calibration of a thermometer: table H.6 and the results of H.3.3 to H.3.5.
#[test]
fn the_line_fit_meets_jcgm_100_annex_h3() {
    let temperatures = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let corrections = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let above_20 = temperatures.map(|t| t - 20.0);
    let fit = line(&above_20, &corrections).unwrap();
    // Half a unit of the last printed digit each.
    for (got, printed, last) in [
        (fit.intercept, -0.1712, 1e-4),
        (fit.intercept_sd, 0.0029, 1e-4),
        (fit.slope, 0.002_18, 1e-5),
        (fit.slope_sd, 0.000_67, 1e-5),
        (fit.correlation, -0.930, 1e-3),
        (fit.residual_sd, 0.0035, 1e-4),
        (fit.predict(10.0).y, -0.1494, 1e-4),
        (fit.predict(10.0).u, 0.0041, 1e-4),
    ] {
        assert!((got - printed).abs() <= last / 2.0, "{got} {printed}");
    }
    // The same by the law of propagation with the correlation, equation (H.15).
    let (u1, u2, x) = (fit.intercept_sd, fit.slope_sd, 10.0);
    let by_h15 = (u1 * u1 + x * x * u2 * u2 + 2.0 * x * u1 * u2 * fit.correlation).sqrt();
    assert!((by_h15 - fit.predict(x).u).abs() < 1e-12);
}

/// Student's factor against `scipy.stats.t.ppf(0.5 + p / 2, dof)` of scipy 1.17.1, run for this test.
#[test]
fn student_s_factor_is_scipy_s() {
    for (coverage, rows) in [
        (
            0.9,
            [
                6.313751514675037,
                2.9199855803537242,
                2.0150483733330233,
                1.833112932656237,
                1.6602343260853392,
            ],
        ),
        (
            0.95,
            [
                12.706204736174694,
                4.302652729749462,
                2.5705818356363146,
                2.262157162798205,
                1.9839715185235518,
            ],
        ),
        (
            0.99,
            [
                63.656741162871526,
                9.924843200918287,
                4.032142983555228,
                3.249835541592126,
                2.6258905214380173,
            ],
        ),
        (
            0.999,
            [
                636.6192487687897,
                31.599054576445365,
                6.868826625881276,
                4.780912585931217,
                3.390491311164263,
            ],
        ),
    ] {
        for (dof, want) in [1.0, 2.0, 5.0, 9.0, 100.0].into_iter().zip(rows) {
            let got = t_factor(coverage, dof);
            assert!(
                (got / want - 1.0).abs() < 1e-9,
                "{coverage} {dof}: {got}, not {want}"
            );
        }
    }
}
