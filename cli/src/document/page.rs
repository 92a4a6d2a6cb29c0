//! The frame of the page, and what it is put together from: one self-contained file that prints on A4.
//!
//! The template library escapes all text that is put into it.

use super::facts::{Fact, capital};
use super::plot;
use crate::shown::shown;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use protocol::sheet::{Column, Part, Table};
use protocol::style::Style;

/// Styles for screen and paper.
const STYLE: &str = include_str!("page.css");

/// A table with more rows is cut in parts.
const LONG: usize = 12;
/// So many parts have room beside each other.
const PARTS: usize = 2;

/// The whole page.
pub fn page(title: &str, body: &Markup, style: Style) -> String {
    let page = html! {
        (DOCTYPE)
        html lang=(style.language.tag()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width";
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                title { (title) }
                style { (PreEscaped(STYLE)) (PreEscaped(plot::look::css())) }
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

/// A list; nothing for nothing.
pub fn list(items: &[String]) -> Markup {
    html! {
        @if !items.is_empty() {
            ul { @for item in items { li { (item) } } }
        }
    }
}

/// Names with what they are.
pub fn facts(facts: &[Fact]) -> Markup {
    html! {
        @if !facts.is_empty() {
            div.wide {
                table.facts {
                    @for (name, value) in facts { tr { th { (name) } td { (value) } } }
                }
            }
        }
    }
}

/// A part of a sheet under its heading.
pub fn part(part: &Part, style: Style) -> Markup {
    html! {
        h3 { (part.heading) }
        @if let Some(plot) = &part.plot { (plot::draw(plot, style)) }
        @if let Some(of) = &part.table { (table(of)) }
        @if !part.note.is_empty() { p.source { (part.note) } }
    }
}

/// A table; one without rows is left out.
pub fn table(of: &Table) -> Markup {
    rows(&of.columns, &of.rows)
}

fn rows(columns: &[Column], rows: &[Vec<String>]) -> Markup {
    html! {
        @if !rows.is_empty() {
            div.wide {
                table {
                    tr { @for of in columns { th.n[of.numeric] { (capital(&of.name)) } } }
                    @for row in rows {
                        tr { @for (of, text) in columns.iter().zip(row) { td.n[of.numeric] { (text) } } }
                    }
                }
            }
        }
    }
}

/// Two sides of the same things, each of the same width.
pub fn sides(headings: &[String; 2], rows: &[[String; 3]]) -> Markup {
    html! {
        div.wide {
            table.sides {
                tr { th {} @for heading in headings { th { (heading) } } }
                @for [name, left, right] in rows { tr { th { (name) } td { (left) } td { (right) } } }
            }
        }
    }
}

/// A long table cut into parts that stand beside each other.
pub fn long_table(of: &Table) -> Markup {
    let parts = of.rows.len().div_ceil(LONG).clamp(1, PARTS);
    let each = of.rows.len().div_ceil(parts).max(1);
    html! {
        div.parts { @for part in of.rows.chunks(each) { (rows(&of.columns, part)) } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_page_cannot_hold_is_left_out() {
        let page = page("a\u{1b}[0m<b>\u{0}\tc", &html! {}, Style::default());
        assert!(page.contains("<h1>a[0m&lt;b&gt;\tc</h1>"), "{page}");
    }
}
