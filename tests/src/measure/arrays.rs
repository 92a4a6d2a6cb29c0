//! Fits over many points, beside numpy and scipy on the same points in a process of their own.

use super::python::Python;
use super::stats::{Times, timed};
use super::{Line, rounds};
use metrology::fit::{self, minimum_zone};
use std::f64::consts::TAU;
use std::hint::black_box;

const MILLION: usize = 1_000_000;
const ROUNDS: usize = 15;
/// How long a linear program may take, s.
const LONGEST_S: u32 = 120;

/// Noise between −1 and 1: a Weyl sequence, the same in every run.
fn noise(i: usize) -> f64 {
    ((i as f64 * 0.754_877_666_246_692_8).fract() - 0.5) * 2.0
}

/// A sweep of 60 mm with a bow of 3 µm and noise of ±1 µm: places and readings.
fn sweep(points: usize) -> (Vec<f64>, Vec<f64>) {
    (0..points)
        .map(|i| {
            let x = 60.0 * i as f64 / points as f64;
            let bow = 3e-3 * (1.0 - ((x - 30.0) / 30.0).powi(2));
            (x, 0.2 + 1e-4 * x + bow + 1e-3 * noise(i))
        })
        .unzip()
}

/// Ten turns of a lobed part 8 µm off centre: angles and readings.
fn turns(points: usize) -> (Vec<f64>, Vec<f64>) {
    (0..points)
        .map(|i| {
            let t = TAU * 10.0 * i as f64 / points as f64;
            let form = 8e-3 * (t - 1.0).cos() + 2e-3 * (3.0 * t).cos();
            (t, form + 1e-3 * noise(i))
        })
        .unzip()
}

/// The turns as points about an axis, at a radius of 20 mm: their two coordinates.
fn plane(points: usize) -> (Vec<f64>, Vec<f64>) {
    let (t, y) = turns(points);
    t.iter()
        .zip(&y)
        .map(|(t, y)| ((20.0 + y) * t.cos(), (20.0 + y) * t.sin()))
        .unzip()
}

fn agree(ours: &[f64], theirs: &[f64], within: f64, of: &str) {
    let same = ours.len() == theirs.len()
        && (ours.iter().zip(theirs)).all(|(a, b)| (a - b).abs() <= within);
    assert!(same, "{of}: {ours:?} here, {theirs:?} there");
}

/// Our work and theirs in turn, the answers compared each time.
fn beside(
    python: &mut Python,
    what: &str,
    within: f64,
    rounds: usize,
    ours: &mut dyn FnMut() -> Vec<f64>,
) -> [Times; 2] {
    let (mut here, mut there) = (Times::default(), Vec::new());
    for _ in 0..rounds {
        let (took, found) = timed(&mut *ours);
        here.push(took);
        let (ms, expected) = python.ask(what);
        there.push(ms);
        agree(&found, &expected, within, what);
    }
    [here, there.into_iter().collect()]
}

fn ms(ms: f64) -> String {
    match ms {
        1_000.0.. => format!("{:.1} s", ms / 1e3),
        _ => format!("{ms:.2} ms"),
    }
}

