//! Size and the indicator's check: exact cases, what options do, what bad input is told.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::blocks::{Block, Grade, Kit};
use conewright_metrology::dial::{self, DialOptions, DialPoint, Direction};
use conewright_metrology::gauging::{BallInBore, OverRollers};
use conewright_metrology::setup::Setup;
use conewright_metrology::size::{
    self, Finish, Infeed, Measured, Over, SectionReading, SizeOptions, SizeOutcome, Surface,
    Temperature,
};
use conewright_metrology::taper::Taper;
use conewright_metrology::uncertainty::{Undecided, Verdict};
use conewright_metrology::{Angle, Length};

fn mm(text: &str) -> Length {
    text.parse().unwrap()
}

/// The demo's seat: 1:12, 40 mm at the gauge plane, 30 mm long, so 37.5 mm at the small end.
fn seat() -> Setup {
    let mut taper =
        Taper::from_half_angle("1:12", "1:12".parse::<Angle>().unwrap(), "ISO 1119").unwrap();
    taper.gauge_diameter = Some(mm("40mm"));
    taper.length = Some(mm("30mm"));
    Setup {
        taper: Some(taper),
        ..Setup::default()
    }
}

fn sections(points: &[(f64, f64)]) -> Measured {
    let reading = |(plane_mm, diameter_mm): &(f64, f64)| SectionReading {
        plane_mm: *plane_mm,
        diameter_mm: *diameter_mm,
    };
    Measured::Sections(points.iter().map(reading).collect())
}

fn plain(measured: &Measured) -> SizeOutcome {
    size::outcome(&seat(), &SizeOptions::default(), measured).unwrap()
}

#[test]
fn what_is_left_where_least_is_left() {
    // 60 µm at the gauge plane, 48 µm at the small end: the cone is too steep by 6 µm in 30 mm.
    let measured = sections(&[(0.0, 40.060), (30.0, 37.548)]);
    let outcome = plain(&measured);
    assert!((outcome.stock_on_diameter_um.unwrap() - 48.0).abs() < 1e-6);
    assert!((outcome.infeed_um.unwrap() - 24.0).abs() < 1e-6);
    let half: Angle = "1:12".parse().unwrap();
    assert!((outcome.infeed_square_to_cone_um.unwrap() - 24.0 * half.cos()).abs() < 1e-6);
    let tan = (40.060 - 37.548) / 60.0;
    let error = Angle::from_rad(f64::atan(tan)) - half;
    assert!((outcome.half_angle_error_arcsec.unwrap() - error.arcsec()).abs() < 1e-6);
    assert_eq!(outcome.finish, None, "nothing tells how sure that is");
    assert!(
        outcome.stock_expanded_um.is_none(),
        "nothing is known of how good the diameters are"
    );
    let to_cone = SizeOptions {
        infeed: Infeed::Cone,
        ..SizeOptions::default()
    };
    let outcome = size::outcome(&seat(), &to_cone, &measured).unwrap();
    assert_eq!(outcome.infeed_um, outcome.infeed_square_to_cone_um);
}

/// By hand: with diameters to 1 µm each, 30 mm apart, `u(tan α) = 1 µm · √2 / 60 mm`.
#[test]
fn the_half_angle_with_its_uncertainty() {
    let mut setup = seat();
    setup.tolerance = Some("10arcsec".parse().unwrap());
    let options = SizeOptions {
        diameter_u: Some(mm("1um")),
        ..SizeOptions::default()
    };
    let measured = sections(&[(0.0, 40.0), (30.0, 37.5)]);
    let outcome = size::outcome(&setup, &options, &measured).unwrap();
    let half: Angle = "1:12".parse().unwrap();
    let u = Angle::from_rad(1e-3 * 2.0_f64.sqrt() / 60.0 * half.cos().powi(2)).arcsec();
    assert!((outcome.half_angle_u_arcsec.unwrap() / u - 1.0).abs() < 1e-9);
    assert_eq!(outcome.verdict, Some(Verdict::In));
    assert_eq!(outcome.finish, Some(Finish::AtSize));
    assert!((outcome.stock_expanded_um.unwrap() - 1.96).abs() < 0.001);
    // Places to 0.1 mm add 2 tan α · 0.1 mm to each diameter.
    let placed = SizeOptions {
        plane_u: Some(mm("0.1mm")),
        ..options
    };
    let outcome = size::outcome(&setup, &placed, &measured).unwrap();
    let of_plane = 100.0 / 12.0;
    let expected = u * 1.0_f64.hypot(of_plane);
    assert!((outcome.half_angle_u_arcsec.unwrap() / expected - 1.0).abs() < 1e-6);
    assert_eq!(outcome.verdict, Some(Verdict::Undecided));
    assert!(outcome.budget[0].component.contains("planes"));
}

