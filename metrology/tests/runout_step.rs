//! Run-out: exact answers, what options do, what bad input is told.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::runout::{
    self, Readings, RunoutError, RunoutOptions, RunoutOutcome, RunoutPoint, TimedReading, reversal,
};
use conewright_metrology::setup::Setup;
use conewright_metrology::taper::Taper;
use conewright_metrology::uncertainty::Verdict;
use conewright_metrology::{Angle, Length};
use std::f64::consts::TAU;

fn points(n: u32, turns: u32, y: impl Fn(f64) -> f64) -> Vec<RunoutPoint> {
    (0..n * turns)
        .map(|i| RunoutPoint {
            angle_deg: f64::from(i % n) * 360.0 / f64::from(n),
            reading_mm: y(TAU * f64::from(i) / f64::from(n)),
            plane_mm: None,
        })
        .collect()
}

fn plain(points: &[RunoutPoint]) -> RunoutOutcome {
    with(&RunoutOptions::default(), points)
}

fn with(options: &RunoutOptions, points: &[RunoutPoint]) -> RunoutOutcome {
    runout::outcome(&Setup::default(), options, Readings::Angles(points)).unwrap()
}

fn near(got: f64, want: f64) -> bool {
    (got - want).abs() < 1e-8
}

/// A pure ellipse of amplitude A: run-out, least squares and minimum zone are all 2A, and only order 2 is there.
#[test]
fn a_pure_ellipse() {
    let section = plain(&points(72, 1, |t| 2.5e-3 * (2.0 * t).cos())).section;
    assert!(near(section.tir_um, 5.0) && near(section.eccentricity_um, 0.0));
    assert!(near(section.roundness_ls_um.unwrap(), 5.0));
    assert!(near(section.roundness_mz_um.unwrap(), 5.0));
    assert_eq!(section.harmonics_um.len(), 14);
    assert!(near(section.harmonics_um[0], 2.5));
    assert!(section.harmonics_um[1..].iter().all(|a| near(*a, 0.0)));
}

/// Three pure lobes of amplitude A, off centre by e: the minimum zone circle is that of the lobes alone, 2A.
#[test]
fn three_pure_lobes_off_centre() {
    let data = points(360, 1, |t| 1e-3 * (3.0 * t).cos() + 4e-3 * (t - 0.5).cos());
    let outcome = plain(&data);
    let section = &outcome.section;
    assert!(near(section.eccentricity_um, 4.0));
    assert!(near(section.high_spot_deg, 0.5_f64.to_degrees()));
    assert!(near(section.roundness_ls_um.unwrap(), 2.0));
    assert!(near(section.roundness_mz_um.unwrap(), 2.0));
    assert!(near(section.harmonics_um[1], 1.0) && near(section.harmonics_um[0], 0.0));
    assert!(
        outcome.remarks.iter().any(|r| r.contains("three-jaw")),
        "{:?}",
        outcome.remarks
    );
    // To true it: from the high spot, by the eccentricity, to the mean.
    let truing = outcome.truing.unwrap();
    assert!(near(truing.move_um, 4.0) && near(truing.target_mm, 0.0));
    assert!(near(truing.opposite_deg, 180.0 + 0.5_f64.to_degrees()));
}

