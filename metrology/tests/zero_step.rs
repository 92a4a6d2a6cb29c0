//! The zero step, case by case: what each thing that can happen at the grinder does to the outcome.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod known_stack;

use conewright_metrology::setting::{Bar, BarKind};
use conewright_metrology::setup::{BigEnd, Fixture, IndicatorSide, LearnedPivot, Sense, Setup};
use conewright_metrology::taper::Taper;
use conewright_metrology::uncertainty::Verdict;
use conewright_metrology::zero::{self, Sloping, ZeroError, ZeroMark, ZeroOutcome};
use conewright_metrology::{Angle, Length};
use known_stack::known_stack;

/// A mark without scatter on a display of a tenth of a micrometre: `(round, station, µm)`.
fn mark(round: u32, station: &str, um: f64) -> ZeroMark {
    ZeroMark {
        round,
        station: station.into(),
        position_mm: match station {
            "A" => 0.0,
            "M" => 40.0,
            _ => 80.0,
        },
        value_mm: um * 1e-3,
        sd_mm: Some(0.1e-3),
        readings: 20,
        resolution: Length::from_pm(100_000),
        time_s: None,
        clamped: false,
        setting: 0,
    }
}

fn marks(rows: &[(u32, &str, f64)]) -> Vec<ZeroMark> {
    rows.iter()
        .map(|(round, station, um)| mark(*round, station, *um))
        .collect()
}

fn tell(setup: &Setup, marks: &[ZeroMark]) -> ZeroOutcome {
    zero::outcome(setup, marks).unwrap()
}

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{got}, not {want}");
}

fn one_to_twelve() -> Setup {
    Setup {
        taper: Some(Taper {
            length: Some("30mm".parse().unwrap()),
            ..Taper::from_half_angle("1:12", "1:12".parse().unwrap(), "ISO 1119").unwrap()
        }),
        tolerance: Some("5arcsec".parse().unwrap()),
        ..Setup::default()
    }
}

#[test]
fn nothing_before_the_first_slope() {
    assert_eq!(tell(&Setup::default(), &[]), ZeroOutcome::default());
    assert_eq!(
        tell(&Setup::default(), &marks(&[(1, "A", 3.0)])),
        ZeroOutcome::default()
    );
    // A round with one station is left out, the ones before it stay.
    let running = tell(
        &Setup::default(),
        &marks(&[(1, "A", 0.0), (1, "B", 8.0), (2, "A", 0.0)]),
    );
    assert_eq!(running.rounds.len(), 1);
}

#[test]
fn the_residual_and_what_it_is_worth() {
    let outcome = tell(&one_to_twelve(), &marks(&[(1, "A", 0.0), (1, "B", 8.0)]));
    // 8 µm over 80 mm: 1e-4, 20.63 arc-seconds.
    near(outcome.residual_arcsec.unwrap(), 20.626_480, 1e-5);
    near(outcome.over_span_um.unwrap(), 8.0, 1e-9);
    // On diameter over 30 mm: 2·30·(tan(α + ε) − tan α), a little more than 2·30·ε.
    near(outcome.over_taper_um.unwrap(), 6.010_4, 1e-4);
    assert_eq!(outcome.verdict, Some(Verdict::Out));
    assert_eq!(
        outcome.cone, None,
        "the session does not say which way is steeper"
    );
    let within = tell(&one_to_twelve(), &marks(&[(1, "A", 0.0), (1, "B", 0.4)]));
    assert_eq!(within.verdict, Some(Verdict::In));
    let near_limit = tell(&one_to_twelve(), &marks(&[(1, "A", 0.0), (1, "B", 1.9)]));
    assert_eq!(near_limit.verdict, Some(Verdict::Undecided));
}

