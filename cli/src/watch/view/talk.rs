//! What is said to the user and asked of the user: messages, what is being typed, and the line of keys.

use super::page::{Page, wrap};
use crate::watch::state::{Message, Mode, Tone, Watch};
use ratatui::style::Color;
use ratatui::text::Line;

/// Words for the user, over the lowest rows: nothing else moves when they come and go.
pub fn overlay(page: &mut Page<'_>, watch: &Watch, until: u16) {
    let look = watch.look;
    let typed = match &watch.mode {
        Mode::Note(text) => Some(format!("note: {text}_")),
        Mode::Value(text) => {
            let next = watch
                .status
                .as_ref()
                .and_then(|s| s.next_station.as_deref())
                .unwrap_or("the next station");
            Some(format!("value for {next}: {text}_"))
        }
        _ => None,
    };
    let mut lines = Vec::new();
    if let Some(typed) = typed {
        let wrapped = wrap(&look.text(&typed), page.width(), 40);
        // What is being typed is seen at its end.
        let from = wrapped.len().saturating_sub(3);
        lines.extend(
            wrapped[from..]
                .iter()
                .map(|l| Line::styled(l.clone(), look.strong())),
        );
    } else if let Some(message) = &watch.message {
        lines = told(message, page);
    }
    let from = until.saturating_sub(lines.len() as u16);
    if !lines.is_empty() && from > 1 {
        page.clear(from.saturating_sub(1), until);
        page.y = from - 1;
        page.rule();
    }
    page.y = page.y.max(from.max(1));
    for line in lines {
        if page.y < until {
            page.line(line);
        }
    }
}

fn told(message: &Message, page: &Page<'_>) -> Vec<Line<'static>> {
    let look = page.look;
    let (word, style) = match message.tone {
        Tone::Done => ("", look.strong()),
        Tone::Refused => ("NOT DONE: ", look.plate(Color::Red)),
        Tone::Question => ("SURE?  ", look.plate(Color::Yellow)),
    };
    let text = format!("{word}{}", message.text);
    let mut lines: Vec<_> = wrap(&look.text(&text), page.width(), 4)
        .into_iter()
        .map(|line| Line::styled(line, style))
        .collect();
    if let Some(hint) = &message.hint {
        let hint = wrap(&look.text(hint), page.width(), 3);
        lines.extend(hint.into_iter().map(Line::raw));
    }
    lines
}

/// What the keys do now; in the demo, what the simulated hand does.
pub fn keys(page: &mut Page<'_>, watch: &Watch) {
    let look = watch.look;
    if let Some(steering) = &watch.steering {
        page.line(Line::styled(
            look.text(&format!(" {} ", steering.caption)).into_owned(),
            look.plate(Color::Blue),
        ));
        return;
    }
    let parts: &[&str] = match &watch.mode {
        Mode::Plain => &[
            "space MARK",
            "u undo",
            "c clamp",
            "n note",
            "? help",
            "q quit",
            "s step",
            "r new round",
            "0-9 type",
        ],
        Mode::Value(_) => &["enter marks it", "esc drops it"],
        Mode::Note(_) => &["enter keeps it", "esc drops it"],
        Mode::Asked(_) => &["y yes", "any other key: no"],
        Mode::Help => &["any key goes back"],
    };
    let mut line = String::new();
    for part in parts {
        let more = if line.is_empty() {
            (*part).to_owned()
        } else {
            format!("   {part}")
        };
        if line.len() + more.len() <= usize::from(page.width()) {
            line.push_str(&more);
        }
    }
    page.line(Line::styled(line, look.faint()));
}
