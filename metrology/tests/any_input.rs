//! Whatever comes in, a step answers or refuses: nothing panics, and an answer is made of numbers.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::contact::{self, ContactOptions, Zones};
use conewright_metrology::dial::{self, DialOptions, DialPoint, Direction};
use conewright_metrology::runout::{
    self, Readings, RunoutOptions, RunoutPoint, RunoutSums, TimedReading, reversal,
};
use conewright_metrology::setup::{BigEnd, IndicatorSide, Sense, Setup};
use conewright_metrology::size::{self, Measured, Over, SectionReading, SizeOptions};
use conewright_metrology::sweep::{
    self, SweepOptions, SweepPoint, SweepSums, Timed, by_cable, by_steady_feed,
};
use conewright_metrology::taper::Taper;
use conewright_metrology::{Angle, Length};
use proptest::prelude::*;
use serde::Serialize;
use serde_json::Value;

/// Values as they come from a shop and from a broken cable.
fn value() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => -0.1..0.1_f64,
        4 => (-5..=5_i32).prop_map(f64::from),
        2 => Just(0.0),
        1 => Just(-0.0),
        1 => prop::num::f64::ANY,
        1 => Just(1e300),
        1 => Just(1e-300),
    ]
}

/// Mostly sound, so that an outcome is often reached.
fn sound() -> impl Strategy<Value = f64> {
    prop_oneof![20 => -0.1..0.1_f64, 10 => (-5..=5_i32).prop_map(f64::from), 1 => value()]
}

fn angle() -> impl Strategy<Value = f64> {
    prop_oneof![
        20 => 0.0..360.0_f64,
        20 => (0..=12_i32).prop_map(|hour| f64::from(hour) * 30.0),
        1 => value(),
    ]
}

fn setups() -> impl Strategy<Value = Setup> {
    let lengths = [None, Some("30mm"), Some("0.001mm")];
    (
        any::<bool>(),
        any::<bool>(),
        0..3_usize,
        prop::option::of(0..5_i64),
    )
        .prop_map(move |(taper, sense, length, step)| {
            let mut setup = Setup::default();
            if taper {
                let half: Angle = "1:12".parse().unwrap();
                let mut taper = Taper::from_half_angle("1:12", half, "a test").unwrap();
                taper.gauge_diameter = Some("40mm".parse().unwrap());
                setup.taper = Some(taper);
                setup.tolerance = Some("5arcsec".parse().unwrap());
            }
            if sense {
                setup.sense = Some(Sense {
                    big_end: BigEnd::B,
                    indicator: IndicatorSide::Opposite,
                });
            }
            setup.length = lengths[length].map(|text| text.parse().unwrap());
            setup.indicator.resolution = step.map(Length::from_um);
            setup.indicator.error_limit = step.map(Length::from_um);
            setup
        })
}

