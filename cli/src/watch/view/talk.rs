//! What is said to the user and asked of the user: messages, what is being typed, and the line of keys.

use super::page::{Page, wrap};
use crate::watch::practice;
use crate::watch::state::{Message, Mode, Then, Tone, Watch};
use protocol::plan::StepKind;
use protocol::said;
use protocol::screen::place_wanted;
use protocol::style::Style;
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
    let style = watch.style();
    Some(match &watch.mode {
        Mode::Note(text) => format!("{}: {text}_", said!(style, "watch-note")),
        Mode::Value(text) => {
            let next = watch.user().next(status, style);
            let next = next.unwrap_or_else(|| said!(style, "watch-the-next-mark"));
            format!("{}: {text}_", said!(style, "watch-value-for", place = next))
        }
        Mode::Place { text, .. } => {
            format!("{}: {text}_", place_wanted(status?, style))
        }
        Mode::Judged(text) => {
            let judged = status?.step?.kind.judged();
            format!("{}: {text}_", style.term("judged", judged))
        }
        Mode::Plain | Mode::Asked(_) | Mode::Menu | Mode::Help(_) => return None,
    })
}

/// Columns of a kind in the menu, at least, and of what it is for.
const KIND: usize = 8;
const PURPOSE: usize = 36;

/// The kinds of step, each with its key and what it is for.
fn menu(watch: &Watch, page: &Page<'_>) -> Vec<Line<'static>> {
    let look = page.look;
    let step = watch.known.status.as_ref().and_then(|status| status.step);
    let style = look.words;
    let head = match step {
        Some(step) => said!(
            style,
            "watch-which-step-closed",
            kind = style.term("kind", step.kind.word()),
            step = step.number
        ),
        None => said!(style, "watch-which-step"),
    };
    let said = |of: &str, term: &str| look.text(&style.term(of, term)).into_owned();
    let kinds = StepKind::ALL.map(|kind| said("kind", kind.word()));
    let wide = kinds.iter().map(|kind| kind.chars().count()).max();
    let wide = wide.unwrap_or(0).max(KIND);
    let entry = |(key, kind): (usize, StepKind)| {
        let word = said("kind", kind.word());
        let purpose = said("purpose", kind.purpose());
        vec![
            Span::styled(format!("{key} {word:wide$} "), look.strong()),
            Span::styled(format!("{purpose:PURPOSE$}"), look.faint()),
        ]
    };
    let each = 3 + wide + PURPOSE;
    let entries: Vec<_> = (1..).zip(StepKind::ALL).map(entry).collect();
    // Two beside each other where there is room; else one below the other.
    let columns = if usize::from(page.width()) >= 2 * each {
        2
    } else {
        1
    };
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
    std::iter::once(Line::styled(
        look.text(&head).into_owned(),
        look.plate(Color::Yellow),
    ))
    .chain((0..rows).map(row))
    .collect()
}

fn told(message: &Message, page: &Page<'_>) -> Vec<Line<'static>> {
    let look = page.look;
    let words = look.words;
    let said = &*message.text;
    let (text, style) = match message.tone {
        Tone::Done => (said.to_owned(), look.strong()),
        Tone::Refused => (
            said!(words, "watch-not-done", what = said),
            look.plate(Color::Red),
        ),
        Tone::Question => (
            said!(words, "watch-sure", what = said),
            look.plate(Color::Yellow),
        ),
    };
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
    // A practice has more keys that nobody can guess.
    let (parts, apart) = match &watch.mode {
        Mode::Plain if watch.practice.is_some() => {
            let keys = practice::keys(look).iter().copied();
            (keys.map(str::to_owned).collect(), "  ")
        }
        mode if watch.practice.is_some() => (parts(mode, look.words), "  "),
        mode => (parts(mode, look.words), "   "),
    };
    let mut line = String::new();
    for part in parts {
        let part = look.text(&part);
        let more = if line.is_empty() {
            part.into_owned()
        } else {
            format!("{apart}{part}")
        };
        if line.chars().count() + more.chars().count() <= usize::from(page.width()) {
            line.push_str(&more);
        }
    }
    page.line(Line::styled(line, look.faint()));
}

/// The keys that do something, each with what it does; where there is no room for all, the first are told.
fn parts(mode: &Mode, style: Style) -> Vec<String> {
    let esc = || said!(style, "watch-esc-drops");
    match mode {
        Mode::Plain => vec![
            said!(style, "watch-key-mark"),
            said!(style, "watch-key-undo"),
            said!(style, "watch-key-clamp"),
            said!(style, "watch-key-note"),
            said!(style, "watch-key-help"),
            said!(style, "watch-key-quit"),
            said!(style, "watch-key-step"),
            said!(style, "watch-key-round"),
            said!(style, "watch-key-ground"),
            said!(style, "watch-key-place"),
            said!(style, "watch-key-sound"),
            said!(style, "watch-key-type"),
        ],
        Mode::Note(_) => vec![said!(style, "watch-enter-keeps"), esc()],
        Mode::Place {
            then: Then::Keep, ..
        } => vec![said!(style, "watch-enter-keeps-next"), esc()],
        Mode::Value(_) | Mode::Place { .. } | Mode::Judged(_) => {
            vec![said!(style, "watch-enter-marks"), esc()]
        }
        Mode::Menu => vec![
            said!(style, "watch-key-opens"),
            said!(style, "watch-key-back"),
        ],
        Mode::Asked(_) => vec![said!(style, "watch-key-yes"), said!(style, "watch-key-no")],
        Mode::Help(_) => vec![
            said!(style, "watch-key-back"),
            said!(style, "watch-key-scroll"),
        ],
    }
}
