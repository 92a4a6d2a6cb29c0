//! The zero step claims no more than it knows: what is said from few or typed marks, after a tap that came before the round was
//! closed, and with a stack that does not set the angle quite as wanted.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod known_stack;

use conewright_metrology::setup::{BigEnd, Fixture, IndicatorSide, Sense, Setup, Station};
use conewright_metrology::taper::Taper;
use conewright_metrology::uncertainty::{Undecided, Verdict, t_factor};
use conewright_metrology::zero::{self, ZeroMark, ZeroOutcome};
use conewright_metrology::{Angle, Length};
use known_stack::known_stack;

const SPAN_MM: f64 = 80.0;

/// A typed reading on a display of a tenth of a micrometre: `(round, station, µm)`.
fn typed(rows: &[(u32, &str, f64)]) -> Vec<ZeroMark> {
    let mark = |(round, station, um): &(u32, &str, f64)| ZeroMark {
        round: *round,
        station: (*station).into(),
        position_mm: if *station == "A" { 0.0 } else { SPAN_MM },
        value_mm: um * 1e-3,
        sd_mm: None,
        readings: 1,
        resolution: Length::from_pm(100_000),
        time_s: None,
        clamped: false,
        setting: 0,
    };
    rows.iter().map(mark).collect()
}

/// The same as dwells of twenty readings that scatter by 0.1 µm, 15 s apart.
fn dwells(rows: &[(u32, &str, f64)]) -> Vec<ZeroMark> {
    let dwell = |(i, mark): (usize, ZeroMark)| ZeroMark {
        sd_mm: Some(0.1e-3),
        readings: 20,
        time_s: Some(15.0 * i as f64),
        ..mark
    };
    typed(rows).into_iter().enumerate().map(dwell).collect()
}

fn tell(setup: &Setup, marks: &[ZeroMark]) -> ZeroOutcome {
    zero::outcome(setup, marks).unwrap()
}

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{got}, not {want}");
}

fn setup(tolerance: &str) -> Setup {
    Setup {
        taper: Some(Taper {
            length: Some("30mm".parse().unwrap()),
            ..Taper::from_half_angle("1:12", "1:12".parse().unwrap(), "ISO 1119").unwrap()
        }),
        tolerance: Some(tolerance.parse().unwrap()),
        ..Setup::default()
    }
}

fn arcsec_over_span(um: f64) -> f64 {
    Angle::from_rad((um * 1e-3 / SPAN_MM).atan()).arcsec()
}

/// Tapping right after B is normal practice. The A after it was once taken for the close of the round before the tap.
#[test]
fn a_return_after_a_tap_opens_the_next_round() {
    let tapped = [(1, "A", 10.0), (1, "B", 110.0), (1, "A", 250.0)];
    for marks in [typed(&tapped), dwells(&tapped)] {
        let moved = tell(&setup("5arcsec"), &marks);
        let found = moved.moved.as_ref().unwrap();
        assert_eq!((found.round, &*found.station), (2, "A"));
        near(found.by_um, 240.0, 1e-9);
        assert!(
            moved.remarks[0].contains("opens round 2"),
            "{:?}",
            moved.remarks
        );
        // What was found before it is of a state that is no more: nothing is claimed of now.
        assert_eq!(moved.residual_arcsec, None);
        assert_eq!(moved.tap, None);
        assert_eq!(moved.verdict, Some(Verdict::Undecided));
        assert_eq!(moved.undecided_because, Some(Undecided::Moved));
        // The earlier round stays what it was, two marks, without an uncertainty.
        near(
            moved.rounds[0].residual_arcsec,
            arcsec_over_span(100.0),
            1e-9,
        );
        assert_eq!(moved.rounds[0].residual_u_arcsec, None);
        // The B after it completes the new round.
        let mut more = marks.clone();
        more.extend(typed(&[(2, "B", 251.0)]));
        let now = tell(&setup("5arcsec"), &more);
        near(now.residual_arcsec.unwrap(), arcsec_over_span(1.0), 1e-9);
        assert!(now.tap.is_some());
        assert_eq!(
            zero::opens_a_round(&setup("5arcsec"), &marks)
                .unwrap()
                .round,
            2
        );
    }
}

