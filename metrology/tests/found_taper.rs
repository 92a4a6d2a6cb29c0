//! A cone as found beside the tapers of the copied standards, and what must come off to grind it to one of them.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::found::{FoundCone, Regrind, candidates, ratio_interval, regrind};
use conewright_metrology::taper::Taper;
use conewright_metrology::{Angle, Length};

#[allow(dead_code)]
mod table;

/// ISO 296, ASME B5.10, ISO 297 and ISO 1119 as copied beside these tests; each row names its print.
fn published() -> Vec<Taper> {
    let mut tapers = Vec::new();
    for row in table::rows(include_str!("data/tapers_self_holding.csv")) {
        let name = format!("{} {}", row.text("system"), row.text("number"));
        let half = Angle::half_of_ratio(row.number("ratio_n").unwrap());
        tapers.push(Taper::from_half_angle(name, half, row.text("source")).unwrap());
    }
    for row in table::rows(include_str!("data/cones_iso1119.csv")) {
        let n = row.number("ratio_n").unwrap();
        let name = format!("1:{n}");
        let half = Angle::half_of_ratio(n);
        tapers.push(Taper::from_half_angle(name, half, row.text("source")).unwrap());
    }
    tapers
}

fn deg(deg: f64) -> Angle {
    Angle::from_deg(deg)
}

/// The half angle of 1:20.020 is atan(1/40.04) = 1.43067°; its neighbours 1:20.047 and 1:20 lie at 1.42874° and 1.43210°, both
/// farther than 0.001° from what was found.
#[test]
fn a_cone_found_as_number_2_offers_its_ratio_and_no_other() {
    let tapers = published();
    let list = candidates(deg(1.4303), Some(deg(0.0010)), &tapers).unwrap();
    let within: Vec<_> = list.iter().filter(|c| c.within() == Some(true)).collect();
    assert_eq!(within.len(), 1, "{within:#?}");
    assert!((within[0].ratio_n - 20.020).abs() < 1e-9);
    assert!(within[0].tapers.contains(&"Morse 2".to_owned()));
    let next = &list[1];
    assert!((next.ratio_n - 20.047).abs() < 1e-9, "{next:?}");
    // 1.4303° − 1.42874° = 0.00156° = 5.6″, of which the interval covers 3.6″.
    assert!((next.off_arcsec - 5.6).abs() < 0.2, "{next:?}");
    assert!((next.outside_by_arcsec.unwrap() - 2.0).abs() < 0.2);
}

/// Every published ratio is found as itself, at the edges of the interval as in its middle, and just beyond it no more.
#[test]
fn every_published_ratio_is_found_as_itself() {
    let tapers = published();
    let wide = Angle::from_arcsec(1.0);
    for taper in &tapers {
        for (off, within) in [
            (0.0, true),
            (0.999, true),
            (-0.999, true),
            (1.001, false),
            (-1.001, false),
        ] {
            let list = candidates(
                taper.half_angle + Angle::from_arcsec(off),
                Some(wide),
                &tapers,
            )
            .unwrap();
            let own = list
                .iter()
                .find(|c| c.tapers.contains(&taper.name))
                .unwrap();
            assert_eq!(own.within(), Some(within), "{} {off}", taper.name);
            assert!((own.off_arcsec - off).abs() < 1e-6);
        }
    }
}

#[test]
fn without_an_uncertainty_nothing_is_decided() {
    let tapers = published();
    let list = candidates(deg(1.4303), None, &tapers).unwrap();
    assert!(list.iter().all(|c| c.within().is_none()));
    for (angle, expanded) in [
        (0.0, 0.1),
        (90.0, 0.1),
        (1.0, -1e-9),
        (1.0, f64::NAN),
        (f64::NAN, 0.1),
    ] {
        assert!(
            candidates(deg(angle), Some(deg(expanded)), &tapers).is_err(),
            "{angle} {expanded}"
        );
    }
}

#[test]
fn an_interval_that_reaches_a_cylinder_has_no_upper_ratio() {
    let [steep, slender] = ratio_interval(deg(0.001), deg(0.001));
    assert!(steep.is_finite() && slender.is_infinite());
}

fn cone(n: f64, big_end_mm: f64, bore: bool) -> FoundCone {
    FoundCone {
        half_angle: Angle::half_of_ratio(n),
        big_end_mm: Some(big_end_mm),
        length: Length::from_um(30_000),
        bore,
    }
}

