//! The sweep: published and exact answers, what options do, what bad input is told.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::dial::IndicatorCheck;
use conewright_metrology::setup::{BigEnd, Indicator, IndicatorSide, Sense, Setup};
use conewright_metrology::sweep::{
    self, PositionsFrom, Subject, SweepError, SweepOptions, SweepOutcome, SweepPoint,
};
use conewright_metrology::taper::Taper;
use conewright_metrology::uncertainty::{Undecided, Verdict, t_factor};
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
    // Waves of 2 mm behind a cut-off of 8 mm: 2^-16 of them is left.
    let filter = Some("8mm".parse::<Length>().unwrap());
    let filtered = SweepOptions {
        filter,
        ..SweepOptions::default()
    };
    let smooth = sweep::outcome(&Setup::default(), &filtered, &data).unwrap();
    assert!(
        smooth.straightness_mz_um < 0.005,
        "{}",
        smooth.straightness_mz_um
    );
    let behind = smooth.filtered.unwrap();
    assert_eq!((behind.cut_off_mm, behind.left_out_mm), (8.0, Some(4.0)));
    assert_eq!((smooth.from_mm, smooth.to_mm), (0.0, 60.0));
    let drawn = sweep::profiled(&Setup::default(), &filtered, &data).unwrap();
    let ends = (drawn.filtered[0].0, drawn.filtered[520].0);
    assert_eq!((drawn.filtered.len(), ends), (521, (4.0, 56.0)));
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
    let data = points([0.0, 60.0].into_iter(), |x| x * 1e-6);
    let mut setup = seat();
    setup.indicator.resolution = Some(Length::from_um(1));
    let outcome = sweep::outcome(&setup, &SweepOptions::default(), &data).unwrap();
    assert!(outcome.slope_u.is_none() && outcome.residual_expanded_arcsec.is_none());
    assert!(
        outcome.half_angle_expanded_arcsec.is_none() && outcome.half_angle_error_arcsec.is_some()
    );
    assert_eq!(outcome.verdict, Some(Verdict::Undecided));
    assert_eq!(
        outcome.undecided_because,
        Some(Undecided::RepeatabilityUnknown)
    );
    // Two independent roundings to ± 0.5 µm: 95 % of their triangle lies within ± (1 − √0.05) µm over 60 mm.
    assert_eq!(
        outcome.remarks,
        [
            "two points tell no scatter: mark more places, or state `--repeatability`",
            "the display and the stated errors alone allow ± 2.67″; how readings repeat comes on top"
        ]
    );
    // Without a tolerance there is nothing to decide.
    setup.tolerance = None;
    let outcome = sweep::outcome(&setup, &SweepOptions::default(), &data).unwrap();
    assert_eq!((outcome.verdict, outcome.undecided_because), (None, None));
}

/// Single readings of a known repeatability: its sum of squares over two marks, beside the display's own step.
#[test]
fn known_repeatability_serves_where_the_line_tells_little() {
    let data = points([0.0, 60.0].into_iter(), |x| x * 1e-6);
    let mut setup = seat();
    setup.indicator.repeatability = Some("0.3um".parse().unwrap());
    let expanded = |setup: &Setup, data: &[SweepPoint]| {
        let outcome = sweep::outcome(setup, &SweepOptions::default(), data).unwrap();
        assert!(outcome.verdict.is_some());
        outcome.residual_expanded_arcsec.unwrap()
    };
    let arcsec = |um: f64| Angle::from_rad(um * 1e-3 / 60.0).arcsec();
    let two = arcsec(0.3 * 2.0_f64.sqrt());
    let stated = expanded(&setup, &data);
    assert!((stated / (1.959_964 * two) - 1.0).abs() < 1e-6, "{stated}");
    setup.indicator.resolution = Some(Length::from_um(1));
    let with_step = expanded(&setup, &data);
    let both = 1.96 * arcsec((2.0_f64 * (0.09 + 1.0 / 12.0)).sqrt());
    assert!((with_step / both - 1.0).abs() < 0.03, "{with_step} {both}");
    // A check's is used with its degrees of freedom, and a lever makes both smaller.
    setup.indicator = Indicator {
        check: Some(IndicatorCheck {
            u_um: 0.0,
            correction: Vec::new(),
            repeatability_sd_um: Some(0.3),
            repeatability_degrees_of_freedom: Some(4.0),
            checked_utc_ns: None,
        }),
        ..Indicator::default()
    };
    let checked = expanded(&setup, &data);
    assert!((checked / (t_factor(0.95, 4.0) * two) - 1.0).abs() < 1e-9);
    setup.indicator.lever_angle = Some(Angle::from_deg(60.0));
    assert!((expanded(&setup, &data) / (checked / 2.0) - 1.0).abs() < 1e-9);
    setup.indicator.lever_angle = None;
    // Three stations: pooled with the one degree of freedom of the line while they agree.
    let bent = |um: f64| {
        let y = [0.0, um * 1e-3, 0.0];
        points([0.0, 30.0, 60.0].into_iter(), |x| y[(x / 30.0) as usize])
    };
    // The middle off by d leaves 2/3 d² in the squares.
    let pooled = ((0.36 * 2.0 / 3.0 + 4.0 * 0.09) / 5.0_f64).sqrt();
    let want = t_factor(0.95, 5.0) * arcsec(pooled * 2.0_f64.sqrt());
    assert!((expanded(&setup, &bent(0.6)) / want - 1.0).abs() < 1e-9);
    // A bow of 5 µm is more than readings of 0.3 µm scatter: the line's own single degree of freedom, with its factor.
    let alone = t_factor(0.95, 1.0) * arcsec((25.0 * 2.0 / 3.0_f64).sqrt() * 2.0_f64.sqrt());
    assert!((expanded(&setup, &bent(5.0)) / alone - 1.0).abs() < 1e-9);
    setup.indicator.check = None;
    assert!(
        expanded(&setup, &bent(0.6)) > 3.0 * want,
        "nothing is known"
    );
}