#[test]
fn steeper_or_shallower_by_the_statement() {
    use {
        BigEnd::{A, B},
        IndicatorSide::{Opposite, Wheel},
    };
    for (big_end, indicator, rising) in [
        (A, Wheel, Sloping::Steeper),
        (A, Opposite, Sloping::Shallower),
        (B, Wheel, Sloping::Shallower),
        (B, Opposite, Sloping::Steeper),
    ] {
        let setup = Setup {
            sense: Some(Sense { big_end, indicator }),
            ..one_to_twelve()
        };
        let outcome = tell(&setup, &marks(&[(1, "A", 0.0), (1, "B", 8.0)]));
        assert_eq!(outcome.cone, Some(rising), "{big_end:?} {indicator:?}");
        let worth = outcome.over_taper_um.unwrap();
        assert_eq!(worth > 0.0, rising == Sloping::Steeper, "{worth}");
        near(outcome.residual_arcsec.unwrap(), 20.626_480, 1e-5);
    }
}

/// A tolerance to one side needs to know which side; then the same residual is in on one side and out on the other.
#[test]
fn a_tolerance_to_one_side() {
    let setup = Setup {
        tolerance: Some("+AT5".parse().unwrap()),
        ..one_to_twelve()
    };
    let rising = marks(&[(1, "A", 0.0), (1, "B", 3.0)]);
    assert_eq!(tell(&setup, &rising).verdict, None);
    let sense = |indicator| Setup {
        sense: Some(Sense {
            big_end: BigEnd::A,
            indicator,
        }),
        ..setup.clone()
    };
    assert_eq!(
        tell(&sense(IndicatorSide::Wheel), &rising).verdict,
        Some(Verdict::In)
    );
    assert_eq!(
        tell(&sense(IndicatorSide::Opposite), &rising).verdict,
        Some(Verdict::Out)
    );
}

#[test]
fn a_b_a_takes_the_drift_out() {
    // The edge rises by 4 µm; everything drifts up by 1 µm from mark to mark.
    let rows = [(1, "A", 0.0), (1, "B", 5.0), (1, "A", 2.0)];
    let untimed = tell(&Setup::default(), &marks(&rows));
    near(untimed.over_span_um.unwrap(), 4.0, 1e-9);
    assert_eq!(
        untimed.rounds[0].drift_um_per_min, None,
        "no times, no rate"
    );
    let mut timed = marks(&rows);
    for (mark, time) in timed.iter_mut().zip([0.0, 15.0, 30.0]) {
        mark.time_s = Some(time);
    }
    let outcome = tell(&Setup::default(), &timed);
    near(outcome.over_span_um.unwrap(), 4.0, 1e-9);
    near(outcome.rounds[0].drift_um_per_min.unwrap(), 4.0, 1e-9);
    // The reading at A now is the last one there.
    near(outcome.rounds[0].at_a_mm, 2e-3, 1e-12);
    // Two marks in a row at one station are no return: no drift is read from them.
    let twice = tell(
        &Setup::default(),
        &marks(&[(1, "A", 0.0), (1, "B", 4.0), (1, "B", 5.0)]),
    );
    near(twice.over_span_um.unwrap(), 4.5, 1e-9);
}

#[test]
fn the_bow_is_the_middle_over_the_line_between_the_ends() {
    let crowned = tell(
        &Setup::default(),
        &marks(&[(1, "A", 0.0), (1, "M", 3.0), (1, "B", 2.0)]),
    );
    near(crowned.rounds[0].bow_um.unwrap(), 2.0, 1e-9);
    // With a drift of 1 µm a mark on top, and the way back.
    let rows = [
        (1, "A", 0.0),
        (1, "M", 4.0),
        (1, "B", 4.0),
        (1, "M", 6.0),
        (1, "A", 4.0),
    ];
    let drifting = tell(&Setup::default(), &marks(&rows));
    near(drifting.rounds[0].bow_um.unwrap(), 2.0, 1e-9);
}

