//! Every kind of step in words, as the user reads it.

use super::outcome;
use metrology::contact::{ContactOptions, Zones};
use metrology::dial::{DialOptions, DialPoint, Direction};
use metrology::runout::{RunoutOptions, RunoutPoint};
use metrology::setup::{BigEnd, IndicatorSide, Sense, Setup, Station};
use metrology::size::{Measured, SectionReading, SizeOptions};
use metrology::sweep::{SweepOptions, SweepPoint};
use metrology::taper::Taper;
use metrology::zero::ZeroMark;
use metrology::zero::level::LevelOptions;
use metrology::{Angle, Length};
use protocol::for_kind;
use protocol::step::{
    About, DialPlan, RunoutInputs, RunoutPlan, SizePlan, Step, StepKind, SweepInputs, SweepPlan,
    Turning, ZeroPlan,
};
use protocol::style::Style;

fn mm(text: &str) -> Length {
    text.parse().expect(text)
}

fn seat() -> Setup {
    let half: Angle = "1:12".parse().unwrap();
    let mut taper = Taper::from_half_angle("seat", half, "invented").unwrap();
    taper.gauge_diameter = Some(mm("40"));
    let station = |name: &str, position| Station {
        name: name.to_owned(),
        position: mm(position),
    };
    Setup {
        taper: Some(taper),
        length: Some(mm("30")),
        tolerance: Some("5arcsec".parse().unwrap()),
        stations: vec![station("A", "0"), station("B", "80")],
        pass: ["A", "B", "A"].map(String::from).to_vec(),
        sense: Some(Sense {
            big_end: BigEnd::A,
            indicator: IndicatorSide::Wheel,
        }),
        ..Setup::default()
    }
}

/// What is said of readings on a display of steps of 0.1 µm.
fn text<S: Step>(step: &S, setup: &Setup, inputs: &S::Inputs) -> String {
    let mut read = setup.clone();
    if !S::INPUTS_TELL_RESOLUTION {
        read.indicator.resolution = Some(mm("0.1um"));
    }
    let found = step.compute(&read, inputs).expect("an outcome");
    outcome(&found.into(), setup, Style::default())
}

#[test]
fn zero_about_level() {
    let mark = |round, name: &str, position_mm, value_um: f64| ZeroMark {
        round,
        station: name.to_owned(),
        position_mm,
        value_mm: value_um * 1e-3,
        sd_mm: None,
        readings: 1,
        resolution: mm("1um"),
        time_s: None,
        clamped: false,
        setting: 0,
    };
    let marks = vec![
        mark(1, "A", 0.0, 0.0),
        mark(1, "B", 80.0, 20.0),
        mark(1, "A", 0.0, 1.0),
    ];
    let step = ZeroPlan {
        about: About::Level,
        level: LevelOptions {
            wheel: Some(mm("250")),
            part: None,
            height: Some(mm("0.5")),
        },
    };
    insta::assert_snapshot!(text(&step, &seat(), &marks));
}

/// 12 points with a slope of 50 µrad, a bow and one grain of grit.
fn points() -> Vec<SweepPoint> {
    (0..12_i32)
        .map(|i| {
            let x = f64::from(i) * 5.0;
            let grit = if i == 8 { 12.0 } else { 0.0 };
            let wave = f64::from((i * 7) % 5 - 2) * 0.1;
            let bow = -0.8 * ((x - 27.5) / 27.5).powi(2);
            SweepPoint {
                position_mm: x,
                reading_mm: (0.05 * x + bow + wave + grit) * 1e-3,
            }
        })
        .collect()
}

#[test]
fn a_sweep_of_the_edge_and_one_of_the_part() {
    let inputs = SweepInputs {
        points: points(),
        unplaced: 3,
    };
    let plain = SweepPlan::default();
    insta::assert_snapshot!("sweep_of_the_edge", text(&plain, &seat(), &inputs));
    let part = SweepPlan {
        sweep: SweepOptions {
            filter: Some(mm("25")),
            reject_outliers: true,
            subject: metrology::sweep::Subject::Part,
            ..SweepOptions::default()
        },
        position_cable: None,
    };
    insta::assert_snapshot!("sweep_of_the_part", text(&part, &seat(), &inputs));
}