/// serde_json writes what is not a number as null, so an answer with one does not read back.
fn all_numbers(answer: &impl Serialize) {
    fn walk(value: &Value) {
        match value {
            Value::Null => panic!("a value that is not a number"),
            Value::Array(items) => items.iter().for_each(walk),
            Value::Object(fields) => fields.values().for_each(walk),
            _ => {}
        }
    }
    walk(&serde_json::to_value(answer).unwrap());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn a_sweep(
        setup in setups(),
        points in prop::collection::vec((sound(), sound()), 0..40),
        filter in prop::option::of(1..3_000_i64),
        reject_outliers in any::<bool>(),
    ) {
        let points: Vec<SweepPoint> = points
            .into_iter()
            .map(|(position_mm, reading_mm)| SweepPoint { position_mm, reading_mm })
            .collect();
        let filter = filter.map(Length::from_um);
        let options = SweepOptions { filter, reject_outliers, ..SweepOptions::default() };
        match sweep::outcome(&setup, &options, &points) {
            Ok(outcome) => all_numbers(&outcome),
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
        let mut sums = SweepSums::default();
        points.iter().for_each(|p| sums.push(p.position_mm, p.reading_mm));
        let _ = sums.so_far();
    }

    #[test]
    fn a_sweep_s_places(
        positions in prop::collection::vec((value(), value()), 0..12),
        readings in prop::collection::vec((value(), value()), 0..12),
    ) {
        let timed = |pairs: Vec<(f64, f64)>| -> Vec<Timed> {
            pairs.into_iter().map(|(time_s, value_mm)| Timed { time_s, value_mm }).collect()
        };
        let (positions, readings) = (timed(positions), timed(readings));
        let _ = by_cable(&positions, &readings);
        if let [a, b, ..] = positions[..] {
            let _ = by_steady_feed([a, b], &readings);
        }
    }

    #[test]
    fn a_turn(
        setup in setups(),
        points in prop::collection::vec((angle(), sound(), prop::option::of(0..3_u8)), 0..50),
        filter_upr in prop::option::of(0..20_u32),
        reject_outliers in any::<bool>(),
        radius in prop::option::of(1..100_000_i64),
        square_to_cone in any::<bool>(),
        one_plane in any::<bool>(),
    ) {
        let points: Vec<RunoutPoint> = points
            .into_iter()
            .map(|(angle_deg, reading_mm, plane)| RunoutPoint {
                angle_deg,
                reading_mm,
                plane_mm: plane.filter(|_| !one_plane).map(|p| f64::from(p) * 20.0),
            })
            .collect();
        let options = RunoutOptions {
            filter_upr,
            reject_outliers,
            radius: radius.map(Length::from_um),
            square_to_cone,
            limit: Some(Length::from_um(5)),
            at_planes_mm: vec![7.0],
            ..RunoutOptions::default()
        };
        match runout::outcome(&setup, &options, Readings::Angles(&points)) {
            Ok(outcome) => all_numbers(&outcome),
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
        if let Ok(outcome) = reversal(&setup, &options, &points, &points) {
            all_numbers(&outcome);
        }
        let mut sums = RunoutSums::default();
        points.iter().for_each(|p| sums.push(Some(p.angle_deg), p.reading_mm));
        let _ = sums.so_far();
    }

    #[test]
    fn turns_in_time(
        steps in prop::collection::vec((prop_oneof![9 => Just(0.1), 3 => 1e-6..2.0_f64, 1 => value()], sound()), 0..80),
        wave in 0.0..2.0_f64,
        marks in prop::collection::vec(prop_oneof![5 => 0.0..8.0_f64, 1 => value()], 0..5),
    ) {
        let mut time_s = 0.0;
        let readings: Vec<TimedReading> = steps
            .into_iter()
            .map(|(step, reading)| {
                time_s += step;
                TimedReading { time_s, reading_mm: reading + wave * (3.0 * time_s).cos(), plane_mm: None }
            })
            .collect();
        let (setup, options) = (Setup::default(), RunoutOptions::default());
        if let Ok(outcome) = runout::outcome(&setup, &options, Readings::Steady(&readings)) {
            all_numbers(&outcome);
        }
        let marked = Readings::TurnMarks { readings: &readings, marks_s: &marks };
        if let Ok(outcome) = runout::outcome(&setup, &options, marked) {
            all_numbers(&outcome);
        }
    }

    #[test]
    fn a_size(
        setup in setups(),
        sections in prop::collection::vec((sound(), prop_oneof![5 => 30.0..50.0_f64, 1 => value()]), 0..6),
        over in prop::collection::vec((0..40_000_i64, 0..90_000_i64), 0..4),
        radius in -1_000..9_000_i64,
        pass in prop::option::of(-2..20_i64),
    ) {
        let options = SizeOptions { pass: pass.map(Length::from_um), ..SizeOptions::default() };
        let sections = sections
            .into_iter()
            .map(|(plane_mm, diameter_mm)| SectionReading { plane_mm, diameter_mm })
            .collect();
        let over = over
            .into_iter()
            .map(|(stacks, over)| Over { stacks: Length::from_um(stacks), over: Length::from_um(over) })
            .collect();
        let rollers = Measured::Rollers { radius: Length::from_um(radius), over };
        let short = Measured::StandOff { short: vec![Length::from_um(radius)] };
        for measured in [Measured::Sections(sections), rollers, short] {
            match size::outcome(&setup, &options, &measured) {
                Ok(outcome) => all_numbers(&outcome),
                Err(error) => prop_assert!(!error.to_string().is_empty()),
            }
        }
    }

    #[test]
    fn a_print_and_a_check(
        setup in setups(),
        percents in prop::array::uniform3(prop_oneof![9 => 0.0..=100.0_f64, 1 => value()]),
        found in prop::option::of([value(), value()]),
        points in prop::collection::vec((sound(), sound(), any::<bool>()), 0..20),
        correct in any::<bool>(),
    ) {
        let [big_percent, middle_percent, small_percent] = percents;
        let zones = Zones { big_percent, middle_percent, small_percent };
        let options = ContactOptions { found_arcsec: found, ..ContactOptions::default() };
        if let Ok(outcome) = contact::outcome(&setup, &options, zones) {
            all_numbers(&outcome);
        }
        let points: Vec<DialPoint> = points
            .into_iter()
            .map(|(nominal_mm, reading_mm, up)| DialPoint {
                nominal_mm,
                reading_mm,
                direction: if up { Direction::Up } else { Direction::Down },
            })
            .collect();
        if let Ok(outcome) = dial::outcome(&setup, DialOptions { correct }, &points) {
            all_numbers(&outcome);
        }
    }
}
