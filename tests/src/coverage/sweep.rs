//! Simulated sweeps. The truth is the slope of the swept line.

use super::{Case, Held};
use crate::chance::Chance;
use metrology::dial::IndicatorCheck;
use metrology::setup::Setup;
use metrology::sweep::{self, SweepOptions, SweepPoint};
use metrology::tolerance::Tolerance;
use metrology::{Angle, Length};
use std::f64::consts::TAU;

pub(super) fn cases() -> Vec<Case> {
    let case = |what, run: fn(&mut Chance) -> Vec<Held>| Case::new("sweep", what, run);
    let long = |what, run| case(what, run).costly();
    vec![
        case("three stations, scatter 0.3 µm", |c| plain(c, 3, 0.0)),
        case("five stations, scatter 0.3 µm", |c| plain(c, 5, 0.0)),
        case("fifty points, scatter 0.3 µm", |c| plain(c, 50, 0.0)),
        case("fifty points, scatter 0.3 µm, bow to 5 µm", |c| {
            plain(c, 50, 5e-3)
        }),
        case("two stations, nothing known", |c| {
            typed(c, 2, 0.3e-3, Known::Nothing)
        }),
        case("two stations typed, repeatability stated", |c| {
            typed(c, 2, 0.3e-3, Known::Stated)
        }),
        case("three stations typed, nothing known", |c| {
            typed(c, 3, 0.3e-3, Known::Nothing)
        }),
        case("three stations typed, repeatability stated", |c| {
            typed(c, 3, 0.3e-3, Known::Stated)
        }),
        case("three stations typed, 4 degrees of freedom by check", |c| {
            typed(c, 3, 0.3e-3, Known::Checked(4))
        }),
        case("two stations typed, 4 degrees of freedom by check", |c| {
            typed(c, 2, 0.3e-3, Known::Checked(4))
        }),
        case("five stations typed in 1 µm, scatter 0.3 µm", |c| {
            typed(c, 5, 0.3e-3, Known::Nothing)
        }),
        case("five stations typed in 1 µm, scatter 1 µm", |c| {
            typed(c, 5, 1e-3, Known::Nothing)
        }),
        case("nine stations typed in 1 µm, scatter 0.6 µm", |c| {
            typed(c, 9, 0.6e-3, Known::Nothing)
        }),
        case("300 points in steps of 1 µm, scatter 0.3 µm", |c| {
            stepped(c, 0.3e-3)
        }),
        case("300 points in steps of 1 µm, scatter 0.6 µm", |c| {
            stepped(c, 0.6e-3)
        }),
        case("40 points, indicator to ±1 µm, travel to 1 µm", known),
        case("40 points, white noise", |c| correlated(c, 40, 0.0)),
        case("40 points, AR(1) of 0.5", |c| correlated(c, 40, 0.5)),
        case("40 points, AR(1) of 0.8", |c| correlated(c, 40, 0.8)),
        case("40 points, AR(1) of 0.95", |c| correlated(c, 40, 0.95)),
        case("240 points, white noise", |c| correlated(c, 240, 0.0)),
        case("240 points, AR(1) of 0.5", |c| correlated(c, 240, 0.5)),
        case("240 points, AR(1) of 0.8", |c| correlated(c, 240, 0.8)),
        case("240 points, AR(1) of 0.95", |c| correlated(c, 240, 0.95)),
        long("2000 points, white noise", |c| correlated(c, 2000, 0.0)),
        long("2000 points, AR(1) of 0.5", |c| correlated(c, 2000, 0.5)),
        long("2000 points, AR(1) of 0.8", |c| correlated(c, 2000, 0.8)),
        long("2000 points, AR(1) of 0.95", |c| correlated(c, 2000, 0.95)),
        case("40 points, 1 to 5 waves of 1 µm, scatter 0.1 µm", |c| {
            waves(c, 40, 0.1e-3)
        }),
        case("240 points, 1 to 5 waves of 1 µm, scatter 0.3 µm", |c| {
            waves(c, 240, 0.3e-3)
        }),
        case("240 points, 1 to 5 waves of 1 µm, scatter 1 µm", |c| {
            waves(c, 240, 1e-3)
        }),
        long("2000 points, 1 to 5 waves of 1 µm, scatter 1 µm", |c| {
            waves(c, 2000, 1e-3)
        }),
    ]
}

const SPAN: f64 = 60.0;

/// What is allowed of the half angle, to either side.
const ALLOWED_ARCSEC: f64 = 12.0;

