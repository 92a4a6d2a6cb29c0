//! Zeroing over the top against the exact triangle of the two axes.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::Length;
use conewright_metrology::setup::{Fixture, Setup};
use conewright_metrology::taper::Taper;
use conewright_metrology::uncertainty::Verdict;
use conewright_metrology::zero::ZeroMark;
use conewright_metrology::zero::level::{LevelOptions, diameter_difference_mm, outcome};

/// Two rounds of A B A whose readings rise by `rise_um` from A to B, 80 mm apart.
fn marks(rise_um: f64) -> Vec<ZeroMark> {
    (0..6)
        .map(|i: u32| {
            let at_b = i % 3 == 1;
            ZeroMark {
                round: i / 3 + 1,
                station: if at_b { "B" } else { "A" }.into(),
                position_mm: if at_b { 80.0 } else { 0.0 },
                value_mm: if at_b { rise_um * 1e-3 } else { 0.0 },
                sd_mm: Some(2e-4),
                readings: 10,
                resolution: Length::from_pm(100_000),
                time_s: Some(f64::from(i) * 5.0),
                clamped: false,
                setting: 0,
            }
        })
        .collect()
}

fn setup(tolerance: &str) -> Setup {
    let mut taper =
        Taper::from_half_angle("1:12", "1:12".parse().unwrap(), "the part's drawing").unwrap();
    taper.gauge_diameter = Some("40mm".parse().unwrap());
    Setup {
        taper: Some(taper),
        length: Some("60mm".parse().unwrap()),
        tolerance: Some(tolerance.parse().unwrap()),
        ..Setup::default()
    }
}

fn options(height: &str) -> LevelOptions {
    LevelOptions {
        wheel: Some("300mm".parse().unwrap()),
        part: None,
        height: Some(height.parse().unwrap()),
    }
}

/// A fixture is known for how it turns in the plane of the table; an axis is made level square to that.
#[test]
fn what_is_known_of_a_fixture_does_not_make_it_level() {
    let plain = outcome(&setup("5arcsec"), &options("0"), &marks(75.0)).unwrap();
    let known = Setup {
        fixture: Some(Fixture {
            name: "plate".to_owned(),
            pivot: Some("10mm".parse().unwrap()),
            learned_pivot: None,
            clamp_shifts: vec![-1e-4; 3],
        }),
        ..setup("5arcsec")
    };
    let found = outcome(&known, &options("0"), &marks(75.0)).unwrap();
    assert!(found.tap.as_ref().unwrap().trial, "{found:?}");
    assert_eq!(found, plain);
}

#[test]
fn the_triangle_is_exact() {
    // By hand: X = 170 mm, the far end 0.5 mm high. sqrt(170^2 + 0.5^2) = 170.00073529252748499..., 40 digits of decimal arithmetic.
    let radius = 170.000_735_292_527_48 - 170.0;
    let found = diameter_difference_mm(170.0, 0.0, 0.5);
    assert!((found - 2.0 * radius).abs() < 1e-10, "{found}");
    // From 0.3 mm above to 0.3 mm below nothing is left between the ends.
    assert_eq!(diameter_difference_mm(170.0, 0.3, -0.6), 0.0);
}

#[test]
fn a_rise_at_centre_height_is_worth_next_to_nothing_and_that_is_said() {
    // 100 um over 80 mm: 75 um over the part, and 0.033 um on its diameter.
    let found = outcome(&setup("2arcsec"), &options("0"), &marks(100.0)).unwrap();
    let level = found.level.unwrap();
    assert!((level.rise_um - 75.0).abs() < 1e-3, "{level:?}");
    assert!((level.worth_um - 0.075_f64.powi(2) / 170.0 * 1e3).abs() < 1e-6);
    assert!(level.at_most_um >= level.worth_um && level.at_most_um < 0.1);
    assert_eq!(found.verdict, Some(Verdict::In));
    assert!(found.remarks.iter().any(|r| r.contains("enough is enough")));
    // The same rise read as the half angle's own error would be 258 arc-seconds.
    assert!((found.residual_arcsec.unwrap() - 257.8).abs() < 0.1);
}

#[test]
fn off_the_centre_height_it_is_of_first_order() {
    // 5 mm too high, a rise of 0.75 mm over the part: 2 h dh / X = 44 um on diameter, far out of 5 arc-seconds.
    let found = outcome(&setup("5arcsec"), &options("5mm"), &marks(1000.0)).unwrap();
    let level = found.level.unwrap();
    let exact = 2.0 * (170.0_f64.hypot(5.75) - 170.0_f64.hypot(5.0)) * 1e3;
    assert!((level.worth_um - exact).abs() < 1e-6, "{level:?}");
    assert_eq!(found.verdict, Some(Verdict::Out));
}

#[test]
fn what_is_missing_is_asked_for_and_what_cannot_be_is_refused() {
    let none = outcome(&setup("5arcsec"), &LevelOptions::default(), &marks(10.0)).unwrap();
    assert!(none.level.is_none() && none.verdict.is_none() && none.tap.is_some());
    assert!(none.remarks.iter().any(|r| r.contains("wheel's diameter")));
    let flat = LevelOptions {
        wheel: Some(Length::ZERO),
        ..options("0")
    };
    let refused = outcome(&setup("5arcsec"), &flat, &marks(10.0)).unwrap_err();
    assert!(refused.to_string().contains("above 0 mm"));
}