#[test]
fn the_first_tap_is_a_trial_where_the_indicator_stands() {
    for (rows, station, target) in [
        (vec![(1, "A", 10.0), (1, "B", 310.0)], "B", 0.010),
        (
            vec![(1, "A", 10.0), (1, "B", 310.0), (1, "A", 10.0)],
            "A",
            0.310,
        ),
    ] {
        let tap = tell(&Setup::default(), &marks(&rows)).tap.unwrap();
        assert!(tap.trial);
        assert_eq!(tap.station, station);
        near(tap.target_mm, target, 1e-12);
        assert_eq!(tap.toward, station == "A");
    }
}

/// Turned about 20 mm: the second tap knows it, stands at the far end B, and its target makes the edge level.
#[test]
fn after_one_tap_the_pivot_is_known() {
    let rows = [
        (1, "A", 0.0),
        (1, "B", 300.0),
        (2, "A", 60.0),
        (2, "B", 120.0),
    ];
    let outcome = tell(&Setup::default(), &marks(&rows));
    let pivot = outcome.pivot.unwrap();
    near(pivot.position_mm, 20.0, 1e-6);
    assert_eq!(pivot.from_rounds, [1, 2]);
    let tap = outcome.tap.unwrap();
    assert_eq!(
        (tap.station.as_str(), tap.trial, tap.toward),
        ("B", false, false)
    );
    // T(B) = 120 − 60/80 · 60 = 75 µm, and A would then read 75 µm as well.
    near(tap.target_mm, 0.075, 1e-9);
    near(tap.move_um, -45.0, 1e-6);
}

#[test]
fn a_stated_pivot_is_used_and_only_checked() {
    let fixture = |pivot: Option<&str>, learned_pivot| Setup {
        fixture: Some(Fixture {
            name: "vee block".into(),
            pivot: pivot.map(|p| p.parse().unwrap()),
            learned_pivot,
            clamp_shifts: vec![],
        }),
        ..Setup::default()
    };
    let rows = [
        (1, "A", 0.0),
        (1, "B", 300.0),
        (2, "A", 60.0),
        (2, "B", 120.0),
    ];
    let stated = tell(&fixture(Some("50mm"), None), &marks(&rows));
    near(stated.pivot.unwrap().position_mm, 50.0, 0.0);
    assert!(
        stated.remarks[0].contains("turns at 20.0 mm"),
        "{:?}",
        stated.remarks
    );
    assert_eq!(
        stated.tap.unwrap().station,
        "A",
        "further from 50 mm than B"
    );
    let right = tell(&fixture(Some("20mm"), None), &marks(&rows));
    assert!(right.remarks.is_empty(), "{:?}", right.remarks);
    // What the fixture remembers serves until the rounds tell better.
    let remembered = fixture(
        None,
        Some(LearnedPivot {
            position_mm: 30.0,
            u_mm: 2.0,
        }),
    );
    let first = tell(&remembered, &marks(&rows[..2]));
    assert!(!first.tap.unwrap().trial);
    near(first.pivot.unwrap().position_mm, 30.0, 0.0);
    near(
        tell(&remembered, &marks(&rows)).pivot.unwrap().position_mm,
        20.0,
        1e-6,
    );
}

fn clamped(mut marks: Vec<ZeroMark>, setting: u32) -> Vec<ZeroMark> {
    for mark in &mut marks {
        mark.clamped = true;
        mark.setting = setting;
    }
    marks
}

#[test]
fn the_clamp_shifts_and_the_next_aim_is_off_by_as_much() {
    let remembering = Setup {
        fixture: Some(Fixture {
            name: "vee block".into(),
            pivot: Some("0mm".parse().unwrap()),
            learned_pivot: None,
            clamp_shifts: vec![-4.0e-5, -3.9e-5],
        }),
        ..Setup::default()
    };
    let mut all = marks(&[(1, "A", 0.0), (1, "B", 0.0)]);
    all.extend(clamped(marks(&[(2, "A", 0.0), (2, "B", -3.28)]), 1));
    let outcome = tell(&remembering, &all);
    let shift = outcome.clamp_shift.clone().unwrap();
    assert_eq!((shift.count, shift.agree), (3, true));
    near(shift.slope, -4.0e-5, 1e-9);
    near(shift.seen[0], -4.1e-5, 1e-12);
    // Tight: the advice is for the edge as it is.
    assert_eq!(outcome.tap.unwrap().aim_arcsec, None);
    // Loosened and measured: now the aim leaves what the clamp will take.
    let mut loose = marks(&[(3, "A", 0.0), (3, "B", 0.0)]);
    for mark in &mut loose {
        mark.setting = 2;
    }
    all.extend(loose);
    let tap = tell(&remembering, &all).tap.unwrap();
    near(tap.target_mm, 3.2e-3, 1e-7);
    near(tap.aim_arcsec.unwrap(), 8.25, 0.01);
}

