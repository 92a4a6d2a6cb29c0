//! A step's pages: verdict, figures, plots, tables, budget, marks.

use super::pages::{Pages, SMALL, TEXT};
use super::paint::Unwritten;
use super::{plot, table};
use crate::document::facts::{self, instruments, step};
use metrology::setup::Setup;
use protocol::fold::Outcome;
use protocol::record::StepRecord;
use protocol::said;
use protocol::sheet::{Part, Sheet};
use protocol::style::Style;

/// A step under its heading.
pub fn draw(
    pages: &mut Pages,
    setup: &Setup,
    of: &StepRecord,
    style: Style,
) -> Result<(), Unwritten> {
    pages.running_heading(&step::heading(of, style));
    pages.paragraph(&step::when(of, style), SMALL);
    match &of.outcome {
        Some(outcome) => came_to(pages, setup, of, outcome, style)?,
        None => pages.paragraph(&step::no_outcome(of, style), TEXT),
    }
    if let Some(marks) = step::marks(of, style) {
        pages.minor_heading(&said!(style, "marks"), 40.0);
        if let Some(shown) = &marks.shown {
            pages.paragraph(shown, TEXT);
        }
        table::table(pages, &marks.table);
        if let Some(taken_back) = &marks.taken_back {
            pages.paragraph(taken_back, TEXT);
        }
    }
    Ok(())
}

fn came_to(
    pages: &mut Pages,
    setup: &Setup,
    of: &StepRecord,
    outcome: &Outcome,
    style: Style,
) -> Result<(), Unwritten> {
    let sheet = Sheet::of(setup, outcome, Some(of), style);
    for headline in &sheet.headlines {
        pages.verdict(&headline.capitals());
    }
    table::facts(pages, &facts::figures(&sheet.figures, style));
    if let Some(check) = of.plan.indicator.as_ref().and_then(|i| i.check.as_ref()) {
        pages.paragraph(&instruments::of_step(check, style), TEXT);
    }
    pages.list(&sheet.sentences);
    for of in &sheet.parts {
        part(pages, of, style)?;
    }
    Ok(())
}

fn part(pages: &mut Pages, part: &Part, style: Style) -> Result<(), Unwritten> {
    let placed = part.plot.as_ref();
    let placed = placed.map(|of| plot::placed(of, pages.width(), style));
    let below = placed.as_ref().map_or(40.0, |placed| placed.height);
    pages.minor_heading(&part.heading, below);
    if let Some(placed) = placed {
        plot::draw(pages, placed);
    }
    if let Some(of) = &part.table {
        table::table(pages, of);
    }
    if !part.note.is_empty() {
        pages.paragraph(&part.note, SMALL);
    }
    Ok(())
}
