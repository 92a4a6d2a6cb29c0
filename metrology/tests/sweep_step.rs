//! The sweep: published and exact answers, what options do, what bad input is told.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::setup::{BigEnd, IndicatorSide, Sense, Setup};
use conewright_metrology::sweep::{
    self, PositionsFrom, Subject, SweepError, SweepOptions, SweepOutcome, SweepPoint,
};
use conewright_metrology::taper::Taper;
use conewright_metrology::uncertainty::Verdict;
use conewright_metrology::zero::Sloping;
use conewright_metrology::{Angle, Length};

fn points(x: impl Iterator<Item = f64>, y: impl Fn(f64) -> f64) -> Vec<SweepPoint> {
    x.map(|x| SweepPoint {
        position_mm: x,
        reading_mm: y(x),
    })
    .collect()
}

fn plain(points: &[SweepPoint]) -> SweepOutcome {
    sweep::outcome(&Setup::default(), &SweepOptions::default(), points).unwrap()
}

/// The demo's seat, 1:12 and 30 mm long, swept from A at the big end with the indicator at the wheel's side.
fn seat() -> Setup {
    let mut taper =
        Taper::from_half_angle("1:12", "1:12".parse::<Angle>().unwrap(), "ISO 1119").unwrap();
    taper.length = Some("30mm".parse().unwrap());
    Setup {
        taper: Some(taper),
        sense: Some(Sense {
            big_end: BigEnd::A,
            indicator: IndicatorSide::Wheel,
        }),
        tolerance: Some("2um".parse().unwrap()),
        ..Setup::default()
    }
}

/// NIST Statistical Reference Datasets, linear regression, Norris: the certified values to nine figures.
#[test]
fn norris_as_a_sweep() {
    let file = include_str!("data/nist_norris.dat");
    let data: Vec<SweepPoint> = file
        .lines()
        .skip(60)
        .filter_map(|line| {
            let mut words = line.split_whitespace().map(|w| w.parse::<f64>().ok());
            let (reading_mm, position_mm) = (words.next()??, words.next()??);
            Some(SweepPoint {
                position_mm,
                reading_mm,
            })
        })
        .collect();
    let outcome = plain(&data);
    assert_eq!(outcome.points, 36);
    for (got, certified) in [
        (outcome.slope, 1.002_116_818_020_45),
        (outcome.slope_u.unwrap(), 0.429_796_848_199_937e-3),
        (outcome.intercept_mm, -0.262_323_073_774_029),
        (outcome.intercept_u_mm.unwrap(), 0.232_818_234_301_152),
        (outcome.residual_sd_mm.unwrap(), 0.884_796_396_144_373),
    ] {
        assert!(
            (got / certified - 1.0_f64).abs() < 1e-9,
            "{got} {certified}"
        );
    }
}

/// A parabola of sagitta s over its length, from a line of slope m: exact answers.
#[test]
fn a_parabola_by_hand() {
    // Even places from −1 to 1 (n = 2k+1): the line through a parabola is level at the mean of the squares.
    let k = 30;
    for (sagitta, slope) in [(4e-3, 0.0), (-1.5e-3, 2e-4)] {
        let x = (-k..=k).map(f64::from).map(|i| 30.0 + i);
        let data = points(x, |x| {
            7.0 + slope * x - sagitta * ((x - 30.0) / 30.0).powi(2)
        });
        let outcome = plain(&data);
        assert!((outcome.slope - slope).abs() < 1e-12);
        assert!((outcome.bow_um.unwrap() - sagitta * 1e3).abs() < 1e-7);
        // Both zones touch at the middle and at both ends: their height is the sagitta, square to the line.
        let square = (1.0 + slope * slope).sqrt();
        assert!((outcome.straightness_mz_um * square - sagitta.abs() * 1e3).abs() < 1e-8);
        assert!((outcome.straightness_ls_um * square - sagitta.abs() * 1e3).abs() < 1e-8);
        // Mean of the squares of even places: (k+1)/(3k); residual variance by the fourth powers.
        let k = f64::from(k);
        let (n, m2) = (2.0 * k + 1.0, (k + 1.0) / (3.0 * k));
        let m4 = (k + 1.0) * (3.0 * k * k + 3.0 * k - 1.0) / (15.0 * k.powi(3));
        let sd = sagitta.abs() * (n * (m4 - m2 * m2) / (n - 2.0)).sqrt();
        assert!((outcome.residual_sd_mm.unwrap() - sd).abs() < 1e-12);
    }
}

#[test]
fn the_residual_goes_to_the_part() {
    // 6 arc-seconds, rising from the big end on the wheel's side: steeper.
    let slope = Angle::from_arcsec(6.0).tan();
    let noise = |x: f64| ((x * 7.3).sin()) * 2e-5;
    let data = points((0..=60).map(f64::from), |x| slope * x + noise(x));
    let outcome = sweep::outcome(&seat(), &SweepOptions::default(), &data).unwrap();
    assert_eq!(outcome.cone, Some(Sloping::Steeper));
    assert!((outcome.half_angle_error_arcsec.unwrap() - 6.0).abs() < 0.05);
    assert!(
        (outcome.over_taper_um.unwrap() - 1.748).abs() < 0.02,
        "{:?}",
        outcome.over_taper_um
    );
    assert_eq!(outcome.verdict, Some(Verdict::In));
    // The tap: at the far end of a sweep that ended there, by the whole rise, away; a trial as no pivot is known.
    let tap = outcome.tap.unwrap();
    assert!(tap.trial && !tap.toward && tap.station_mm == 60.0);
    assert!((tap.move_um + slope * 60e3).abs() < 0.05);
    // The same readings with the set-up trusted say that the part came out shallower, and there is nothing to tap.
    let part = SweepOptions {
        subject: Subject::Part,
        ..SweepOptions::default()
    };
    let outcome = sweep::outcome(&seat(), &part, &data).unwrap();
    assert_eq!(outcome.cone, Some(Sloping::Shallower));
    assert!(outcome.tap.is_none() && outcome.half_angle_error_arcsec.unwrap() < -5.9);
}

