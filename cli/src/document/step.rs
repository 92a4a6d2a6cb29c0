//! A step's part of the page: verdict, figures, plots, tables, budget.

use super::{page, utc};
use crate::layout::signed;
use maud::{Markup, html};
use metrology::dial::IndicatorCheck;
use metrology::setup::Setup;
use protocol::evidence::{MarkLine, MarkValue, Time};
use protocol::fold::Outcome;
use protocol::plan::{Condition, Plan};
use protocol::record::StepRecord;
use protocol::sheet::Sheet;
use protocol::sheet::words::plain_um;

/// A step's heading: what for, and in which state of the part.
pub fn title(plan: &Plan) -> String {
    let condition = match plan.condition {
        Some(Condition::Found) => ", as found",
        Some(Condition::Left) => ", as left",
        None => "",
    };
    format!("{}{}{condition}", plan.kind().word(), plan.work.qualifier())
}

/// A step under its heading.
pub fn step(setup: &Setup, step: &StepRecord) -> Markup {
    let closed = step.closed.map(utc);
    let why = step.no_outcome.as_deref();
    html! {
        h2 { "Step " (step.number) ": " (title(&step.plan)) }
        p.when { (utc(step.opened)) @if let Some(closed) = closed { " to " (closed) } " UTC" }
        @match &step.outcome {
            Some(outcome) => (outcome_part(setup, step, outcome)),
            None => p { (why.unwrap_or("Nothing was computed.")) },
        }
        (marks(step))
    }
}

fn outcome_part(setup: &Setup, step: &StepRecord, outcome: &Outcome) -> Markup {
    let sheet = Sheet::of(setup, outcome, Some(step));
    let check = step.plan.indicator.as_ref().and_then(|i| i.check.as_ref());
    html! {
        @for headline in &sheet.headlines { div.verdict { (headline.capitals()) } }
        (page::figures(&sheet.figures))
        @if let Some(check) = check { p { "Its indicator: " (check_words(check)) } }
        (page::list(&sheet.sentences))
        @for part in &sheet.parts { (page::part(part)) }
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

fn marks(step: &StepRecord) -> Markup {
    let (count, half) = (step.values.len(), MANY_MARKS / 2);
    let many = count > MANY_MARKS;
    let lines = step.values.iter().enumerate();
    let shown = lines.filter(|(index, _)| !many || *index < half || *index >= count - half);
    let rows: Vec<Vec<String>> = shown.map(|(_, line)| row(line, dwelt(step))).collect();
    let taken_back = step.evidence.marks.iter().filter(|mark| mark.taken_back);
    let taken_back: Vec<String> = taken_back.map(|mark| mark.number.to_string()).collect();
    html! {
        @if count > 0 {
            h3 { "Marks" }
            @if many { p { "The first and the last " (half) " of " (count) "; all are in the record." } }
            (page::long_table(&["#Mark", "Place", "#Round", "#Value, mm", "#Spread, µm", "#Readings"], rows))
            @if !taken_back.is_empty() {
                p { "Taken back, and counted nowhere: mark " (taken_back.join(", ")) "." }
            }
        }
    }
}

/// Whether a mark is of more than one reading. Of typed values, which are all of one, there is nothing to say on spread and
/// number.
fn dwelt(step: &StepRecord) -> bool {
    let mut values = step.values.iter().filter_map(|line| line.value);
    values.any(|value| value.readings > 1)
}

fn row(line: &MarkLine, dwelt: bool) -> Vec<String> {
    let told = |f: &dyn Fn(&MarkValue) -> String| line.value.as_ref().map_or_else(String::new, f);
    let of_dwell = |f: &dyn Fn(&MarkValue) -> String| if dwelt { told(f) } else { String::new() };
    vec![
        line.number.to_string(),
        line.place.clone(),
        line.round.to_string(),
        told(&|value| signed(value.value_mm, 5)),
        of_dwell(&|value| format!("{:.2}", value.spread_um)),
        of_dwell(&|value| value.readings.to_string()),
    ]
}
