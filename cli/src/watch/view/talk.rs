//! What is said to the user and asked of the user: messages, what is being typed, and the line of keys.

use super::page::{Page, wrap};
use crate::watch::practice;
use crate::watch::state::{Message, Mode, Then, Tone, Watch};
use protocol::plan::StepKind;
use protocol::screen::place_wanted;
use ratatui::style::Color;
use ratatui::text::{Line, Span};

/// Words for the user, over the lowest rows: nothing else moves when they come and go.
pub fn overlay(page: &mut Page<'_>, watch: &Watch, until: u16) {
    let look = watch.look;
    let mut lines = Vec::new();
    if watch.mode == Mode::Menu {
        lines = menu(watch, page);
    } else if let Some(typed) = typed(watch) {
        // What was wrong with it stands above what is being typed.
        lines.extend(watch.message.iter().flat_map(|message| told(message, page)));
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

/// What is being typed, with what it is for.
fn typed(watch: &Watch) -> Option<String> {
    let status = watch.known.status.as_ref();
    Some(match &watch.mode {
        Mode::Note(text) => format!("note: {text}_"),
        Mode::Value(text) => {
            let next = watch.user().next(status, watch.style());
            let next = next.unwrap_or_else(|| "the next mark".to_owned());
            format!("value for {next}: {text}_")
        }
        Mode::Place { text, .. } => {
            format!("{}: {text}_", place_wanted(status?))
        }
        Mode::Judged(text) => format!("{}: {text}_", status?.step?.kind.judged()),
        Mode::Plain | Mode::Asked(_) | Mode::Menu | Mode::Help(_) => return None,
    })
}

/// From this width on, two entries of the menu stand beside each other.
const TWO_ENTRIES: u16 = 94;

/// The kinds of step, each with its key and what it is for.
fn menu(watch: &Watch, page: &Page<'_>) -> Vec<Line<'static>> {
    let look = page.look;
    let step = watch.known.status.as_ref().and_then(|status| status.step);
    let head = match step {
        Some(step) => format!(
            "WHICH STEP?  {} step {} is closed first",
            step.kind.word(),
            step.number
        ),
        None => "WHICH STEP?".to_owned(),
    };
    let entry = |(key, kind): (usize, StepKind)| {
        vec![
            Span::styled(format!("{key} {:8} ", kind.word()), look.strong()),
            Span::styled(format!("{:36}", kind.purpose()), look.faint()),
        ]
    };
    let entries: Vec<_> = (1..).zip(StepKind::ALL).map(entry).collect();
    // Two beside each other where there is room; else one below the other.
    let columns = if page.width() >= TWO_ENTRIES { 2 } else { 1 };
    let rows = entries.len().div_ceil(columns);
    let row = |row: usize| {
        Line::from(
            entries[row..]
                .iter()
                .step_by(rows)
                .flatten()
                .cloned()
                .collect::<Vec<_>>(),
        )
    };
    std::iter::once(Line::styled(head, look.plate(Color::Yellow)))
        .chain((0..rows).map(row))
        .collect()
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
    if let Some(bench) = &watch.practice {
        page.line(Line::styled(bench.row(), look.plate(Color::Blue)));
    }
    let parts: &[&str] = match &watch.mode {
        Mode::Plain if watch.practice.is_some() => practice::keys(look),
        Mode::Plain => &[
            "space MARK",
            "u undo",
            "c clamp",
            "n note",
            "? help",
            "q quit",
            "s step",
            "r new round",
            "o ground",
            "p place",
            "b sound",
            "0-9 type",
        ],
        Mode::Value(_) => &["enter marks it", "esc drops it"],
        Mode::Note(_) => &["enter keeps it", "esc drops it"],
        Mode::Place {
            then: Then::Keep, ..
        } => &["enter keeps it for the next mark", "esc drops it"],
        Mode::Place { .. } | Mode::Judged(_) => &["enter marks it", "esc drops it"],
        Mode::Menu => &["1-6 opens that step", "any other key goes back"],
        Mode::Asked(_) => &["y yes", "any other key: no"],
        Mode::Help(_) => &["any other key goes back", "space, up and down scroll"],
    };
    // A practice has more keys that nobody can guess.
    let apart = if watch.practice.is_some() {
        "  "
    } else {
        "   "
    };
    let mut line = String::new();
    for part in parts {
        let more = if line.is_empty() {
            (*part).to_owned()
        } else {
            format!("{apart}{part}")
        };
        if line.chars().count() + more.chars().count() <= usize::from(page.width()) {
            line.push_str(&more);
        }
    }
    page.line(Line::styled(line, look.faint()));
}
