//! Size measured more than once: what is pooled, what is asked, and what is not claimed where nothing tells it.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::dial::IndicatorCheck;
use conewright_metrology::setup::Setup;
use conewright_metrology::size::{
    self, Ball, Finish, Measured, Over, SectionReading, SizeOptions, SizeOutcome, Surface,
};
use conewright_metrology::taper::Taper;
use conewright_metrology::uncertainty::{Undecided, Verdict, t_factor};
use conewright_metrology::{Angle, Length};

fn length(text: &str) -> Length {
    text.parse().unwrap()
}

/// 1:12, 40 mm at the gauge plane, to 10 arcsec, with a display of this step.
fn seat(step: &str) -> Setup {
    let mut taper = Taper::from_half_angle("1:12", Angle::half_of_ratio(12.0), "ISO 1119").unwrap();
    taper.gauge_diameter = Some(length("40mm"));
    taper.length = Some(length("60mm"));
    let mut setup = Setup {
        taper: Some(taper),
        tolerance: Some("10arcsec".parse().unwrap()),
        ..Setup::default()
    };
    setup.indicator.resolution = Some(length(step));
    setup
}

/// Diameters that are off the wanted cone by so many µm, at planes in mm.
fn off(points: &[(f64, f64)]) -> Measured {
    let reading = |(plane_mm, um): &(f64, f64)| SectionReading {
        plane_mm: *plane_mm,
        diameter_mm: 40.0 - plane_mm / 12.0 + um * 1e-3,
    };
    Measured::Sections(points.iter().map(reading).collect())
}

fn told(setup: &Setup, measured: &Measured) -> SizeOutcome {
    size::outcome(setup, &SizeOptions::default(), measured).unwrap()
}

#[test]
fn measured_once_with_nothing_known_no_interval_is_claimed_and_nothing_called_finished() {
    let setup = seat("1um");
    for um in [-4.0, 0.0, 30.0] {
        let found = told(&setup, &off(&[(0.0, um), (60.0, um)]));
        assert_eq!(found.half_angle_expanded_arcsec, None);
        assert_eq!(found.stock_expanded_um, None);
        assert_eq!(found.finish, None);
        assert_eq!(found.verdict, Some(Verdict::Undecided));
        assert_eq!(
            found.undecided_because,
            Some(Undecided::RepeatabilityUnknown)
        );
        let remarks = found.remarks.join("\n");
        // By hand: two roundings of ±0.5 µm over 60 mm make a triangle of ±1.72 arcsec, 95 % of it within ±1.33.
        assert!(remarks.contains("±1.3 arcsec"), "{remarks}");
        assert!(
            remarks.contains("measure each place again without grinding"),
            "{remarks}"
        );
    }
}

/// By hand: differences of 2 and 0 µm at two planes have a variance of 1 µm² with 2 degrees of freedom.
#[test]
fn what_is_measured_again_is_pooled_with_its_degrees_of_freedom() {
    let found = told(
        &seat("1um"),
        &off(&[(0.0, 4.0), (60.0, 5.0), (0.0, 6.0), (60.0, 5.0)]),
    );
    assert!((found.stock_on_diameter_um.unwrap() - 5.0).abs() < 1e-6);
    assert!(found.half_angle_error_arcsec.unwrap().abs() < 1e-6);
    let expanded = t_factor(0.95, 2.0) / 2.0_f64.sqrt();
    assert!((found.stock_expanded_um.unwrap() / expanded - 1.0).abs() < 1e-6);
    assert_eq!(found.rounds_disagree, None);
    assert!(found.remarks.iter().any(|r| r.contains(
        "measured 2 times: the same place differed by up to 2.0 µm, a standard deviation of 1.00 µm with 2 degrees"
    )), "{:?}", found.remarks);
}

