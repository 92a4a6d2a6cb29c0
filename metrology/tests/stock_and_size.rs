//! Stock, rollers and balls against plane geometry, and their uncertainties against small changes of the inputs.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::gauging::{
    BallInBore, MeasuredHalfAngle, OverRollers, Section, half_angle_of_sections, two_balls,
};
use conewright_metrology::stock::{MOST_PASSES, Stock, passes};
use conewright_metrology::taper::Taper;
use conewright_metrology::{Angle, DomainError, Length};
use proptest::prelude::*;

fn um(um: i64) -> Length {
    Length::from_um(um)
}

fn half_angles() -> impl Strategy<Value = Angle> {
    (0.2_f64..40.0).prop_map(Angle::from_deg)
}

/// The uncertainty, in radians, that comes of moving each value by its own, one after another (JCGM 100, 5.1.3).
fn propagated_rad(
    angle: impl Fn([Length; 4]) -> MeasuredHalfAngle,
    values: [Length; 4],
    u: [Length; 4],
) -> f64 {
    let mut square = 0.0;
    for (i, u) in u.into_iter().enumerate() {
        let (mut up, mut down) = (values, values);
        up[i] += u;
        down[i] -= u;
        square += ((angle(up).half_angle - angle(down).half_angle).rad() / 2.0).powi(2);
    }
    square.sqrt()
}

proptest! {
    /// The three ways to say what is left are one cone inside another: shifted along the axis by the stand-off,
    /// smaller in radius by half the stock, nearer along the surface's normal by the infeed square to it.
    #[test]
    fn stand_off_stock_and_infeed_are_one_cone_in_another(half in half_angles(), short_um in -5_000_i64..5_000) {
        let stock = Stock::from_stand_off(um(short_um), half).unwrap();
        let short = short_um as f64 * 1e-3;
        // A point of the wanted surface, and its distance from the line of the actual one.
        let radius_there = 20.0;
        let actual = |z: f64| radius_there + (short - z) * half.tan();
        prop_assert!((actual(0.0) - radius_there - stock.infeed_square_to_axis_mm).abs() < 1e-12);
        let normal_distance = (actual(0.0) - radius_there) * half.cos();
        prop_assert!((normal_distance - stock.infeed_square_to_surface_mm).abs() < 1e-12);
        prop_assert_eq!(stock.on_diameter_mm, 2.0 * stock.infeed_square_to_axis_mm);
    }

    /// A roller touches the taper: its centre is a radius away from the taper's side.
    #[test]
    fn rollers_touch_the_taper(
        half in half_angles(),
        small_um in 1_000_i64..80_000,
        roller_um in 1_000_i64..12_000,
        stacks_um in 0_i64..80_000,
    ) {
        let rollers = OverRollers { roller_radius: um(roller_um) };
        let over = rollers.over_mm(um(small_um), half, um(stacks_um)).unwrap();
        let [small, rho, h] = [small_um, roller_um, stacks_um].map(|um| um as f64 * 1e-3);
        let centre = (over / 2.0 - rho, h + rho);
        let distance = (centre.0 - small / 2.0) * half.cos() - centre.1 * half.sin();
        prop_assert!((distance - rho).abs() < 1e-9);
    }

    #[test]
    fn rollers_at_two_heights_give_angle_and_size_back(
        half in half_angles(),
        small_um in 1_000_i64..80_000,
        apart_um in 10_000_i64..100_000,
    ) {
        let rollers = OverRollers { roller_radius: um(5_000) };
        let measured = |h: Length| {
            (h, Length::from_mm(rollers.over_mm(um(small_um), half, h).unwrap()).unwrap())
        };
        let (low, high) = (measured(um(2_000)), measured(um(2_000 + apart_um)));
        let found = OverRollers::half_angle([low, high], um(1), Length::ZERO).unwrap();
        prop_assert!((found.half_angle.rad() - half.rad()).abs() < 1e-10);
        let small = rollers.small_end_mm(low.0, low.1, found.half_angle).unwrap();
        prop_assert!((small - small_um as f64 * 1e-3).abs() < 1e-7);
    }

    /// Both balls touch the bore that was found from them.
    #[test]
    fn balls_touch_the_bore(
        big_um in 8_000_i64..20_000,
        less_um in 500_i64..6_000,
        proud_um in -5_000_i64..20_000,
        deeper_um in 13_000_i64..80_000,
    ) {
        let big = BallInBore { radius: um(big_um), top_below_face: um(proud_um) };
        let small = BallInBore { radius: um(big_um - less_um), top_below_face: um(proud_um + deeper_um) };
        let bore = two_balls(big, small, Length::ZERO, Length::ZERO).unwrap();
        let half = bore.half_angle.half_angle;
        for ball in [big, small] {
            let depth = (ball.top_below_face + ball.radius).mm();
            let wall_radius = bore.diameter_at_face_mm / 2.0 - depth * half.tan();
            prop_assert!((wall_radius * half.cos() - ball.radius.mm()).abs() < 1e-9);
        }
    }

    #[test]
    fn the_uncertainty_of_two_sections(
        half in half_angles(),
        apart_um in 10_000_i64..100_000,
        u_d_um in 1_i64..5,
        u_z_um in 0_i64..20,
    ) {
        let small = Length::from_mm(60.0 - 2.0 * apart_um as f64 * 1e-3 * half.tan()).unwrap();
        prop_assume!(small > um(1_000));
        let values = [Length::ZERO, um(60_000), um(apart_um), small];
        let (u_d, u_z) = (um(u_d_um), um(u_z_um));
        let angle = |v: [Length; 4]| {
            let sections = [Section { plane: v[0], diameter: v[1] }, Section { plane: v[2], diameter: v[3] }];
            half_angle_of_sections(sections, u_d, u_z).unwrap()
        };
        let propagated = propagated_rad(angle, values, [u_z, u_d, u_z, u_d]);
        let found = angle(values);
        prop_assert!((found.u.rad() / propagated - 1.0).abs() < 1e-4, "{} {propagated}", found.u);
    }

    #[test]
    fn the_uncertainty_of_two_balls(
        less_um in 500_i64..6_000,
        deeper_um in 20_000_i64..80_000,
        u_r_um in 0_i64..3,
        u_h_um in 1_i64..10,
    ) {
        let values = [um(12_000), um(1_000), um(12_000 - less_um), um(1_000 + deeper_um)];
        let (u_r, u_h) = (um(u_r_um), um(u_h_um));
        let angle = |v: [Length; 4]| {
            let big = BallInBore { radius: v[0], top_below_face: v[1] };
            let small = BallInBore { radius: v[2], top_below_face: v[3] };
            two_balls(big, small, u_r, u_h).unwrap().half_angle
        };
        let propagated = propagated_rad(angle, values, [u_r, u_h, u_r, u_h]);
        let found = angle(values);
        prop_assert!((found.u.rad() / propagated - 1.0).abs() < 1e-4, "{} {propagated}", found.u);
    }
}