/// A perfect circle of radius R off centre by e, as a radial indicator sees it: `e cos θ + √(R² − e² sin² θ)`. Without the
/// radius the limaçon takes it for oval by e²/4R; with it, the circle is a circle.
#[test]
fn an_eccentric_perfect_circle() {
    let (radius, e): (f64, f64) = (20.0, 0.4);
    let data = points(360, 1, |t| {
        e * t.cos() + (radius * radius - (e * t.sin()).powi(2)).sqrt() - radius
    });
    let seen = plain(&data).section;
    assert!((seen.harmonics_um[0] - e * e / 4.0 / radius * 1e3).abs() < 1e-3);
    assert!((seen.roundness_mz_um.unwrap() - 2.0 * e * e / 4.0 / radius * 1e3).abs() < 2e-3);
    // The mean reading is not the radius: the limaçon's level is below it by e²/4R, and that much the radius is off.
    let known = RunoutOptions {
        radius: Length::from_mm(radius - e * e / 4.0 / radius),
        ..RunoutOptions::default()
    };
    let section = with(&known, &data).section;
    assert!(
        (section.eccentricity_um - e * 1e3).abs() < 1e-3,
        "{}",
        section.eccentricity_um
    );
    assert!(section.roundness_ls_um.unwrap() < 1e-3 && section.roundness_mz_um.unwrap() < 1e-3);
    let too_small = RunoutOptions {
        radius: Length::from_mm(0.5),
        ..RunoutOptions::default()
    };
    let refused = runout::outcome(&Setup::default(), &too_small, Readings::Angles(&data));
    assert_eq!(refused, Err(RunoutError::Radius { radius_mm: 0.5 }));
}

/// Two planes by hand: 3 µm along 0° at 10 mm, 4 µm along 90° at 60 mm.
#[test]
fn two_planes_make_an_axis() {
    let plane = |plane_mm: f64, e: f64, high: f64| -> Vec<RunoutPoint> {
        let mut data = points(12, 1, |t| e * (t - high).cos());
        data.iter_mut().for_each(|p| p.plane_mm = Some(plane_mm));
        data
    };
    let mut data = plane(60.0, 4e-3, TAU / 4.0);
    data.extend(plane(10.0, 3e-3, 0.0));
    let options = RunoutOptions {
        at_planes_mm: vec![35.0, 110.0],
        ..RunoutOptions::default()
    };
    let outcome = with(&options, &data);
    let axis = outcome.axis.unwrap();
    assert!(near(axis.offset_um, 3.0) && near(axis.plane_mm, 10.0));
    assert!(near(axis.tilt_urad, 5.0 / 50.0 * 1e3));
    assert!(near(
        axis.direction_deg,
        180.0 - (4.0_f64 / 3.0).atan().to_degrees()
    ));
    // Half way between the planes lies half way between the centres.
    assert!(near(outcome.elsewhere[0].eccentricity_um, 2.5));
    // As far beyond the second as it is from the first: (−3, 8).
    assert!(near(outcome.elsewhere[1].runout_um, 2.0 * 73.0_f64.sqrt()));
    assert_eq!(outcome.planes.len(), 2);
    assert!(
        near(outcome.section.eccentricity_um, 3.0),
        "the first plane by place"
    );
    let mut close = plane(60.0, 4e-3, 0.0);
    close.extend(plane(60.05, 3e-3, 0.0));
    let refused = runout::outcome(&Setup::default(), &options, Readings::Angles(&close));
    let told = refused.unwrap_err().to_string();
    assert!(told.contains("60 mm and 60.05 mm coincide"), "{told}");
}

/// Over three turns the part repeats and the spindle's half-order motion does not: ISO 230-7.
#[test]
fn what_repeats_and_what_does_not() {
    let data = points(36, 4, |t| {
        5e-3 * t.cos() + 2e-3 * (2.0 * t).cos() + 0.7e-3 * (0.5 * t + 0.3).cos()
    });
    let section = plain(&data).section;
    assert_eq!(section.turns, 4);
    assert!(
        near(section.synchronous_um.unwrap(), 4.0),
        "{:?}",
        section.synchronous_um
    );
    // cos(t/2 + 0.3) and its negative half a turn on; the widest of the 36 places is nearest to its peak.
    let widest = (0..36)
        .map(|i| 2.0 * 0.7 * (TAU * f64::from(i) / 72.0 + 0.3).cos().abs())
        .fold(0.0, f64::max);
    assert!(near(section.asynchronous_um.unwrap(), widest));
    assert!(
        plain(&points(36, 1, f64::cos))
            .section
            .synchronous_um
            .is_none()
    );
}

