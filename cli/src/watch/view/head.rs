//! The head of the window: where the user is, and what is wrong now.

use super::page::{Page, wrap};
use crate::watch::state::{Link, Watch};
use protocol::said;
use protocol::screen::{Entry, Meaning, Screen, age};
use ratatui::text::{Line, Span};

/// Which session, which step, and how the indicator's cable is.
pub fn header(page: &mut Page<'_>, screen: &Screen) {
    let look = page.look;
    let mut spans = Vec::new();
    if let Some(source) = &screen.source {
        if let Some(skipped) = source.skipped.as_ref().filter(|_| page.width() >= 60) {
            spans.push(Span::raw(format!("{}, ", look.text(skipped))));
        }
        spans.push(Span::raw(look.text(&source.name).into_owned()));
        if let Some(state) = &source.state {
            let style = if source.current {
                look.meant(Meaning::Good)
            } else {
                look.sign(Meaning::Old)
            };
            spans.push(Span::raw(" "));
            spans.push(Span::styled(format!(" {} ", look.text(state)), style));
        }
    }
    let title = look.text(&screen.title).into_owned();
    page.sides(Line::styled(title, look.strong()), Line::from(spans));
}

/// What is wrong now, and would otherwise be taken for a fault of the set-up, above the row `until`.
pub fn notices(page: &mut Page<'_>, watch: &Watch, screen: &Screen, now_s: f64, until: u16) {
    let look = page.look;
    let style = look.words;
    let mut tell = |word: &str, text: &str| {
        for line in wrap(&look.text(&format!("{word}: {text}")), page.width(), 2) {
            if page.y < until {
                page.line(Line::styled(line, look.sign(Meaning::Doubtful)));
            }
        }
    };
    match &watch.link {
        Link::Lost { since_s, why } => {
            let age = age(now_s - since_s);
            tell(
                &said!(style, "watch-no-connection", age = age),
                &said!(style, "watch-shown-is-old", why = &**why),
            );
        }
        Link::Waiting => tell(
            &said!(style, "watch-connecting"),
            &said!(style, "watch-waiting"),
        ),
        Link::Up => {}
    }
    for Entry { label, text } in &screen.notices {
        tell(label, text);
    }
}