#[test]
fn a_diameter_at_any_plane_tells_the_same_stock() {
    let mut seat = Taper::from_half_angle("1:12", "1:12".parse().unwrap(), "ISO 1119").unwrap();
    seat.gauge_diameter = Some(um(40_000));
    for z in [um(0), um(6_000), um(30_000), um(-12_000)] {
        let wanted = seat.diameter_at(z).unwrap();
        let measured = Length::from_mm(wanted + 0.08).unwrap();
        let stock = Stock::from_diameter(measured, wanted, seat.half_angle).unwrap();
        assert!((stock.on_diameter_mm - 0.08).abs() < 1e-9, "{z}");
    }
}

#[test]
fn passes_at_their_limits() {
    let depth = um(20);
    for (infeed_mm, expected) in [
        (-1.0, 0),
        (0.0, 0),
        (1e-9, 0),
        (1.1e-9, 1),
        (0.02, 1),
        (0.020_000_002, 2),
        (0.02 * f64::from(MOST_PASSES), MOST_PASSES),
    ] {
        assert_eq!(passes(infeed_mm, depth).unwrap(), expected, "{infeed_mm}");
    }
    for infeed_mm in [
        0.02 * f64::from(MOST_PASSES) + 0.001,
        f64::INFINITY,
        f64::NAN,
    ] {
        assert!(passes(infeed_mm, depth).is_err(), "{infeed_mm}");
    }
    assert!(passes(0.1, um(0)).is_err());
    assert!(passes(0.1, um(-1)).is_err());
}

