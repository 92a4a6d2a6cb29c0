//! Minimum zones against linear programs, solved by another's solver on random and on awkward points.
//!
//! A zone of least height is a linear program in the line's or the limaçon's unknowns and the two levels. The solver is
//! the public-domain simplex of the `microlp` crate.

use conewright_metrology::fit::{Circle, FitError, circle, minimum_zone};
use good_lp::{Expression, Solution, SolverModel, constraint, default_solver, variable, variables};
use proptest::prelude::*;
use std::f64::consts::TAU;

/// Height of the lowest zone of `y − Σ unknown·row` over all unknowns, by linear program.
fn by_program(rows: &[Vec<f64>], y: &[f64]) -> f64 {
    let mut variables = variables!();
    let unknowns: Vec<_> = rows[0].iter().map(|_| variables.add(variable())).collect();
    let (low, high) = (variables.add(variable()), variables.add(variable()));
    let mut model = variables.minimise(high - low).using(default_solver);
    for (row, y) in rows.iter().zip(y) {
        let rest: Expression = *y
            - row
                .iter()
                .zip(&unknowns)
                .map(|(c, u)| *c * *u)
                .sum::<Expression>();
        model = model
            .with(constraint!(rest.clone() <= high))
            .with(constraint!(rest >= low));
    }
    let solved = model.solve().expect("a zone always exists");
    solved.value(high) - solved.value(low)
}

fn line_by_program(x: &[f64], y: &[f64]) -> f64 {
    by_program(&x.iter().map(|x| vec![*x]).collect::<Vec<_>>(), y)
}

fn limacon_by_program(angles: &[f64], y: &[f64]) -> f64 {
    by_program(
        &angles
            .iter()
            .map(|t| vec![t.cos(), t.sin()])
            .collect::<Vec<_>>(),
        y,
    )
}

/// The solver's own tolerance is 1e-8 of values of the order of one.
const AGREE: f64 = 2e-8;

/// Angles as they come: all over the turn, on a clock's face, or several turns over the same places.
fn angles() -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![
        prop::collection::vec(0.0..TAU, 4..40),
        prop::collection::vec(
            (0..12_u32).prop_map(|hour| f64::from(hour) * TAU / 12.0),
            4..40
        ),
        (3..7_usize, 2..6_usize).prop_map(|(places, turns)| (0..places * turns)
            .map(|i| TAU * (i % places) as f64 / places as f64)
            .collect()),
    ]
}

