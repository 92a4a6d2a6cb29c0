//! Simulated rounds over the stations. The truth is the slope that the edge really has, and the half angle that stack, bar
//! and slope together give.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

use super::{Case, Held, but};
use crate::chance::Chance;
use metrology::blocks::Stack;
use metrology::dial::IndicatorCheck;
use metrology::fit::linear;
use metrology::setting::{Bar, BarKind};
use metrology::setup::{BigEnd, Indicator, IndicatorSide, Sense, Setup};
use metrology::taper::Taper;
use metrology::zero::{self, ZeroMark};
use metrology::{Angle, Length};

const SPAN_MM: f64 = 60.0;
const AB: &[f64] = &[0.0, SPAN_MM];
const ABA: &[f64] = &[0.0, SPAN_MM, 0.0];
const ABAB: &[f64] = &[0.0, SPAN_MM, 0.0, SPAN_MM];
const AABA: &[f64] = &[0.0, 0.0, SPAN_MM, 0.0];
const ARCSEC: f64 = std::f64::consts::PI / 648_000.0;
const AMB: &[f64] = &[0.0, SPAN_MM / 2.0, SPAN_MM];

/// One kind of round: which stations, how the readings scatter and are rounded, how many a dwell holds, and what else is
/// wrong that the set-up states.
#[derive(Clone, Copy)]
struct Kind {
    pass: &'static [f64],
    rounds: u32,
    scatter_um: f64,
    step_um: f64,
    readings: usize,
    /// A station is not found again quite the same: standard deviation from mark to mark.
    returning_um: f64,
    drift_um_per_s: f64,
    indicator_um: f64,
    checked_u_um: f64,
    straightness_um: f64,
    station_error_mm: f64,
    /// Whether the set-up states nothing of it.
    by_hand: bool,
    /// A stack of blocks and a bar, with their standard uncertainties.
    planned: bool,
    /// The slope is anywhere up to this, either way; 0 for a set-up that is just true.
    most_slope: f64,
    /// Whether the set-up is tapped between the rounds.
    tapped: bool,
    /// A repeatability that the set-up states, µm.
    stated_um: f64,
    /// A repeatability that a check with ten degrees of freedom found, µm.
    found_um: f64,
    tolerance_arcsec: f64,
    /// The set-up is tapped before this mark of its last round, by 1 to 20 µm at A, and turns about a point beyond B.
    tapped_before: Option<usize>,
}

const fn kind(
    pass: &'static [f64],
    rounds: u32,
    scatter_um: f64,
    step_um: f64,
    readings: usize,
) -> Kind {
    Kind {
        pass,
        rounds,
        scatter_um,
        step_um,
        readings,
        returning_um: 0.0,
        drift_um_per_s: 0.0,
        indicator_um: 0.0,
        checked_u_um: 0.0,
        straightness_um: 0.0,
        station_error_mm: 0.0,
        by_hand: false,
        planned: false,
        most_slope: 0.2 / SPAN_MM,
        tapped: true,
        stated_um: 0.0,
        found_um: 0.0,
        tolerance_arcsec: 0.0,
        tapped_before: None,
    }
}

/// Typed single readings that scatter by 0.5 µm, in steps of 0.1 µm.
const fn typed(pass: &'static [f64], rounds: u32) -> Kind {
    kind(pass, rounds, 0.5, 0.1, 1)
}

