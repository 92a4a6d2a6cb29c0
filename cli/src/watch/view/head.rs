//! The head of the window: where the user is, and what is wrong now.

use super::LEAST;
use super::page::{Page, wrap};
use crate::watch::figures::age;
use crate::watch::state::{Link, Watch};
use crate::watch::words;
use ratatui::style::Color;
use ratatui::text::{Line, Span};

/// Which session, which step, and how the indicator's cable is.
pub fn header(page: &mut Page<'_>, watch: &Watch, now_s: f64) {
    let look = watch.look;
    let title = match &watch.status {
        None => "conewright".to_owned(),
        Some(status) => match (&status.session, status.step) {
            (None, _) => "conewright: no session".to_owned(),
            (Some(session), None) => format!("{}: session {}, no step", session.name, session.id),
            (Some(session), Some(step)) => format!(
                "{}: session {}, {} step {}",
                session.name,
                session.id,
                step.kind.word(),
                step.number
            ),
        },
    };
    let state = match watch.indicator(now_s) {
        None if watch.status.is_some() => Line::from("values are typed"),
        None => Line::default(),
        Some(indicator) => {
            let state = words::cable_state(indicator.cable, indicator.age_s, indicator.current);
            let skipped = match indicator.cable.skipped_bytes {
                0 => String::new(),
                _ if page.width() < 60 || !watch.skips(now_s) => String::new(),
                n => format!("{n} bytes skipped, "),
            };
            let style = if indicator.current {
                look.ink(Color::Green)
            } else {
                look.plate(Color::Yellow)
            };
            Line::from(vec![
                Span::raw(format!("{skipped}{} ", indicator.cable.name)),
                Span::styled(format!(" {state} "), style),
            ])
        }
    };
    page.sides(
        Line::styled(look.text(&title).into_owned(), look.strong()),
        state,
    );
}

/// What is wrong now, and would otherwise be taken for a fault of the set-up.
pub fn notices(page: &mut Page<'_>, watch: &Watch, now_s: f64, until: u16) {
    let look = watch.look;
    let mut tell = |word: &str, text: &str| {
        for line in wrap(&look.text(&format!("{word}: {text}")), page.width(), 2) {
            if page.y + LEAST < until {
                page.line(Line::styled(line, look.plate(Color::Yellow)));
            }
        }
    };
    match &watch.link {
        Link::Lost { since_s, why } => {
            let age = age(now_s - since_s);
            tell(
                &format!("NO CONNECTION {age}"),
                &format!("{why}; what is shown is old"),
            );
        }
        Link::Waiting => tell("CONNECTING", "waiting for the background process"),
        Link::Up => {}
    }
    if let Some(detail) = watch.indicator(now_s).and_then(|i| {
        let detail = i.cable.detail.as_deref()?;
        (!i.current).then(|| (i.cable.name.clone(), detail.to_owned()))
    }) {
        tell(&detail.0, &detail.1);
    }
    if let Some(double) = watch.status.as_ref().and_then(|s| s.double_press.as_ref()) {
        let (happened, asked) = words::double_press(double, look.units);
        let asked = format!("{asked} space yes, u no");
        tell(&happened.to_uppercase(), &asked);
    }
    if let Some(notice) = watch.status.as_ref().and_then(|s| s.notice.as_deref()) {
        tell("NOTICE", notice);
    }
}
