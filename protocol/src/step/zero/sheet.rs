//! A zero step.

use crate::evidence::{MarkLine, MarkSource, Reading, Time};
use crate::record::StepRecord;
use crate::said;
use crate::sheet::compared::{Compare, Measured, Share, States};
use crate::sheet::plot::{Chart, Dot, Flag, Plot, Series, Stroke, reduced};
use crate::sheet::words::tolerance_missing;
use crate::sheet::{Amount, Column, Drawn, Figure, Headline, Part, Sheet, Table, Unit};
use crate::step::{About, Work, ZeroPlan};
use crate::style::Style;
use metrology::Angle;
use metrology::setup::Setup;
use metrology::zero::level::Level;
use metrology::zero::{ClampShift, Pivot, Round, ZeroOutcome};
use serde::Serialize;

/// The first rounds are far out and flatten the last ones, which decide: those are drawn once more by themselves.
const LARGER: usize = 3;

impl Drawn for ZeroPlan {
    fn sheet(setup: &Setup, zero: &ZeroOutcome, step: Option<&StepRecord>, style: Style) -> Sheet {
        Sheet {
            headlines: vec![headline(zero, style)],
            figures: figures(setup, zero, style),
            parts: parts(setup, zero, step, style),
            ..Sheet::default()
        }
    }