/// Seen: three steps of 0.0001 in between two rounds over two inches of a 7/24 taper, and the first was dropped without a word.
#[test]
fn rounds_that_disagree_are_asked_about() {
    let mut setup = seat("0.0001in");
    let taper = Taper::from_half_angle("7/24", Angle::half_of_ratio(24.0 / 7.0), "ISO 297");
    let mut taper = taper.unwrap();
    taper.gauge_diameter = Some(length("44.45mm"));
    setup.taper = Some(taper);
    let wanted = |plane_mm: f64| 44.45 - plane_mm * 7.0 / 24.0;
    let at = |plane_mm: f64, steps: f64| SectionReading {
        plane_mm,
        diameter_mm: wanted(plane_mm) + steps * 2.54e-3,
    };
    let rows = |steps: [f64; 4]| {
        Measured::Sections(vec![
            at(0.0, steps[0]),
            at(50.8, steps[1]),
            at(0.0, steps[2]),
            at(50.8, steps[3]),
        ])
    };
    let found = told(&setup, &rows([2.0, 0.0, 1.0, 2.0]));
    let disagree = found.rounds_disagree.unwrap();
    assert_eq!(disagree.from_round, 2);
    assert!(
        (disagree.by_arcsec.unwrap().abs() - 15.1).abs() < 0.1,
        "{disagree:?}"
    );
    assert_eq!(found.verdict, Some(Verdict::Undecided));
    assert_eq!(found.undecided_because, Some(Undecided::RoundsDisagree));
    assert_eq!(found.finish, None);
    // Whether ground or not, the interval holds the truth: it reaches over the mean of both rounds.
    assert!(found.half_angle_expanded_arcsec.unwrap() > 15.1 / 2.0);
    let remarks = found.remarks.join("\n");
    assert!(
        remarks.contains("Was the part ground between?"),
        "{remarks}"
    );
    // What it shows is the last round, and not the mean of two states.
    let last = told(
        &setup,
        &Measured::Sections(vec![at(0.0, 1.0), at(50.8, 2.0)]),
    );
    assert_eq!(found.half_angle_deg, last.half_angle_deg);
    // A step more or less is nothing to ask about.
    let near = told(&setup, &rows([2.0, 0.0, 1.0, 0.0]));
    assert_eq!(near.rounds_disagree, None, "{near:?}");
}

/// The part loses 20 µm before the third round: the question is about that round and no other.
#[test]
fn the_round_is_named_before_which_the_part_changed() {
    let rows = [
        (0.0, 25.0),
        (60.0, 25.5),
        (0.0, 25.5),
        (60.0, 25.0),
        (0.0, 5.0),
        (60.0, 5.5),
    ];
    let found = told(&seat("0.5um"), &off(&rows));
    let disagree = found.rounds_disagree.unwrap();
    assert_eq!(disagree.from_round, 3);
    assert!((disagree.by_um + 20.25).abs() < 0.01, "{disagree:?}");
    assert!((found.stock_on_diameter_um.unwrap() - 5.0).abs() < 1e-6);
    // Also when only one plane was measured since.
    let found = told(&seat("0.5um"), &off(&rows[..5]));
    assert_eq!(found.rounds_disagree.unwrap().from_round, 3);
    assert_eq!(found.verdict, Some(Verdict::Undecided));
}

#[test]
fn a_stated_uncertainty_adds_to_the_displays_step() {
    let setup = seat("1um");
    let once = off(&[(0.0, 5.0), (60.0, 5.0)]);
    let with = |options: &SizeOptions| size::outcome(&setup, options, &once).unwrap();
    let tenth = SizeOptions {
        diameter_u: Some(length("0.1um")),
        ..SizeOptions::default()
    };
    let u = 0.1_f64.hypot(1.0 / 12.0_f64.sqrt()) * 2.0_f64.sqrt();
    let arcsec = Angle::from_rad(u * 1e-3 / 120.0).arcsec();
    let found = with(&tenth);
    assert!((found.half_angle_u_arcsec.unwrap() / arcsec - 1.0).abs() < 0.01);
    // Stated of the instrument it is averaged, and the step still adds.
    let mut stated = setup.clone();
    stated.indicator.repeatability = Some(length("0.1um"));
    let found = told(&stated, &once);
    assert!((found.half_angle_u_arcsec.unwrap() / arcsec - 1.0).abs() < 0.01);
    // A stand-off's stated uncertainty as well: 1 µm of display beside 0.1 µm, over 2 tan α.
    let stand_off = Measured::StandOff {
        short: vec![length("0.6mm")],
    };
    let plane = SizeOptions {
        plane_u: Some(length("0.1um")),
        ..SizeOptions::default()
    };
    let found = size::outcome(&setup, &plane, &stand_off).unwrap();
    assert!(found.stock_expanded_um.unwrap() > 0.5 * 0.95 / 12.0);
    assert_eq!(found.budget.len(), 2, "{:?}", found.budget);
}

