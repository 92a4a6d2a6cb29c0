//! A zero step's part of the page.

use super::Figures;
use super::words::{arcsec, plus_minus};
use crate::document::page::Page;
use crate::document::plot::{Chart, Dot, Flag, Series, Stroke, reduced};
use crate::layout::{signed, um};
use metrology::Angle;
use metrology::setup::Setup;
use metrology::zero::{ClampShift, Pivot, Round, Sloping, ZeroOutcome};
use protocol::api::MarkLine;
use protocol::evidence::{MarkSource, Reading, Time};
use protocol::plan::{About, Plan, Work};
use protocol::record::StepRecord;

/// The first rounds are far out and flatten the last ones, which decide: those are drawn once more by themselves.
const LARGER: usize = 3;

/// What a zero step is for, where that is not the half angle.
pub fn purpose(plan: &Plan) -> &'static str {
    match &plan.work {
        Work::Zero(options) if options.about == About::Level => " about level",
        _ => "",
    }
}

pub fn figures(outcome: &ZeroOutcome) -> Figures {
    let cone = outcome.cone.map_or("", |cone| match cone {
        Sloping::Steeper => ", the cone steeper",
        Sloping::Shallower => ", the cone shallower",
    });
    let level = outcome.level.as_ref();
    vec![
        (
            "Residual angle",
            outcome
                .residual_arcsec
                .map(|residual| plus_minus(residual, outcome.residual_expanded_arcsec, "″") + cone),
        ),
        ("Over the span", outcome.over_span_um.map(um)),
        ("On diameter over the taper", outcome.over_taper_um.map(um)),
        (
            "The axis rises over the part",
            level.map(|level| um(level.rise_um)),
        ),
        (
            "Worth on diameter",
            level.map(|level| {
                format!(
                    "{}, at most {} (axes {:.1} mm apart)",
                    small_um(level.worth_um.abs()),
                    small_um(level.at_most_um),
                    level.axes_mm
                )
            }),
        ),
        (
            "Worth as an error of the half angle",
            level.map(|level| arcsec(level.angle_arcsec)),
        ),
        (
            "Half angle, stack included",
            outcome
                .half_angle_error_arcsec
                .map(|error| plus_minus(error, outcome.half_angle_expanded_arcsec, "″")),
        ),
        (
            "Limits of the half angle's error",
            outcome.limits_arcsec.map(super::words::limits),
        ),
        ("Turns at", outcome.pivot.as_ref().map(pivot)),
        (
            "The clamp shifts by",
            outcome.clamp_shift.as_ref().map(clamp),
        ),
    ]
}

/// A worth of second order, which is often next to nothing.
fn small_um(um: f64) -> String {
    if um < 1e-3 {
        "below 0.001 µm".to_owned()
    } else {
        format!("{um:.3} µm")
    }
}

fn pivot(pivot: &Pivot) -> String {
    let u = pivot
        .u_mm
        .map_or_else(String::new, |u| format!(" ± {:.1} mm", 2.0 * u));
    let from: Vec<String> = pivot.from_rounds.iter().map(u32::to_string).collect();
    let from = if from.is_empty() {
        " (known before)".to_owned()
    } else {
        format!(" (rounds {})", from.join(", "))
    };
    format!("{:.1} mm from A{u}{from}", pivot.position_mm)
}

fn clamp(shift: &ClampShift) -> String {
    let by = arcsec(Angle::from_rad(shift.slope.atan()).arcsec());
    let agree = if shift.agree { ", they agree" } else { "" };
    format!("{by}, median of {}{agree}", shift.count)
}

pub fn plots(page: &mut Page, setup: &Setup, step: &StepRecord, outcome: &ZeroOutcome) {
    if outcome.rounds.is_empty() {
        return;
    }
    page.subheading("Marks and line by round");
    page.svg(&rounds_chart(setup, step, outcome, 0).svg());
    if outcome.rounds.len() > LARGER {
        page.subheading(format!("The last {LARGER} rounds, larger"));
        let from = outcome.rounds.len() - LARGER;
        page.svg(&rounds_chart(setup, step, outcome, from).svg());
    }
    if let Some(chart) = trace(step) {
        page.subheading("Reading over time, with the dwells that were marked");
        page.svg(&chart.svg());
    }
    page.subheading("Rounds");
    page.table(
        &[
            "#Round",
            "Clamp",
            "#Slope, µm/mm",
            "#Residual, ″",
            "#u, ″",
            "#Drift, µm/min",
            "#Bow, µm",
        ],
        outcome.rounds.iter().map(|round| {
            let optional = |value: Option<f64>| value.map_or_else(String::new, |v| signed(v, 2));
            vec![
                round.round.to_string(),
                if round.clamped { "tight" } else { "loose" }.to_owned(),
                signed(round.slope * 1e3, 5),
                signed(round.residual_arcsec, 2),
                format!("{:.2}", round.residual_u_arcsec),
                optional(round.drift_um_per_min),
                optional(round.bow_um),
            ]
        }),
    );
}

/// Some rounds as lines over their stations, with their marks, each from its reading at A; the step's last one heavy.
fn rounds_chart(setup: &Setup, step: &StepRecord, outcome: &ZeroOutcome, from: usize) -> Chart {
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
    Chart {
        title: "Marks and line by round".into(),
        x_label: format!("along the travel, mm ({})", names.join(", ")),
        y_label: "reading from A, µm".into(),
        series,
        flags: Vec::new(),
        legend: false,
        height: Chart::TALL,
    }
}

/// The readings over time with the stretches that the marks use; `None` when all was typed.
fn trace(step: &StepRecord) -> Option<Chart> {
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
    Some(Chart {
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
        height: Chart::TALL,
    })
}
