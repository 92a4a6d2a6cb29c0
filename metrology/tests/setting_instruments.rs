//! The three setting instruments against plane geometry, both ways, and their limits.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::setting::{Bar, BarKind, REFUSE_ABOVE_DEG, SettingError, WARN_ABOVE_DEG};
use conewright_metrology::{Angle, Length};
use proptest::prelude::*;

fn um(um: i64) -> Length {
    Length::from_um(um)
}

fn bar(kind: BarKind, centre_um: i64, constant_um: i64) -> Bar {
    Bar {
        kind,
        centre_distance: Some(um(centre_um)),
        constant: um(constant_um),
        disc_radii: None,
        centre_distance_u: None,
    }
}

fn tangent(r1_um: i64, r2_um: i64, constant_um: i64) -> Bar {
    Bar {
        centre_distance: None,
        disc_radii: Some([um(r1_um), um(r2_um)]),
        ..bar(BarKind::Tangent, 0, constant_um)
    }
}

proptest! {
    /// The roller's centre on a circle of radius C about the other one: its height is the stack.
    #[test]
    fn a_sine_bar_lifts_its_roller(deg in 0.001_f64..REFUSE_ABOVE_DEG, c_um in 25_000_i64..500_000) {
        let half = Angle::from_deg(deg);
        let (_, y) = on_circle(c_um as f64 * 1e-3, half);
        let stack = bar(BarKind::Sine, c_um, 0).stack_height_mm(half).unwrap();
        prop_assert!((stack - y).abs() < 1e-9);
    }

    /// Two arms of length C from one pivot: the distance of their ends is the stack.
    #[test]
    fn a_hinged_bar_spans_its_arms(deg in 0.001_f64..89.9, c_um in 25_000_i64..500_000) {
        let half = Angle::from_deg(deg);
        let c = c_um as f64 * 1e-3;
        let ((x1, y1), (x2, y2)) = (on_circle(c, Angle::ZERO), on_circle(c, half));
        let stack = bar(BarKind::Hinged, c_um, 0).stack_height_mm(half).unwrap();
        prop_assert!((stack - (x2 - x1).hypot(y2 - y1)).abs() < 1e-9);
    }

    /// Two discs on the plate, the stack between their sides: a straight edge over both, at the angle, is at
    /// each radius from each centre.
    #[test]
    fn a_tangent_bars_edge_touches_both_discs(deg in 0.5_f64..15.0, r1_um in 5_000_i64..20_000) {
        let r2_um = 2 * r1_um;
        let half = Angle::from_deg(deg);
        let stack = tangent(r1_um, r2_um, 0).stack_height_mm(half).unwrap();
        let (r1, r2) = (r1_um as f64 * 1e-3, r2_um as f64 * 1e-3);
        // Distances along the edge's normal, from the small disc's foot.
        let along_normal = |x: f64, y: f64| y * half.cos() - x * half.sin();
        let edge_over_small = along_normal(0.0, r1) + r1;
        let edge_over_big = along_normal(r1 + stack + r2, r2) + r2;
        prop_assert!((edge_over_small - edge_over_big).abs() < 1e-9);
    }

    #[test]
    fn what_a_stack_sets_is_what_it_was_made_for(
        deg in 0.01_f64..89.0,
        c_um in 25_000_i64..500_000,
        constant_um in -20_i64..2_000,
    ) {
        let half = Angle::from_deg(deg);
        for bar in [
            bar(BarKind::Sine, c_um, constant_um),
            bar(BarKind::Hinged, c_um, constant_um),
            tangent(c_um / 9, c_um, constant_um),
        ] {
            let Ok(height_mm) = bar.stack_height_mm(half) else {
                // A tangent bar's discs touch, a sine bar is too steep, or a negative constant leaves no stack.
                let steep = bar.kind == BarKind::Sine && deg > REFUSE_ABOVE_DEG;
                prop_assume!(bar.kind == BarKind::Tangent || steep || constant_um < 0);
                continue;
            };
            // Two discs almost side by side under a flat angle stand over a kilometre apart: no length.
            let Some(height) = Length::from_mm(height_mm) else {
                prop_assert!(bar.kind == BarKind::Tangent && height_mm > 1e6, "{bar:?}");
                continue;
            };
            // Rounding to the picometre moves the angle by what the sensitivity says.
            let set = bar.half_angle(height).unwrap();
            let per_mm = bar.sensitivity(half).unwrap().stack_rad_per_mm.abs();
            prop_assert!((set.rad() - half.rad()).abs() <= 1e-9 * per_mm + 1e-13, "{bar:?}");
        }
    }

    #[test]
    fn sensitivities_are_the_slopes(deg in 0.5_f64..80.0, c_um in 50_000_i64..300_000) {
        let half = Angle::from_deg(deg);
        for bar in [
            bar(BarKind::Sine, c_um, 0),
            bar(BarKind::Hinged, c_um, 0),
            tangent(c_um / 20, c_um, 0),
        ] {
            let Ok(height_mm) = bar.stack_height_mm(half) else {
                continue;
            };
            let at = bar.sensitivity(half).unwrap();
            let height = Length::from_mm(height_mm).unwrap();
            let step = Length::from_pm(50_000_000);
            let rise = bar.half_angle(height + step).unwrap() - bar.half_angle(height - step).unwrap();
            let slope = rise.rad() / (2.0 * step.mm());
            prop_assert!((slope / at.stack_rad_per_mm - 1.0).abs() < 1e-3, "{bar:?} {slope}");

            let Some(centre) = at.centre_rad_per_mm else { continue };
            let with = |sign: i64| Bar {
                centre_distance: Some(um(c_um) + Length::from_pm(sign * step.pm())),
                ..bar.clone()
            };
            let rise = with(1).half_angle(height).unwrap() - with(-1).half_angle(height).unwrap();
            let slope = rise.rad() / (2.0 * step.mm());
            prop_assert!((slope / centre - 1.0).abs() < 2e-3, "{bar:?} {slope} {centre}");
        }
    }
}