/// A part 3 µm off, high at four o'clock, oval by 1 µm and with three lobes of 0.4 µm, read over three turns.
fn turned(plane_mm: Option<f64>, off_um: f64, spindle: f64) -> Vec<RunoutPoint> {
    (0..36_i32)
        .map(|i| {
            let angle_deg = f64::from(i % 12) * 30.0;
            let t = angle_deg.to_radians();
            let wave = f64::from((i * 7) % 5 - 2) * 0.02;
            let um = off_um * (t - 120_f64.to_radians()).cos()
                + 1.0 * (2.0 * t).cos()
                + spindle * 0.4 * (3.0 * t).cos()
                + wave;
            RunoutPoint {
                angle_deg,
                reading_mm: um * 1e-3,
                plane_mm,
            }
        })
        .collect()
}

#[test]
fn a_run_out() {
    let two = [turned(Some(5.0), 3.0, 1.0), turned(Some(45.0), 5.0, 1.0)].concat();
    let inputs = RunoutInputs {
        first: Turning::Angles(two),
        turned: None,
    };
    let step = RunoutPlan {
        runout: RunoutOptions {
            limit: Some(mm("10um")),
            at_planes_mm: vec![60.0],
            filter_upr: Some(3),
            ..RunoutOptions::default()
        },
        ..RunoutPlan::default()
    };
    insta::assert_snapshot!("runout_of_two_planes", text(&step, &seat(), &inputs));
    let inputs = RunoutInputs {
        first: Turning::Angles(turned(None, 0.0, 1.0)),
        turned: Some(turned(None, 0.0, -1.0)),
    };
    let step = RunoutPlan::default();
    insta::assert_snapshot!("runout_reversed", text(&step, &seat(), &inputs));
}

#[test]
fn a_size_with_stock_and_one_too_small() {
    let sections = |big, small| {
        Measured::Sections(vec![
            SectionReading {
                plane_mm: 0.0,
                diameter_mm: big,
            },
            SectionReading {
                plane_mm: 24.0,
                diameter_mm: small,
            },
        ])
    };
    let step = || SizePlan {
        size: SizeOptions {
            pass: Some(mm("10um")),
            allowance: Some(mm("5um")),
            diameter_u: Some(mm("0.01um")),
            wheel_width: Some(mm("20")),
            lead_out: Some(mm("2")),
            blend_radius: Some(mm("0.5")),
            ..SizeOptions::default()
        },
        ..SizePlan::default()
    };
    let left = text(&step(), &seat(), &sections(40.061, 38.0602));
    insta::assert_snapshot!("size_left", left);
    let small = text(&step(), &seat(), &sections(39.998, 38.0));
    insta::assert_snapshot!("size_under", small);
}

#[test]
fn a_print() {
    let zones = |big_percent, middle_percent, small_percent| Zones {
        big_percent,
        middle_percent,
        small_percent,
    };
    let step = ContactOptions {
        found_arcsec: Some([-8.0, 2.0]),
        ..ContactOptions::default()
    };
    let one_end = text(&step, &seat(), &zones(90.0, 40.0, 0.0));
    insta::assert_snapshot!("contact_one_end", one_end);
    let full = text(
        &ContactOptions::default(),
        &seat(),
        &zones(90.0, 80.0, 85.0),
    );
    insta::assert_snapshot!("contact_full", full);
}

#[test]
fn a_check_of_the_indicator() {
    let error_um = |i: i32| f64::from((i * i) % 5) * 0.4;
    let way = |direction, hysteresis: f64| {
        (0..5_i32).flat_map(move |i| {
            [0.0, 0.2].map(|again| DialPoint {
                nominal_mm: f64::from(i) * 0.5,
                reading_mm: f64::from(i) * 0.5 + (error_um(i) + hysteresis + again) * 1e-3,
                direction,
            })
        })
    };
    let points = way(Direction::Up, 0.0)
        .chain(way(Direction::Down, 0.6))
        .collect();
    let mut setup = seat();
    setup.indicator.error_limit = Some(mm("3um"));
    let step = DialPlan {
        dial: DialOptions { correct: true },
        nominals: Vec::new(),
    };
    insta::assert_snapshot!(text(&step, &setup, &points));
}

/// A kind that has no text of its own would print remarks alone.
#[test]
fn every_kind_is_above() {
    let source = include_str!("golden.rs");
    for kind in StepKind::ALL {
        let plan = for_kind!(kind, StepKind => S, std::any::type_name::<S>());
        let plan = plan.rsplit("::").next().unwrap();
        assert!(source.contains(&format!("{plan} {{")), "{plan}");
    }
}