/// A lever at 60° shows twice the movement. Results are true, the tap's target is what the indicator shows.
#[test]
fn a_lever_is_counted_and_said() {
    let mut setup = seat();
    setup.indicator.lever_angle = Some(Angle::from_deg(60.0));
    let data = points((0..=60).map(f64::from), |x| 0.5 + 2e-5 * x);
    let outcome = sweep::outcome(&setup, &SweepOptions::default(), &data).unwrap();
    assert!((outcome.slope - 1e-5).abs() < 1e-12);
    assert_eq!(outcome.corrections.len(), 1);
    let tap = outcome.tap.unwrap();
    assert!((tap.target_mm - 0.5).abs() < 1e-9 && (tap.move_um + 1.2).abs() < 1e-6);
}

#[test]
fn options_do_what_they_say_and_say_it() {
    let wave = |x: f64| 1e-3 * (std::f64::consts::TAU * x / 2.0).sin();
    let mut data = points((0..=600).map(|i| f64::from(i) / 10.0), |x| {
        2e-5 * x + wave(x)
    });
    let outcome = plain(&data);
    assert!(outcome.straightness_mz_um > 1.9 && outcome.filtered.is_none());
    // Waves of 2 mm behind a cut-off of 8 mm: 2^-16 of them is left inside, a quarter of their height at the very ends.
    let filter = Some("8mm".parse::<Length>().unwrap());
    let filtered = SweepOptions {
        filter,
        ..SweepOptions::default()
    };
    let smooth = sweep::outcome(&Setup::default(), &filtered, &data).unwrap();
    assert!(
        smooth.straightness_mz_um < 0.5,
        "{}",
        smooth.straightness_mz_um
    );
    assert_eq!(smooth.filtered.unwrap().cut_off_mm, 8.0);
    assert_eq!(
        smooth.slope, outcome.slope,
        "the filter is for straightness only"
    );
    // Two knocks are flagged and counted in, until told otherwise.
    data[100].reading_mm += 0.02;
    data[400].reading_mm -= 0.02;
    let knocked = plain(&data);
    assert_eq!(
        (knocked.outliers, knocked.rejected, knocked.points),
        (2, 0, 601)
    );
    assert_eq!(knocked.outlier_rows, [101, 401]);
    assert!(knocked.straightness_ls_um > 39.0);
    let reject = SweepOptions {
        reject_outliers: true,
        ..SweepOptions::default()
    };
    let left = sweep::outcome(&Setup::default(), &reject, &data).unwrap();
    assert_eq!((left.outliers, left.rejected, left.points), (2, 2, 599));
    assert!(left.straightness_ls_um < 2.3);
    // What is assumed of the positions is said.
    let feed = SweepOptions {
        positions: PositionsFrom::Feed,
        ..SweepOptions::default()
    };
    let feed = sweep::outcome(&Setup::default(), &feed, &data).unwrap();
    assert!(feed.remarks.iter().any(|r| r.contains("steady feed")));
}

#[test]
fn two_points_claim_no_certainty() {
    let outcome = sweep::outcome(
        &seat(),
        &SweepOptions::default(),
        &points([0.0, 60.0].into_iter(), |x| x * 1e-6),
    )
    .unwrap();
    assert!(outcome.slope_u.is_none() && outcome.residual_expanded_arcsec.is_none());
    assert!(outcome.verdict.is_none() && !outcome.remarks.is_empty());
    let json = serde_json::to_value(&outcome).unwrap();
    assert!(json.get("verdict").is_none() && json.get("slope").is_some());
}

#[test]
fn bad_input_is_told_where_and_what_is_needed() {
    let data = points((0..5).map(f64::from), |x| x);
    let told = |points: &[SweepPoint], options: &SweepOptions| {
        sweep::outcome(&Setup::default(), options, points)
            .unwrap_err()
            .to_string()
    };
    let none = SweepOptions::default();
    let mut nan = data.clone();
    nan[2].reading_mm = f64::NAN;
    assert_eq!(told(&nan, &none), "row 3: reading_mm is no number");
    nan[1].position_mm = f64::INFINITY;
    assert_eq!(told(&nan, &none), "row 2: position_mm is no number");
    assert!(told(&[], &none).contains("at least two points"));
    assert!(told(&data[..1], &none).contains("there are 1"));
    let one_place = told(&[data[3]; 3], &none);
    assert!(
        one_place.contains("all 3 points are at 3 mm"),
        "{one_place}"
    );
    let long = SweepOptions {
        filter: Some("40mm".parse().unwrap()),
        ..none.clone()
    };
    assert!(told(&data, &long).contains("longer than the profile of 4 mm"));
    let coarse = SweepOptions {
        filter: Some("1mm".parse().unwrap()),
        ..none
    };
    assert!(told(&data, &coarse).contains("within 0.5"));
    let error = sweep::outcome(&Setup::default(), &coarse, &[]).unwrap_err();
    assert_eq!(error, SweepError::TooFew { points: 0 });
}