#[test]
fn the_period_is_found_and_an_unsteady_hand_is_told() {
    let timed = |angle: fn(f64) -> f64| -> Vec<TimedReading> {
        (0..900)
            .map(|i| {
                let time_s = 50.0 + f64::from(i) * 0.02;
                let t = angle(f64::from(i) * 0.02);
                let reading_mm = 0.1 + 6e-3 * (t - 1.0).cos() + 1e-3 * (3.0 * t).cos();
                TimedReading {
                    time_s,
                    reading_mm,
                    plane_mm: None,
                }
            })
            .collect()
    };
    let steady = timed(|s| TAU * s / 3.3);
    let run = |data: &[TimedReading]| {
        runout::outcome(
            &Setup::default(),
            &RunoutOptions::default(),
            Readings::Steady(data),
        )
    };
    let outcome = run(&steady).unwrap();
    let section = outcome.section;
    assert!(
        (section.turn_s.unwrap() - 3.3).abs() < 1e-4,
        "{:?}",
        section.turn_s
    );
    assert_eq!(section.turns, 5);
    assert!((section.eccentricity_um - 6.0).abs() < 0.02);
    assert!((section.high_spot_deg - 1_f64.to_degrees()).abs() < 0.2);
    assert!((section.harmonics_um[1] - 1.0).abs() < 0.01);
    let by_hand = timed(|s| TAU * (s / 3.3 + 0.06 * (0.31 * s).sin()));
    let told = run(&by_hand).unwrap_err().to_string();
    assert!(
        told.contains("steady speed") && told.contains("mark"),
        "{told}"
    );
    // One mark a turn takes the place of the steady speed.
    let marks = [50.0, 53.3, 56.6];
    let readings = Readings::TurnMarks {
        readings: &steady,
        marks_s: &marks,
    };
    let marked = runout::outcome(&Setup::default(), &RunoutOptions::default(), readings).unwrap();
    assert_eq!((marked.section.turns, marked.section.points), (2, 330));
    assert!((marked.section.eccentricity_um - 6.0).abs() < 1e-6);
}

#[test]
fn the_indicator_s_stand_is_corrected_only_when_asked() {
    let data = points(36, 1, |t| 4e-3 * t.cos());
    let half: Angle = "60deg".parse().unwrap();
    let mut setup = Setup {
        taper: Some(Taper::from_half_angle("steep", half, "a test").unwrap()),
        ..Setup::default()
    };
    let ask = |setup: &Setup, options: &RunoutOptions| {
        runout::outcome(setup, options, Readings::Angles(&data))
    };
    let plain = RunoutOptions::default();
    let square = RunoutOptions {
        square_to_cone: true,
        ..RunoutOptions::default()
    };
    let as_read = ask(&setup, &plain).unwrap();
    assert!(near(as_read.section.eccentricity_um, 4.0) && as_read.corrections.is_empty());
    // cos 60°: half of the radial movement is read.
    let corrected = ask(&setup, &square).unwrap();
    assert!(near(corrected.section.eccentricity_um, 8.0) && corrected.corrections.len() == 1);
    assert!(near(corrected.section.tir_um, 16.0));
    setup.indicator.lever_angle = Some(half);
    let lever = ask(&setup, &square).unwrap();
    assert!(near(lever.section.eccentricity_um, 4.0) && lever.corrections.len() == 2);
    assert_eq!(ask(&Setup::default(), &square), Err(RunoutError::NoTaper));
}

