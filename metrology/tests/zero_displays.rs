//! A step whose rounds were read on different displays: what is said of one round never comes from the display of another.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::Length;
use conewright_metrology::setup::Setup;
use conewright_metrology::zero::{self, ZeroMark, ZeroOutcome};

const SPAN_MM: f64 = 80.0;
const ARCSEC: f64 = 180.0 * 3600.0 / std::f64::consts::PI;
const COARSE_UM: i64 = 10;

/// One step of a display.
#[derive(Clone, Copy, PartialEq)]
enum Display {
    /// 10 µm.
    Coarse,
    /// 0.1 µm.
    Fine,
}

/// Rounds A B A, each read on one display: `[A, B, A]` in µm.
fn rounds(of: &[(Display, [f64; 3])]) -> Vec<ZeroMark> {
    let mut marks = Vec::new();
    for (round, (display, readings)) in (1..).zip(of) {
        for (station, um) in ["A", "B", "A"].into_iter().zip(readings) {
            marks.push(ZeroMark {
                round,
                station: station.into(),
                position_mm: if station == "A" { 0.0 } else { SPAN_MM },
                value_mm: um * 1e-3,
                sd_mm: None,
                readings: 1,
                resolution: match display {
                    Display::Coarse => Length::from_um(COARSE_UM),
                    Display::Fine => Length::from_pm(100_000),
                },
                time_s: None,
                clamped: false,
                setting: 0,
            });
        }
    }
    marks
}

fn tell(repeatability: Option<&str>, of: &[(Display, [f64; 3])]) -> ZeroOutcome {
    let mut setup = Setup::default();
    setup.indicator.repeatability = repeatability.map(|sd| sd.parse().unwrap());
    let outcome = zero::outcome(&setup, &rounds(of)).unwrap();
    assert_eq!(outcome.rounds.len(), of.len(), "no round was split");
    outcome
}

fn near(got: f64, want: f64) {
    assert!((got / want - 1.0).abs() < 0.01, "{got}, not {want}");
}

/// Standard uncertainty of a round's residual, arc-seconds, from marks that scatter by so much: with its drift taken out, a
/// round A B A has the slope `(B − (A + A')/2) / L`.
fn scattered_arcsec(sd_um: f64) -> f64 {
    sd_um * 1e-3 * 1.5_f64.sqrt() / SPAN_MM * ARCSEC
}

/// The same from an error that each of the two stations has by itself.
fn by_station_arcsec(u_um: f64) -> f64 {
    u_um * 1e-3 * 2.0_f64.sqrt() / SPAN_MM * ARCSEC
}

/// Returns that differ by 4 µm fit a stated 0.05 µm on a display of 10 µm, whose rounding explains them, and do not fit it on a
/// fine one. Round by round, in whichever order they were made.
#[test]
fn returns_fit_a_stated_repeatability_by_the_display_of_the_round() {
    let coarse = [
        (Display::Coarse, [0.0, 2.0, 4.0]),
        (Display::Coarse, [4.0, 2.0, 0.0]),
    ];
    let fine = [(Display::Fine, [2.0, 2.0, 2.0])];
    let as_stated =
        by_station_arcsec(COARSE_UM as f64 / 12.0_f64.sqrt()).hypot(scattered_arcsec(0.05));
    // Two returns of 4 µm leave 8 µm² each, and the third nothing.
    let as_marked = scattered_arcsec((16.0_f64 / 3.0).sqrt());
    for order in [[&coarse[..], &fine].concat(), [&fine[..], &coarse].concat()] {
        let outcome = tell(Some("0.05um"), &order);
        for ((display, _), round) in order.iter().zip(&outcome.rounds) {
            let u = round.residual_u_arcsec.unwrap();
            match display {
                Display::Coarse => near(u, as_stated),
                Display::Fine => near(u, as_marked),
            }
        }
        let last_is_fine = order[2].0 == Display::Fine;
        let names = |component: &str| outcome.budget.iter().any(|c| c.component == component);
        assert_eq!(names("scatter of the marks"), last_is_fine);
        assert_eq!(names("repeatability as stated"), !last_is_fine);
    }
}

/// A drift of 1 µm from mark to mark stands out of a fine display's rounding, and is taken out of the scatter; it does not stand
/// out of that of a coarse one.
#[test]
fn a_drift_stands_out_by_the_display_of_the_round() {
    let drifting = [0.0, 1.0, 2.0];
    let [coarse, fine] = [Display::Coarse, Display::Fine].map(|display| (display, drifting));
    for order in [
        [coarse, coarse, fine],
        [fine, coarse, coarse],
        [coarse, fine, coarse],
    ] {
        let outcome = tell(None, &order);
        for ((display, _), round) in order.iter().zip(&outcome.rounds) {
            // Equal readings scatter by the display's rounding, and each station is off by it as well.
            let step_um = if *display == Display::Fine {
                0.1
            } else {
                COARSE_UM as f64
            };
            let rounding_um = step_um / 12.0_f64.sqrt();
            let u = scattered_arcsec(rounding_um).hypot(by_station_arcsec(rounding_um));
            near(round.residual_u_arcsec.unwrap(), u);
        }
    }
}

/// Rounds that scatter alike are rounded each by its own display: on the fine one the stated scatter wipes the steps out.
#[test]
fn the_rounding_is_that_of_the_rounds_own_display() {
    let still = [2.0; 3];
    let order = [Display::Coarse, Display::Fine, Display::Coarse].map(|display| (display, still));
    let outcome = tell(Some("0.05um"), &order);
    let [coarse_um, fine_um] = [COARSE_UM as f64, 0.1].map(|step| step / 12.0_f64.sqrt());
    let coarse = by_station_arcsec(coarse_um).hypot(scattered_arcsec(0.05));
    let fine = scattered_arcsec(0.05_f64.hypot(fine_um));
    for (round, u) in outcome.rounds.iter().zip([coarse, fine, coarse]) {
        near(round.residual_u_arcsec.unwrap(), u);
    }
}

/// On one display a round that stands out of the others scatters more than they do, and then no rounding is left in it.
#[test]
fn a_round_that_stands_out_has_no_rounding_left() {
    let mut order = vec![(Display::Coarse, [5.0; 3]); 9];
    order.push((Display::Coarse, [0.0, 5.5, 11.0]));
    order.push((Display::Coarse, [11.0, 5.5, 0.0]));
    let outcome = tell(None, &order);
    // A return that differs by 11 µm leaves 11²/2 µm² by itself.
    for round in &outcome.rounds[9..] {
        near(
            round.residual_u_arcsec.unwrap(),
            scattered_arcsec((121.0_f64 / 2.0).sqrt()),
        );
    }
}
