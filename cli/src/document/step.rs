//! A step's part of the page: verdict, plots, tables, budget.

use super::page::Page;
use super::plot::{Chart, Flag, Series, reduced};
use super::utc;
use metrology::setup::Setup;
use metrology::uncertainty::{Component, Verdict};
use metrology::zero::{Round, Sloping, ZeroOutcome};
use protocol::api::MarkLine;
use protocol::evidence::{MarkSource, MarkValue, Reading, Time};
use protocol::fold::Outcome;
use protocol::record::StepRecord;

pub fn write(page: &mut Page, setup: &Setup, step: &StepRecord) {
    page.heading(format!("Step {}: {}", step.number, step.plan.kind().name()));
    let closed = step
        .closed
        .map_or_else(String::new, |t| format!(" to {}", utc(t)));
    page.paragraph(format!("{}{closed} UTC", utc(step.opened)));
    match &step.outcome {
        Some(Outcome::Zero(outcome)) => zero(page, setup, step, outcome),
        Some(outcome) => {
            for sentence in outcome.sentences() {
                page.paragraph(sentence);
            }
        }
        None => {
            page.paragraph(
                step.no_outcome
                    .as_deref()
                    .unwrap_or("Nothing was computed."),
            );
        }
    }
    marks(page, step);
}

/// The first rounds are far out and flatten the last ones, which decide: those are drawn once more by themselves.
const LARGER: usize = 3;

/// A signed number of some places; one that rounds to nothing has no sign.
fn signed(value: f64, places: usize) -> String {
    let text = format!("{value:+.places$}");
    if text[1..].chars().all(|c| matches!(c, '0' | '.')) {
        text[1..].to_owned()
    } else {
        text
    }
}

fn verdict_words(verdict: Option<Verdict>) -> &'static str {
    match verdict {
        Some(Verdict::In) => "IN TOLERANCE",
        Some(Verdict::Out) => "OUT OF TOLERANCE",
        Some(Verdict::Undecided) => "UNDECIDED: the limit lies within the uncertainty",
        None => "NO TOLERANCE STATED",
    }
}

fn zero(page: &mut Page, setup: &Setup, step: &StepRecord, outcome: &ZeroOutcome) {
    let Some(residual) = outcome.residual_arcsec else {
        page.paragraph("No round was completed.");
        return;
    };
    page.verdict(verdict_words(outcome.verdict));
    let expanded = outcome.residual_expanded_arcsec.unwrap_or_default();
    let cone = outcome.cone.map_or("", |cone| match cone {
        Sloping::Steeper => ", the cone steeper",
        Sloping::Shallower => ", the cone shallower",
    });
    page.facts(&[
        (
            "Residual angle",
            Some(format!("{residual:+.2}″ ± {expanded:.2}″{cone}")),
        ),
        (
            "Over the span",
            outcome.over_span_um.map(|um| format!("{um:+.2} µm")),
        ),
        (
            "On diameter over the taper",
            outcome.over_taper_um.map(|um| format!("{um:+.2} µm")),
        ),
        (
            "Half angle, stack included",
            outcome.half_angle_error_arcsec.map(|error| {
                let expanded = outcome.half_angle_expanded_arcsec.unwrap_or_default();
                format!("{error:+.2}″ ± {expanded:.2}″")
            }),
        ),
        (
            "Limits of the half angle's error",
            outcome
                .limits_arcsec
                .map(|[low, high]| format!("{low:+.2}″ to {high:+.2}″")),
        ),
        (
            "Turns at",
            outcome.pivot.as_ref().map(|p| {
                let u = p
                    .u_mm
                    .map_or_else(String::new, |u| format!(" ± {:.1} mm", 2.0 * u));
                let from: Vec<String> = p.from_rounds.iter().map(u32::to_string).collect();
                let from = if from.is_empty() {
                    " (known before)".to_owned()
                } else {
                    format!(" (rounds {})", from.join(", "))
                };
                format!("{:.1} mm from A{u}{from}", p.position_mm)
            }),
        ),
        (
            "The clamp shifts by",
            outcome.clamp_shift.as_ref().map(|shift| {
                let arcsec = metrology::Angle::from_rad(shift.slope.atan()).arcsec();
                let agree = if shift.agree { ", they agree" } else { "" };
                format!("{arcsec:+.2}″, median of {}{agree}", shift.count)
            }),
        ),
    ]);
    page.list(&outcome.remarks);
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
    budget(page, &outcome.budget);
}

fn budget(page: &mut Page, components: &[Component]) {
    if components.is_empty() {
        return;
    }
    page.subheading("Budget of the last round (standard uncertainties, largest first)");
    page.table(
        &["Component", "#u", "Unit", "#Degrees of freedom"],
        components.iter().map(|c| {
            let dof = c
                .degrees_of_freedom
                .map_or_else(|| "∞".to_owned(), |dof| format!("{dof:.0}"));
            let unit = if c.unit == "arcsec" { "″" } else { &c.unit };
            vec![
                c.component.clone(),
                format!("{:.3}", c.u),
                unit.to_owned(),
                dof,
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
        .map(|round| Series {
            label: format!("round {}", round.round),
            points: points(round),
            heavy: Some(round.round) == last,
        })
        .collect();
    let names: Vec<&str> = setup.stations.iter().map(|s| s.name.as_str()).collect();
    Chart {
        title: "Marks and line by round".into(),
        x_label: format!("along the travel, mm ({})", names.join(", ")),
        y_label: "reading from A, µm".into(),
        series,
        flags: Vec::new(),
        dots: true,
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
            heavy: false,
        }],
        flags,
        dots: false,
    })
}

fn marks(page: &mut Page, step: &StepRecord) {
    if step.values.is_empty() {
        return;
    }
    page.subheading("Marks");
    page.table(
        &[
            "#Mark",
            "Place",
            "#Round",
            "#Value, mm",
            "#Spread, µm",
            "#Readings",
        ],
        step.values.iter().map(|line| {
            let told =
                |f: &dyn Fn(&MarkValue) -> String| line.value.as_ref().map_or_else(String::new, f);
            vec![
                line.number.to_string(),
                line.place.clone(),
                line.round.to_string(),
                told(&|value| signed(value.value_mm, 5)),
                told(&|value| format!("{:.2}", value.spread_um)),
                told(&|value| value.readings.to_string()),
            ]
        }),
    );
    let taken_back: Vec<String> = step
        .evidence
        .marks
        .iter()
        .filter(|mark| mark.taken_back)
        .map(|mark| mark.number.to_string())
        .collect();
    if !taken_back.is_empty() {
        page.paragraph(format!(
            "Taken back, and counted nowhere: mark {}.",
            taken_back.join(", ")
        ));
    }
}