#[test]
fn a_part_that_is_too_small_is_not_called_finished() {
    let known = SizeOptions {
        diameter_u: Some(mm("1um")),
        ..SizeOptions::default()
    };
    let told = |diameter: f64, options: &SizeOptions| {
        size::outcome(&seat(), options, &sections(&[(0.0, diameter)])).unwrap()
    };
    let under = told(39.997, &known);
    assert_eq!(under.finish, Some(Finish::Undersize));
    assert!(
        under.remarks[0].contains("under size by 3.0 µm"),
        "{:?}",
        under.remarks
    );
    assert_eq!(told(39.9985, &known).finish, Some(Finish::AtSize));
    assert_eq!(told(40.0025, &known).finish, Some(Finish::Left));
    // A bore grows: too small is stock, too large is over size.
    let bore = SizeOptions {
        surface: Surface::Bore,
        ..known
    };
    assert_eq!(told(39.990, &bore).finish, Some(Finish::Left));
    let over = told(40.010, &bore);
    assert_eq!(over.finish, Some(Finish::Oversize));
    assert!(over.remarks[0].contains("over size by 10.0 µm"));
}

#[test]
fn passes_leave_the_allowance() {
    let options = SizeOptions {
        pass: Some(mm("5um")),
        allowance: Some(mm("4um")),
        ..SizeOptions::default()
    };
    // 60 µm on diameter: 30 µm of infeed, 26 µm of it rough: five passes of 5 µm and one of 1 µm.
    let told = |diameter: f64| {
        size::outcome(&seat(), &options, &sections(&[(0.0, diameter)]))
            .unwrap()
            .passes
    };
    let passes = told(40.060).unwrap();
    assert_eq!(passes.count, 6);
    assert!((passes.last_um - 1.0).abs() < 1e-6 && (passes.finishing_um - 4.0).abs() < 1e-6);
    // Less than the allowance: only the finishing is left.
    let last = told(40.004).unwrap();
    assert!(last.count == 0 && (last.finishing_um - 2.0).abs() < 1e-6);
    assert!(told(39.9).is_none(), "nothing to pass over");
}