/// JCGM 100:2008, H.3 as a sweep: Student's factor is that of the fit's own n − 2 degrees of freedom.
#[test]
fn students_factor_is_that_of_the_fit() {
    let x = [
        1.521, 2.012, 2.512, 3.003, 3.507, 3.999, 4.513, 5.002, 5.503, 6.010, 6.511,
    ];
    let y = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let data: Vec<SweepPoint> = x
        .iter()
        .zip(y)
        .map(|(x, y)| SweepPoint {
            position_mm: *x,
            reading_mm: y,
        })
        .collect();
    let outcome = plain(&data);
    let u = Angle::from_rad(outcome.slope_u.unwrap() / (1.0 + outcome.slope.powi(2))).arcsec();
    let factor = outcome.residual_expanded_arcsec.unwrap() / u;
    assert!(
        (factor - 2.262).abs() < 5e-4,
        "{factor}: table G.2, 9 degrees of freedom"
    );
    assert_eq!(outcome.budget[0].degrees_of_freedom, Some(9.0));
}

/// Noise that hardly changes from reading to reading: 240 of them count as few. White noise counts in full.
#[test]
fn correlated_readings_count_as_fewer() {
    // Linear congruence of Knuth, *Seminumerical Algorithms*; the sum of twelve is normal enough.
    let mut state = 1_u64;
    let mut normal = || {
        (0..12)
            .map(|_| {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                (state >> 11) as f64 / (1_u64 << 53) as f64
            })
            .sum::<f64>()
            - 6.0
    };
    let mut sweep = |neighbours: f64| {
        let mut error = normal();
        let mut data = points((0..240).map(|i| f64::from(i) * 0.25), |_| 0.0);
        for point in &mut data {
            point.reading_mm = 2e-5 * point.position_mm + 3e-4 * error;
            error = neighbours * error + (1.0 - neighbours * neighbours).sqrt() * normal();
        }
        data
    };
    let white = plain(&sweep(0.0));
    // Chance alone may look a little alike, which is counted and not made a remark of.
    assert!(white.effective_points.is_none_or(|points| points > 120.0));
    assert!(white.remarks.is_empty());
    let data = sweep(0.8);
    let correlated = plain(&data);
    // (1 − 0.8)/(1 + 0.8) of 240 are 26.7; the answer is on the careful side.
    let counts_as = correlated.effective_points.unwrap();
    assert!((6.0..30.0).contains(&counts_as), "{counts_as}");
    assert!(correlated.remarks[0].contains("the 240 readings count as"));
    let wider =
        correlated.residual_expanded_arcsec.unwrap() / white.residual_expanded_arcsec.unwrap();
    assert!(wider > 2.0, "{wider}");
    // The same readings in a table that falls: the same answer. Mixed up in time, neighbours by place still tell it.
    let mut turned = data.clone();
    turned.reverse();
    let told = plain(&turned).effective_points.unwrap();
    assert!((told / counts_as - 1.0).abs() < 1e-6, "{told} {counts_as}");
    let mut mixed = data.clone();
    mixed.sort_by_key(|point| (point.position_mm * 4.0) as usize * 97 % 240);
    let told = plain(&mixed).effective_points.unwrap();
    assert!(told < 1.001 * counts_as, "{told} {counts_as}");
}

#[test]
fn bad_input_is_told_where_and_what_is_needed() {
    let data = points((0..5).map(f64::from), |x| x);
    let told = |points: &[SweepPoint], options: &SweepOptions| {
        let why = sweep::outcome(&Setup::default(), options, points).unwrap_err();
        why.row()
            .map_or(why.to_string(), |row| format!("row {row}: {why}"))
    };
    let none = SweepOptions::default();
    let mut nan = data.clone();
    nan[2].reading_mm = f64::NAN;
    assert_eq!(told(&nan, &none), "row 3: reading_mm is not a number");
    nan[1].position_mm = f64::INFINITY;
    assert_eq!(told(&nan, &none), "row 2: position_mm is not a number");
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
    assert_eq!(
        told(&data, &long),
        "profile filter: a cut-off of 40 mm needs a profile of at least 80 mm, and this one is 4 mm long: take a shorter \
         cut-off, or none"
    );
    let coarse = SweepOptions {
        filter: Some("1mm".parse().unwrap()),
        ..none
    };
    assert!(told(&data, &coarse).contains("within 0.5"));
    let error = sweep::outcome(&Setup::default(), &coarse, &[]).unwrap_err();
    assert_eq!(error, SweepError::TooFew { points: 0 });
}