/// Each is refused, and the refusal names the value.
fn assert_named<const N: usize>(refused: [(Result<(), DomainError>, &str); N]) {
    for (refused, what) in refused {
        assert_eq!(refused.unwrap_err().what, what);
    }
}

#[test]
fn names_the_diameter_or_plane_that_is_out_of_domain() {
    let (half, flat, d) = (Angle::half_of_ratio(12.0), Angle::ZERO, um(40_000));
    let section = |plane, diameter| Section { plane, diameter };
    assert_named([
        (Stock::on_diameter(0.1, flat).map(|_| ()), "half angle"),
        (
            Stock::on_diameter(f64::NAN, half).map(|_| ()),
            "stock on diameter",
        ),
        (
            Stock::from_diameter(um(0), 40.0, half).map(|_| ()),
            "measured diameter",
        ),
        (
            Stock::from_diameter(d, 0.0, half).map(|_| ()),
            "wanted diameter",
        ),
        (
            Stock::from_diameter(d, f64::NAN, half).map(|_| ()),
            "wanted diameter",
        ),
        (Stock::from_stand_off(um(1), flat).map(|_| ()), "half angle"),
        (
            half_angle_of_sections([section(um(0), d), section(um(0), d)], um(1), um(0))
                .map(|_| ()),
            "distance of the two planes",
        ),
        (
            half_angle_of_sections([section(um(0), um(0)), section(um(1), d)], um(1), um(0))
                .map(|_| ()),
            "diameter",
        ),
        (
            half_angle_of_sections([section(um(0), d), section(um(1), d)], um(-1), um(0))
                .map(|_| ()),
            "uncertainty of a diameter",
        ),
        (
            half_angle_of_sections([section(um(0), d), section(um(1), d)], um(1), um(-1))
                .map(|_| ()),
            "uncertainty of a plane",
        ),
    ]);
}

#[test]
fn names_what_is_out_of_domain_over_rollers() {
    let (half, flat, d) = (Angle::half_of_ratio(12.0), Angle::ZERO, um(40_000));
    let rollers = OverRollers {
        roller_radius: um(5_000),
    };
    let no_roller = OverRollers {
        roller_radius: um(0),
    };
    assert_named([
        (
            rollers.over_mm(um(-1), half, um(0)).map(|_| ()),
            "small end diameter",
        ),
        (rollers.over_mm(d, half, um(-1)).map(|_| ()), "stack height"),
        (rollers.over_mm(d, flat, um(0)).map(|_| ()), "half angle"),
        (
            no_roller.over_mm(d, half, um(0)).map(|_| ()),
            "roller radius",
        ),
        (
            rollers.small_end_mm(um(-1), d, half).map(|_| ()),
            "stack height",
        ),
        (
            rollers.small_end_mm(um(0), um(20_000), half).map(|_| ()),
            "measurement over the rollers",
        ),
    ]);
}

#[test]
fn names_what_is_out_of_domain_with_two_balls() {
    let ball = |radius, top| BallInBore {
        radius: um(radius),
        top_below_face: um(top),
    };
    let two = |a, b, u_r, u_h| two_balls(a, b, um(u_r), um(u_h)).map(|_| ());
    assert_named([
        (
            two(ball(10_000, 0), ball(0, 50_000), 0, 0),
            "radius of the small ball",
        ),
        (
            two(ball(10_000, 0), ball(10_000, 50_000), 0, 0),
            "radius of the big ball",
        ),
        (
            two(ball(10_000, 0), ball(8_000, 3_999), 0, 0),
            "distance of the balls' centres",
        ),
        (
            two(ball(10_000, 0), ball(8_000, -50_000), 0, 0),
            "distance of the balls' centres",
        ),
        (
            two(ball(10_000, 0), ball(8_000, 50_000), -1, 0),
            "uncertainty of a radius",
        ),
        (
            two(ball(10_000, 0), ball(8_000, 50_000), 0, -1),
            "uncertainty of a depth",
        ),
    ]);
    // Centres as far apart as the radii differ would be a flat; one micrometre more is a very blunt bore.
    assert!(two(ball(10_000, 0), ball(8_000, 4_000), 0, 0).is_err());
    assert!(two(ball(10_000, 0), ball(8_000, 4_001), 0, 0).is_ok());
}