#[test]
fn stand_off_rollers_and_balls_agree_with_the_cone_they_come_from() {
    let half: Angle = "1:12".parse().unwrap();
    let stand_off = plain(&Measured::StandOff {
        short: vec![mm("0.6mm")],
    });
    assert!((stand_off.stock_on_diameter_um.unwrap() - 50.0).abs() < 1e-6);
    // A cone 30 µm too large, on rollers of 5 mm radius on the plate and on 20 mm.
    let rollers = OverRollers {
        roller_radius: mm("5mm"),
    };
    let over = |stacks: &str| Over {
        stacks: mm(stacks),
        over: Length::from_mm(rollers.over_mm(mm("37.53mm"), half, mm(stacks)).unwrap()).unwrap(),
    };
    let measured = Measured::Rollers {
        radius: mm("5mm"),
        over: vec![over("0mm"), over("20mm")],
    };
    let outcome = plain(&measured);
    assert!(
        (outcome.stock_on_diameter_um.unwrap() - 30.0).abs() < 1e-3,
        "{outcome:?}"
    );
    assert!(outcome.half_angle_error_arcsec.unwrap().abs() < 1e-3);
    assert_eq!(outcome.planes.len(), 2);
    let one = Measured::Rollers {
        radius: mm("5mm"),
        over: vec![over("10mm")],
    };
    let outcome = plain(&one);
    assert!((outcome.stock_on_diameter_um.unwrap() - 30.0).abs() < 1e-3);
    assert!(
        outcome.half_angle_deg.is_none(),
        "one height tells no angle"
    );
    // Where the small end is, is the part's length where the taper has none of its own; without either nobody knows.
    let mut short = seat();
    let own = short.taper.as_mut().unwrap().length.take();
    let told = |setup: &Setup| size::outcome(setup, &SizeOptions::default(), &one).unwrap();
    assert!(told(&short).stock_on_diameter_um.is_none());
    short.length = own;
    assert!((told(&short).stock_on_diameter_um.unwrap() - 30.0).abs() < 1e-3);
    // Balls of 18 and 17.5 mm radius in a bore of 39.99 mm at its face: seated where they touch the wall.
    let ball = |radius: &str| {
        let r = mm(radius).mm();
        let centre = (39.99 / 2.0 - r / half.cos()) / half.tan();
        let top = Length::from_mm(centre - r).unwrap();
        BallInBore {
            radius: mm(radius),
            top_below_face: top,
        }
    };
    let bore = SizeOptions {
        surface: Surface::Bore,
        ..SizeOptions::default()
    };
    let measured = Measured::Balls {
        big: ball("18mm").into(),
        small: ball("17.5mm").into(),
    };
    let outcome = size::outcome(&seat(), &bore, &measured).unwrap();
    assert!((outcome.stock_on_diameter_um.unwrap() - 10.0).abs() < 1e-3);
    assert!(outcome.half_angle_error_arcsec.unwrap().abs() < 1e-3);
}

/// Steel grows 11.5 µm per metre and kelvin: 40 mm at 26 °C against an instrument at 20 °C shows 2.76 µm too much.
#[test]
fn a_warm_part_is_brought_to_20_degrees() {
    let warm = Temperature {
        part_c: 26.0,
        instrument_c: 20.0,
        u_k: Some(1.0),
        expansion_um_per_m_k: 11.5,
    };
    let options = SizeOptions {
        temperature: Some(warm),
        diameter_u: Some(mm("0.0001um")),
        ..SizeOptions::default()
    };
    let outcome = size::outcome(&seat(), &options, &sections(&[(0.0, 40.00276)])).unwrap();
    assert!(
        outcome.stock_on_diameter_um.unwrap().abs() < 1e-3,
        "{outcome:?}"
    );
    assert_eq!(outcome.corrections.len(), 1);
    // 1 K of doubt is 0.46 µm; the expansion to ±1 µm/(m·K) over 6 K another 0.14 µm.
    let u = 0.46_f64.hypot(0.24 / 3.0_f64.sqrt());
    assert!((outcome.stock_expanded_um.unwrap() / u - 1.96).abs() < 0.01);
    let as_measured = plain(&sections(&[(0.0, 40.00276)]));
    assert!(as_measured.corrections.is_empty());
    let hot = Temperature {
        part_c: 500.0,
        ..warm
    };
    let options = SizeOptions {
        temperature: Some(hot),
        ..SizeOptions::default()
    };
    let refused = size::outcome(&seat(), &options, &sections(&[(0.0, 40.0)])).unwrap_err();
    assert!(refused.to_string().contains("within 200 K"));
}

