//! Simulated sweeps. The truth is the slope of the swept line.

use super::{Case, Held};
use crate::chance::Chance;
use metrology::setup::Setup;
use metrology::sweep::{self, SweepOptions, SweepPoint};
use metrology::{Angle, Length};

pub(super) fn cases() -> Vec<Case> {
    let case = |what, run| Case {
        step: "sweep",
        what,
        costly: false,
        run,
    };
    vec![
        case("three stations, scatter 0.3 µm", |c| plain(c, 3, 0.0)),
        case("five stations, scatter 0.3 µm", |c| plain(c, 5, 0.0)),
        case("fifty points, scatter 0.3 µm", |c| plain(c, 50, 0.0)),
        case("fifty points, scatter 0.3 µm, bow to 5 µm", |c| {
            plain(c, 50, 5e-3)
        }),
        case("300 points in steps of 1 µm, scatter 0.3 µm", |c| {
            stepped(c, 0.3e-3)
        }),
        case("300 points in steps of 1 µm, scatter 0.6 µm", |c| {
            stepped(c, 0.6e-3)
        }),
        case("40 points, indicator to ±1 µm, travel to 1 µm", known),
    ]
}

const SPAN: f64 = 60.0;

fn held(setup: &Setup, points: &[SweepPoint], slope: f64) -> Vec<Held> {
    let Ok(outcome) = sweep::outcome(setup, &SweepOptions::default(), points) else {
        return Vec::new();
    };
    let truth = Angle::from_rad(slope.atan()).arcsec();
    let value = outcome.residual_arcsec;
    Held::within("residual", value, outcome.residual_expanded_arcsec, truth)
        .into_iter()
        .collect()
}

fn points(n: usize, mut reading: impl FnMut(f64) -> f64) -> Vec<SweepPoint> {
    (0..n)
        .map(|i| {
            let position_mm = SPAN * i as f64 / (n - 1) as f64;
            SweepPoint {
                position_mm,
                reading_mm: reading(position_mm),
            }
        })
        .collect()
}

fn plain(chance: &mut Chance, n: usize, most_bow: f64) -> Vec<Held> {
    let slope = chance.between(-1e-4, 1e-4);
    let bow = chance.between(-most_bow, most_bow);
    let points = points(n, |x| {
        let u = 2.0 * x / SPAN - 1.0;
        0.1 + slope * x + bow * (1.0 - u * u) + chance.normal(0.3e-3)
    });
    held(&Setup::default(), &points, slope)
}

fn stepped(chance: &mut Chance, sd: f64) -> Vec<Held> {
    let step = 1e-3;
    let slope = chance.between(-1e-4, 1e-4);
    let level = chance.between(-step, step);
    let points = points(300, |x| {
        let value = level + slope * x + chance.normal(sd);
        (value / step).round() * step
    });
    let mut setup = Setup::default();
    setup.indicator.resolution = Length::from_mm(step);
    held(&setup, &points, slope)
}

/// Errors that no number of points averages out: of the indicator between one end of its range and the other, and of the
/// travel between one end of the sweep and the other.
fn known(chance: &mut Chance) -> Vec<Held> {
    let slope = chance.between(-1e-4, 1e-4);
    let ends = [0, 1].map(|_| chance.between(-1e-3, 1e-3) + chance.between(-0.5e-3, 0.5e-3));
    let points = points(40, |x| {
        let share = x / SPAN;
        let systematic = ends[0] * (1.0 - share) + ends[1] * share;
        slope * x + systematic + chance.normal(0.2e-3)
    });
    let mut setup = Setup {
        straightness: Length::from_mm(1e-3),
        ..Setup::default()
    };
    setup.indicator.error_limit = Length::from_mm(1e-3);
    held(&setup, &points, slope)
}