/// Least squares: numpy's `lstsq` with its matrix ready before the clock starts, and the normal equations written in numpy, from
/// the same columns as here.
pub(super) fn fits() -> Vec<Line> {
    type Fit<'a> = Box<dyn FnMut() -> Vec<f64> + 'a>;
    let ((x, y), (t, r)) = (sweep(MILLION), turns(MILLION));
    let line = || {
        let line = fit::line(black_box(&x), black_box(&y)).unwrap();
        vec![line.intercept, line.slope]
    };
    let limacon = || {
        let fit = fit::limacon(black_box(&t), black_box(&r)).unwrap();
        vec![fit.mean, fit.a, fit.b]
    };
    let cases: [(&str, &[f64], &[f64], Fit<'_>); 2] = [
        ("line", &x, &y, Box::new(line)),
        ("limacon", &t, &r, Box::new(limacon)),
    ];
    let mut lines = Vec::new();
    for (name, a, b, mut ours) in cases {
        let what = format!("{name}, {MILLION} points");
        let mut python = match Python::start("arrays.py", "numpy", [a, b]) {
            Ok(python) => python,
            Err(why) => {
                lines.push(Line::missing(what, why));
                continue;
            }
        };
        for (by, most) in [("lstsq", 0.1), ("closed form", 1.0 / 3.0)] {
            let asked = format!("{name} {by}");
            let [here, there] = beside(&mut python, &asked, 1e-9, rounds(ROUNDS), &mut ours);
            let (here, there) = (here.median(), there.median());
            lines.push(
                Line::told(format!("least squares {what}"), ms(here))
                    .beside(format!("numpy {by} {}", ms(there)), here / there)
                    .reach(format!("at most {most:.2}"), here <= most * there),
            );
        }
    }
    lines
}

/// A minimum zone that is measured.
struct Zone<'a> {
    name: &'static str,
    count: usize,
    /// What it may take, ms.
    most_ms: f64,
    /// The points, for the yardstick.
    columns: [&'a [f64]; 2],
    /// Gives the zone's size.
    ours: Box<dyn FnMut() -> Vec<f64> + 'a>,
}

/// Minimum zones: scipy's linear program, where it ends in time. For the circle it solves the one program about the centre by
/// least squares; here that program is solved again about each better centre.
pub(super) fn zones() -> Vec<Line> {
    let (px, py) = plane(100_000);
    let points: Vec<[f64; 2]> = px.iter().zip(&py).map(|(x, y)| [*x, *y]).collect();
    let (x, y) = sweep(MILLION);
    let circle = || vec![minimum_zone::circle(black_box(&points)).unwrap().width];
    let line = || {
        let strip = minimum_zone::line(black_box(&x), black_box(&y)).unwrap();
        // The linear program minimises the height of the strip, and the narrowest strip is square to its lines.
        vec![strip.high - strip.low]
    };
    let cases = [
        Zone {
            name: "circle",
            count: px.len(),
            most_ms: 5.0,
            columns: [&px, &py],
            ours: Box::new(circle),
        },
        Zone {
            name: "line",
            count: x.len(),
            most_ms: 15.0,
            columns: [&x, &y],
            ours: Box::new(line),
        },
    ];
    let mut lines = Vec::new();
    for zone in cases {
        let Zone {
            name,
            count,
            most_ms,
            columns,
            mut ours,
        } = zone;
        let mut here = Times::default();
        let mut found = Vec::new();
        for _ in 0..rounds(ROUNDS) {
            let (took, zone) = timed(&mut ours);
            here.push(took);
            found = zone;
        }
        let here = here.median();
        let line = Line::told(format!("minimum zone {name}, {count} points"), ms(here));
        lines.push(
            match Python::start("arrays.py", "scipy.optimize", columns) {
                Err(why) => line.without_yardstick(why),
                Ok(mut python) => {
                    let (there, expected) = python.ask(&format!("zone {name} {LONGEST_S}"));
                    let ended = !expected.is_empty();
                    if ended {
                        // The circle's program is solved about a centre that is off by some 1e-4 mm: the square of it by the radius is 1e-9.
                        agree(&found, &expected, 1e-8, name);
                    }
                    let held = here <= 0.01 * there && here < most_ms;
                    let said = if ended { "" } else { ", without an end" };
                    line.beside(format!("scipy linprog {}{said}", ms(there)), here / there)
                        .reach(format!("at most 0.01, under {most_ms} ms"), held)
                }
            },
        );
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[should_panic(expected = "line: [1.0] here, [1.1] there")]
    fn an_answer_that_differs_is_no_measurement() {
        agree(&[1.0], &[1.1], 1e-9, "line");
    }

    #[test]
    fn a_time_has_its_unit() {
        assert_eq!([ms(0.5), ms(2_000.0)], ["0.50 ms", "2.0 s"]);
    }
}
