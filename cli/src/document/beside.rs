//! As found and as left, side by side, where a session has a step of one kind in both states of the part.

use super::page::{Page, capital, figure_text};
use crate::document::plot;
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
        let sheet = |outcome| Sheet::of(&record.setup, outcome, None);
        let mut table = rows(&sheet(was), &sheet(is));
        let verdict = |outcome: &Outcome| {
            outcome.verdict().map_or_else(String::new, |v| {
                words::verdict(v, outcome.undecided_because())
            })
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
            let polars = sheet::as_read(setup, found, was).zip(sheet::as_read(setup, left, is));
            if let Some((found, left)) = polars {
                polar_pair(page, found, left);
            }
        }
    }
}

/// Both at one scale: what became better must look so.
fn polar_pair(page: &mut Page, found: Polar, left: Polar) {
    let pair = Box::new([("as found", found), ("as left", left)]);
    plot::draw(
        page,
        &Plot::Polars {
            pair,
            one_scale: true,
        },
    );
    page.source("Both are drawn at one scale.");
}
