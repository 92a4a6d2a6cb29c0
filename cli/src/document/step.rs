//! A step's part of the page: verdict, figures, plots, tables, budget.

use super::page::Page;
use super::utc;
use crate::layout::signed;
use metrology::dial::IndicatorCheck;
use metrology::setup::Setup;
use protocol::evidence::{MarkValue, Time};
use protocol::fold::Outcome;
use protocol::plan::{About, Condition, Plan, Work};
use protocol::record::StepRecord;
use protocol::sheet::Sheet;
use protocol::sheet::words::plain_um;

/// What a zero step is for, where that is not the half angle.
fn purpose(plan: &Plan) -> &'static str {
    match &plan.work {
        Work::Zero(options) if options.about == About::Level => " about level",
        _ => "",
    }
}

/// A step's heading: what for, and in which state of the part.
pub fn title(plan: &Plan) -> String {
    let condition = match plan.condition {
        Some(Condition::Found) => ", as found",
        Some(Condition::Left) => ", as left",
        None => "",
    };
    format!("{}{}{condition}", plan.kind().word(), purpose(plan))
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
    let sheet = Sheet::of(setup, outcome, Some(step));
    for headline in &sheet.headlines {
        page.verdict(headline.capitals());
    }
    page.figures(&sheet.figures);
    if let Some(check) = step.plan.indicator.as_ref().and_then(|i| i.check.as_ref()) {
        page.paragraph(format!("Its indicator: {}", check_words(check)));
    }
    page.list(&sheet.sentences);
    for part in &sheet.parts {
        page.part(part);
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
    format!("{when}, u = {}{corrected}", plain_um(check.u_um))
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
