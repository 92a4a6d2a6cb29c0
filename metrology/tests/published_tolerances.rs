//! AT grades against ISO 1947 and against values printed for 7:24 tapers.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::tolerance::{AtSide, Tolerance, at_alpha, at_on_diameter_um};
use conewright_metrology::{Angle, Length};

#[allow(dead_code)]
mod table;

/// ISO 1947, every cell, at both ends of its length class.
#[test]
fn every_value_of_the_at_table_at_both_ends_of_its_class() {
    let rows = table::rows(include_str!("data/at_iso1947.csv"));
    assert_eq!(rows.len(), 12 * 10);
    for row in rows {
        let grade = row
            .text("grade")
            .strip_prefix("AT")
            .unwrap()
            .parse()
            .unwrap();
        let end = |column: &str| Length::from_mm(row.number(column).unwrap()).unwrap();
        let (over, to) = (end("length_over_mm"), end("length_to_mm"));
        let printed = row.number("at_alpha_urad_included_angle").unwrap();
        for length in [over + Length::from_pm(1), to] {
            let ours = at_alpha(grade, length).unwrap().urad();
            assert!(
                (ours - printed).abs() < 1e-9 * printed,
                "AT{grade} {length}: {ours}"
            );
        }
        // Just beyond either end is another class, or none.
        for length in [over, to + Length::from_pm(1)] {
            let other = at_alpha(grade, length).map(|angle| angle.urad());
            assert!(other.is_err() || (other.unwrap() - printed).abs() > 0.1 * printed);
        }
    }
}

/// The pattern behind the table: a grade coarser is 1.6 times wider and a class longer 1.25 times narrower, both
/// to within the rounding of preferred numbers (ISO 3: R5 and R10, at most 1.3 % off and two roundings).
#[test]
fn the_at_table_follows_the_preferred_numbers() {
    let (r5, r10) = (10_f64.powf(0.2), 10_f64.powf(0.1));
    let lengths =
        [8, 12, 20, 30, 50, 80, 120, 200, 300, 500].map(|mm: i64| Length::from_um(mm * 1000));
    let at = |grade, length| at_alpha(grade, length).unwrap().rad();
    for grade in 1..=12 {
        for pair in lengths.windows(2) {
            let step = at(grade, pair[0]) / at(grade, pair[1]);
            assert!(
                (step / r10 - 1.0).abs() < 0.026,
                "AT{grade} {} {step}",
                pair[0]
            );
        }
        if grade < 12 {
            for length in lengths {
                let step = at(grade + 1, length) / at(grade, length);
                assert!((step / r5 - 1.0).abs() < 0.026, "AT{grade} {length} {step}");
            }
        }
    }
}

/// JIS B 0614's AT4 column of the dimension table of MAS 403-1982, seven sizes, printed in tenths of a micrometre.
#[test]
fn the_printed_at4_values_of_7_24_tapers() {
    let rows = table::rows(include_str!("data/tapers_7_24.csv"));
    assert_eq!(rows.len(), 7);
    for row in rows {
        let length = Length::from_mm(row.number("length_mm").unwrap()).unwrap();
        let ours_mm =
            at_on_diameter_um(4, length, Angle::half_of_ratio(24.0 / 7.0)).unwrap() * 1e-3;
        let (printed, half_a_unit) = row.printed("at4_on_diameter_mm").unwrap();
        assert!(
            (ours_mm - printed).abs() <= half_a_unit,
            "{}: {ours_mm}",
            row.text("size")
        );
    }
}

#[test]
fn steeper_than_1_3_the_cosine_counts() {
    let length = Length::from_um(100_000);
    let at = |n: f64| at_on_diameter_um(4, length, Angle::half_of_ratio(n)).unwrap();
    let flat = 63e-6 * 100_000.0;
    assert!((at(3.0) - flat).abs() < 1e-9, "1:3 itself is not steeper");
    let steep = Angle::half_of_ratio(2.999);
    assert!((at(2.999) - flat / steep.cos()).abs() < 1e-9);
}

