//! A zero step.

use super::compared::{Compare, Measured, Share, States};
use super::plot::{Chart, Dot, Flag, Plot, Series, Stroke, reduced};
use super::words::{NO_TOLERANCE, arcsec, cell, signed, signed_cell};
use super::{Amount, Drawn, Figure, Headline, Part, Sheet, Table, Unit};
use crate::evidence::{MarkLine, MarkSource, Reading, Time};
use crate::record::StepRecord;
use crate::step::{About, Work, ZeroPlan};
use metrology::Angle;
use metrology::setup::Setup;
use metrology::zero::{ClampShift, Pivot, Round, ZeroOutcome};
use serde::Serialize;

/// The first rounds are far out and flatten the last ones, which decide: those are drawn once more by themselves.
const LARGER: usize = 3;

impl Drawn for ZeroPlan {
    fn sheet(setup: &Setup, zero: &ZeroOutcome, step: Option<&StepRecord>) -> Sheet {
        let level = zero.level.as_ref();
        // Where only the display bounds the residual, no interval is claimed.
        let residual = zero
            .residual_arcsec
            .map(|residual| Figure::residual(residual, zero.residual_expanded_arcsec, zero.cone));
        let figures = [
            residual,
            zero.display_expanded_arcsec.map(|display| {
                Figure::words("the display alone allows", format!("± {display:.2}\""))
            }),
            zero.over_span_um
                .map(|worth| Figure::amount("over the span", Amount::signed(worth, Unit::Um))),
            zero.over_taper_um
                .map(|worth| Figure::over_taper(worth, setup)),
            level.map(|level| {
                Figure::amount(
                    "the axis rises over the part",
                    Amount::signed(level.rise_um, Unit::Um),
                )
            }),
            level.map(|level| {
                Figure::words("worth on diameter", small_um(level.worth_um.abs())).more(format!(
                    ", at most {} (axes {:.1} mm apart)",
                    small_um(level.at_most_um),
                    level.axes_mm
                ))
            }),
            level.map(|level| {
                Figure::amount(
                    "worth as an error of the half angle",
                    Amount::signed(level.angle_arcsec, Unit::Arcsec),
                )
            }),
            Figure::half_angle_error(
                "half angle, stack included",
                zero.half_angle_error_arcsec,
                zero.half_angle_expanded_arcsec,
            ),
            Figure::limits(zero.limits_arcsec),
            zero.tap.as_ref().map(|tap| Figure::tap(tap, setup)),
            zero.pivot.as_ref().map(pivot),
            zero.clamp_shift.as_ref().map(clamp),
        ];
        Sheet {
            headlines: vec![headline(zero)],
            figures: figures.into_iter().flatten().collect(),
            parts: parts(setup, zero, step),
            ..Sheet::default()
        }
    }

    fn budget_of(outcome: &ZeroOutcome) -> Option<&'static str> {
        Some(match outcome.half_angle_error_arcsec {
            Some(_) => "the half angle",
            None => "the last round's residual",
        })
    }
}

/// The residual of a round, for a comparison of sessions.
#[derive(Debug, Serialize)]
struct Residual {
    residual_arcsec: f64,
    /// At 95 %.
    #[serde(skip_serializing_if = "Option::is_none")]
    residual_expanded_arcsec: Option<f64>,
}