/// The daemon gives such a mark the next round when it is made; computed again from the record, it says the same.
#[test]
fn a_mark_that_was_given_the_next_round_says_the_same() {
    let mut setup = setup("5arcsec");
    setup.pass = ["A", "B", "A"].map(str::to_owned).to_vec();
    let stored = [(1, "A", 10.0), (1, "B", 110.0), (2, "A", 250.0)];
    let found = tell(&setup, &dwells(&stored));
    assert_eq!(found.moved.unwrap().round, 2);
    assert_eq!(found.residual_arcsec, None);
    // A round that its pass has closed is followed by the next one, moved or not.
    let closed = [
        (1, "A", 10.0),
        (1, "B", 110.0),
        (1, "A", 10.0),
        (2, "A", 250.0),
    ];
    let found = tell(&setup, &dwells(&closed));
    assert_eq!(found.moved, None);
    assert!(found.residual_arcsec.is_some());
}

/// 15 µm were once taken for drift of the round: 7.96″ ± 0.20 where 1.3″ was true.
#[test]
fn a_tap_of_some_micrometres_is_noticed_wherever_it_comes() {
    for by in [-15.0, 6.0, 15.0] {
        let before_a = dwells(&[(1, "A", 0.0), (1, "B", 3.0), (1, "A", by)]);
        assert!(tell(&setup("5arcsec"), &before_a).moved.is_some(), "{by}");
        let twice = dwells(&[(1, "A", 0.0), (1, "B", 3.0), (1, "B", 3.0 + by)]);
        assert!(tell(&setup("5arcsec"), &twice).moved.is_some(), "{by}");
    }
    // A drift that a warm machine shows is none, and neither is scatter.
    let drifting = dwells(&[(1, "A", 0.0), (1, "B", 3.6), (1, "A", 1.2)]);
    assert_eq!(tell(&setup("5arcsec"), &drifting).moved, None);
}

/// What may be drift, scatter or a small tap stays in its round, and the interval covers each of them.
#[test]
fn a_return_that_can_be_either_widens_the_interval() {
    let still = tell(
        &setup("5arcsec"),
        &dwells(&[(1, "A", 0.0), (1, "B", 0.5), (1, "A", 0.02)]),
    );
    assert_eq!(still.verdict, Some(Verdict::In));
    let either = tell(
        &setup("5arcsec"),
        &dwells(&[(1, "A", 0.0), (1, "B", 0.5), (1, "A", 1.5)]),
    );
    assert_eq!(either.moved, None);
    assert_eq!(either.verdict, Some(Verdict::Undecided));
    assert!(either.residual_expanded_arcsec.unwrap() > arcsec_over_span(3.0));
    // Two more rounds of the same drift tell it from scatter.
    let rows = [
        (1, "A", 0.0),
        (1, "B", 1.0),
        (1, "A", 1.0),
        (2, "A", 1.0),
        (2, "B", 2.0),
        (2, "A", 2.02),
        (3, "A", 2.0),
        (3, "B", 3.0),
        (3, "A", 2.98),
    ];
    let steady = tell(&setup("5arcsec"), &dwells(&rows));
    assert!(
        steady.residual_expanded_arcsec.unwrap() < arcsec_over_span(0.3),
        "{steady:?}"
    );
    near(steady.rounds[2].drift_um_per_min.unwrap(), 1.96, 1e-9);
}

/// Rounds of single readings that are never closed: nothing tells how they repeat.
#[test]
fn nothing_is_decided_where_nothing_tells_the_repeatability() {
    let marks = typed(&[(1, "A", 0.0), (1, "B", 40.0), (2, "A", 0.0), (2, "B", 0.1)]);
    let outcome = tell(&setup("10arcsec"), &marks);
    assert_eq!(outcome.residual_expanded_arcsec, None);
    assert_eq!(outcome.rounds[1].residual_u_arcsec, None);
    assert_eq!(outcome.verdict, Some(Verdict::Undecided));
    assert_eq!(
        outcome.undecided_because,
        Some(Undecided::RepeatabilityUnknown)
    );
    // Two displays of ± 0.05 µm: the sum is triangular, ± 0.1 µm, 95 % within 0.1 · (1 − √0.05).
    let display = outcome.display_expanded_arcsec.unwrap();
    near(
        display,
        arcsec_over_span(0.1 * (1.0 - 0.05_f64.sqrt())),
        0.01,
    );
    let told = outcome
        .remarks
        .iter()
        .any(|r| r.contains("two more rounds A B A"));
    assert!(told, "{:?}", outcome.remarks);
    // Far out is not called out either: a slip of the pen would look the same.
    let out = tell(&setup("1arcsec"), &typed(&[(1, "A", 0.0), (1, "B", 40.0)]));
    assert_eq!(out.verdict, Some(Verdict::Undecided));
}