fn wanted(n: f64, gauge_um: i64) -> Taper {
    let mut taper = Taper::from_half_angle("w", Angle::half_of_ratio(n), "the test").unwrap();
    taper.gauge_diameter = Some(Length::from_um(gauge_um));
    taper
}

/// The oracle: both cones' diameters at both ends, by `d = D − z/n`.
fn stock(found_n: f64, found_mm: f64, n: f64, after: &Regrind, side: f64) -> [f64; 2] {
    let big = after.big_end_mm.unwrap();
    [0.0, 30.0].map(|z| side * ((found_mm - z / found_n) - (big - z / n)) * 1e3)
}

#[test]
fn the_least_that_cleans_up_comes_off_at_one_end() {
    for (found_n, n, bore) in [
        (12.1, 12.0, false),
        (11.9, 12.0, false),
        (12.1, 12.0, true),
        (11.9, 12.0, true),
        (12.0, 12.0, false),
    ] {
        let side = if bore { -1.0 } else { 1.0 };
        let least = regrind(
            &cone(found_n, 40.0, bore),
            &wanted(n, 40_000),
            Length::from_um(20),
            None,
        )
        .unwrap();
        let [big, small] = stock(found_n, 40.0, n, &least, side);
        assert!(
            (least.stock_at_big_end_um - big).abs() < 1e-6,
            "{found_n} {bore}"
        );
        assert!(
            (least.stock_at_small_end_um - small).abs() < 1e-6,
            "{found_n} {bore}"
        );
        assert!(
            (big.min(small) - 20.0).abs() < 1e-6,
            "{found_n} {bore}: {big} {small}"
        );
        assert!(least.cleans_up && (least.cleaned_length_mm - 30.0).abs() < 1e-12);
        // A shaft of 40 mm that loses metal has its gauge diameter beyond the big end, a bore on its inside.
        let plane = least.gauge_plane_mm.unwrap();
        assert!((plane - (least.big_end_mm.unwrap() - 40.0) * n).abs() < 1e-9);
    }
}

#[test]
fn a_given_big_end_says_whether_and_how_far_the_length_cleans_up() {
    let found = cone(11.9, 40.05, false);
    // At the small end 40.05 − 30/11.9 = 37.529 mm are there.
    let good = regrind(&found, &wanted(12.0, 40_000), Length::ZERO, Some(40.02)).unwrap();
    assert!(good.cleans_up, "{good:?}");
    // 30/11.9 − 30/12 = 21.0 µm: with 10 µm at the big end 11 µm are missing at the small end.
    let short = regrind(&found, &wanted(12.0, 40_000), Length::ZERO, Some(40.04)).unwrap();
    assert!(!short.cleans_up);
    assert!(
        (short.stock_at_small_end_um + 11.008).abs() < 0.001,
        "{short:?}"
    );
    assert!(
        (short.cleaned_length_mm - 30.0 * 10.0 / 21.008).abs() < 0.01,
        "{short:?}"
    );
    // Nothing is touched of a part that is under size all along.
    let none = regrind(&found, &wanted(12.0, 40_000), Length::ZERO, Some(40.2)).unwrap();
    assert!(!none.cleans_up && none.cleaned_length_mm == 0.0, "{none:?}");
}

#[test]
fn the_domain_of_a_regrind_on_both_sides() {
    let taper = wanted(12.0, 40_000);
    let good = cone(12.1, 40.0, false);
    assert!(regrind(&good, &taper, Length::ZERO, None).is_ok());
    for (change, what) in [
        (
            FoundCone {
                length: Length::ZERO,
                ..good
            },
            "length to be ground",
        ),
        (
            FoundCone {
                half_angle: Angle::ZERO,
                ..good
            },
            "half angle",
        ),
        (
            FoundCone {
                big_end_mm: Some(0.0),
                ..good
            },
            "diameter",
        ),
        (
            FoundCone {
                big_end_mm: Some(2.4),
                ..good
            },
            "small end",
        ),
    ] {
        assert_eq!(
            regrind(&change, &taper, Length::ZERO, None)
                .unwrap_err()
                .what,
            what
        );
    }
    assert_eq!(
        regrind(&good, &taper, Length::from_pm(-1), None)
            .unwrap_err()
            .what,
        "clean-up"
    );
    let unknown = FoundCone {
        big_end_mm: None,
        ..good
    };
    assert!(
        regrind(&unknown, &taper, Length::ZERO, None)
            .unwrap()
            .small_end_mm
            .is_none()
    );
    assert!(regrind(&unknown, &taper, Length::ZERO, Some(40.0)).is_err());
}
