//! What a customer reads first: the result of each step with its uncertainty.

use super::{figure_text, step};
use metrology::setup::Setup;
use protocol::record::{Record, StepRecord};
use protocol::said;
use protocol::sheet::{Column, Figure, Interval, Sheet, Table, Value};
use protocol::style::Style;

/// Whether a figure states an interval for the truth.
fn claims(figure: &Figure) -> bool {
    let states =
        |value: &Value| matches!(value, Value::Amount(a, _) if a.interval != Interval::None);
    !figure.aside && states(&figure.value)
}

/// So many figures are told of a step: its own part of the document has all.
const MOST: usize = 2;

/// The figures with an interval, or the first one where none has.
fn found(sheet: &Sheet, style: Style) -> String {
    let line = |figure: &Figure| format!("{}: {}", figure.name, figure_text(figure, style));
    let claimed: Vec<String> = sheet
        .figures
        .iter()
        .filter(|f| claims(f))
        .take(MOST)
        .map(line)
        .collect();
    if claimed.is_empty() {
        let first = sheet.figures.iter().find(|figure| !figure.aside);
        return first.map_or_else(String::new, line);
    }
    claimed.join("\n")
}

fn row(setup: &Setup, of: &StepRecord, style: Style) -> Vec<String> {
    let title = step::title(&of.plan, style);
    let name = said!(style, "step-title", step = of.number, title = title);
    let Some(outcome) = &of.outcome else {
        return vec![name, step::no_outcome(of, style), String::new()];
    };
    let sheet = Sheet::of(setup, outcome, None, style);
    let decisions = sheet.headlines.iter().map(ToString::to_string);
    let decisions: Vec<String> = decisions.collect();
    vec![name, decisions.join("\n"), found(&sheet, style)]
}

/// A row for each step: its verdict, and what was found with its uncertainty.
pub fn results(record: &Record, style: Style) -> Table {
    let rows = record
        .steps
        .iter()
        .map(|step| row(&record.setup, step, style));
    let columns = [
        Column::text(said!(style, "column-step")),
        Column::text(said!(style, "column-result")),
        Column::text(said!(style, "column-found")),
    ];
    Table::new(columns, rows)
}

/// Whether any step has a verdict, so that the rule of decision has to be told.
pub fn decides(record: &Record) -> bool {
    let outcomes = record.steps.iter().filter_map(|step| step.outcome.as_ref());
    outcomes.into_iter().any(|o| o.verdict().is_some())
}
