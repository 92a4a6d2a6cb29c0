//! What a larger window has room for: what was remarked, the plan in full, the set-up, the budget, every cable; and the help.

use super::page::{Page, wrap};
use crate::watch::help;
use protocol::said;
use protocol::screen::{Entry, Screen};
use ratatui::text::{Line, Span};

/// Draws as much as there is room for; the plan, and so many remarks, stand elsewhere.
pub fn all(page: &mut Page<'_>, screen: &Screen, until: u16, (with_plan, told): (bool, usize)) {
    let style = page.look.words;
    for remark in screen.remarks.iter().skip(told) {
        entry(page, &said!(style, "watch-label-note"), remark, until);
    }
    if with_plan && !screen.plan.is_empty() {
        let label = said!(style, "watch-label-plan");
        entry(page, &label, &screen.plan.join(", "), until);
    }
    for Entry { label, text } in &screen.details {
        entry(page, label, text, until);
    }
    for (i, component) in screen.budget.iter().enumerate() {
        if page.y >= until {
            return;
        }
        let label = match i {
            0 => said!(style, "watch-label-budget"),
            _ => String::new(),
        };
        let component = page.look.text(component).into_owned();
        labelled(page, &label, component);
    }
}

const LABEL: usize = 9;
/// No entry needs more rows in a window that is wide enough to be read.
const MOST_ROWS: usize = 6;

fn entry(page: &mut Page<'_>, label: &str, text: &str, until: u16) {
    let room = page.width().saturating_sub(LABEL as u16);
    let text = page.look.text(text).into_owned();
    for (i, line) in wrap(&text, room, MOST_ROWS).into_iter().enumerate() {
        let label = if i == 0 { label } else { "" };
        if page.y < until {
            labelled(page, label, line);
        }
    }
}

fn labelled(page: &mut Page<'_>, label: &str, text: String) {
    let faint = page.look.faint();
    let label = page.look.text(label).into_owned();
    page.line(Line::from(vec![
        Span::styled(format!("{label:LABEL$}"), faint),
        Span::raw(text),
    ]));
}

/// The help from an entry on; never less than what fills the window.
pub fn help(page: &mut Page<'_>, (from, practising): (usize, bool), until: u16) {
    page.rule();
    let room = page.width().saturating_sub(LABEL as u16);
    let look = page.look;
    let entry = |(key, text): (String, String)| {
        let rows = wrap(&look.text(&text), room, usize::MAX)
            .into_iter()
            .enumerate();
        rows.map(|(row, line)| {
            let key = if row == 0 { key.clone() } else { String::new() };
            (key, line)
        })
        .collect::<Vec<_>>()
    };
    let entries: Vec<_> = help::entries(practising, look.words).map(entry).collect();
    let shown = usize::from(until.saturating_sub(page.y));
    let rows: usize = entries.iter().map(Vec::len).sum();
    let above: usize = entries.iter().take(from).map(Vec::len).sum();
    let above = above.min(rows.saturating_sub(shown));
    for (key, line) in entries.into_iter().flatten().skip(above).take(shown) {
        labelled(page, &key, line);
    }
}