fn on_circle(radius: f64, angle: Angle) -> (f64, f64) {
    (radius * angle.cos(), radius * angle.sin())
}

#[test]
fn the_domain_of_the_angle_on_both_sides() {
    for (bar, steepest, too_steep) in [
        (bar(BarKind::Sine, 100_000, 0), 60.0, 60.000_001),
        (bar(BarKind::Hinged, 100_000, 0), 89.999_999, 90.0),
    ] {
        for (deg, allowed) in [
            (0.0, false),
            (-1.0, false),
            (1e-9, true),
            (steepest, true),
            (too_steep, false),
            (89.0, bar.kind == BarKind::Hinged),
            (f64::NAN, false),
        ] {
            let stack = bar.stack_height_mm(Angle::from_deg(deg));
            assert_eq!(stack.is_ok(), allowed, "{deg}° {stack:?}");
        }
    }
}

#[test]
fn the_domain_of_the_stack_on_both_sides() {
    let pm = Length::from_pm(1);
    let constant = um(1_000);
    let root_2 = Length::from_pm(141_421_356_237);
    for (kind, largest) in [(BarKind::Sine, um(100_000) - pm), (BarKind::Hinged, root_2)] {
        let bar = bar(kind, 100_000, 1_000);
        for (height, allowed) in [
            (constant, false),
            (constant + pm, true),
            (constant + largest, true),
            (constant + largest + pm, false),
            (Length::ZERO, false),
            (-um(1), false),
        ] {
            let set = bar.half_angle(height);
            assert_eq!(set.is_ok(), allowed, "{kind} {height}");
            if let Ok(set) = set {
                assert!(set > Angle::ZERO && set <= Angle::from_deg(90.0));
            }
        }
    }
    // A negative constant of the bar leaves no stack for a small angle, and no stack of no height sets one.
    let negative = bar(BarKind::Sine, 100_000, -1_000);
    let small = negative.stack_height_mm(Angle::from_deg(0.5)).unwrap_err();
    assert!(matches!(small, SettingError::NoStack { .. }), "{small}");
    assert!(small.to_string().contains("-0.1273 mm"), "{small}");
    assert!(negative.half_angle(Length::ZERO).is_err());
}