#[test]
fn filter_and_rejection_are_said() {
    let mut data = points(360, 1, |t| {
        1e-3 * (3.0 * t).cos() + 0.5e-3 * (40.0 * t).cos()
    });
    assert!(plain(&data).section.roundness_ls_um.unwrap() > 2.8);
    let filter = RunoutOptions {
        filter_upr: Some(15),
        ..RunoutOptions::default()
    };
    let smooth = with(&filter, &data);
    // Order 3 behind 15: 2^-(3/15)² of it; order 40: nothing.
    let want = 2.0 * (-0.04_f64).exp2();
    assert!(
        (smooth.section.roundness_mz_um.unwrap() - want).abs() < 0.02,
        "{want}"
    );
    assert_eq!(smooth.filter_upr, Some(15));
    data[77].reading_mm += 0.02;
    let flagged = plain(&data).section;
    assert_eq!(
        (flagged.outliers, flagged.rejected, flagged.outlier_rows),
        (1, 0, vec![78])
    );
    let reject = RunoutOptions {
        reject_outliers: true,
        ..RunoutOptions::default()
    };
    let left = with(&reject, &data).section;
    assert_eq!((left.points, left.rejected), (359, 1));
    assert!(left.tir_um < 3.1);
}

/// A limit is met only when the scatter leaves no doubt of it.
#[test]
fn the_verdict_on_the_run_out() {
    let noise = |i: usize| 0.2e-3 * ((i as f64 * 0.754_877_666).fract() - 0.5);
    let mut data = points(72, 1, |t| 2.5e-3 * t.cos());
    data.iter_mut()
        .enumerate()
        .for_each(|(i, p)| p.reading_mm += noise(i));
    let verdict = |um: f64| {
        let limit = Length::from_mm(um * 1e-3);
        with(
            &RunoutOptions {
                limit,
                ..RunoutOptions::default()
            },
            &data,
        )
        .section
        .verdict
    };
    assert_eq!(verdict(6.0), Some(Verdict::In));
    assert_eq!(verdict(5.05), Some(Verdict::Undecided));
    assert_eq!(verdict(4.5), Some(Verdict::Out));
    assert!(plain(&data).section.verdict.is_none());
}

/// An indicator that may be off by a millimetre proves no run-out below 5 µm, however little it shows.
#[test]
fn what_an_indicator_cannot_tell_is_not_in_tolerance() {
    let options = RunoutOptions {
        limit: Length::from_mm(5e-3),
        ..RunoutOptions::default()
    };
    let readings = points(12, 3, |t| 0.5e-3 * t.cos());
    let on = |limit_of_error| {
        let mut setup = Setup::default();
        setup.indicator.error_limit = limit_of_error;
        let readings = Readings::Angles(&readings);
        runout::outcome(&setup, &options, readings)
            .unwrap()
            .section
            .verdict
    };
    assert_eq!(on(None), Some(Verdict::In));
    assert_eq!(on(Some("1um".parse().unwrap())), Some(Verdict::In));
    assert_eq!(on(Some("1mm".parse().unwrap())), Some(Verdict::Undecided));
}

#[test]
fn part_and_spindle_apart() {
    let read = |sign: f64, centring: f64| {
        points(60, 2, |t| {
            let part = 2e-3 * (2.0 * t).cos() + centring * t.cos();
            part + sign * (1e-3 * (3.0 * t).cos() + 0.5e-3 * t.sin())
        })
    };
    let found = reversal(
        &Setup::default(),
        &RunoutOptions::default(),
        &read(1.0, 3e-3),
        &read(-1.0, 3e-3),
    )
    .unwrap();
    assert!(near(found.part.eccentricity_um, 3.0) && near(found.part.error_mz_um, 4.0));
    assert!(near(found.spindle.eccentricity_um, 0.5) && near(found.spindle.error_mz_um, 2.0));
    assert!(near(found.spindle.high_spot_deg, 90.0));
    let mut shifted = read(-1.0, 3e-3);
    shifted[7].angle_deg += 1.0;
    let refused = reversal(
        &Setup::default(),
        &RunoutOptions::default(),
        &read(1.0, 0.0),
        &shifted,
    );
    assert_eq!(
        refused,
        Err(RunoutError::ReversalAngles {
            row: 8,
            angle_deg: 43.0
        })
    );
}