/// The interval and the verdict of a sweep; `narrowest_sd` is the slope's true standard deviation, where it is known.
fn held(setup: &Setup, points: &[SweepPoint], slope: f64, narrowest_sd: Option<f64>) -> Vec<Held> {
    let setup = Setup {
        tolerance: Some(Tolerance::HalfAngle(Angle::from_arcsec(ALLOWED_ARCSEC))),
        ..setup.clone()
    };
    let Ok(outcome) = sweep::outcome(&setup, &SweepOptions::default(), points) else {
        return Vec::new();
    };
    let truth = Angle::from_rad(slope.atan()).arcsec();
    let value = outcome.residual_arcsec;
    let interval = Held::within("residual", value, outcome.residual_expanded_arcsec, truth);
    let interval = match narrowest_sd {
        Some(sd) => interval.map(|held| held.beside(1.96 * Angle::from_rad(sd).arcsec())),
        None => interval,
    };
    let said = Held::said_in(outcome.verdict, truth.abs() <= ALLOWED_ARCSEC);
    interval.into_iter().chain(said).collect()
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

/// The least squares slope's standard deviation for noise of a standard deviation whose neighbours are correlated.
fn slope_sd(n: usize, sd: f64, neighbours: f64) -> f64 {
    let places = (0..n).map(|i| SPAN * (i as f64 / (n - 1) as f64 - 0.5));
    let (mut squares, mut spread, mut before) = (0.0, 0.0, 0.0);
    for x in places {
        // Each place with itself, and twice with all those before it.
        spread += x * (x + 2.0 * before);
        before = neighbours * (before + x);
        squares += x * x;
    }
    sd * f64::sqrt(spread) / squares
}

fn plain(chance: &mut Chance, n: usize, most_bow: f64) -> Vec<Held> {
    let slope = chance.between(-1e-4, 1e-4);
    let bow = chance.between(-most_bow, most_bow);
    let points = points(n, |x| {
        let u = 2.0 * x / SPAN - 1.0;
        0.1 + slope * x + bow * (1.0 - u * u) + chance.normal(0.3e-3)
    });
    let narrowest = slope_sd(n, 0.3e-3, 0.0);
    held(&Setup::default(), &points, slope, Some(narrowest))
}

/// What is known of the indicator's repeatability.
enum Known {
    Nothing,
    Stated,
    /// By a check with so many degrees of freedom.
    Checked(usize),
}

/// A few stations, single readings in steps of 1 µm.
fn typed(chance: &mut Chance, n: usize, sd: f64, known: Known) -> Vec<Held> {
    let step = 1e-3;
    let slope = chance.between(-1e-4, 1e-4);
    let level = chance.between(-step, step);
    let points = points(n, |x| {
        let value = level + slope * x + chance.normal(sd);
        (value / step).round() * step
    });
    let mut setup = Setup::default();
    setup.indicator.resolution = Length::from_mm(step);
    match known {
        Known::Nothing => {}
        Known::Stated => setup.indicator.repeatability = Length::from_mm(sd),
        Known::Checked(dof) => {
            let squares: f64 = (0..dof).map(|_| chance.normal(sd).powi(2)).sum();
            setup.indicator.check = Some(IndicatorCheck {
                u_um: 0.0,
                correction: Vec::new(),
                repeatability_sd_um: Some((squares / dof as f64).sqrt() * 1e3),
                repeatability_degrees_of_freedom: Some(dof as f64),
                checked_utc_ns: None,
            });
        }
    }
    // Rounding at so many independent places adds as noise does.
    let narrowest = slope_sd(n, sd.hypot(step / 12.0_f64.sqrt()), 0.0);
    held(&setup, &points, slope, Some(narrowest))
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
    let narrowest = slope_sd(300, sd.hypot(step / 12.0_f64.sqrt()), 0.0);
    held(&setup, &points, slope, Some(narrowest))
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
    held(&setup, &points, slope, None)
}

/// Noise of 0.3 µm that is an autoregressive series of order 1.
fn correlated(chance: &mut Chance, n: usize, neighbours: f64) -> Vec<Held> {
    let sd = 0.3e-3;
    let slope = chance.between(-1e-4, 1e-4);
    let fresh = sd * (1.0 - neighbours * neighbours).sqrt();
    let mut error = chance.normal(sd);
    let points = points(n, |x| {
        let reading = slope * x + error;
        error = neighbours * error + chance.normal(fresh);
        reading
    });
    let narrowest = slope_sd(n, sd, neighbours);
    held(&Setup::default(), &points, slope, Some(narrowest))
}

/// Form that a line does not model: one to five waves of 1 µm along the sweep, of any phase.
fn waves(chance: &mut Chance, n: usize, sd: f64) -> Vec<Held> {
    let slope = chance.between(-1e-4, 1e-4);
    let (waves, phase) = (chance.between(1.0, 5.0), chance.between(0.0, TAU));
    let points = points(n, |x| {
        slope * x + 1e-3 * (TAU * waves * x / SPAN + phase).sin() + chance.normal(sd)
    });
    held(&Setup::default(), &points, slope, None)
}
