//! Cone angles and tapers as the standards print them.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::taper::Taper;
use conewright_metrology::{Angle, Length};

#[allow(dead_code)]
mod table;

fn mm(mm: f64) -> Length {
    Length::from_mm(mm).unwrap()
}

fn cone(n: f64) -> Taper {
    Taper::from_half_angle("cone", Angle::half_of_ratio(n), "a table").unwrap()
}

/// ISO 1119 as printed in GOST R 53440-2009 Table 1 and GB/T 157-2001 Table 2, to a tenth of a millisecond of arc.
#[test]
fn the_angles_of_iso_1119_to_the_last_printed_place() {
    for row in table::rows(include_str!("data/cones_iso1119.csv")) {
        let n = row.number("ratio_n").unwrap();
        let taper = cone(n);
        let [degrees, minutes, seconds] = row
            .text("included_dms_printed")
            .split(':')
            .map(|part| part.parse::<f64>().unwrap())
            .collect::<Vec<_>>()[..]
        else {
            panic!("1:{n} is printed in degrees, minutes and seconds");
        };
        let printed = (degrees * 60.0 + minutes) * 60.0 + seconds;
        let half_a_unit = 0.000_05 * (1.0 + 1e-6);
        let off = taper.included_angle().arcsec() - printed;
        assert!(
            off.abs() <= half_a_unit,
            "1:{n}: {off}″ from the printed angle"
        );

        // The slip found in print, atan(C) taken for the included angle of a cone C: the check must tell it
        // from the right one, down to the slenderest cone where it is smallest.
        let slip = Angle::from_rad((1.0 / n).atan()).arcsec() - printed;
        assert!(slip.abs() > 3.0 * half_a_unit, "1:{n}");

        let exact = row.number("half_angle_deg_exact").unwrap();
        assert!((taper.half_angle.deg() - exact).abs() < 1e-12, "1:{n}");
        assert!((taper.ratio_n() - n).abs() < 1e-10 * n);
    }
}

/// Morse, metric, Brown and Sharpe, Jarno and short Morse tapers: ratio against taper per foot, inches against
/// millimetres, and the small end from gauge diameter and length. Sources are in the rows.
#[test]
fn ratio_gauge_diameter_and_small_end_of_the_self_holding_tapers_agree() {
    let mut small_ends = 0;
    for row in table::rows(include_str!("data/tapers_self_holding.csv")) {
        let name = format!("{} {}", row.text("system"), row.text("number"));
        let (n, half_of_n) = row.printed("ratio_n").unwrap();
        if let Some((per_foot, half_of_foot)) = row.printed("taper_per_foot_in") {
            let of_foot: Angle = format!("{per_foot}in/ft").parse().unwrap();
            let room = half_of_n + 12.0 / per_foot.powi(2) * half_of_foot;
            assert!(
                (of_foot.ratio_n() - n).abs() <= room,
                "{name}: {}",
                of_foot.ratio_n()
            );
        }
        if let (Some((inch, half_inch)), Some((mm, half_mm))) = (
            row.printed("gauge_diameter_in"),
            row.printed("gauge_diameter_mm"),
        ) {
            assert!(
                (inch * 25.4 - mm).abs() <= half_mm + 25.4 * half_inch,
                "{name}"
            );
        }
        if let (Some(gauge), Some(length), Some((small, half_small))) = (
            row.number("gauge_diameter_mm"),
            row.number("length_mm"),
            row.printed("small_end_mm"),
        ) {
            let mut taper = cone(n);
            taper.gauge_diameter = Some(mm(gauge));
            taper.length = Some(mm(length));
            taper.check().unwrap();
            let computed = taper.small_diameter_mm().unwrap();
            assert!(
                (computed - small).abs() <= half_small,
                "{name}: {computed:.4} mm, printed {small}"
            );
            small_ends += 1;
        }
        // Jarno is its own rule: N/8 in at the big end, N/10 at the small, N/2 long.
        if row.text("system") == "Jarno" {
            let number = row.number("number").unwrap();
            let inch = |inch: f64| mm(inch * 25.4);
            let mut taper = cone(n);
            taper.gauge_diameter = Some(inch(row.number("gauge_diameter_in").unwrap()));
            taper.length = Some(inch(number / 2.0));
            let small = taper.small_diameter_mm().unwrap() / 25.4;
            let printed = row.number("small_end_in").unwrap();
            assert!((small - printed).abs() < 1e-9, "{name}: {small}");
        }
    }
    assert!(small_ends >= 20, "the table has small ends to compare");
}

/// MAS 403-1982: the 7:24 tapers from gauge diameter and length, to the printed thousandth.
#[test]
fn the_small_ends_of_7_24_to_the_last_printed_place() {
    for row in table::rows(include_str!("data/tapers_7_24.csv")) {
        let mut taper = cone(24.0 / 7.0);
        taper.gauge_diameter = row.number("gauge_diameter_mm").map(mm);
        taper.length = row.number("length_mm").map(mm);
        let (small, half_a_unit) = row.printed("small_diameter_mm").unwrap();
        let computed = taper.small_diameter_mm().unwrap();
        assert!(
            (computed - small).abs() <= half_a_unit,
            "{}: {computed}",
            row.text("size")
        );
        let at_the_end = taper.diameter_at(taper.length.unwrap()).unwrap();
        assert_eq!(at_the_end, computed);
    }
}

/// Common practice, no published source.
#[test]
fn what_the_trade_knows_of_a_number_2_morse_taper() {
    let two = cone(20.020);
    assert_eq!(format!("{:.3}", two.half_angle.deg()), "1.431");
    let mut b16 = cone(20.020);
    b16.gauge_diameter = Some(mm(15.733));
    b16.length = Some(mm(24.0));
    assert_eq!(format!("{:.1}", b16.small_diameter_mm().unwrap()), "14.5");
}
