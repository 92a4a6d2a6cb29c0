//! The frame of the page, and what it is put together from: one self-contained file that prints on A4.
//!
//! The template library escapes all text that is put into it.

use super::{plot, utc};
use crate::shown::shown;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use protocol::sheet::{Figure, Part};

/// Styles for screen and paper.
const STYLE: &str = include_str!("page.css");

/// A table with more rows is cut in parts.
const LONG: usize = 12;
/// So many parts have room beside each other.
const PARTS: usize = 2;

/// The whole page.
pub fn page(title: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width";
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                h1 { (title) }
                (body)
            }
        }
    };
    let mut page = page.into_string();
    page.push('\n');
    page.retain(is_text);
    shown(&page).into_owned()
}

/// What is left out, HTML and SVG cannot hold: control characters, and two that are none.
fn is_text(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\r') || !(c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}'))
}

/// With a capital at its beginning; a name that begins with a symbol stays as it is.
pub fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A figure in one line, a moment by UTC.
pub fn figure_text(figure: &Figure) -> String {
    let text = figure.text(|t| format!("{} UTC", utc(t)));
    text.replace('\n', "; ")
}

/// A list; nothing for nothing.
pub fn list(items: &[String]) -> Markup {
    html! {
        @if !items.is_empty() {
            ul { @for item in items { li { (item) } } }
        }
    }
}

/// Names with what they are; those without a value are left out.
pub fn facts<'a>(facts: impl IntoIterator<Item = (&'a str, Option<String>)>) -> Markup {
    let facts = facts.into_iter();
    let mut stated = facts
        .filter_map(|(name, value)| Some((name, value?)))
        .peekable();
    html! {
        @if stated.peek().is_some() {
            table.facts {
                @for (name, value) in stated { tr { th { (name) } td { (value) } } }
            }
        }
    }
}

/// Figures by name.
pub fn figures(figures: &[Figure]) -> Markup {
    let names: Vec<String> = figures.iter().map(|figure| capital(figure.name)).collect();
    let values = figures.iter().map(|figure| Some(figure_text(figure)));
    facts(names.iter().map(String::as_str).zip(values))
}

/// A part of a sheet under its heading.
pub fn part(part: &Part) -> Markup {
    html! {
        h3 { (part.heading) }
        @if let Some(plot) = &part.plot { (plot::draw(plot)) }
        @if let Some(of) = &part.table {
            @let columns: Vec<(String, bool)> = of.columns.iter().map(|c| (capital(c.name), c.numeric)).collect();
            (rows(&columns, &of.rows))
        }
        @if !part.note.is_empty() { p.source { (part.note) } }
    }
}

/// A table; the columns whose heading begins with `#` hold numbers and stand to the right.
///
/// One without rows is left out.
pub fn table(headings: &[&str], of: &[Vec<String>]) -> Markup {
    let headings = headings.iter();
    let columns: Vec<(String, bool)> = headings
        .map(|h| (h.trim_start_matches('#').to_owned(), h.starts_with('#')))
        .collect();
    rows(&columns, of)
}

fn rows(columns: &[(String, bool)], rows: &[Vec<String>]) -> Markup {
    html! {
        @if !rows.is_empty() {
            table {
                tr { @for (name, numeric) in columns { th.n[*numeric] { (name) } } }
                @for row in rows {
                    tr {
                        @for ((_, numeric), text) in columns.iter().zip(row) { td.n[*numeric] { (text) } }
                    }
                }
            }
        }
    }
}

/// Two sides of the same things, each of the same width.
pub fn sides(headings: &[String; 2], rows: &[[String; 3]]) -> Markup {
    html! {
        table.sides {
            tr { th {} @for heading in headings { th { (heading) } } }
            @for [name, left, right] in rows { tr { th { (name) } td { (left) } td { (right) } } }
        }
    }
}

/// A long table cut into parts that stand beside each other; a column that is empty in every row is left out.
pub fn long_table(headings: &[&str], rows: Vec<Vec<String>>) -> Markup {
    let filled: Vec<bool> = (0..headings.len())
        .map(|column| rows.iter().any(|row| !row[column].is_empty()))
        .collect();
    let kept = |cells: Vec<String>| -> Vec<String> {
        let cells = cells.into_iter().zip(&filled);
        cells.filter(|(_, f)| **f).map(|(c, _)| c).collect()
    };
    let headings = headings.iter().zip(&filled);
    let headings: Vec<&str> = headings.filter(|(_, f)| **f).map(|(h, _)| *h).collect();
    let parts = rows.len().div_ceil(LONG).clamp(1, PARTS);
    let each = rows.len().div_ceil(parts).max(1);
    let rows: Vec<Vec<String>> = rows.into_iter().map(kept).collect();
    html! {
        div.parts { @for part in rows.chunks(each) { (table(&headings, part)) } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_page_cannot_hold_is_left_out() {
        let page = page("a\u{1b}[0m<b>\u{0}\tc", &html! {});
        assert!(page.contains("<h1>a[0m&lt;b&gt;\tc</h1>"), "{page}");
    }
}