#[test]
fn a_tangent_bar_ends_where_its_discs_touch() {
    // Discs of 8 and 18 mm: centres 26 mm apart when they touch, 24 mm along the plate, as 10-24-26 has it.
    let bar = tangent(8_000, 18_000, 30_000);
    let steepest = Angle::from_rad(2.0 * (10.0_f64 / 24.0).atan());
    let touching = um(30_000) + um(24_000 - 26_000);
    assert!((bar.half_angle(touching).unwrap().rad() - steepest.rad()).abs() < 1e-12);
    assert!(bar.half_angle(touching - Length::from_pm(1)).is_err());
    assert!(
        bar.stack_height_mm(steepest - Angle::from_arcsec(0.001))
            .is_ok()
    );
    let beyond = bar
        .stack_height_mm(steepest + Angle::from_arcsec(0.001))
        .unwrap_err();
    assert!(matches!(beyond, SettingError::TooSteep { .. }));
    assert!(beyond.to_string().contains("45.2397299°"), "{beyond}");
}

#[test]
fn dimensions_that_are_missing_or_impossible() {
    let half = Angle::half_of_ratio(12.0);
    let refused = |bar: Bar| bar.stack_height_mm(half).unwrap_err().to_string();
    let mut sine = bar(BarKind::Sine, 100_000, 0);
    sine.centre_distance = None;
    assert_eq!(
        refused(sine.clone()),
        "a sine bar needs its centre distance; state it"
    );
    sine.kind = BarKind::Tangent;
    assert_eq!(
        refused(sine),
        "a tangent bar needs its disc radii; state it"
    );
    assert!(refused(bar(BarKind::Hinged, 0, 0)).contains("above 0 mm"));
    assert!(refused(bar(BarKind::Sine, -1, 0)).contains("above 0 mm"));
    assert!(refused(tangent(0, 5_000, 0)).contains("small disc radius"));
    assert!(refused(tangent(5_000, 5_000, 0)).contains("larger than the small disc"));
    assert!(
        tangent(5_000, 5_001, 0)
            .stack_height_mm(Angle::from_deg(0.001))
            .is_ok()
    );
}

#[test]
fn the_uncertainty_grows_with_the_angle() {
    let mut bar = bar(BarKind::Sine, 100_000, 0);
    bar.centre_distance_u = Some(um(2));
    let u = |deg: f64| bar.angle_u(Angle::from_deg(deg), 0.000_3).unwrap().rad();
    // By hand at 30°: 0.3 µm over 100 mm · cos 30°, and 2 µm over 100 mm times tan 30°.
    let (stack, centre) = (
        0.000_3 / (100.0 * 0.75_f64.sqrt()),
        0.002 / 100.0 / 3_f64.sqrt(),
    );
    assert!((u(30.0) - stack.hypot(centre)).abs() < 1e-12);
    assert!(u(45.0) > 1.5 * u(30.0) && u(60.0) > 2.0 * u(30.0));
    for (stack_u, allowed) in [
        (0.0, true),
        (-1e-9, false),
        (f64::NAN, false),
        (f64::INFINITY, false),
    ] {
        let u = bar.angle_u(Angle::from_deg(30.0), stack_u);
        assert_eq!(u.is_ok(), allowed, "{stack_u}");
    }
}

/// 1 µm of 100 mm at 89° is worth 206265″ · tan 89° / 10⁵ = 118.2″.
#[test]
fn a_sine_bar_at_89_degrees_is_refused_with_what_helps() {
    let refused = bar(BarKind::Sine, 100_000, 0)
        .stack_height_mm(Angle::from_deg(89.0))
        .unwrap_err();
    let said = refused.to_string();
    assert!(
        said.contains("89.0000000°") && said.contains("118.2″"),
        "{said}"
    );
    assert!(refused.hint().contains("1.0000000°"), "{}", refused.hint());
}

#[test]
fn above_45_degrees_there_is_a_warning_that_says_what_an_error_costs() {
    let sine = bar(BarKind::Sine, 100_000, 0);
    assert_eq!(sine.warning(Angle::from_deg(WARN_ABOVE_DEG)), None);
    let above = sine
        .warning(Angle::from_deg(WARN_ABOVE_DEG + 1e-6))
        .unwrap();
    // 206265″ · 1 µm / (100 mm cos 45°), and times tan 45° for the centre distance.
    assert!(
        above.contains("2.92″") && above.contains("2.06″"),
        "{above}"
    );
    assert_eq!(
        sine.warning(Angle::from_deg(90.0)),
        None,
        "that is refused, not warned of"
    );
    let discs = tangent(1_000, 60_000, 30_000);
    let above = discs.warning(Angle::from_deg(50.0)).unwrap();
    assert!(
        above.contains("tangent bar") && !above.contains("centre distance"),
        "{above}"
    );
}