#[test]
fn bad_sizes_are_told_where_and_what_is_needed() {
    let told = |measured: Measured| {
        let why = size::outcome(&seat(), &SizeOptions::default(), &measured).unwrap_err();
        why.row()
            .map_or(why.to_string(), |row| format!("row {row}: {why}"))
    };
    assert!(told(sections(&[])).contains("one diameter at a plane"));
    assert_eq!(
        told(sections(&[(0.0, 40.0), (f64::NAN, 39.0)])),
        "row 2: plane_mm is not a number"
    );
    assert!(told(sections(&[(0.0, 40.0), (10.0, -1.0)])).starts_with("row 2: diameter -1 mm"));
    let rollers = |stacks: &str, over: &str| Measured::Rollers {
        radius: mm("5mm"),
        over: vec![Over {
            stacks: mm(stacks),
            over: mm(over),
        }],
    };
    assert!(told(rollers("28mm", "60mm")).contains("do not touch"));
    assert!(told(rollers("0mm", "19mm")).starts_with("row 1: measurement over the rollers"));
    let bare = size::outcome(
        &Setup::default(),
        &SizeOptions::default(),
        &rollers("0mm", "60mm"),
    );
    assert!(bare.unwrap_err().to_string().contains("state the taper"));
    let no_size = size::outcome(
        &Setup::default(),
        &SizeOptions::default(),
        &sections(&[(0.0, 40.0)]),
    );
    let no_size = no_size.unwrap();
    assert!(
        no_size.stock_on_diameter_um.is_none() && no_size.remarks[0].contains("state the taper")
    );
}

fn kit() -> Kit {
    let block = |nominal: &str| Block {
        nominal: mm(nominal),
        deviation: None,
        u: None,
    };
    Kit {
        name: "small".into(),
        blocks: ["1mm", "1.5mm", "2mm", "4mm"].map(block).to_vec(),
        grade: Some(Grade::Zero),
        source: "a test".into(),
    }
}

fn checked() -> Vec<DialPoint> {
    // Errors of 0, 2, −1 and 3 µm upward, 1 µm more downward, read twice with 0.4 µm between the two.
    let mut points = Vec::new();
    for (nominal_mm, error) in [(0.0, 0.0), (1.0, 2.0), (2.5, -1.0), (4.0, 3.0)] {
        for (run, direction, more) in [
            (0.0, Direction::Up, 0.0),
            (0.0, Direction::Down, 1.0),
            (0.4, Direction::Up, 0.0),
            (0.4, Direction::Down, 1.0),
        ] {
            let reading_mm = nominal_mm + (error + more + run) * 1e-3;
            points.push(DialPoint {
                nominal_mm,
                reading_mm,
                direction,
            });
        }
    }
    points
}

#[test]
fn the_indicator_s_figures_by_hand() {
    let outcome = dial::outcome(&Setup::default(), DialOptions::default(), &checked()).unwrap();
    assert!(
        (outcome.error_span_um - 5.4).abs() < 1e-9,
        "from −1 to 3 + 1 + 0.4"
    );
    assert!((outcome.hysteresis_um.unwrap() - 1.0).abs() < 1e-9);
    assert!((outcome.repeatability_um.unwrap() - 0.4).abs() < 1e-9);
    assert!((outcome.repeatability_sd_um.unwrap() - 0.4 / 2.0_f64.sqrt()).abs() < 1e-9);
    assert!(
        outcome.check.correction.is_empty(),
        "no correction unless asked for"
    );
    assert!(
        (1.5..3.0).contains(&outcome.expanded_um.unwrap()),
        "{:?}",
        outcome.expanded_um
    );
    let corrected =
        dial::outcome(&Setup::default(), DialOptions { correct: true }, &checked()).unwrap();
    assert!(corrected.expanded_um.unwrap() < outcome.expanded_um.unwrap() / 1.5);
    assert!(corrected.check.u_um < outcome.check.u_um);
    // The table takes the mean errors out, but for a constant.
    let indicator = conewright_metrology::setup::Indicator {
        check: Some(corrected.check),
        ..Default::default()
    };
    let left: Vec<f64> = [(0.0, 0.0), (1.0, 2.0), (2.5, -1.0), (4.0, 3.0)]
        .iter()
        .map(|(nominal, error)| indicator.true_mm(nominal + (error + 0.7) * 1e-3) - nominal)
        .collect();
    assert!(left.iter().all(|l| (l - left[0]).abs() < 1e-9), "{left:?}");
}