/// What was learned before clamp or part were touched is not mixed with what came after.
#[test]
fn rounds_of_different_settings_are_not_mixed() {
    let mut all = marks(&[
        (1, "A", 0.0),
        (1, "B", 300.0),
        (2, "A", 60.0),
        (2, "B", 120.0),
    ]);
    let mut later = marks(&[
        (3, "A", 0.0),
        (3, "B", 100.0),
        (4, "A", 50.0),
        (4, "B", 50.0),
    ]);
    for mark in &mut later {
        mark.setting = 2;
    }
    // With one round since, nothing new is learned: what was known serves, and says from where.
    all.extend(later[..2].to_vec());
    assert_eq!(
        tell(&Setup::default(), &all).pivot.unwrap().from_rounds,
        [1, 2]
    );
    all.extend(later[2..].to_vec());
    let pivot = tell(&Setup::default(), &all).pivot.unwrap();
    assert_eq!(pivot.from_rounds, [3, 4]);
    near(pivot.position_mm, 40.0, 1e-6);
}

/// A lever-type indicator at 60°: what it shows is twice what is there, and targets stay in what it shows.
#[test]
fn a_lever_at_an_angle_shows_more_than_there_is() {
    let mut setup = one_to_twelve();
    setup.indicator.lever_angle = Some(Angle::from_deg(60.0));
    let outcome = tell(&setup, &marks(&[(1, "A", 0.0), (1, "B", 16.0)]));
    near(outcome.over_span_um.unwrap(), 8.0, 1e-9);
    near(outcome.tap.unwrap().move_um, -16.0, 1e-9);
}

/// What is aimed at besides is an angle that is there: a lever at 60° shows twice of it. Here a stack that sets 1.44″ too little.
#[test]
fn a_lever_shows_more_of_what_is_aimed_at_too() {
    let mut setup = one_to_twelve();
    setup.stack = Some(known_stack(-1.44, None));
    setup.sense = Some(Sense {
        big_end: BigEnd::A,
        indicator: IndicatorSide::Wheel,
    });
    let level = marks(&[(1, "A", 0.0), (1, "B", 0.0)]);
    let plain = tell(&setup, &level).tap.unwrap();
    setup.indicator.lever_angle = Some(Angle::from_deg(60.0));
    let lever = tell(&setup, &level).tap.unwrap();
    near(lever.aim_arcsec.unwrap(), plain.aim_arcsec.unwrap(), 1e-9);
    near(plain.move_um.abs(), 0.558_5, 1e-4);
    near(lever.move_um, 2.0 * plain.move_um, 1e-9);
}

#[test]
fn the_budget_lists_what_is_known_largest_first() {
    let mut setup = one_to_twelve();
    setup.indicator.error_limit = Some("0.5um".parse().unwrap());
    setup.straightness = Some("0.4um".parse().unwrap());
    setup.station_error = Some("0.5mm".parse().unwrap());
    let outcome = tell(&setup, &marks(&[(1, "A", 0.0), (1, "B", 8.0)]));
    let names: Vec<&str> = outcome
        .budget
        .iter()
        .map(|c| c.component.as_str())
        .collect();
    assert_eq!(
        names,
        [
            "error of the indicator",
            "straightness of the travel",
            "places of the stations",
            "scatter of the marks",
        ],
        "the scatter wipes the display's rounding out"
    );
    // 0.5 µm/√3 at either station over 80 mm: √2 · 0.289 µm / 80 mm = 1.053 arc-seconds.
    near(outcome.budget[0].u, 1.052_6, 1e-3);
    let combined: f64 = outcome.budget.iter().map(|c| c.u * c.u).sum::<f64>().sqrt();
    near(
        outcome.rounds[0].residual_u_arcsec.unwrap(),
        combined,
        1e-12,
    );
}

