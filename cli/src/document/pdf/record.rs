//! A record as a document to hand over: a page of summary, the plan, a page for each step, then notes and cautions.

use super::font::printable;
use super::pages::{Pages, Paper, SMALL, TEXT};
use super::paint::{self, Imprint, Unwritten};
use super::{plot, step, summary, table};
use crate::document::facts::pairs::{ONE_SCALE, Pair, pairs};
use crate::document::facts::{happened, plan};
use protocol::record::Record;

/// The record on paper.
///
/// # Errors
/// The library does not accept what it was given.
pub fn write(record: &Record, paper: Paper) -> Result<Vec<u8>, Unwritten> {
    let seal = record.seal();
    let title = format!("Set-up record: {}", record.session.name);
    let mut pages = Pages::new(paper);
    summary::draw(&mut pages, record, &seal);
    planned(&mut pages, record)?;
    for of in &record.steps {
        pages.fresh();
        step::draw(&mut pages, &record.setup, of)?;
    }
    pages.fresh();
    happened_and_cautions(&mut pages, record);
    let session = &record.session;
    let imprint = Imprint {
        title: printable(&title),
        below: format!("Seal {seal}"),
        of: session.closed_utc_ns.unwrap_or(session.opened_utc_ns),
        program: format!("Conewright {}", record.program),
    };
    paint::write(pages, &imprint)
}

/// The plan, and what the part was as found and as left.
fn planned(pages: &mut Pages, record: &Record) -> Result<(), Unwritten> {
    pages.fresh();
    pages.running_heading("Plan");
    table::facts(pages, &plan::plan(&record.setup));
    if let Some(taper) = &record.setup.taper {
        pages.paragraph(&format!("Taper: {}", taper.source), SMALL);
    }
    let pairs = pairs(record);
    if !pairs.is_empty() {
        pages.running_heading("As found and as left");
    }
    for of in &pairs {
        pair(pages, of)?;
    }
    Ok(())
}

fn pair(pages: &mut Pages, pair: &Pair) -> Result<(), Unwritten> {
    pages.minor_heading(pair.kind, 40.0);
    table::sides(pages, &pair.headings, &pair.rows);
    if let Some(of) = &pair.plot {
        let placed = plot::placed(of, pages.width());
        pages.keep(placed.height + SMALL.line());
        plot::draw(pages, placed);
        pages.paragraph(ONE_SCALE, SMALL);
    }
    Ok(())
}

fn happened_and_cautions(pages: &mut Pages, record: &Record) {
    let (events, cables) = (happened::events(record), happened::cables(record));
    if !(events.rows.is_empty() && cables.rows.is_empty()) {
        pages.running_heading("Notes and events");
        table::table(pages, &events);
        table::table(pages, &cables);
    }
    if !record.cautions.is_empty() {
        pages.running_heading("Cautions");
        pages.list(&record.cautions);
    }
    pages.gap(6.0);
    pages.paragraph(&happened::written_by(record), TEXT);
}