/// A returns by +3, −4 and +1 µm: once "0.00 ± 1.34″, in tolerance", with a pivot made of noise.
#[test]
fn returns_that_scatter_are_the_repeatability_and_teach_no_pivot() {
    let over = |arcsec: f64| Angle::from_arcsec(arcsec).tan() * SPAN_MM * 1e3;
    let round = |n: u32, back: f64, arcsec: f64| {
        [
            (n, "A", 0.0),
            (n, "B", over(arcsec) + back / 2.0),
            (n, "A", back),
        ]
    };
    let rows = [round(1, 3.0, -5.2), round(2, -4.0, 3.4), round(3, 1.0, 0.0)].concat();
    let outcome = tell(&setup("10arcsec"), &typed(&rows));
    near(outcome.residual_arcsec.unwrap(), 0.0, 1e-9);
    assert_eq!(outcome.pivot, None);
    assert_eq!(outcome.verdict, Some(Verdict::Undecided));
    assert_eq!(outcome.undecided_because, Some(Undecided::TooClose));
    // Three returns, each of the variance d²/2; a round's slope takes 1.5 times a mark's variance.
    let sd_um = ((9.0 + 16.0 + 1.0) / 2.0 / 3.0_f64).sqrt();
    let expanded = t_factor(0.95, 3.0) * 1.5_f64.sqrt() * sd_um;
    near(
        outcome.residual_expanded_arcsec.unwrap(),
        arcsec_over_span(expanded),
        0.05,
    );
    let scatter = &outcome.budget[0];
    assert_eq!(
        (&*scatter.component, scatter.degrees_of_freedom),
        ("scatter of the marks", Some(3.0))
    );
}

/// A stated repeatability makes single readings count, and the display's step adds to it.
#[test]
fn a_stated_repeatability_never_replaces_the_step() {
    let u = |step: &str| {
        let mut setup = setup("20arcsec");
        setup.indicator.repeatability = Some("0.05um".parse().unwrap());
        setup.indicator.resolution = Some(step.parse().unwrap());
        let outcome = tell(&setup, &typed(&[(1, "A", 0.0), (1, "B", 1.0)]));
        assert_ne!(
            outcome.undecided_because,
            Some(Undecided::RepeatabilityUnknown)
        );
        outcome.rounds[0].residual_u_arcsec.unwrap()
    };
    let own = arcsec_over_span(2.0_f64.sqrt() * 0.05);
    near(u("0.001um"), own, 0.01);
    near(
        u("1um"),
        arcsec_over_span((2.0 * (0.05_f64.powi(2) + 1.0 / 12.0)).sqrt()),
        0.02,
    );
}

fn off_by(arcsec: f64) -> Setup {
    Setup {
        stack: Some(known_stack(arcsec, None)),
        sense: Some(Sense {
            big_end: BigEnd::A,
            indicator: IndicatorSide::Wheel,
        }),
        ..setup("1arcsec")
    }
}

