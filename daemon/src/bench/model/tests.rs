use super::*;

fn quiet() -> SetUp {
    SetUp {
        noise_um: 0.0,
        drift_um_per_min: 0.0,
        hand: Hand {
            stop_error: 0.0,
            slide: 0.0,
        },
        clamp: ClampShift {
            slope: 1e-5,
            slope_sd: 0.0,
        },
        ..SetUp::default()
    }
}

#[test]
fn the_same_seed_shows_the_same() {
    let show = |seed| {
        let mut bench = Bench::new(seed, SetUp::default());
        let mut shown = Vec::new();
        for i in 0..200 {
            match i {
                20 => bench.move_over(80.0, 10),
                60 => bench.follow(80.0, 0.05, 8),
                100 => bench.clamp(),
                150 => bench.loosen(),
                _ => {}
            }
            shown.push(bench.read(0.05));
        }
        shown
    };
    assert_eq!(show(1), show(1));
    assert_ne!(show(1), show(2));
}

#[test]
fn a_tap_turns_about_the_pivot() {
    let mut bench = Bench::new(1, quiet());
    let before = |b: &Bench| [b.reading_at(0.0), b.reading_at(80.0), b.reading_at(95.0)];
    let [a0, b0, p0] = before(&bench);
    let went = bench.tap(80.0, -0.03);
    let [a1, b1, p1] = before(&bench);
    assert!((went + 0.03).abs() < 1e-12);
    assert!((b1 - b0 + 0.03).abs() < 1e-12);
    // Similar triangles: A is 95 mm from the pivot, B 15 mm, on the same side.
    assert!((a1 - a0 + 0.03 * 95.0 / 15.0).abs() < 1e-12);
    assert!((p1 - p0).abs() < 1e-12, "the pivot stays");
}

#[test]
fn the_target_of_the_formula_takes_the_slope_out() {
    // T(x) = r(x) - m (x - p) brings the slope to zero for any station and pivot; textbook geometry.
    for seed in 0..50 {
        let any = Bench::any(seed);
        let mut bench = Bench::new(
            seed,
            SetUp {
                hand: quiet().hand,
                ..*any.set_up()
            },
        );
        let (m, p) = (bench.truth().slope, bench.set_up().pivot_mm);
        let x = if p > 30.0 { 0.0 } else { 60.0 };
        bench.follow(x, bench.reading_at(x) - m * (x - p), 5);
        while bench.moving() {
            bench.read(0.05);
        }
        assert!(bench.truth().slope.abs() < 1e-15, "seed {seed}");
    }
}

#[test]
fn the_hand_is_off_by_what_it_is_said_to_be() {
    for seed in 0..20 {
        let mut bench = Bench::new(
            seed,
            SetUp {
                drift_um_per_min: 0.0,
                ..SetUp::default()
            },
        );
        let from = bench.reading_at(0.0);
        bench.follow(0.0, from + 0.1, 1);
        let went = bench.reading_at(0.0) - from;
        assert!((went / 0.1 - 1.0).abs() - 0.05 < 1e-9, "{went}");
        assert!((went / 0.1 - 1.0).abs() > 0.049, "{went}");
    }
}

#[test]
fn the_clamp_holds_and_shifts() {
    let mut bench = Bench::new(1, quiet());
    let free = bench.truth().slope;
    bench.clamp();
    assert!((bench.truth().slope - free - 1e-5).abs() < 1e-15);
    assert!(
        bench.tap(0.0, 0.1).abs() < f64::EPSILON,
        "a tight clamp lets nothing move"
    );
    bench.clamp();
    assert!(
        (bench.truth().slope - free - 1e-5).abs() < 1e-15,
        "once only"
    );
    bench.loosen();
    assert!((bench.truth().slope - free).abs() < 1e-15);
}

#[test]
fn the_display_rounds_to_its_step_and_drift_goes_with_time() {
    let mut bench = Bench::new(
        3,
        SetUp {
            drift_um_per_min: 6.0,
            resolution: Length::from_um(2),
            ..quiet()
        },
    );
    let first = bench.read(0.0);
    assert_eq!(first, Length::from_um(12));
    // 0.1 µm a second for 100 s.
    assert_eq!(bench.read(100.0) - first, Length::from_um(10));
}

#[test]
fn noise_has_the_stated_spread() {
    let mut bench = Bench::new(
        5,
        SetUp {
            noise_um: 0.5,
            resolution: Length::from_pm(1_000),
            ..quiet()
        },
    );
    let n = 20_000;
    let squares: f64 = (0..n).map(|_| (bench.read(0.05).um() - 12.0).powi(2)).sum();
    // Five standard errors of a standard deviation: 5 · 0.5/sqrt(2n).
    let sd = (squares / f64::from(n)).sqrt();
    assert!(
        (sd - 0.5).abs() < 5.0 * 0.5 / (2.0 * f64::from(n)).sqrt(),
        "{sd}"
    );
}
