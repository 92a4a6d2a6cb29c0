//! The first page: what a customer reads.

use super::font::Style;
use super::pages::{BLACK, Item, MARGIN, Pages, SMALL, TEXT};
use super::{table, text};
use crate::document::facts::{instruments, plan, results};
use metrology::uncertainty::Verdict;
use protocol::record::Record;

/// The side of the code.
const CODE: f32 = 92.0;
/// A name is cut here in the title.
const LONGEST_NAME: usize = 80;
/// What is kept for a signature.
const SIGNED: f32 = 74.0;

/// Part, taper wanted and found, verdicts, instruments, and a place to sign.
pub fn draw(pages: &mut Pages, record: &Record, seal: &str) {
    sealed(pages, seal);
    pages.keep_beside(CODE + 6.0);
    // The whole name stands below.
    let name = text::cut(&record.session.name, LONGEST_NAME);
    pages.title(&format!("Set-up record: {name}"));
    table::facts(pages, &plan::identification(&record.session));
    pages.keep_beside(0.0);
    if pages.pages.len() == 1 {
        pages.y = pages.y.max(46.0 + CODE);
    }
    let wanted = plan::wanted(&record.setup);
    if !wanted.is_empty() {
        pages.running_heading("Wanted");
        table::facts(pages, &wanted);
    }
    pages.running_heading("Results");
    if record.steps.is_empty() {
        pages.paragraph("The session has no steps.", TEXT);
    }
    table::table(pages, &results::results(record));
    if results::decides(record) {
        pages.paragraph(Verdict::RULE, SMALL);
    }
    pages.running_heading("Instruments");
    table::table(pages, &instruments::instruments(record));
    signature(pages);
}

/// The code with the seal, at the upper right.
fn sealed(pages: &mut Pages, seal: &str) {
    const SAYS: &str = "the record's seal";
    let style = Style::grey(7.0);
    let left = pages.paper.width - MARGIN - CODE;
    let top = pages.y - 10.0;
    pages.put(Item::Code([left, top], CODE, seal.to_owned()));
    let inset = (CODE - super::font::width(SAYS, style)) / 2.0;
    pages.put(Item::Text(
        [left + inset, top + CODE + 2.0],
        SAYS.into(),
        style,
    ));
}

/// Lines for date, name and signature.
fn signature(pages: &mut Pages) {
    pages.keep(SIGNED);
    pages.gap(SIGNED - 20.0);
    let room = pages.width();
    let shares = [("Date", 0.2), ("Name", 0.35), ("Signature", 0.45)];
    let mut left = MARGIN;
    let top = pages.y;
    for (name, share) in shares {
        let right = left + room * share - 14.0;
        pages.put(Item::Rule([left, top], [right, top], 0.7, BLACK));
        pages.put(Item::Text([left, top + 11.0], name.into(), SMALL));
        left += room * share;
    }
    pages.y = top + 20.0;
}