/// The half angle is judged with what the stack is known to be off, and with what stack and bar are not known to.
#[test]
fn the_half_angle_counts_stack_and_bar() {
    let mut setup = one_to_twelve();
    setup.bar = Some(Bar {
        kind: BarKind::Sine,
        centre_distance: Some("100mm".parse().unwrap()),
        constant: Length::ZERO,
        disc_radii: None,
        centre_distance_u: Some("1um".parse().unwrap()),
    });
    setup.stack = Some(known_stack(-4.9, Some(0.2)));
    let level = marks(&[(1, "A", 0.0), (1, "B", 0.0)]);
    assert!(
        tell(&setup, &level).half_angle_error_arcsec.is_none(),
        "without a sense nobody knows which way the stack's error adds"
    );
    setup.sense = Some(Sense {
        big_end: BigEnd::A,
        indicator: IndicatorSide::Wheel,
    });
    let outcome = tell(&setup, &level);
    near(outcome.half_angle_error_arcsec.unwrap(), -4.9, 1e-9);
    // The edge is level, and yet the half angle is at its limit of 5 arc-seconds.
    assert_eq!(outcome.verdict, Some(Verdict::Undecided));
    let u = |name: &str| {
        outcome
            .budget
            .iter()
            .find(|c| c.component == name)
            .unwrap()
            .u
    };
    // dα = dH/(C cos α), dα = (dC/C) tan α: 0.2 µm and 1 µm on 100 mm.
    near(u("height of the stack"), 0.412_9, 1e-3);
    near(u("centre distance of the bar"), 0.085_9, 1e-3);
    assert!(outcome.half_angle_expanded_arcsec > outcome.residual_expanded_arcsec);
}

/// The stack sets 3″ too much, and a residual of 3″ makes 6″ or nothing of it: 5″ are allowed.
#[test]
fn a_stack_s_error_is_judged_either_way_while_the_sense_is_not_known() {
    let mut setup = one_to_twelve();
    setup.stack = Some(known_stack(3.0, None));
    setup.indicator.resolution = Some("0.01um".parse().unwrap());
    // 3″ over 80 mm are 1.164 µm.
    let rising = marks(&[(1, "A", 0.0), (1, "B", 1.164)]);
    let mut judged = |sense| {
        setup.sense = sense;
        tell(&setup, &rising).verdict.unwrap()
    };
    assert_eq!(judged(None), Verdict::Undecided);
    let sense = |indicator| {
        Some(Sense {
            big_end: BigEnd::A,
            indicator,
        })
    };
    assert_eq!(judged(sense(IndicatorSide::Wheel)), Verdict::Out);
    assert_eq!(judged(sense(IndicatorSide::Opposite)), Verdict::In);
}

/// Dwells of 0.1 µm scatter whose marks repeat only to some micrometres: the dwells see none of that, so the residuals
/// of the rounds alone count, with their few degrees of freedom. Marks that repeat as well as dwells say are pooled.
#[test]
fn marks_that_repeat_worse_than_their_dwells_are_judged_by_themselves() {
    // Untimed, a return may differ by some micrometres before it shows a move.
    let scatter = |off: f64| {
        let rows = [
            (1, "A", 0.0),
            (1, "B", 8.0),
            (1, "A", off),
            (1, "B", 8.0 - off),
        ];
        let outcome = tell(&Setup::default(), &marks(&rows));
        let found = outcome
            .budget
            .iter()
            .find(|c| c.component == "scatter of the marks");
        let found = found.unwrap();
        (found.u, found.degrees_of_freedom.unwrap())
    };
    // Four marks, two unknowns: two degrees of freedom, the drift counted as scatter. ±off/2 are left at each mark.
    let (u, dof) = scatter(4.0);
    near(dof, 2.0, 0.0);
    assert!(u > 5.0, "{u}");
    // Four dwells of twenty readings and the one of the residuals.
    let (u, dof) = scatter(0.01);
    near(dof, 77.0, 0.0);
    assert!(u < 0.2, "{u}");
}