#[test]
fn bad_input_is_told_where_and_what_is_needed() {
    let data = points(12, 1, |t| t.cos() * 1e-3);
    let told = |points: &[RunoutPoint]| {
        let readings = Readings::Angles(points);
        let refused = runout::outcome(&Setup::default(), &RunoutOptions::default(), readings);
        let why = refused.unwrap_err();
        why.row()
            .map_or(why.to_string(), |row| format!("row {row}: {why}"))
    };
    let changed = |index: usize, change: fn(&mut RunoutPoint)| {
        let mut data = data.clone();
        change(&mut data[index]);
        told(&data)
    };
    assert_eq!(
        changed(4, |p| p.reading_mm = f64::NAN),
        "row 5: reading_mm is not a number"
    );
    assert_eq!(
        changed(0, |p| p.angle_deg = f64::INFINITY),
        "row 1: angle_deg is not a number"
    );
    assert_eq!(
        changed(2, |p| p.plane_mm = Some(f64::NAN)),
        "row 3: plane_mm is not a number"
    );
    assert!(changed(11, |p| p.angle_deg = 400.0).starts_with("row 12: an angle of 400°"));
    assert!(changed(11, |p| p.angle_deg = -0.1).contains("0° to 360°"));
    assert!(told(&[]).contains("at least 3"));
    assert!(told(&data[..2]).contains("2 readings, and a circle needs at least 3"));
    assert!(told(&data[..5]).contains("leave 240° of the turn empty"));
    assert!(told(&[data[0]; 6]).contains("360° of the turn empty"));
    let timed: Vec<TimedReading> = (0..40)
        .map(|i| TimedReading {
            time_s: f64::from(i % 30),
            reading_mm: 0.0,
            plane_mm: None,
        })
        .collect();
    let steady = Readings::Steady(&timed);
    let refused = runout::outcome(&Setup::default(), &RunoutOptions::default(), steady);
    assert_eq!(refused, Err(RunoutError::TimeOrder { row: 31 }));
    let coarse = RunoutOptions {
        filter_upr: Some(15),
        ..RunoutOptions::default()
    };
    let refused = runout::outcome(&Setup::default(), &coarse, Readings::Angles(&data));
    assert!(
        refused
            .unwrap_err()
            .to_string()
            .contains("filter of 15 undulations")
    );
}

#[test]
fn four_positions_are_enough_for_a_circle_and_claim_little() {
    let section = plain(&points(4, 1, |t| 3e-3 * (t - 0.2).cos())).section;
    assert!(near(section.eccentricity_um, 3.0) && section.harmonics_um.is_empty());
    let three = plain(&points(3, 1, |t| 3e-3 * (t - 0.2).cos()));
    assert!(near(three.section.eccentricity_um, 3.0));
    assert!(three.section.roundness_mz_um.is_none() && three.section.tir_interval_um.is_none());
    assert!(three.truing.is_none(), "three readings prove nothing");
    let json = serde_json::to_value(&three).unwrap();
    assert!(json.get("roundness_mz_um").is_none() && json.get("eccentricity_um").is_some());
}

/// The limits are of the whole profile: beside a roundness behind a filter they would be of something else.
#[test]
fn a_filtered_roundness_has_no_limits_of_the_unfiltered() {
    let points: Vec<RunoutPoint> = (0..360)
        .map(|deg| {
            let t = f64::from(deg).to_radians();
            let scatter = f64::from(deg * 37 % 11 - 5) * 1e-5;
            RunoutPoint {
                angle_deg: f64::from(deg),
                reading_mm: 2e-3 * (3.0 * t).cos() + scatter,
                plane_mm: None,
            }
        })
        .collect();
    let found = |filter_upr| {
        let options = RunoutOptions {
            filter_upr,
            ..RunoutOptions::default()
        };
        runout::outcome(&Setup::default(), &options, Readings::Angles(&points)).unwrap()
    };
    assert!(found(None).section.roundness_interval_um.is_some());
    let filtered = found(Some(15));
    assert_eq!(filtered.section.roundness_interval_um, None);
    // That the three lobes are proved is still known.
    assert!(filtered.remarks.iter().any(|r| r.contains("three lobes")));
}
