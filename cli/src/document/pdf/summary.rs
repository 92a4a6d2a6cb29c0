//! The first page: what a customer reads.

use super::font::Lettering;
use super::pages::{BLACK, Item, MARGIN, Pages, SMALL, TEXT};
use super::{table, text};
use crate::document::facts::{instruments, plan, results};
use protocol::record::Record;
use protocol::said;
use protocol::style::Style;

/// The side of the code.
const CODE: f32 = 92.0;
/// A name is cut here in the title.
const LONGEST_NAME: usize = 80;
/// What is kept for a signature.
const SIGNED: f32 = 74.0;

/// Part, taper wanted and found, verdicts, instruments, and a place to sign.
pub fn draw(pages: &mut Pages, record: &Record, seal: &str, style: Style) {
    sealed(pages, seal, style);
    pages.keep_beside(CODE + 6.0);
    // The whole name stands below.
    let name = text::cut(&record.session.name, LONGEST_NAME);
    pages.title(&said!(style, "record-title", name = name));
    table::facts(pages, &plan::identification(record, style));
    pages.keep_beside(0.0);
    if pages.pages.len() == 1 {
        pages.y = pages.y.max(46.0 + CODE);
    }
    let wanted = plan::wanted(&record.setup, style);
    if !wanted.is_empty() {
        pages.running_heading(&said!(style, "wanted"));
        table::facts(pages, &wanted);
    }
    pages.running_heading(&said!(style, "results"));
    if record.steps.is_empty() {
        pages.paragraph(&said!(style, "no-steps"), TEXT);
    }
    table::table(pages, &results::results(record, style));
    if results::decides(record) {
        pages.paragraph(&said!(style, "rule-of-decision"), SMALL);
    }
    pages.running_heading(&said!(style, "instruments"));
    table::table(pages, &instruments::instruments(record, style));
    signature(pages, style);
}

/// The code with the seal, at the upper right.
fn sealed(pages: &mut Pages, seal: &str, style: Style) {
    let says = said!(style, "the-records-seal");
    let style = Lettering::grey(7.0);
    let left = pages.paper.width - MARGIN - CODE;
    let top = pages.y - 10.0;
    pages.put(Item::Code([left, top], CODE, seal.to_owned()));
    let inset = (CODE - super::font::width(&says, style)) / 2.0;
    pages.put(Item::Text([left + inset, top + CODE + 2.0], says, style));
}

/// Lines for date, name and signature.
fn signature(pages: &mut Pages, style: Style) {
    pages.keep(SIGNED);
    pages.gap(SIGNED - 20.0);
    let room = pages.width();
    let shares = [
        (said!(style, "signature-date"), 0.2),
        (said!(style, "signature-name"), 0.35),
        (said!(style, "signature"), 0.45),
    ];
    let mut left = MARGIN;
    let top = pages.y;
    for (name, share) in shares {
        let right = left + room * share - 14.0;
        pages.put(Item::Rule([left, top], [right, top], 0.7, BLACK));
        pages.put(Item::Text([left, top + 11.0], name, SMALL));
        left += room * share;
    }
    pages.y = top + 20.0;
}
