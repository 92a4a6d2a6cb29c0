//! As found and as left, side by side, where a session has a step of one kind in both states of the part.

use super::page::{capital, figure_text, sides};
use super::plot;
use maud::{Markup, html};
use metrology::setup::Setup;
use protocol::fold::{Outcome, StepKind};
use protocol::plan::Condition;
use protocol::record::{Record, StepRecord};
use protocol::sheet::plot::{Plot, Polar};
use protocol::sheet::{self, Sheet, words};

/// The first step of a kind that was taken as found, and the last as left, each with what it came to.
type Pair<'a> = [(&'a StepRecord, &'a Outcome); 2];

/// The pair of a kind, when the session has both.
pub fn pair(record: &Record, kind: StepKind) -> Option<Pair<'_>> {
    let of = |condition: Condition| -> Vec<(&StepRecord, &Outcome)> {
        let steps = record
            .steps
            .iter()
            .filter(move |step| step.plan.condition == Some(condition) && step.plan.kind() == kind);
        steps
            .filter_map(|step| Some((step, step.outcome.as_ref()?)))
            .collect()
    };
    let found = of(Condition::Found).into_iter().next()?;
    let left = of(Condition::Left).into_iter().next_back()?;
    Some([found, left])
}

/// Names of figures that either side has, in order, with what each side says.
///
/// What tells how it was read and not how the part is, is in each step's own part of the page.
fn rows(found: &Sheet, left: &Sheet) -> Vec<[String; 3]> {
    let mut rows: Vec<[String; 3]> = Vec::new();
    for (column, sheet) in [(1, found), (2, left)] {
        let mut after = 0;
        for figure in sheet.figures.iter().filter(|figure| !figure.aside) {
            let name = capital(figure.name);
            let at = rows.iter().position(|row| row[0] == name);
            let at = at.unwrap_or_else(|| {
                rows.insert(after, [name, String::new(), String::new()]);
                after
            });
            rows[at][column] = figure_text(figure);
            after = at + 1;
        }
    }
    rows
}

/// All pairs that the session has; nothing for none.
pub fn beside(record: &Record) -> Markup {
    let pairs = StepKind::ALL.iter().filter_map(|kind| pair(record, *kind));
    let pairs: Vec<Pair<'_>> = pairs.collect();
    html! {
        @if !pairs.is_empty() {
            h2 { "As found and as left" }
            @for pair in pairs { (of_pair(&record.setup, pair)) }
        }
    }
}

fn of_pair(setup: &Setup, [(found, was), (left, is)]: Pair<'_>) -> Markup {
    let sheet = |outcome| Sheet::of(setup, outcome, None);
    let mut table = rows(&sheet(was), &sheet(is));
    let verdict = |outcome: &Outcome| {
        let verdict = outcome.verdict();
        verdict.map_or_else(String::new, |v| {
            words::verdict(v, outcome.undecided_because())
        })
    };
    if was.verdict().or(is.verdict()).is_some() {
        table.insert(0, ["Verdict".to_owned(), verdict(was), verdict(is)]);
    }
    let headings = [
        format!("As found (step {})", found.number),
        format!("As left (step {})", left.number),
    ];
    let polars = sheet::as_read(setup, found).zip(sheet::as_read(setup, left));
    html! {
        h3 { (was.kind().word()) }
        (sides(&headings, &table))
        @if let Some((found, left)) = polars { (polar_pair(found, left)) }
    }
}

/// Both at one scale: what became better must look so.
fn polar_pair(found: Polar, left: Polar) -> Markup {
    let pair = Box::new([("as found", found), ("as left", left)]);
    let one_scale = true;
    html! {
        (plot::draw(&Plot::Polars { pair, one_scale }))
        p.source { "Both are drawn at one scale." }
    }
}
