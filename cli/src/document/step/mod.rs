//! A step's part of the page: verdict, figures, plots, tables, budget.

mod contact;
mod dial;
mod form;
mod reversal;
pub(super) mod runout;
mod size;
mod sweep;
mod words;
mod zero;

use super::page::Page;
use super::utc;
use crate::layout::signed;
use metrology::dial::IndicatorCheck;
use metrology::setup::Setup;
use metrology::uncertainty::{Component, Verdict};
use protocol::evidence::{MarkValue, Time};
use protocol::fold::Outcome;
use protocol::plan::{Condition, Plan};
use protocol::record::StepRecord;

/// Names with what they are, where that is known.
pub type Figures = Vec<(&'static str, Option<String>)>;

/// A step's heading: what for, and in which state of the part.
pub fn title(plan: &Plan) -> String {
    let condition = match plan.condition {
        Some(Condition::Found) => ", as found",
        Some(Condition::Left) => ", as left",
        None => "",
    };
    format!("{}{}{condition}", plan.kind().word(), zero::purpose(plan))
}

pub fn write(page: &mut Page, setup: &Setup, step: &StepRecord) {
    page.heading(format!("Step {}: {}", step.number, title(&step.plan)));
    let closed = step
        .closed
        .map_or_else(String::new, |t| format!(" to {}", utc(t)));
    page.when(format!("{}{closed} UTC", utc(step.opened)));
    match &step.outcome {
        Some(outcome) => outcome_part(page, setup, step, outcome),
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

fn outcome_part(page: &mut Page, setup: &Setup, step: &StepRecord, outcome: &Outcome) {
    for line in headlines(step, outcome) {
        page.verdict(line);
    }
    page.facts(&figures(outcome));
    if let Some(check) = step.plan.indicator.as_ref().and_then(|i| i.check.as_ref()) {
        page.paragraph(format!("Its indicator: {}", check_words(check)));
    }
    // Corrections first, then remarks.
    page.list(outcome.sentences());
    match outcome {
        Outcome::Zero(zero) => zero::plots(page, setup, step, zero),
        Outcome::Sweep(sweep) => sweep::plots(page, setup, step, sweep),
        Outcome::Runout(runout) => runout::plots(page, setup, step, runout),
        Outcome::Size(size) => size::plots(page, size),
        Outcome::Contact(contact) => contact::plots(page, contact),
        Outcome::Dial(dial) => dial::plots(page, step, dial),
    }
    budget(page, &step.plan, outcome);
}

/// The words that are read first.
fn headlines(step: &StepRecord, outcome: &Outcome) -> Vec<String> {
    let verdict = |missing: &str| vec![verdict_words(outcome.verdict(), missing)];
    match outcome {
        Outcome::Zero(zero) if zero.residual_arcsec.is_none() => {
            vec!["NO ROUND WAS COMPLETED".into()]
        }
        Outcome::Zero(_) | Outcome::Sweep(_) => verdict("NO TOLERANCE STATED"),
        Outcome::Runout(_) | Outcome::Dial(_) => verdict("NO LIMIT STATED"),
        Outcome::Size(size) => size::headlines(size),
        Outcome::Contact(contact) => vec![contact::headline(contact, &step.plan)],
    }
}

fn verdict_words(verdict: Option<Verdict>, missing: &str) -> String {
    match verdict {
        Some(Verdict::In) => "IN TOLERANCE",
        Some(Verdict::Out) => "OUT OF TOLERANCE",
        Some(Verdict::Undecided) => "UNDECIDED: the limit lies within the uncertainty",
        None => missing,
    }
    .to_owned()
}

/// What a step came to: its figures in the order in which they matter.
pub fn figures(outcome: &Outcome) -> Figures {
    match outcome {
        Outcome::Zero(zero) => zero::figures(zero),
        Outcome::Sweep(sweep) => sweep::figures(sweep),
        Outcome::Runout(runout) => runout::figures(runout),
        Outcome::Size(size) => size::figures(size),
        Outcome::Contact(contact) => contact::figures(contact),
        Outcome::Dial(dial) => dial::figures(dial),
    }
}

/// An indicator's check in words.
pub fn check_words(check: &IndicatorCheck) -> String {
    let corrected = match check.correction.len() {
        0 => String::new(),
        rows => format!(", corrected by a table of {rows} rows"),
    };
    let when = check.checked_utc_ns.map_or_else(
        || "checked, without a date".to_owned(),
        |ns| format!("checked {} UTC", utc(Time(ns))),
    );
    format!("{when}, u = {:.2} µm{corrected}", check.u_um)
}

fn budget(page: &mut Page, plan: &Plan, outcome: &Outcome) {
    let of = match outcome {
        Outcome::Zero(zero) if zero.half_angle_error_arcsec.is_some() => "the half angle",
        Outcome::Zero(_) => "the last round's residual",
        Outcome::Sweep(sweep) if sweep.half_angle_error_arcsec.is_some() => "the half angle",
        Outcome::Sweep(_) => "the residual angle",
        Outcome::Runout(_) => "the eccentricity",
        Outcome::Size(size) if size.half_angle_deg.is_some() => "the half angle",
        Outcome::Size(_) => "the stock on diameter",
        Outcome::Dial(_) => "a later reading",
        Outcome::Contact(_) => return,
    };
    let components: &[Component] = outcome.budget();
    if components.is_empty() {
        page.paragraph(format!(
            "The {} step has no budget: nothing tells how far its readings can be trusted.",
            plan.kind().word()
        ));
        return;
    }
    page.subheading(format!(
        "Budget of {of} (standard uncertainties, largest first)"
    ));
    page.table(
        &["Component", "#u", "Unit", "#Degrees of freedom"],
        components.iter().map(|c| {
            let dof = c
                .degrees_of_freedom
                .map_or_else(|| "∞".to_owned(), |dof| format!("{dof:.0}"));
            let unit = match c.unit.as_str() {
                "arcsec" => "″",
                "um" => "µm",
                other => other,
            };
            vec![
                c.component.clone(),
                format!("{:.3}", c.u),
                unit.to_owned(),
                dof,
            ]
        }),
    );
}

/// From this many marks on, the table tells the first and the last of them: the readings are in the record.
const MANY_MARKS: usize = 60;

fn marks(page: &mut Page, step: &StepRecord) {
    if step.values.is_empty() {
        return;
    }
    page.subheading("Marks");
    let many = step.values.len() > MANY_MARKS;
    let shown = |index: usize| {
        !many || index < MANY_MARKS / 2 || index >= step.values.len() - MANY_MARKS / 2
    };
    if many {
        page.paragraph(format!(
            "The first and the last {} of {}; all are in the record.",
            MANY_MARKS / 2,
            step.values.len()
        ));
    }
    // Of typed values, which are all of one reading, there is nothing to say on spread and number.
    let dwelt = step
        .values
        .iter()
        .any(|line| line.value.is_some_and(|value| value.readings > 1));
    let lines = step.values.iter().enumerate();
    page.long_table(
        &[
            "#Mark",
            "Place",
            "#Round",
            "#Value, mm",
            "#Spread, µm",
            "#Readings",
        ],
        lines
            .filter(|(index, _)| shown(*index))
            .map(|(_, line)| {
                let told = |f: &dyn Fn(&MarkValue) -> String| {
                    line.value.as_ref().map_or_else(String::new, f)
                };
                let of_dwell = |f: &dyn Fn(&MarkValue) -> String| {
                    if dwelt { told(f) } else { String::new() }
                };
                vec![
                    line.number.to_string(),
                    line.place.clone(),
                    line.round.to_string(),
                    told(&|value| signed(value.value_mm, 5)),
                    of_dwell(&|value| format!("{:.2}", value.spread_um)),
                    of_dwell(&|value| value.readings.to_string()),
                ]
            })
            .collect(),
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
