//! The steps against answers by numpy and scipy, made by `oracle/make.py` and kept in `oracle/answers.json`.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::filter;
use conewright_metrology::fit::{circle, minimum_zone};
use conewright_metrology::runout::{self, Readings, RunoutOptions, RunoutPoint, TimedReading};
use conewright_metrology::setup::Setup;
use conewright_metrology::sweep::{self, SweepOptions, SweepPoint};
use serde_json::Value;
use std::f64::consts::TAU;

fn answers() -> Value {
    serde_json::from_str(include_str!("oracle/answers.json")).unwrap()
}

fn number(of: &Value, name: &str) -> f64 {
    of[name]
        .as_f64()
        .unwrap_or_else(|| panic!("{name} of {}", of["name"]))
}

fn numbers(of: &Value, name: &str) -> Vec<f64> {
    of[name]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect()
}

/// Agreement to a share of a scale. Both sides compute in doubles on data of seven figures: what differs is rounding, times
/// what the design matrix makes of it.
fn agree(what: &str, of: &Value, got: f64, scale: f64, share: f64) {
    let name = what.rsplit(' ').next().unwrap();
    let want = number(of, name);
    assert!(
        (got - want).abs() <= share * scale,
        "{} {what}: {got} {want}",
        of["name"]
    );
}

#[test]
fn sweeps_are_numpys() {
    for case in answers()["sweeps"].as_array().unwrap() {
        let points: Vec<SweepPoint> = numbers(case, "position_mm")
            .into_iter()
            .zip(numbers(case, "reading_mm"))
            .map(|(position_mm, reading_mm)| SweepPoint {
                position_mm,
                reading_mm,
            })
            .collect();
        let got = sweep::outcome(&Setup::default(), &SweepOptions::default(), &points).unwrap();
        let (u, sd) = (got.slope_u.unwrap(), got.residual_sd_mm.unwrap());
        agree("slope", case, got.slope, u, 1e-9);
        agree("slope_u", case, u, u, 1e-9);
        agree("intercept_mm", case, got.intercept_mm, sd, 1e-9);
        agree("residual_sd_mm", case, sd, sd, 1e-9);
        let height = got.straightness_ls_um;
        agree("straightness_ls_um", case, height, height, 1e-9);
        agree("bow_um", case, got.bow_um.unwrap(), height, 1e-8);
        // The linear program's own tolerance is 1e-7 of the readings' height.
        agree(
            "straightness_mz_um",
            case,
            got.straightness_mz_um,
            height,
            1e-6,
        );
    }
}

#[test]
fn turns_are_numpys() {
    for case in answers()["turns"].as_array().unwrap() {
        let points: Vec<RunoutPoint> = numbers(case, "angle_deg")
            .into_iter()
            .zip(numbers(case, "reading_mm"))
            .map(|(angle_deg, reading_mm)| RunoutPoint {
                angle_deg,
                reading_mm,
                plane_mm: None,
            })
            .collect();
        let orders = number(case, "orders") as usize;
        let options = RunoutOptions {
            harmonics: Some(orders),
            ..RunoutOptions::default()
        };
        let found = runout::outcome(&Setup::default(), &options, Readings::Angles(&points));
        let got = found.unwrap().section;
        let height = got.tir_um;
        agree("tir_um", case, height, height, 1e-12);
        agree("mean_mm", case, got.mean_mm, height * 1e-3, 1e-9);
        agree("eccentricity_um", case, got.eccentricity_um, height, 1e-9);
        let of_angle = height / got.eccentricity_um;
        let off = (got.high_spot_deg - number(case, "high_spot_deg")).rem_euclid(360.0);
        assert!(
            off.min(360.0 - off) < 1e-9 * of_angle.to_degrees(),
            "{}: {off}",
            case["name"]
        );
        agree(
            "roundness_ls_um",
            case,
            got.roundness_ls_um.unwrap(),
            height,
            1e-9,
        );
        agree(
            "roundness_mz_um",
            case,
            got.roundness_mz_um.unwrap(),
            height,
            1e-6,
        );
        let harmonics = numbers(case, "harmonics_um");
        assert_eq!(got.harmonics_um.len(), harmonics.len(), "{}", case["name"]);
        for (got, want) in got.harmonics_um.iter().zip(harmonics) {
            assert!(
                (got - want).abs() < 1e-9 * height,
                "{}: {got} {want}",
                case["name"]
            );
        }
    }
}

#[test]
fn circles_are_scipys() {
    for case in answers()["circles"].as_array().unwrap() {
        let points: Vec<[f64; 2]> = case["points"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| [p[0].as_f64().unwrap(), p[1].as_f64().unwrap()])
            .collect();
        let fit = circle(&points).unwrap();
        let centre = numbers(case, "centre");
        for (got, want) in fit.centre.iter().zip(centre) {
            assert!(
                (got - want).abs() < 1e-7,
                "{}: {fit:?} {want}",
                case["name"]
            );
        }
        agree("radius", case, fit.radius, 1.0, 1e-7);
        let ring = minimum_zone::circle(&points).unwrap();
        agree("zone_width", case, ring.width, ring.width, 1e-6);
    }
}

#[test]
fn filters_are_numpys_and_scipys() {
    let answers = answers();
    let closed = &answers["filters"]["closed"];
    let y = numbers(closed, "reading_mm");
    let angles: Vec<f64> = (0..y.len())
        .map(|i| TAU * i as f64 / y.len() as f64)
        .collect();
    let cut_off = number(closed, "cut_off_upr") as u32;
    let smooth = filter::closed(&angles, &y, cut_off).unwrap();
    for (at, want) in numbers(closed, "at")
        .into_iter()
        .zip(numbers(closed, "smooth_mm"))
    {
        assert!((smooth[at as usize] - want).abs() < 1e-12, "closed {at}");
    }
    let open = &answers["filters"]["open"];
    let y = numbers(open, "reading_mm");
    let x: Vec<f64> = (0..y.len())
        .map(|i| number(open, "step_mm") * i as f64)
        .collect();
    let smooth = filter::open(&x, &y, number(open, "cut_off_mm")).unwrap();
    for (at, want) in numbers(open, "at")
        .into_iter()
        .zip(numbers(open, "smooth_mm"))
    {
        // Ours fits a straight line under weights that end at one cut-off; scipy's go further and fit a level.
        assert!(
            (smooth.values[at as usize - smooth.kept.start] - want).abs() < 1e-8,
            "open {at}"
        );
    }
}

#[test]
fn periods_are_scipys() {
    for case in answers()["periods"].as_array().unwrap() {
        let readings: Vec<TimedReading> = numbers(case, "time_s")
            .into_iter()
            .zip(numbers(case, "reading_mm"))
            .map(|(time_s, reading_mm)| TimedReading {
                time_s,
                reading_mm,
                plane_mm: None,
            })
            .collect();
        let steady = Readings::Steady(&readings);
        let found = runout::outcome(&Setup::default(), &RunoutOptions::default(), steady).unwrap();
        let period = found.section.period.unwrap();
        let want = number(case, "turn_s");
        // The same least squares: well within what the scatter leaves open.
        assert!(
            (period.turn_s - want).abs() < 0.05 * period.turn_u_s,
            "{period:?} {want}"
        );
    }
}