#[test]
fn an_at_grade_is_shared_between_the_sides_of_the_half_angle() {
    let half = Angle::half_of_ratio(12.0);
    let length = Some(Length::from_um(50_000));
    let limits = |side| {
        Tolerance::At { grade: 4, side }
            .limits(half, length)
            .unwrap()
            .map(|angle| (angle.urad() * 1e6).round() / 1e6)
    };
    // AT4 on 50 mm is 80 µrad of the included angle: 40 µrad of the half angle in all.
    assert_eq!(limits(AtSide::Both), [-20.0, 20.0]);
    assert_eq!(limits(AtSide::Steeper), [0.0, 40.0]);
    assert_eq!(limits(AtSide::Shallower), [-40.0, 0.0]);
}

#[test]
fn other_tolerances_as_limits_of_the_half_angle() {
    let half: Angle = "7:24".parse().unwrap();
    let length: Length = "65.4mm".parse().unwrap();
    let limits = |text: &str| {
        text.parse::<Tolerance>()
            .unwrap()
            .limits(half, Some(length))
            .unwrap()
    };
    let [lower, upper] = limits("5arcsec");
    assert!((lower.arcsec() + 5.0).abs() < 1e-9 && (upper.arcsec() - 5.0).abs() < 1e-9);

    // The definition itself is the oracle: the cone at the limit is t larger or smaller at its other end.
    let [lower, upper] = limits("0.5mm");
    for (limit, t) in [(lower, -0.5), (upper, 0.5)] {
        let change = 2.0 * 65.4 * ((half + limit).tan() - half.tan());
        assert!((change - t).abs() < 1e-12, "{change}");
    }
    assert!(
        upper.rad() < -lower.rad(),
        "a steeper cone gains more from the same angle"
    );

    let [lower, upper] = limits("1um/60mm");
    assert!((upper.urad() - 1000.0 / 60.0).abs() < 1e-6);
    assert_eq!(lower, -upper);
}

#[test]
fn limits_that_cannot_be_told() {
    let half = Angle::half_of_ratio(12.0);
    let refused = |text: &str, half: Angle, length: Option<&str>| {
        let length = length.map(|length| length.parse().unwrap());
        text.parse::<Tolerance>()
            .unwrap()
            .limits(half, length)
            .unwrap_err()
            .to_string()
    };
    for text in ["AT4", "2um"] {
        assert!(refused(text, half, None).contains("state the length"));
        assert!(refused(text, half, Some("0mm")).contains("above 0 mm"));
        assert!(refused(text, half, Some("-1mm")).contains("above 0 mm"));
    }
    assert!(refused("AT4", half, Some("6mm")).contains("over 6 mm to 630 mm"));
    assert!(refused("AT4", half, Some("630.1mm")).contains("over 6 mm to 630 mm"));
    for outside in [-1.0, 90.0, f64::NAN] {
        assert!(refused("5arcsec", Angle::from_deg(outside), None).contains("below 90°"));
    }
    // An edge without a taper lies at 0° and has limits too.
    let edge: Tolerance = "1um/60mm".parse().unwrap();
    assert!(edge.limits(Angle::ZERO, None).is_ok());
    let grade = Tolerance::At {
        grade: 13,
        side: AtSide::Both,
    };
    assert!(grade.limits(half, Some(Length::from_um(50_000))).is_err());
    let none = Tolerance::At {
        grade: 0,
        side: AtSide::Both,
    };
    assert!(none.limits(half, Some(Length::from_um(50_000))).is_err());
}

/// Found by fuzzing: a tolerance of 10²⁴ degrees was written with more digits than are read, and the set-up that held it could never be
/// read back.
#[test]
fn a_tolerance_is_read_back_as_it_is_written() {
    for text in [
        "0.000001arcsec",
        "0.000001234567890123456arcsec",
        "0.0123456789urad",
        "90deg",
        "89.99999999999999deg",
        "1:12",
        "0.6in/ft",
    ] {
        let tolerance: Tolerance = text.parse().unwrap();
        let written = tolerance.to_string();
        assert_eq!(written.parse(), Ok(tolerance), "{text} as {written}");
    }
    for outside in [
        "0.00000099arcsec",
        "90.0001deg",
        "777777777777777777777777deg",
        "0.00000000000000000000007urad",
    ] {
        let error = outside.parse::<Tolerance>().unwrap_err().to_string();
        assert!(error.contains("90°"), "{outside}: {error}");
    }
}
