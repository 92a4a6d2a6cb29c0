//! What a document says of a record, as data: page and PDF print the same facts.

pub mod happened;
pub mod instruments;
pub mod pairs;
pub mod plan;
pub mod results;
pub mod step;

use super::utc;
use protocol::evidence::Time;
use protocol::said;
use protocol::sheet::{Figure, Table};
use protocol::style::Style;

/// A name, and what it is.
pub type Fact = (String, String);

/// The facts that are known.
pub fn known(facts: impl IntoIterator<Item = (String, Option<String>)>) -> Vec<Fact> {
    let facts = facts.into_iter();
    facts
        .filter_map(|(name, value)| Some((name, value?)))
        .collect()
}

/// A moment by UTC, in words.
pub fn moment(t: Time, style: Style) -> String {
    said!(style, "utc", moment = utc(t))
}

/// With a capital at its beginning. A name that begins with a symbol stays as it is: u is a standard uncertainty, and U another.
pub fn capital(name: &str) -> String {
    if name == "u" || name.starts_with("u,") {
        return name.to_owned();
    }
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A figure in one line, a moment by UTC.
pub fn figure_text(figure: &Figure, style: Style) -> String {
    let text = figure.text(|t| moment(t, style));
    text.replace('\n', "; ")
}

/// Figures by name.
pub fn figures<'a>(figures: impl IntoIterator<Item = &'a Figure>, style: Style) -> Vec<Fact> {
    let figures = figures.into_iter();
    figures
        .map(|figure| (capital(&figure.name), figure_text(figure, style)))
        .collect()
}

/// Cautions, as far as the language has them.
pub fn cautions(cautions: &[String], style: Style) -> Vec<String> {
    let cautions = cautions.iter();
    cautions.map(|text| style.term("caution", text)).collect()
}

/// The table without the columns that are empty in every row.
pub fn filled(table: Table) -> Table {
    let of = |index: &usize| table.rows.iter().any(|row| !row[*index].is_empty());
    let kept: Vec<usize> = (0..table.columns.len()).filter(of).collect();
    let rows = table.rows.iter();
    Table {
        columns: kept
            .iter()
            .map(|index| table.columns[*index].clone())
            .collect(),
        rows: rows
            .map(|row| kept.iter().map(|index| row[*index].clone()).collect())
            .collect(),
    }
}