#[test]
fn the_check_decides_on_the_stated_limit() {
    let verdict = |limit: &str| {
        let mut setup = Setup {
            kit: Some(kit()),
            ..Setup::default()
        };
        setup.indicator.error_limit = Some(mm(limit));
        dial::outcome(&setup, DialOptions::default(), &checked())
            .unwrap()
            .verdict
    };
    // Worst: 2.5 µm from the mean.
    assert_eq!(verdict("3um"), Some(Verdict::In));
    assert_eq!(verdict("2.5um"), Some(Verdict::Undecided));
    assert_eq!(verdict("1um"), Some(Verdict::Out));
    // A display of 1 µm may hide 0.5 µm either way; and what was read once tells nothing of how well it repeats.
    let mut setup = Setup::default();
    setup.indicator.error_limit = Some(mm("3um"));
    let on = |setup: &Setup, points: &[DialPoint]| {
        dial::outcome(setup, DialOptions::default(), points)
            .unwrap()
            .verdict
    };
    assert_eq!(on(&setup, &checked()), Some(Verdict::In));
    setup.indicator.resolution = Some(mm("2um"));
    assert_eq!(on(&setup, &checked()), Some(Verdict::Undecided));
    let once: Vec<DialPoint> = checked().into_iter().step_by(4).collect();
    assert_eq!(on(&setup, &once), Some(Verdict::Undecided));
    let told = |setup: &Setup| dial::outcome(setup, DialOptions::default(), &once).unwrap();
    let unknown = told(&setup);
    assert_eq!(
        (unknown.undecided_because, unknown.expanded_um),
        (Some(Undecided::RepeatabilityUnknown), None)
    );
    assert!(
        unknown.remarks[0].contains("no 95 %") && unknown.remarks[0].contains("± 1.00 µm"),
        "{:?}",
        unknown.remarks
    );
    // A statement stands in; it is not a check, so the check keeps nothing of it.
    setup.indicator.repeatability = Some(mm("0.3um"));
    let stated = told(&setup);
    assert!(stated.expanded_um.unwrap() > 1.0, "the display's step adds");
    assert_eq!(stated.check.repeatability_sd_um, None);
    assert_ne!(
        stated.undecided_because,
        Some(Undecided::RepeatabilityUnknown)
    );
}

#[test]
fn bad_checks_are_told_where_and_what_is_needed() {
    let setup = Setup {
        kit: Some(kit()),
        ..Setup::default()
    };
    let told = |setup: &Setup, points: &[DialPoint]| {
        let why = dial::outcome(setup, DialOptions::default(), points).unwrap_err();
        why.row()
            .map_or(why.to_string(), |row| format!("row {row}: {why}"))
    };
    assert!(
        dial::outcome(&setup, DialOptions::default(), &checked()).is_ok(),
        "2.5 is 1 and 1.5"
    );
    let mut points = checked();
    points[6].nominal_mm = 1.3;
    let refused = told(&setup, &points);
    assert!(
        refused.starts_with("row 7: no block or stack of the kit small makes 1.3 mm"),
        "{refused}"
    );
    points[6].reading_mm = f64::NAN;
    assert_eq!(told(&setup, &points), "row 7: reading_mm is not a number");
    assert!(told(&Setup::default(), &checked()[..4]).contains("fewer than two different nominals"));
    assert!(told(&Setup::default(), &[]).contains("at least two"));
}

/// One step read twice and nothing else: one degree of freedom, and Student's 12.71 in the place of 1.96.
#[test]
fn one_repeat_carries_the_factor_of_one_degree_of_freedom() {
    let point = |nominal_mm: f64, error_um: f64| DialPoint {
        nominal_mm,
        reading_mm: nominal_mm + error_um * 1e-3,
        direction: Direction::Up,
    };
    let points = [point(0.0, 0.0), point(1.0, -0.5), point(1.0, 0.5)];
    let found = dial::outcome(&Setup::default(), DialOptions::default(), &points).unwrap();
    assert_eq!(found.check.repeatability_degrees_of_freedom, Some(1.0));
    // The means are both 0: all is scatter, of 1/√2 µm.
    let expanded = found.expanded_um.unwrap();
    assert!(
        (expanded - 12.706 / 2_f64.sqrt()).abs() < 0.01,
        "{expanded}"
    );
}