/// Values as they come: any, or rounded to few steps so that many are equal.
fn values(n: usize) -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![
        prop::collection::vec(-1.0..1.0_f64, n),
        prop::collection::vec((-3..=3_i32).prop_map(f64::from), n),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_limacon_zone_is_the_linear_programs(
        (angles, y) in angles().prop_flat_map(|a| { let n = a.len(); (Just(a), values(n)) })
    ) {
        match minimum_zone::limacon(&angles, &y) {
            Ok(ring) => {
                let program = limacon_by_program(&angles, &y);
                prop_assert!((ring.width - program).abs() < AGREE, "{} {program}", ring.width);
                // What it says is what it is.
                for (i, (t, y)) in angles.iter().zip(&y).enumerate() {
                    let level = y - ring.centre[0] * t.cos() - ring.centre[1] * t.sin();
                    prop_assert!(level >= ring.inner - 1e-12 && level <= ring.outer + 1e-12);
                    if let Some(c) = ring.contacts.iter().position(|c| *c == i) {
                        let edge = if ring.on_outer[c] { ring.outer } else { ring.inner };
                        prop_assert!((level - edge).abs() < 1e-9, "contact {i}: {level} {edge}");
                    }
                }
            }
            Err(error) => {
                let mut places: Vec<i64> = angles.iter().map(|t| (t * 1e9).round() as i64).collect();
                places.sort_unstable();
                places.dedup();
                prop_assert!(places.len() < 3 && error == FitError::Degenerate);
            }
        }
    }

    /// Profiles are flat: readings in µm over positions in tens of mm, so that height and width of the strip agree.
    #[test]
    fn a_line_zone_is_the_linear_programs(
        points in prop::collection::vec(((0..30_u32).prop_map(f64::from), -1.0..1.0_f64), 3..40),
        shape in 0..3_u32,
    ) {
        let (mut x, mut y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        match shape {
            0 => {}
            1 => x.sort_by(f64::total_cmp),
            _ => y.iter_mut().for_each(|y| *y = (*y * 3.0).round()),
        }
        let flat: Vec<f64> = y.iter().map(|y| y * 1e-6).collect();
        match minimum_zone::line(&x, &flat) {
            Ok(strip) => {
                let program = line_by_program(&x, &y);
                prop_assert!((strip.width * 1e6 - program).abs() < AGREE, "{} {program}", strip.width);
                for (x, y) in x.iter().zip(&flat) {
                    let level = y - strip.slope * x;
                    prop_assert!(level >= strip.low - 1e-18 && level <= strip.high + 1e-18);
                }
            }
            Err(error) => {
                prop_assert!(error == FitError::Degenerate && x.iter().all(|v| *v == x[0]));
            }
        }
    }

    /// True circles, off centre by much: at the centre found, no small move of it makes the ring narrower.
    #[test]
    fn a_ring_of_points_cannot_be_bettered(
        radii in prop::collection::vec(9.99..10.01_f64, 8..60),
        off in (-20.0..20.0_f64, -20.0..20.0_f64),
    ) {
        let n = radii.len() as f64;
        let points: Vec<[f64; 2]> = radii
            .iter()
            .enumerate()
            .map(|(i, r)| {
                let t = TAU * i as f64 / n;
                [off.0 + r * t.cos(), off.1 + r * t.sin()]
            })
            .collect();
        let width = |centre| {
            let about = Circle { centre, radius: 0.0 };
            let d = || points.iter().map(|p| about.deviation(*p));
            d().fold(f64::MIN, f64::max) - d().fold(f64::MAX, f64::min)
        };
        let ring = minimum_zone::circle(&points).unwrap();
        prop_assert!((width(ring.centre) - ring.width).abs() < 1e-13);
        prop_assert!(ring.width <= width(circle(&points).unwrap().centre));
        for i in 0..16 {
            let t = TAU * f64::from(i) / 16.0;
            for step in [1e-7, 1e-5, 1e-3] {
                let moved = [ring.centre[0] + step * t.cos(), ring.centre[1] + step * t.sin()];
                prop_assert!(width(moved) >= ring.width - 1e-13, "{step} {t}");
            }
        }
        // The linear program about the found centre finds nothing to gain either.
        let from = |p: &[f64; 2]| (p[1] - ring.centre[1]).atan2(p[0] - ring.centre[0]);
        let angles: Vec<f64> = points.iter().map(from).collect();
        let about = Circle { centre: ring.centre, radius: 10.0 };
        let d: Vec<f64> = points.iter().map(|p| about.deviation(*p) * 1e2).collect();
        prop_assert!((limacon_by_program(&angles, &d) - ring.width * 1e2).abs() < 1e-6);
    }
}

/// Of many points most are left out after the first look; none of them may be outermost in the end. Nearly round, lobed, on an
/// arc, and far from round.
#[test]
fn no_point_of_many_lies_outside_its_ring() {
    let noise = |i: usize| (i as f64 * 0.754_877_666_246_692_8).fract() - 0.5;
    for (case, (lobes, scatter, arc)) in [
        (0.0, 1e-3, 1.0),
        (0.2, 1e-3, 1.0),
        (0.2, 1e-3, 0.3),
        (3.0, 6.0, 1.0),
    ]
    .into_iter()
    .enumerate()
    {
        let n = 6_000;
        let points: Vec<[f64; 2]> = (0..n)
            .map(|i| {
                let t = TAU * arc * i as f64 / n as f64;
                let r = 20.0 + lobes * (3.0 * t).cos() + scatter * noise(i);
                [5.0 + r * t.cos(), -3.0 + r * t.sin()]
            })
            .collect();
        let ring = minimum_zone::circle(&points).unwrap();
        let from = |centre: [f64; 2]| {
            let about = Circle {
                centre,
                radius: 0.0,
            };
            let all = || points.iter().map(|p| about.deviation(*p));
            [
                all().fold(f64::MAX, f64::min),
                all().fold(f64::MIN, f64::max),
            ]
        };
        let [inner, outer] = from(ring.centre);
        assert!(
            (inner - ring.inner).abs() < 1e-12,
            "{case}: {inner} {ring:?}"
        );
        assert!(
            (outer - ring.outer).abs() < 1e-12,
            "{case}: {outer} {ring:?}"
        );
        for i in 0..12 {
            let t = TAU * f64::from(i) / 12.0;
            let moved = [
                ring.centre[0] + 1e-4 * t.cos(),
                ring.centre[1] + 1e-4 * t.sin(),
            ];
            let [inner, outer] = from(moved);
            assert!(outer - inner >= ring.width - 1e-12, "{case}, {t}");
        }
    }
}

#[test]
fn points_that_make_no_zone_are_named() {
    let few = |points, needed| FitError::TooFew { points, needed };
    assert_eq!(minimum_zone::line(&[1.0], &[1.0]), Err(few(1, 2)));
    assert_eq!(
        minimum_zone::limacon(&[0.0, 1.0, 2.0], &[0.0; 3]),
        Err(few(3, 4))
    );
    assert_eq!(minimum_zone::circle(&[[0.0, 0.0]; 3]), Err(few(3, 4)));
    assert_eq!(
        minimum_zone::circle(&[[1.0, 1.0]; 6]),
        Err(FitError::Degenerate)
    );
    let two_places = minimum_zone::limacon(&[0.0, 2.0, 0.0, 2.0, 2.0], &[0.0, 1.0, 2.0, 3.0, 4.0]);
    assert_eq!(two_places, Err(FitError::Degenerate));
    let nan = minimum_zone::line(&[0.0, 1.0, 2.0], &[0.0, f64::NAN, 1.0]);
    assert_eq!(nan, Err(FitError::NotFinite { index: 1 }));
    let nan = minimum_zone::limacon(&[0.0, 1.0, 2.0, 3.0, 4.0], &[0.0, 1.0, 1.0, 1.0, f64::NAN]);
    assert_eq!(nan, Err(FitError::NotFinite { index: 4 }));
}