    fn budget_of(outcome: &ZeroOutcome, style: Style) -> Option<String> {
        Some(match outcome.half_angle_error_arcsec {
            Some(_) => said!(style, "budget-of-half-angle"),
            None => said!(style, "budget-of-last-residual"),
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
    fn compare(steps: &[Measured<'_, ZeroOutcome>], style: Style) -> Share {
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
                    let amount = match residual.residual_expanded_arcsec {
                        None => amount,
                        known => amount.within(known),
                    };
                    Some(Figure::amount(name.to_owned(), amount, style))
                },
            )
            .line("clamp shifts by", |name| {
                let shown = |arcsec: &f64| Amount::signed(*arcsec, Unit::Arcsec).text(style);
                let shown: Vec<String> = shifts?.iter().map(shown).collect();
                Some(Figure::words(name.to_owned(), shown.join(", ")))
            })
            .line("turns about", |name| {
                let mm = |mm| Amount::plain(mm, Unit::Mm).places(1);
                let pivot = pivot?;
                let u = pivot
                    .u_mm
                    .map_or_else(String::new, |u| format!(", u {}", mm(u).text(style)));
                let at = Figure::amount(name.to_owned(), mm(pivot.position_mm), style);
                Some(at.more(format!(" from A{u}")))
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

fn figures(setup: &Setup, zero: &ZeroOutcome, style: Style) -> Vec<Figure> {
    // Where only the display bounds the residual, no interval is claimed.
    let residual = zero.residual_arcsec.map(|residual| {
        let expanded = zero.residual_expanded_arcsec;
        Figure::residual(residual, expanded, zero.cone, style)
    });
    let display = zero.display_expanded_arcsec.map(|display| {
        let allows = format!("± {}\"", style.number(display, 2));
        Figure::words(said!(style, "display-allows"), allows)
    });
    let over_span = zero.over_span_um.map(|worth| {
        let amount = Amount::signed(worth, Unit::Um);
        Figure::amount(said!(style, "over-the-span"), amount, style)
    });
    let over_taper = zero
        .over_taper_um
        .map(|worth| Figure::over_taper(worth, setup, style));
    let level = zero.level.as_ref().map(|level| of_level(level, style));
    let rest = [
        Figure::half_angle_error(
            said!(style, "half-angle-with-stack"),
            zero.half_angle_error_arcsec,
            zero.half_angle_expanded_arcsec,
            style,
        ),
        Figure::limits(zero.limits_arcsec, style),
        zero.tap.as_ref().map(|tap| Figure::tap(tap, setup, style)),
        zero.pivot.as_ref().map(|found| pivot(found, style)),
        zero.clamp_shift.as_ref().map(|shift| clamp(shift, style)),
    ];
    [residual, display, over_span, over_taper]
        .into_iter()
        .flatten()
        .chain(level.into_iter().flatten())
        .chain(rest.into_iter().flatten())
        .collect()
}

/// What an axis that is not level costs the part.
fn of_level(level: &Level, style: Style) -> [Figure; 3] {
    [
        Figure::amount(
            said!(style, "axis-rises"),
            Amount::signed(level.rise_um, Unit::Um),
            style,
        ),
        Figure::words(
            said!(style, "worth-on-diameter"),
            small_um(level.worth_um.abs(), style),
        )
        .more(said!(
            style,
            "worth-at-most",
            most = small_um(level.at_most_um, style),
            axes = style.long_text(level.axes_mm, 1)
        )),
        Figure::amount(
            said!(style, "worth-as-half-angle"),
            Amount::signed(level.angle_arcsec, Unit::Arcsec),
            style,
        ),
    ]
}

fn headline(zero: &ZeroOutcome, style: Style) -> Headline {
    if zero.residual_arcsec.is_some() {
        let missing = tolerance_missing(style);
        Headline::of(zero.verdict, zero.undecided_because, &missing, style)
    } else if zero.moved.is_some() {
        Headline::new(said!(style, "was-moved"), said!(style, "no-round-since"))
    } else {
        Headline::new(said!(style, "no-round-completed"), "")
    }
}

/// A worth of second order, which is often next to nothing.
fn small_um(um: f64, style: Style) -> String {
    if um < 1e-3 {
        said!(style, "below", least = style.micro_text(1e-3, 3))
    } else {
        style.micro_text(um, 3)
    }
}

pub(crate) fn pivot(pivot: &Pivot, style: Style) -> Figure {
    let u = pivot.u_mm.map_or_else(String::new, |u| {
        format!(" ± {}", style.long_text(2.0 * u, 1))
    });
    let from: Vec<String> = pivot.from_rounds.iter().map(u32::to_string).collect();
    let from = if from.is_empty() {
        said!(style, "known-before")
    } else {
        said!(style, "from-rounds", rounds = from.join(", "))
    };
    let at = Amount::plain(pivot.position_mm, Unit::Mm).places(1);
    let more = said!(style, "turns-from-a", u = u, from = from);
    Figure::amount(said!(style, "turns-about"), at, style).more(more)
}

pub(crate) fn clamp(shift: &ClampShift, style: Style) -> Figure {
    let by = style.arcsec(Angle::from_rad(shift.slope.atan()).arcsec());
    let more = if shift.agree {
        said!(style, "clamp-shifts-agree", count = shift.count)
    } else {
        said!(style, "clamp-shifts-few", count = shift.count)
    };
    Figure::words(said!(style, "clamp-shifts-by"), by).more(more)
}

fn parts(setup: &Setup, zero: &ZeroOutcome, step: Option<&StepRecord>, style: Style) -> Vec<Part> {
    if zero.rounds.is_empty() {
        return Vec::new();
    }
    let mut parts = Vec::new();
    if let Some(step) = step {
        parts.push(Part::plot(
            said!(style, "marks-by-round"),
            rounds_chart(setup, step, zero, 0, style),
        ));
        if zero.rounds.len() > LARGER {
            let from = zero.rounds.len() - LARGER;
            parts.push(Part::plot(
                said!(style, "last-rounds-larger", rounds = LARGER),
                rounds_chart(setup, step, zero, from, style),
            ));
        }
        parts.extend(
            trace(step, style).map(|chart| Part::plot(said!(style, "reading-with-dwells"), chart)),
        );
    }
    let rows = zero.rounds.iter().map(|round| {
        vec![
            round.round.to_string(),
            if round.clamped {
                said!(style, "clamp-tight")
            } else {
                said!(style, "clamp-loose")
            },
            style.signed(style.small(round.slope * 1e3) / style.long(1.0), 5),
            style.signed(round.residual_arcsec, 2),
            style.cell(round.residual_u_arcsec, 2),
            style.micro_signed_cell(round.drift_um_per_min, 2),
            style.micro_signed_cell(round.bow_um, 2),
        ]
    });
    let [long, small] = [style.long_sign(), style.small_sign()];
    let columns = [
        Column::number(said!(style, "column-round")),
        Column::text(said!(style, "column-clamp")),
        Column::number(said!(style, "column-slope", small = small, long = long)),
        Column::number(said!(style, "column-residual")),
        Column::number(said!(style, "column-u-arcsec")),
        Column::number(said!(style, "column-drift", unit = small)),
        Column::number(said!(style, "column-bow", unit = small)),
    ];
    let table = Table::new(columns, rows);
    parts.push(Part::table(said!(style, "rounds"), table));
    parts
}

/// Some rounds as lines over their stations, with their marks, each from its reading at A; the step's last one heavy.
fn rounds_chart(
    setup: &Setup,
    step: &StepRecord,
    outcome: &ZeroOutcome,
    from: usize,
    style: Style,
) -> Plot {
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
                let from_a_um = (value_mm - round.at_a_mm) * 1e3;
                Some((style.long(position(line)?), style.small(from_a_um)))
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
                label: said!(style, "round-number", round = round.round),
                points: points(round),
                stroke,
                dot,
            }
        })
        .collect();
    let names: Vec<&str> = setup.stations.iter().map(|s| s.name.as_str()).collect();
    Plot::Chart(Chart {
        title: said!(style, "marks-by-round"),
        x_label: said!(
            style,
            "along-the-travel",
            unit = style.long_sign(),
            how = names.join(", ")
        ),
        y_label: said!(style, "reading-from-a", unit = style.small_sign()),
        series,
        flags: Vec::new(),
        legend: false,
        low: false,
    })
}

/// The readings over time with the stretches that the marks use; `None` when all was typed.
fn trace(step: &StepRecord, style: Style) -> Option<Plot> {
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
        .map(|r| (seconds(r.t), style.long(r.value.mm())))
        .collect();
    Some(Plot::Chart(Chart {
        title: said!(style, "reading-over-time"),
        x_label: said!(style, "time-of-cable", cable = cable.as_str()),
        y_label: said!(style, "reading-axis", unit = style.long_sign()),
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
