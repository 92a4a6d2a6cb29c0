//! What a larger window has room for: what was remarked, the plan in full, the set-up, the budget, every cable; and the help.

use super::page::{Page, wrap};
use protocol::screen::{Entry, Screen};
use ratatui::text::{Line, Span};

/// Draws as much as there is room for; the plan, and so many remarks, stand elsewhere.
pub fn all(page: &mut Page<'_>, screen: &Screen, until: u16, (with_plan, told): (bool, usize)) {
    for remark in screen.remarks.iter().skip(told) {
        entry(page, "NOTE", remark, until);
    }
    if with_plan && !screen.plan.is_empty() {
        entry(page, "PLAN", &screen.plan.join(", "), until);
    }
    for Entry { label, text } in &screen.details {
        entry(page, label, text, until);
    }
    for (i, component) in screen.budget.iter().enumerate() {
        if page.y >= until {
            return;
        }
        let label = if i == 0 { "BUDGET" } else { "" };
        let component = page.look.text(component).into_owned();
        labelled(page, label, component);
    }
}

const LABEL: usize = 9;

fn entry(page: &mut Page<'_>, label: &str, text: &str, until: u16) {
    let room = page.width().saturating_sub(LABEL as u16);
    let text = page.look.text(text).into_owned();
    for (i, line) in wrap(&text, room, 3).into_iter().enumerate() {
        let label = if i == 0 { label } else { "" };
        if page.y < until {
            labelled(page, label, line);
        }
    }
}

fn labelled(page: &mut Page<'_>, label: &str, text: String) {
    let faint = page.look.faint();
    page.line(Line::from(vec![
        Span::styled(format!("{label:LABEL$}"), faint),
        Span::raw(text),
    ]));
}

const HELP: [(&str, &str); 14] = [
    (
        "space",
        "marks the next station with the settled reading there; enter does the same",
    ),
    (
        "0-9 + -",
        "begin a typed value for the next station: 0.0125, 12.5um, -3.5div",
    ),
    (
        "u",
        "takes the last mark back, after y; the record keeps it as taken back",
    ),
    ("r", "the next mark begins a new round"),
    (
        "c",
        "the clamp was tightened, or loosened: the next round measures the shift",
    ),
    (
        "o",
        "the part was ground: what is marked from now on is of a new state of it",
    ),
    (
        "p",
        "says where the next mark is, when it is not the next in order",
    ),
    (
        "g",
        "the indicator now stands at the place of the target: the bar counts down",
    ),
    ("n", "a note into the session"),
    ("s", "a menu of the six steps; the open one is closed first"),
    (
        "q",
        "leaves; the background process, the session and the step go on",
    ),
    ("", ""),
    (
        "tap",
        "at the station that the advice names, until the bar is gone; then mark a round",
    ),
    (
        "hatched",
        "digits drawn hatched are old: they are not what the indicator shows now",
    ),
];

/// What the keys do.
pub fn help(page: &mut Page<'_>, until: u16) {
    page.rule();
    for (key, text) in HELP {
        entry(page, key, text, until);
        if key.is_empty() {
            page.blank();
        }
    }
}
