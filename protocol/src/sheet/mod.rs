//! The description of one outcome: headline, figures with unit and interval, sentences, tables, and plots as data.
//!
//! Text, page and screens draw a [`Sheet`] and compute nothing, so that all of them say the same of the same outcome.

pub mod compared;
mod figure;
pub mod plot;
pub mod words;

use crate::fold::Outcome;
use crate::record::StepRecord;
use crate::step::Step;
use crate::style::Style;
use crate::{for_kind, said};
use metrology::setup::Setup;
use metrology::uncertainty::{Component, Undecided, Verdict};
use plot::{Plot, Polar};
use std::fmt;

pub use figure::{Amount, Figure, Interval, Unit, Value};

/// All that is said of one outcome.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sheet {
    /// What is read first.
    pub headlines: Vec<Headline>,
    /// The figures, in the order in which they matter.
    pub figures: Vec<Figure>,
    /// What else the user should know: first what was done to the readings, then remarks.
    pub sentences: Vec<String>,
    /// Plots and tables, the budget last.
    pub parts: Vec<Part>,
}

/// What was decided or found, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Headline {
    /// In a few words.
    pub decision: String,
    /// What follows it; may be empty.
    pub reason: String,
}

/// A table. Cells hold no units: these stand in the names of the columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each with a cell for every column; a cell is empty where nothing is known.
    pub rows: Vec<Vec<String>>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name with the unit.
    pub name: String,
    /// Whether it holds numbers, which stand to the right.
    pub numeric: bool,
}

/// A plot, a table, or both of the same thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it is of.
    pub heading: String,
    /// The plot.
    pub plot: Option<Plot>,
    /// The table.
    pub table: Option<Table>,
    /// How to read it; may be empty.
    pub note: String,
}

impl Sheet {
    /// The sheet of an outcome. Plots of single readings need the step's record; without it they are left out.
    #[must_use]
    pub fn of(setup: &Setup, outcome: &Outcome, step: Option<&StepRecord>, style: Style) -> Self {
        let mut sheet = for_kind!(outcome, Outcome(own) => S, S::sheet(setup, own, step, style));
        let sentences = outcome.sentences();
        sheet.sentences = sentences.map(|said| style.retold(said)).collect();
        sheet.parts.extend(budget(outcome, style));
        sheet
    }
}

/// A kind of step with a sheet.
pub(crate) trait Drawn: Step {
    /// Headlines, figures, plots and tables.
    fn sheet(
        setup: &Setup,
        outcome: &Self::Outcome,
        step: Option<&StepRecord>,
        style: Style,
    ) -> Sheet;

    /// The heading of its budget; none for a judgement by eye.
    fn budget_of(outcome: &Self::Outcome, style: Style) -> Option<String>;

    /// The readings as they were read round a turn, where they were.
    fn as_read(
        _setup: &Setup,
        _outcome: &Self::Outcome,
        _step: &StepRecord,
        _style: Style,
    ) -> Option<Polar> {
        None
    }
}

/// The readings of a step as they were read round a turn, where they were.
#[must_use]
pub fn as_read(setup: &Setup, step: &StepRecord, style: Style) -> Option<Polar> {
    for_kind!(step.outcome.as_ref()?, Outcome(own) => S, S::as_read(setup, own, step, style))
}

impl Headline {
    pub(crate) fn new(decision: impl Into<String>, reason: impl Into<String>) -> Self {
        Self {
            decision: decision.into(),
            reason: reason.into(),
        }
    }

    /// Of a verdict; `missing` says what would have allowed one.
    pub(crate) fn of(
        verdict: Option<Verdict>,
        because: Option<Undecided>,
        missing: &str,
        style: Style,
    ) -> Self {
        let Some(verdict) = verdict else {
            return Self::new(missing, "");
        };
        let why = because.filter(|_| verdict == Verdict::Undecided);
        let why = why.map_or_else(String::new, |why| {
            format!(": {}", words::because(why, style))
        });
        Self::new(words::decided(verdict, style), why)
    }

    /// The decision in capitals, its reason as it is.
    #[must_use]
    pub fn capitals(&self) -> String {
        // A capital µ is another letter.
        let capital = |word: &str| match word {
            "µm" | "µin" => word.to_owned(),
            _ => word.to_uppercase(),
        };
        let words: Vec<String> = self.decision.split(' ').map(capital).collect();
        words.join(" ") + &self.reason
    }
}

impl fmt::Display for Headline {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.decision, self.reason)
    }
}

impl Table {
    /// A table with these columns.
    #[must_use]
    pub fn new(
        columns: impl Into<Vec<Column>>,
        rows: impl IntoIterator<Item = Vec<String>>,
    ) -> Self {
        Self {
            columns: columns.into(),
            rows: rows.into_iter().collect(),
        }
    }
}

impl Column {
    /// A column of words.
    #[must_use]
    pub const fn text(name: String) -> Self {
        Self {
            name,
            numeric: false,
        }
    }

    /// A column of numbers.
    #[must_use]
    pub const fn number(name: String) -> Self {
        Self {
            name,
            numeric: true,
        }
    }
}

impl Part {
    pub(crate) fn plot(heading: impl Into<String>, plot: Plot) -> Self {
        Self {
            heading: heading.into(),
            plot: Some(plot),
            table: None,
            note: String::new(),
        }
    }

    pub(crate) fn table(heading: impl Into<String>, table: Table) -> Self {
        Self {
            heading: heading.into(),
            plot: None,
            table: Some(table),
            note: String::new(),
        }
    }

    pub(crate) fn note(self, note: impl Into<String>) -> Self {
        Self {
            note: note.into(),
            ..self
        }
    }
}

/// The budget; nothing for a judgement by eye.
fn budget(outcome: &Outcome, style: Style) -> Option<Part> {
    let heading = for_kind!(outcome, Outcome(own) => S, S::budget_of(own, style))?;
    let components: &[Component] = outcome.budget();
    if components.is_empty() {
        return Some(Part {
            heading,
            plot: None,
            table: None,
            note: said!(style, "budget-none"),
        });
    }
    let heading = said!(style, "budget-largest-first", budget = heading);
    let rows = components.iter().map(|component| {
        let dof = component.degrees_of_freedom;
        let (u, unit) = match &*component.unit {
            "um" => (style.micro_number(component.u, 4), style.small_sign()),
            unit => (style.number(component.u, 4), words::unit(unit)),
        };
        vec![
            style.term("component", &component.component),
            u,
            unit.to_owned(),
            dof.map_or_else(|| "∞".to_owned(), |dof| style.number(dof, 0)),
        ]
    });
    let columns = [
        Column::text(said!(style, "column-component")),
        Column::number(said!(style, "column-u")),
        Column::text(said!(style, "column-unit")),
        Column::number(said!(style, "column-degrees-of-freedom")),
    ];
    Some(Part::table(heading, Table::new(columns, rows)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn capitals_leave_the_reason_and_the_unit_as_they_are() {
        let undecided = Headline::of(
            Some(Verdict::Undecided),
            Some(Undecided::TooClose),
            "",
            Style::default(),
        );
        assert_eq!(undecided.to_string(), "undecided: too close to tell");
        assert_eq!(undecided.capitals(), "UNDECIDED: too close to tell");
        let left = Headline::new("4.2 µm left on diameter", "");
        assert_eq!(left.capitals(), "4.2 µm LEFT ON DIAMETER");
        let missing = Headline::of(None, None, "no limit stated", Style::default());
        assert_eq!(missing.capitals(), "NO LIMIT STATED");
    }
}