pub(super) fn cases() -> Vec<Case> {
    let case = |what, kind: Kind| Case::new("zero", what, move |chance| rounds(chance, kind));
    vec![
        case(
            "A B, 10 readings, fine display",
            kind(AB, 1, 0.15, 0.001, 10),
        ),
        case(
            "A B, 20 readings, 1 µm display, lively",
            kind(AB, 1, 0.5, 1.0, 20),
        ),
        case(
            "A B, 20 readings, 1 µm display, quiet",
            kind(AB, 1, 0.15, 1.0, 20),
        ),
        case(
            "A B, single readings, rounding alone",
            kind(AB, 1, 1e-6, 1.0, 1),
        ),
        case(
            "A B A, 20 readings, 0.1 µm display",
            kind(ABA, 1, 0.15, 0.1, 20),
        ),
        case(
            "A B A, drifting",
            but(kind(ABA, 1, 0.15, 0.1, 20), |k| k.drift_um_per_s = 0.02),
        ),
        case("A B A, three rounds pooled", kind(ABA, 3, 0.3, 0.5, 8)),
        case("A B A B, single readings", kind(ABAB, 1, 0.15, 0.001, 1)),
        case(
            "A B A B, three rounds of single readings",
            kind(ABAB, 3, 0.3, 0.001, 1),
        ),
        case("A B A B, 10 readings", kind(ABAB, 2, 0.3, 0.2, 10)),
        case("A M B, single readings", kind(AMB, 2, 0.15, 0.001, 1)),
        case(
            "A B A B three times, stations found again to 1 µm",
            but(kind(ABAB, 3, 0.2, 0.1, 20), |k| k.returning_um = 1.0),
        ),
        case(
            "A B A, indicator to ±0.8 µm",
            but(kind(ABA, 1, 0.3, 0.5, 20), |k| k.indicator_um = 0.8),
        ),
        case(
            "A B A, indicator checked to u 0.4 µm",
            but(kind(ABA, 1, 0.3, 0.5, 20), |k| k.checked_u_um = 0.4),
        ),
        case(
            "A B A, travel straight to 1 µm, stations to ±0.2 mm",
            but(kind(ABA, 1, 0.2, 0.1, 20), |k| {
                k.straightness_um = 1.0;
                k.station_error_mm = 0.2;
            }),
        ),
        case(
            "A B A three times, typed, scatter 0.5 µm, step 0.1 µm",
            typed(ABA, 3),
        ),
        case(
            "the same, not tapped between",
            but(typed(ABA, 3), |k| k.tapped = false),
        ),
        case("A B twice, typed: nothing tells", typed(AB, 2)),
        case("A B A once, typed", typed(ABA, 1)),
        case("A B A twice, typed", typed(ABA, 2)),
        case("A B A B twice, typed", typed(ABAB, 2)),
        case("A A B A three times, typed", typed(AABA, 3)),
        case(
            "A B A three times, typed, 1 µm of 1 µm, ± 10″",
            but(typed(ABA, 3).judged(10.0), |k| {
                (k.scatter_um, k.step_um) = (1.0, 1.0)
            }),
        ),
        case(
            "A B A three times, typed, 0.15 µm of 1 µm, ± 10″",
            but(typed(ABA, 3).judged(10.0), |k| {
                (k.scatter_um, k.step_um) = (0.15, 1.0)
            }),
        ),
        case(
            "A B A five times, typed, 0.5 µm of 0.1 µm, ± 10″",
            typed(ABA, 5).judged(10.0),
        ),
        case(
            "A B A, 20 readings, ± 2″",
            kind(ABA, 1, 0.3, 0.1, 20).judged(2.0),
        ),
        case(
            "A B typed, repeatability stated",
            but(typed(AB, 1).judged(10.0), |k| k.stated_um = 0.5),
        ),
        case(
            "A B typed in steps of 1 µm, repeatability 0.2 µm stated",
            but(typed(AB, 1), |k| {
                (k.scatter_um, k.stated_um, k.step_um) = (0.2, 0.2, 1.0)
            }),
        ),
        case(
            "A B A typed, repeatability by a check",
            but(typed(ABA, 1), |k| k.found_um = 0.5),
        ),
        case(
            "A B A, far off, stations by hand, nothing stated",
            but(kind(ABA, 1, 0.3, 0.1, 20), |k| {
                k.station_error_mm = 0.3;
                k.by_hand = true;
                k.most_slope = 0.05;
            }),
        ),
        case(
            "A B A three times, stations found again to 1 µm",
            but(kind(ABA, 3, 0.2, 0.1, 20), |k| k.returning_um = 1.0),
        ),
        case(
            "A B A three times, drifting",
            but(kind(ABA, 3, 0.15, 0.1, 20), |k| k.drift_um_per_s = 0.02),
        ),
        case(
            "A B A three times typed, drifting 2 µm/min",
            but(typed(ABA, 3), |k| k.drift_um_per_s = 0.033),
        ),
        case(
            "tapped before B, 1 to 20 µm",
            but(kind(ABA, 1, 0.15, 0.1, 20), |k| k.tapped_before = Some(1)),
        ),
        case(
            "tapped before the closing A, 1 to 20 µm",
            but(kind(ABA, 1, 0.15, 0.1, 20), |k| k.tapped_before = Some(2)),
        ),
        case(
            "tapped before the closing A of round 3",
            but(kind(ABA, 3, 0.15, 0.1, 20), |k| k.tapped_before = Some(2)),
        ),
        case(
            "tapped before the closing A of round 3, typed",
            but(typed(ABA, 3), |k| k.tapped_before = Some(2)),
        ),
        case(
            "A B A with stack and sine bar",
            but(kind(ABA, 1, 0.15, 0.1, 20), |k| k.planned = true),
        ),
    ]
}

