//! Sine bars against published examples, and what the trade knows of them.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::blocks::{StackRules, stack_for_angle};
use conewright_metrology::setting::{Bar, BarKind};
use conewright_metrology::{Angle, Length, Unit};

#[allow(dead_code)]
mod kits;
#[allow(dead_code)]
mod table;

fn sine_bar(centre_distance: Length, constant: Length) -> Bar {
    Bar {
        kind: BarKind::Sine,
        centre_distance: Some(centre_distance),
        constant,
        disc_radii: None,
        centre_distance_u: None,
    }
}

/// Worked examples, each with its source in its row.
#[test]
fn published_sine_bar_examples_both_ways() {
    let rows = table::rows(include_str!("data/sine_bar_examples.csv"));
    let mut backward = 0;
    for row in rows {
        let unit = Unit::from_sign(row.text("unit")).unwrap();
        let bar = sine_bar(
            Length::parse(row.text("centre_distance"), unit).unwrap(),
            Length::ZERO,
        );
        let printed = row.text("stack_or_angle_printed");
        if let Some((stack, angle)) = printed.split_once(" -> ") {
            let set = bar.half_angle(Length::parse(stack, unit).unwrap()).unwrap();
            let angle: Angle = angle.parse().unwrap();
            assert!((set.deg() - angle.deg()).abs() <= 0.5e-9, "{set}");
            backward += 1;
        } else {
            let angle = Angle::from_deg(row.number("angle_deg").unwrap());
            let stack_mm = bar.stack_height_mm(angle).unwrap();
            let stack = stack_mm * Unit::Mm.pm() as f64 / unit.pm() as f64;
            let (printed, half_a_unit) = row.printed("stack_or_angle_printed").unwrap();
            assert!((stack - printed).abs() <= half_a_unit, "{stack}");
        }
    }
    assert_eq!(backward, 1);
}

/// Common practice, no published source: the number 2 Morse taper on 65 mm between rollers.
#[test]
fn a_number_2_morse_taper_on_a_65_mm_bar() {
    let half = Angle::half_of_ratio(20.020);
    let plain = sine_bar(Length::from_um(65_000), Length::ZERO);
    assert_eq!(
        format!("{:.2}", plain.stack_height_mm(half).unwrap()),
        "1.62"
    );
    let with_constant = sine_bar(Length::from_um(65_000), Length::from_um(1_000));
    assert_eq!(
        format!("{:.2}", with_constant.stack_height_mm(half).unwrap()),
        "2.62"
    );

    // 1.62 mm is below what two blocks make: the kit has no stack for the first, and says so.
    let kit = kits::metric_112();
    let rules = StackRules::default();
    let low = stack_for_angle(&kit, &plain, half, &rules).unwrap();
    assert!(!low.within);
    let good = stack_for_angle(&kit, &with_constant, half, &rules).unwrap();
    assert!(good.within);
    let off = good.angle_error_arcsec.unwrap();
    assert!(
        off != 0.0 && off.abs() < 1.6,
        "half a micrometre of 65 mm is 1.6″: {off}"
    );
    let set = good.angle_set_deg.unwrap();
    assert!((set - half.deg() - off / 3600.0).abs() < 1e-12);
}