/// A stack that sets −1.44″ with 1″ allowed: with the indicator zero at both ends the advice was once to tap by nothing, for
/// ever, and the verdict out of tolerance, for ever.
#[test]
fn the_tap_takes_the_error_of_the_stack_back() {
    let setup = off_by(-1.44);
    let zero = tell(
        &setup,
        &dwells(&[(1, "A", 0.0), (1, "B", 0.0), (1, "A", 0.0)]),
    );
    assert_eq!(zero.verdict, Some(Verdict::Out));
    let tap = zero.tap.unwrap();
    near(tap.wanted_arcsec.unwrap(), 1.44, 1e-9);
    assert_eq!(tap.clamp_arcsec(), None);
    assert_eq!(tap.aims_arcsec(), [None, tap.wanted_arcsec]);
    // A trial at A for a pivot at B: 1.44″ over 80 mm, and A falls where B must come out higher.
    near(
        tap.move_um,
        -Angle::from_arcsec(1.44).tan() * SPAN_MM * 1e3,
        1e-6,
    );
    let rise = Angle::from_arcsec(1.44).tan() * SPAN_MM * 1e3;
    let there = tell(
        &setup,
        &dwells(&[(1, "A", 0.0), (1, "B", rise), (1, "A", 0.0)]),
    );
    near(there.half_angle_error_arcsec.unwrap(), 0.0, 1e-9);
    assert_eq!(there.verdict, Some(Verdict::In));
    assert_eq!(there.tap, None, "nothing below half a step is tapped");
    assert!(there.remarks.iter().any(|r| r.contains("nothing to tap")));
}

#[test]
fn a_tolerance_to_one_side_is_aimed_at_in_its_middle() {
    let one_sided = Setup {
        tolerance: Some("+AT5".parse().unwrap()),
        ..off_by(0.0)
    };
    let found = tell(
        &one_sided,
        &dwells(&[(1, "A", 0.0), (1, "B", 0.0), (1, "A", 0.0)]),
    );
    let [low, high] = found.limits_arcsec.unwrap();
    near(low, 0.0, 1e-9);
    near(found.tap.unwrap().wanted_arcsec.unwrap(), high / 2.0, 1e-9);
}

/// AT3 on 100 mm of cone, ± 2.06″ on the half angle, with 0.0001 in over 4 in, which alone is ± 4.0″: undecided for ever, and
/// nothing said so.
#[test]
fn a_set_up_that_cannot_prove_its_tolerance_says_so_at_once() {
    let place = |name: &str, mm: &str| Station {
        name: name.into(),
        position: mm.parse().unwrap(),
    };
    let mut setup = setup("2.06arcsec");
    setup.stations = vec![place("A", "0mm"), place("B", "4in")];
    setup.indicator.resolution = Some("0.0001in".parse().unwrap());
    let before = tell(&setup, &[]);
    let capability = before.capability.unwrap();
    assert!(!capability.provable);
    near(capability.room_arcsec, 2.06, 1e-9);
    near(capability.expanded_arcsec, 4.0, 0.03);
    assert_eq!(
        capability.limited_by.as_deref(),
        Some("resolution of the indicator")
    );
    assert_eq!(
        capability.cures,
        [
            "a span of 200 mm (`--span 200`)",
            "an indicator that shows 1 µm"
        ]
    );
    assert!(
        before.remarks[0].contains("cannot prove its tolerance"),
        "{:?}",
        before.remarks
    );
    assert_eq!(zero::of_setup(&setup), Some(capability));
    // Each cure is enough.
    setup.stations[1].position = "200mm".parse().unwrap();
    assert!(zero::of_setup(&setup).unwrap().provable);
    setup.stations[1].position = "4in".parse().unwrap();
    setup.indicator.resolution = Some("1um".parse().unwrap());
    assert!(zero::of_setup(&setup).unwrap().provable);
    setup.indicator.resolution = None;
    assert_eq!(zero::of_setup(&setup), None, "no display is stated");
}

/// Where nothing tells the scatter a pivot is still learned from what is far larger than any.
#[test]
fn large_taps_teach_the_pivot_and_small_ones_do_not() {
    let rows = |by: f64| {
        [
            (1, "A", 0.0),
            (1, "B", by),
            (2, "A", -by / 3.0),
            (2, "B", by / 3.0),
        ]
    };
    assert!(
        tell(&Setup::default(), &typed(&rows(100.0)))
            .pivot
            .is_some()
    );
    assert_eq!(tell(&Setup::default(), &typed(&rows(1.0))).pivot, None);
    let fixture = Fixture {
        name: "plate".into(),
        pivot: None,
        learned_pivot: None,
        clamp_shifts: vec![],
    };
    let known = Setup {
        fixture: Some(fixture),
        ..Setup::default()
    };
    assert_eq!(tell(&known, &typed(&rows(1.0))).pivot, None);
}