/// Standard uncertainty of the stack, µm, and of the bar's centre distance.
const STACK_U_UM: f64 = 0.3;
const BAR_U_UM: f64 = 1.0;

fn length(um: f64) -> Option<Length> {
    Length::from_mm(um * 1e-3).filter(|length| *length > Length::ZERO)
}

/// What the set-up states of this kind.
fn stated(chance: &mut Chance, kind: &Kind) -> Setup {
    let found = (kind.found_um > 0.0).then(|| {
        // Ten degrees of freedom about the true scatter.
        let squares: f64 = (0..10).map(|_| chance.normal(kind.found_um).powi(2)).sum();
        (squares / 10.0).sqrt()
    });
    let tolerance = format!("{}arcsec", kind.tolerance_arcsec);
    Setup {
        indicator: Indicator {
            resolution: length(kind.step_um),
            error_limit: length(kind.indicator_um),
            repeatability: length(kind.stated_um),
            check: (kind.checked_u_um > 0.0 || found.is_some()).then(|| IndicatorCheck {
                u_um: kind.checked_u_um,
                correction: Vec::new(),
                repeatability_sd_um: found,
                repeatability_degrees_of_freedom: found.map(|_| 10.0),
                checked_utc_ns: None,
            }),
            ..Indicator::default()
        },
        straightness: length(kind.straightness_um),
        // A case without an error of the places states them exactly; one that is wrong in them states nothing.
        station_error: Length::from_mm(1e-6)
            .filter(|_| !kind.by_hand)
            .map(|exact| length(kind.station_error_mm * 1e3).unwrap_or(exact)),
        tolerance: tolerance
            .parse()
            .ok()
            .filter(|_| kind.tolerance_arcsec > 0.0),
        ..Setup::default()
    }
}

fn rounds(chance: &mut Chance, kind: Kind) -> Vec<Held> {
    let tap_um = kind.tapped_before.map_or(0.0, |_| {
        let size = chance.between(1.0, 20.0);
        let way = if chance.between(0.0, 1.0) < 0.5 {
            -1.0
        } else {
            1.0
        };
        way * size
    });
    let mut setup = stated(chance, &kind);
    let mut marks = Vec::new();
    let mut slope = chance.between(-kind.most_slope, kind.most_slope);
    for round in 1..=kind.rounds {
        if kind.tapped && round > 1 {
            slope = chance.between(-kind.most_slope, kind.most_slope);
        }
        let mut offset = chance.between(-0.1, 0.1);
        // What is wrong at a station, one value each: mm of reading, mm of place.
        let wrong = [(); 3].map(|()| {
            let half = kind.straightness_um / 2.0;
            chance.between(-kind.indicator_um, kind.indicator_um)
                + chance.normal(kind.checked_u_um)
                + chance.between(-half, half)
        });
        let off = [(); 3].map(|()| chance.between(-kind.station_error_mm, kind.station_error_mm));
        for (i, x) in kind.pass.iter().enumerate() {
            if kind.tapped_before == Some(i) && round == kind.rounds {
                let pivot = chance.between(SPAN_MM, 2.0 * SPAN_MM);
                slope -= tap_um * 1e-3 / pivot;
                offset += tap_um * 1e-3;
            }
            let time_s = 15.0 * i as f64;
            let place = kind.pass.iter().position(|other| other == x).unwrap_or(0);
            let there = offset
                + slope * (x + off[place])
                + (wrong[place] + kind.drift_um_per_s * time_s) * 1e-3
                + chance.normal(kind.returning_um * 1e-3);
            marks.push(dwell(chance, &kind, (round, *x, time_s), there));
        }
    }
    let plan = kind.planned.then(|| planned(chance, &mut setup)).flatten();
    let Ok(found) = zero::outcome(&setup, &marks) else {
        return Vec::new();
    };
    let true_arcsec = Angle::from_rad(slope.atan()).arcsec();
    let mut held = Vec::new();
    if let Some(residual) = found.residual_arcsec {
        let expanded = found.residual_expanded_arcsec;
        let residual = Held::within("residual", residual, expanded, true_arcsec);
        held.extend(residual.map(|held| match kind.narrowest_arcsec() {
            Some(narrowest) => held.beside(narrowest),
            None => held,
        }));
    }
    if let (Some(stack_error_arcsec), Some(error)) = (plan, found.half_angle_error_arcsec) {
        held.extend(Held::within(
            "half angle",
            error,
            found.half_angle_expanded_arcsec,
            true_arcsec + stack_error_arcsec,
        ));
    }
    if plan.is_none() {
        let truly_in = true_arcsec.abs() <= kind.tolerance_arcsec;
        held.extend(Held::said_in(found.verdict, truly_in));
    }
    held
}