impl Compare for ZeroPlan {
    fn compare(steps: &[Measured<'_, ZeroOutcome>]) -> Share {
        let about_angle = |of: &&Measured<'_, ZeroOutcome>| matches!(&of.step.plan.work, Work::Zero(plan) if plan.about == About::Angle);
        let zeros = steps.iter().filter(about_angle).map(|of| of.outcome);
        let zeros: Vec<&ZeroOutcome> = zeros.collect();
        let shifts = zeros.iter().filter_map(|zero| zero.clamp_shift.as_ref());
        let shifts: Vec<f64> = shifts
            .flat_map(|shift| &shift.seen)
            .map(|slope| Angle::from_rad(slope.atan()).arcsec())
            .collect();
        let shifts = (!shifts.is_empty()).then_some(shifts);
        let pivot = zeros.iter().rev().find_map(|zero| zero.pivot.as_ref());
        let residuals = residuals(&zeros);
        Share::default()
            .field("zero", residuals.as_ref())
            .field("clamp_shifts_arcsec", shifts.as_ref())
            .field("pivot_mm", pivot.map(|pivot| pivot.position_mm))
            .field("pivot_u_mm", pivot.and_then(|pivot| pivot.u_mm))
            .lines(
                ["residual as found", "residual as left"],
                residuals.as_ref(),
                |name, residual| {
                    let amount = Amount::signed(residual.residual_arcsec, Unit::Arcsec);
                    Some(Figure::amount(
                        name,
                        match residual.residual_expanded_arcsec {
                            None => amount,
                            known => amount.within(known),
                        },
                    ))
                },
            )
            .line("clamp shifts by", |name| {
                let shown = |arcsec: &f64| Amount::signed(*arcsec, Unit::Arcsec).to_string();
                let shown: Vec<String> = shifts?.iter().map(shown).collect();
                Some(Figure::words(name, shown.join(", ")))
            })
            .line("turns about", |name| {
                let mm = |mm| Amount::plain(mm, Unit::Mm).places(1);
                let pivot = pivot?;
                let u = pivot
                    .u_mm
                    .map_or_else(String::new, |u| format!(", u {}", mm(u)));
                Some(Figure::amount(name, mm(pivot.position_mm)).more(format!(" from A{u}")))
            })
    }
}

/// A zero step works on what it measures: its first round is as found, and the session's last as left.
fn residuals(zeros: &[&ZeroOutcome]) -> Option<States<Residual>> {
    let first = zeros.iter().find_map(|zero| zero.rounds.first());
    let mut last = zeros.iter().rev();
    let (last, residual_arcsec) = last.find_map(|zero| Some((zero, zero.residual_arcsec?)))?;
    let rounds: usize = zeros.iter().map(|zero| zero.rounds.len()).sum();
    Some(States {
        found: first.filter(|_| rounds > 1).map(|round| Residual {
            residual_arcsec: round.residual_arcsec,
            residual_expanded_arcsec: None,
        }),
        left: Residual {
            residual_arcsec,
            residual_expanded_arcsec: last.residual_expanded_arcsec,
        },
    })
}

fn headline(zero: &ZeroOutcome) -> Headline {
    if zero.residual_arcsec.is_some() {
        Headline::of(zero.verdict, zero.undecided_because, NO_TOLERANCE)
    } else if zero.moved.is_some() {
        Headline::new("the set-up was moved", ", and no round was completed since")
    } else {
        Headline::new("no round was completed", "")
    }
}

/// A worth of second order, which is often next to nothing.
fn small_um(um: f64) -> String {
    if um < 1e-3 {
        "below 0.001 µm".to_owned()
    } else {
        format!("{um:.3} µm")
    }
}

pub(crate) fn pivot(pivot: &Pivot) -> Figure {
    let u = pivot
        .u_mm
        .map_or_else(String::new, |u| format!(" ± {:.1} mm", 2.0 * u));
    let from: Vec<String> = pivot.from_rounds.iter().map(u32::to_string).collect();
    let from = if from.is_empty() {
        "known before".to_owned()
    } else {
        format!("rounds {}", from.join(", "))
    };
    let at = Amount::plain(pivot.position_mm, Unit::Mm).places(1);
    Figure::amount("turns about", at).more(format!(" from A{u} ({from})"))
}

pub(crate) fn clamp(shift: &ClampShift) -> Figure {
    let by = arcsec(Angle::from_rad(shift.slope.atan()).arcsec());
    let agree = if shift.agree {
        "they agree: aim off by it"
    } else {
        "not yet enough to aim off by"
    };
    Figure::words("the clamp shifts by", by).more(format!(", median of {}: {agree}", shift.count))
}

fn parts(setup: &Setup, zero: &ZeroOutcome, step: Option<&StepRecord>) -> Vec<Part> {
    if zero.rounds.is_empty() {
        return Vec::new();
    }
    let mut parts = Vec::new();
    if let Some(step) = step {
        parts.push(Part::plot(
            "Marks and line by round",
            rounds_chart(setup, step, zero, 0),
        ));
        if zero.rounds.len() > LARGER {
            let from = zero.rounds.len() - LARGER;
            parts.push(Part::plot(
                format!("The last {LARGER} rounds, larger"),
                rounds_chart(setup, step, zero, from),
            ));
        }
        parts.extend(
            trace(step).map(|chart| {
                Part::plot("Reading over time, with the dwells that were marked", chart)
            }),
        );
    }
    let rows = zero.rounds.iter().map(|round| {
        vec![
            round.round.to_string(),
            if round.clamped { "tight" } else { "loose" }.to_owned(),
            signed(round.slope * 1e3, 5),
            signed(round.residual_arcsec, 2),
            cell(round.residual_u_arcsec, 2),
            signed_cell(round.drift_um_per_min, 2),
            signed_cell(round.bow_um, 2),
        ]
    });
    let table = Table::new(
        &[
            "#round",
            "clamp",
            "#slope, µm/mm",
            "#residual, \"",
            "#u, \"",
            "#drift, µm/min",
            "#bow, µm",
        ],
        rows,
    );
    parts.push(Part::table("Rounds", table));
    parts
}

/// Some rounds as lines over their stations, with their marks, each from its reading at A; the step's last one heavy.
fn rounds_chart(setup: &Setup, step: &StepRecord, outcome: &ZeroOutcome, from: usize) -> Plot {
    let position = |line: &MarkLine| {
        let mark = step
            .evidence
            .marks
            .iter()
            .find(|mark| mark.number == line.number)?;
        Some(mark.station()?.position.mm())
    };
    let last = outcome.rounds.last().map(|round| round.round);
    let points = |round: &Round| {
        let lines = step.values.iter().filter(|line| line.round == round.round);
        let mut points: Vec<(f64, f64)> = lines
            .filter_map(|line| {
                let value_mm = line.value?.value_mm;
                Some((position(line)?, (value_mm - round.at_a_mm) * 1e3))
            })
            .collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        points
    };
    let series = outcome.rounds[from..]
        .iter()
        .enumerate()
        .map(|(index, round)| {
            let (stroke, dot) = if Some(round.round) == last {
                (Stroke::Heavy, Dot::Full)
            } else {
                (Stroke::Dashed(index), Dot::Open)
            };
            Series {
                label: format!("round {}", round.round),
                points: points(round),
                stroke,
                dot,
            }
        })
        .collect();
    let names: Vec<&str> = setup.stations.iter().map(|s| s.name.as_str()).collect();
    Plot::Chart(Chart {
        title: "Marks and line by round".into(),
        x_label: format!("along the travel, mm ({})", names.join(", ")),
        y_label: "reading from A, µm".into(),
        series,
        flags: Vec::new(),
        legend: false,
        low: false,
    })
}

/// The readings over time with the stretches that the marks use; `None` when all was typed.
fn trace(step: &StepRecord) -> Option<Plot> {
    let (cable, readings) = step.evidence.readings.iter().max_by_key(|(_, r)| r.len())?;
    let start = readings.first()?.t;
    let seconds = |t: Time| t.since_s(start);
    let at = |seq: u64| -> Option<&Reading> {
        readings
            .get(readings.partition_point(|r| r.seq < seq))
            .filter(|r| r.seq == seq)
    };
    let flags = step
        .evidence
        .marks
        .iter()
        .filter(|mark| !mark.taken_back)
        .filter_map(|mark| match &mark.source {
            MarkSource::Dwell {
                cable: of,
                first_seq,
                last_seq,
            } if of == cable => Some(Flag {
                label: mark.station().map_or_else(String::new, |s| s.name.clone()),
                from: seconds(at(*first_seq)?.t),
                to: seconds(at(*last_seq)?.t),
            }),
            _ => None,
        })
        .collect();
    let points: Vec<(f64, f64)> = readings
        .iter()
        .map(|r| (seconds(r.t), r.value.mm()))
        .collect();
    Some(Plot::Chart(Chart {
        title: "Reading over time".into(),
        x_label: format!("time, s (cable {cable})"),
        y_label: "reading, mm".into(),
        series: vec![Series {
            label: String::new(),
            points: reduced(&points),
            stroke: Stroke::Light,
            dot: Dot::None,
        }],
        flags,
        legend: false,
        low: false,
    }))
}
