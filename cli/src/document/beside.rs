//! As found and as left, side by side, where a session has a step of one kind in both states of the part.

use super::page::Page;
use super::step::{self, Figures, runout};
use crate::document::plot::Polar;
use crate::outcome_text;
use metrology::setup::Setup;
use protocol::fold::{Outcome, StepKind};
use protocol::plan::Condition;
use protocol::record::{Record, StepRecord};

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

/// What says how it was read and not how the part is: each step's own part of the page tells it.
const HOW_IT_WAS_READ: [&str; 10] = [
    "Swept",
    "Over the swept length",
    "Limits of the half angle's error",
    "Straightness, least squares",
    "Scatter about the line",
    "Filter",
    "Outliers",
    "Roundness, least squares",
    "Read",
    "True it",
];

/// Names of figures that either side has, in order, with what each side says.
pub fn rows(found: Figures, left: Figures) -> Vec<[String; 3]> {
    let mut rows: Vec<[String; 3]> = Vec::new();
    for (column, figures) in [(1, found), (2, left)] {
        let mut after = 0;
        for (name, value) in figures {
            let Some(value) = value else { continue };
            let at = rows.iter().position(|row| row[0] == name);
            let at = at.unwrap_or_else(|| {
                rows.insert(after, [name.to_owned(), String::new(), String::new()]);
                after
            });
            rows[at][column] = value;
            after = at + 1;
        }
    }
    rows
}

pub fn write(page: &mut Page, record: &Record) {
    let pairs: Vec<Pair<'_>> = StepKind::ALL
        .iter()
        .filter_map(|kind| pair(record, *kind))
        .collect();
    if pairs.is_empty() {
        return;
    }
    page.heading("As found and as left");
    for [(found, was), (left, is)] in pairs {
        let kind = was.kind().word();
        let of = |step: &StepRecord| format!("step {}", step.number);
        page.subheading(kind);
        let mut table = rows(step::figures(was), step::figures(is));
        table.retain(|[name, ..]| !HOW_IT_WAS_READ.contains(&name.as_str()));
        let verdict = |outcome: &Outcome| {
            outcome
                .verdict()
                .map_or_else(String::new, |v| outcome_text::verdict(v).to_owned())
        };
        if was.verdict().or(is.verdict()).is_some() {
            table.insert(0, ["Verdict".to_owned(), verdict(was), verdict(is)]);
        }
        let headings = [
            format!("As found ({})", of(found)),
            format!("As left ({})", of(left)),
        ];
        page.sides([&headings[0], &headings[1]], table);
        if let (Outcome::Runout(was), Outcome::Runout(is)) = (was, is) {
            let setup: &Setup = &record.setup;
            let polars = runout::as_read(setup, found, was).zip(runout::as_read(setup, left, is));
            if let Some((found, left)) = polars {
                polar_pair(page, found, left);
            }
        }
    }
}

/// Both at one scale: what became better must look so.
fn polar_pair(page: &mut Page, mut found: Polar, mut left: Polar) {
    let reach = found.reach_um().max(left.reach_um());
    found.reach_um = Some(reach);
    left.reach_um = Some(reach);
    page.pair([("as found", found.svg()), ("as left", left.svg())]);
    page.source("Both are drawn at one scale.");
}