impl Kind {
    /// With a tolerance, arc-seconds either way, and a slope of up to twice that.
    const fn judged(self, tolerance_arcsec: f64) -> Self {
        Self {
            most_slope: 2.0 * tolerance_arcsec * ARCSEC,
            tolerance_arcsec,
            ..self
        }
    }

    /// Half the width of the narrowest honest interval, arc-seconds, where scatter is all that is wrong: 1.96 times the
    /// standard deviation that the slope of one round really has.
    fn narrowest_arcsec(&self) -> Option<f64> {
        let known = self.indicator_um
            + self.checked_u_um
            + self.straightness_um
            + self.station_error_mm
            + self.drift_um_per_s;
        if known > 0.0 || self.tapped_before.is_some() || self.scatter_um < 0.3 * self.step_um {
            return None;
        }
        let of_reading = self.scatter_um.powi(2) + self.step_um.powi(2) / 12.0;
        let variance = of_reading / self.readings as f64 + self.returning_um.powi(2);
        let returns = self.pass.first() == self.pass.last() || self.pass.len() > 3;
        let squares: f64 = if returns {
            let row = |(i, x): (usize, &f64)| [1.0, *x, i as f64];
            let rows: Vec<_> = self.pass.iter().enumerate().map(row).collect();
            let fit = linear(&rows, &vec![0.0; rows.len()]).ok()?;
            fit.influence.iter().map(|row| row[1] * row[1]).sum()
        } else {
            let rows: Vec<_> = self.pass.iter().map(|x| [1.0, *x]).collect();
            let fit = linear(&rows, &vec![0.0; rows.len()]).ok()?;
            fit.influence.iter().map(|row| row[1] * row[1]).sum()
        };
        let u = (variance * squares).sqrt() * 1e-3;
        Some(1.96 * Angle::from_rad(u).arcsec())
    }
}

/// The settled readings at a station, as the display shows them.
fn dwell(
    chance: &mut Chance,
    kind: &Kind,
    (round, position_mm, time_s): (u32, f64, f64),
    there_mm: f64,
) -> ZeroMark {
    let step = kind.step_um * 1e-3;
    let values: Vec<f64> = (0..kind.readings)
        .map(|_| ((there_mm + chance.normal(kind.scatter_um * 1e-3)) / step).round() * step)
        .collect();
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    ZeroMark {
        round,
        station: format!("{position_mm}"),
        position_mm,
        value_mm: mean,
        sd_mm: (values.len() > 1).then(|| (squares / (values.len() - 1) as f64).sqrt()),
        readings: values.len(),
        resolution: Length::from_mm(step).unwrap_or(Length::ZERO),
        time_s: Some(time_s),
        clamped: false,
        setting: 0,
    }
}

/// States a stack and a bar, and returns by how much they are really off, arc-seconds: what the user knows of it and what
/// is not known.
fn planned(chance: &mut Chance, setup: &mut Setup) -> Option<f64> {
    let half_angle: Angle = "1:12".parse().ok()?;
    let centre = Length::from_mm(100.0)?;
    let bar = Bar {
        kind: BarKind::Sine,
        centre_distance: Some(centre),
        constant: Length::ZERO,
        disc_radii: None,
        centre_distance_u: length(BAR_U_UM),
    };
    let known_arcsec = chance.between(-2.0, 2.0);
    let height = centre.mm() * half_angle.sin();
    let wanted = Length::from_mm(height)?;
    setup.stack = Some(Stack {
        height: wanted,
        blocks: Vec::new(),
        sum: wanted,
        error_um: 0.0,
        within: true,
        u_um: Some(STACK_U_UM),
        angle_set_deg: None,
        angle_error_arcsec: Some(known_arcsec),
    });
    setup.bar = Some(bar);
    setup.taper = Taper::from_half_angle("1:12", half_angle, "a simulation").ok();
    setup.sense = Some(Sense {
        big_end: BigEnd::A,
        indicator: IndicatorSide::Wheel,
    });
    let real_height = height + chance.normal(STACK_U_UM * 1e-3);
    let real_centre = centre.mm() + chance.normal(BAR_U_UM * 1e-3);
    let unknown = Angle::from_rad((real_height / real_centre).asin() - half_angle.rad());
    Some(known_arcsec + unknown.arcsec())
}