/// A check with few degrees of freedom carries Student's factor, and what is measured again joins it.
#[test]
fn a_check_of_the_instrument_carries_its_degrees_of_freedom() {
    let mut setup = seat("0.01um");
    setup.indicator.check = Some(IndicatorCheck {
        repeatability_sd_um: Some(1.0),
        repeatability_degrees_of_freedom: Some(3.0),
        ..check()
    });
    let found = told(&setup, &off(&[(0.0, 5.0)]));
    let wide = found.stock_expanded_um.unwrap();
    assert!((wide - t_factor(0.95, 3.0)).abs() < 0.01, "{wide}");
    let found = told(
        &setup,
        &off(&[(0.0, 4.0), (60.0, 5.0), (0.0, 6.0), (60.0, 5.0)]),
    );
    let narrow = found.stock_expanded_um.unwrap();
    let expected = t_factor(0.95, 5.0) / 2.0_f64.sqrt();
    assert!((narrow / expected - 1.0).abs() < 0.01, "{narrow}");
}

fn check() -> IndicatorCheck {
    serde_json::from_str(r#"{"u_um":0.0}"#).unwrap()
}

/// What was measured again scatters far more than was stated: that counts, and it is said.
#[test]
fn scatter_beyond_what_was_stated_counts() {
    let mut setup = seat("0.1um");
    setup.indicator.repeatability = Some(length("0.1um"));
    let rows = [4.0, 6.0, 6.0, 5.0, 5.5, 4.0, 4.5, 5.5];
    let rows: Vec<(f64, f64)> = rows
        .iter()
        .enumerate()
        .map(|(i, um)| (60.0 * (i % 2) as f64, *um))
        .collect();
    let found = told(&setup, &off(&rows));
    assert!(found.stock_expanded_um.unwrap() > 0.9, "{found:?}");
    let remarks = found.remarks.join("\n");
    assert!(remarks.contains("more than was stated"), "{remarks}");
}

#[test]
fn within_its_uncertainty_it_may_be_too_small_and_that_is_said() {
    let mut setup = seat("0.1um");
    setup.indicator.repeatability = Some(length("1um"));
    let found = told(&setup, &off(&[(0.0, -1.0)]));
    assert_eq!(found.finish, Some(Finish::AtSize));
    assert!(
        found.remarks[0].contains("or too far already by up to 3.0 µm"),
        "{:?}",
        found.remarks
    );
}

#[test]
fn rollers_balls_and_stand_offs_are_repeated_too() {
    let setup = seat("1um");
    let over = |um: i64| Over {
        stacks: Length::ZERO,
        over: Length::from_um(50_000 + um),
    };
    let rollers = |ums: &[i64]| Measured::Rollers {
        radius: length("5mm"),
        over: ums.iter().map(|um| over(*um)).collect(),
    };
    assert_eq!(told(&setup, &rollers(&[0])).stock_expanded_um, None);
    assert!(told(&setup, &rollers(&[0, 1])).stock_expanded_um.is_some());
    assert!(told(&setup, &rollers(&[20, 0])).rounds_disagree.is_some());
    let stand_off = |ums: &[i64]| Measured::StandOff {
        short: ums.iter().map(|um| Length::from_um(600 + um)).collect(),
    };
    assert_eq!(told(&setup, &stand_off(&[0])).stock_expanded_um, None);
    assert!(
        told(&setup, &stand_off(&[0, 2]))
            .stock_expanded_um
            .is_some()
    );
    assert!(told(&setup, &stand_off(&[90, 0])).rounds_disagree.is_some());
    let ball = |radius: &str, top: i64, ums: &[i64]| Ball {
        radius: length(radius),
        tops_below_face: ums.iter().map(|um| Length::from_um(top + um)).collect(),
    };
    let balls = |big: &[i64], small: &[i64]| Measured::Balls {
        big: ball("18mm", 5_000, big),
        small: ball("17.5mm", 17_500, small),
    };
    let bore = SizeOptions {
        surface: Surface::Bore,
        ..SizeOptions::default()
    };
    let told =
        |big: &[i64], small: &[i64]| size::outcome(&setup, &bore, &balls(big, small)).unwrap();
    assert_eq!(told(&[0], &[0]).half_angle_expanded_arcsec, None);
    assert!(told(&[0, 1], &[0, 0]).half_angle_expanded_arcsec.is_some());
    assert!(told(&[0, 90], &[0, 90]).rounds_disagree.is_some());
    // The big ball alone, after grinding, is no second round yet.
    assert_eq!(told(&[0, 90], &[0]).rounds_disagree, None);
}
