//! As found and as left, side by side, where a session has a step of one kind in both states of the part.

use super::{capital, figure_text};
use metrology::setup::Setup;
use protocol::fold::{Outcome, StepKind};
use protocol::plan::Condition;
use protocol::record::{Record, StepRecord};
use protocol::said;
use protocol::sheet::plot::{Plot, Polar};
use protocol::sheet::{self, Sheet, words};
use protocol::style::Style;

/// The first step of a kind that was taken as found, and the last as left, each with what it came to.
type Taken<'a> = [(&'a StepRecord, &'a Outcome); 2];

/// Two steps beside each other.
pub struct Pair {
    /// Their kind.
    pub kind: String,
    /// What stands above each of both.
    pub headings: [String; 2],
    /// Names, each with what either says.
    pub rows: Vec<[String; 3]>,
    /// Both drawn at one scale, where they are of a turn.
    pub plot: Option<Plot>,
}

/// What is said below [`Pair::plot`].
pub fn one_scale(style: Style) -> String {
    said!(style, "one-scale")
}

/// All pairs that the session has.
pub fn pairs(record: &Record, style: Style) -> Vec<Pair> {
    let kinds = StepKind::ALL.iter();
    let taken = kinds.filter_map(|kind| taken(record, *kind));
    taken
        .map(|taken| pair(&record.setup, taken, style))
        .collect()
}

/// The pair of a kind, when the session has both.
fn taken(record: &Record, kind: StepKind) -> Option<Taken<'_>> {
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
fn rows(found: &Sheet, left: &Sheet, style: Style) -> Vec<[String; 3]> {
    let mut rows: Vec<[String; 3]> = Vec::new();
    for (column, sheet) in [(1, found), (2, left)] {
        let mut after = 0;
        for figure in sheet.figures.iter().filter(|figure| !figure.aside) {
            let name = capital(&figure.name);
            let at = rows.iter().position(|row| row[0] == name);
            let at = at.unwrap_or_else(|| {
                rows.insert(after, [name, String::new(), String::new()]);
                after
            });
            rows[at][column] = figure_text(figure, style);
            after = at + 1;
        }
    }
    rows
}

fn pair(setup: &Setup, [(found, was), (left, is)]: Taken<'_>, style: Style) -> Pair {
    let sheet = |outcome| Sheet::of(setup, outcome, None, style);
    let mut rows = rows(&sheet(was), &sheet(is), style);
    let verdict = |outcome: &Outcome| {
        let verdict = outcome.verdict();
        verdict.map_or_else(String::new, |v| {
            words::verdict(v, outcome.undecided_because(), style)
        })
    };
    if was.verdict().or(is.verdict()).is_some() {
        rows.insert(0, [said!(style, "verdict-fact"), verdict(was), verdict(is)]);
    }
    let polars = sheet::as_read(setup, found, style).zip(sheet::as_read(setup, left, style));
    Pair {
        kind: style.term("kind", was.kind().word()),
        headings: [
            said!(style, "as-found", step = found.number),
            said!(style, "as-left", step = left.number),
        ],
        rows,
        plot: polars.map(|polars| at_one_scale(polars, style)),
    }
}

/// Both at one scale: what became better must look so.
fn at_one_scale((found, left): (Polar, Polar), style: Style) -> Plot {
    Plot::Polars {
        pair: Box::new([
            (said!(style, "found-caption"), found),
            (said!(style, "left-caption"), left),
        ]),
        one_scale: true,
    }
}
