//! A record as a document to hand over: a page of summary, the plan, a page for each step, then notes and cautions.

use super::font::printable;
use super::pages::{Pages, Paper, SMALL, TEXT};
use super::paint::{self, Imprint, Unwritten};
use super::{plot, step, summary, table};
use crate::document::facts::pairs::{Pair, one_scale, pairs};
use crate::document::facts::{cautions, happened, plan};
use protocol::record::Record;
use protocol::said;
use protocol::style::Style;

/// The record on paper.
///
/// # Errors
/// The library does not accept what it was given.
pub fn write(record: &Record, paper: Paper, style: Style) -> Result<Vec<u8>, Unwritten> {
    let seal = record.sealed();
    let title = said!(style, "record-title", name = record.session.name.as_str());
    let mut pages = Pages::on_one(paper, style, |pages| {
        summary::draw(pages, record, &seal, style);
    });
    planned(&mut pages, record, style)?;
    for of in &record.steps {
        pages.fresh();
        step::draw(&mut pages, &record.setup, of, style)?;
    }
    pages.fresh();
    happened_and_cautions(&mut pages, record, style);
    let session = &record.session;
    let imprint = Imprint {
        title: printable(&title),
        below: said!(style, "record-seal", seal = &*seal),
        of: session.closed_utc_ns.unwrap_or(session.opened_utc_ns),
        program: format!("Conewright {}", record.program),
        style,
    };
    paint::write(pages, &imprint)
}

/// The plan, and what the part was as found and as left.
fn planned(pages: &mut Pages, record: &Record, style: Style) -> Result<(), Unwritten> {
    pages.fresh();
    pages.running_heading(&said!(style, "plan"));
    table::facts(pages, &plan::plan(&record.setup, style));
    if let Some(taper) = &record.setup.taper {
        let source = said!(style, "taper-source", source = taper.source.as_str());
        pages.paragraph(&source, SMALL);
    }
    let pairs = pairs(record, style);
    if !pairs.is_empty() {
        pages.running_heading(&said!(style, "as-found-and-as-left"));
    }
    for of in &pairs {
        pair(pages, of, style)?;
    }
    Ok(())
}

fn pair(pages: &mut Pages, pair: &Pair, style: Style) -> Result<(), Unwritten> {
    pages.minor_heading(&pair.kind, 40.0);
    table::sides(pages, &pair.headings, &pair.rows);
    if let Some(of) = &pair.plot {
        let placed = plot::placed(of, pages.width(), style);
        pages.keep(placed.height + SMALL.line());
        plot::draw(pages, placed);
        pages.paragraph(&one_scale(style), SMALL);
    }
    Ok(())
}

fn happened_and_cautions(pages: &mut Pages, record: &Record, style: Style) {
    let events = happened::events(record, style);
    let cables = happened::cables(record, style);
    if !(events.rows.is_empty() && cables.rows.is_empty()) {
        pages.running_heading(&said!(style, "notes-and-events"));
        table::table(pages, &events);
        table::table(pages, &cables);
    }
    if !record.cautions.is_empty() {
        pages.running_heading(&said!(style, "cautions"));
        pages.list(&cautions(&record.cautions, style));
    }
    pages.gap(6.0);
    pages.paragraph(&happened::written_by(record, style), TEXT);
}