#[test]
fn single_readings_say_that_their_repeatability_is_unknown() {
    let mut single = marks(&[(1, "A", 0.0), (1, "B", 8.0)]);
    for mark in &mut single {
        mark.sd_mm = None;
        mark.readings = 1;
    }
    let remarks = tell(&Setup::default(), &single).remarks;
    assert!(remarks[0].contains("nothing tells how the readings repeat"));
}

#[test]
fn what_is_no_number_is_refused_by_its_place() {
    let mut bad = marks(&[(1, "A", 0.0), (1, "B", f64::NAN)]);
    assert_eq!(
        zero::outcome(&Setup::default(), &bad),
        Err(ZeroError::NotFinite { mark: 1 })
    );
    bad[1].value_mm = 0.0;
    bad[0].position_mm = f64::INFINITY;
    assert_eq!(
        zero::outcome(&Setup::default(), &bad),
        Err(ZeroError::NotFinite { mark: 0 })
    );
    let at = Setup {
        tolerance: Some("AT4".parse().unwrap()),
        ..Setup::default()
    };
    let error = zero::outcome(&at, &marks(&[(1, "A", 0.0), (1, "B", 1.0)])).unwrap_err();
    assert!(matches!(error, ZeroError::Tolerance(_)), "{error}");
}

/// An indicator that shows 2 µm per 0.1 mm too much. Uncorrected, an edge that is level would be called 80 µm/80 mm · 2 %
/// off; with the table of its check the true slope comes out, and the target is what the indicator will show there.
#[test]
fn the_correction_of_a_check_is_made_and_the_target_is_what_will_be_shown() {
    use conewright_metrology::dial::{Correction, IndicatorCheck};
    let shown = |true_um: f64| true_um * 1.02;
    let mut setup = one_to_twelve();
    setup.indicator.check = Some(IndicatorCheck {
        u_um: 0.1,
        correction: [-0.2, 0.0, 0.2]
            .map(|true_mm| Correction {
                reading_mm: true_mm * 1.02,
                add_um: -true_mm * 20.0,
            })
            .to_vec(),
        repeatability_sd_um: None,
        repeatability_degrees_of_freedom: None,
        checked_utc_ns: None,
    });
    let rows = [(1, "A", shown(0.0)), (1, "B", shown(80.0))];
    let found = tell(&setup, &marks(&rows));
    // 80 µm over 80 mm is 1 µm/mm; the shown 81.6 µm would be 1.02 µm/mm.
    near(found.rounds[0].slope, 1e-3, 1e-9);
    assert!(found.corrections[0].contains("last check"));
    let plain = tell(&one_to_twelve(), &marks(&rows));
    near(plain.rounds[0].slope, 1.02e-3, 1e-9);
    assert!(plain.corrections.is_empty());
    // A trial at B for a pivot at A takes all 80 µm out: the reading there comes to what it is at A.
    let tap = found.tap.unwrap();
    near(tap.target_mm, 0.0, 1e-7);
    near(tap.move_um, -shown(80.0), 1e-4);
    // Half way the table counts half: the reading at A is told as it is shown.
    near(found.rounds[0].at_a_mm, 0.0, 1e-9);
    let high = tell(
        &setup,
        &marks(&[(1, "A", shown(50.0)), (1, "B", shown(90.0))]),
    );
    near(high.rounds[0].at_a_mm, shown(50.0) * 1e-3, 1e-7);
    near(high.tap.unwrap().target_mm, shown(50.0) * 1e-3, 1e-7);
}
