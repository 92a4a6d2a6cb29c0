//! The length of a cone in thirds, big end first, each filled as far as it printed.

use super::page::Page;
use protocol::said;
use ratatui::style::Color;
use ratatui::text::{Line, Span};

/// Draws the thirds in a row, and their names below where asked.
pub fn draw(page: &mut Page<'_>, percents: [f64; 3], names: bool) {
    let look = page.look;
    let style = look.words;
    let thirds = [
        said!(style, "big-end"),
        said!(style, "middle"),
        said!(style, "small-end"),
    ];
    // A post at both ends and between.
    let each = usize::from(page.width().saturating_sub(4)) / 3;
    let (ink, bare, post) = if look.blocks {
        ("█", "░", "┃")
    } else {
        ("#", ".", "|")
    };
    let mut bar = vec![Span::raw(post)];
    let mut scale = String::new();
    for (percent, name) in percents.into_iter().zip(thirds) {
        let filled = (percent / 100.0 * each as f64).round() as usize;
        let filled = filled.min(each);
        bar.push(Span::styled(ink.repeat(filled), look.ink(Color::Cyan)));
        bar.push(Span::raw(bare.repeat(each - filled)));
        bar.push(Span::raw(post));
        let name = look.text(&format!("{name} {percent:.0} %")).into_owned();
        // Half a number would be another number.
        let name = if name.chars().count() <= each {
            name
        } else {
            String::new()
        };
        scale.push_str(&format!(" {name:^each$}"));
    }
    page.line(Line::from(bar));
    if names {
        page.line(Line::styled(scale, look.faint()));
    }
}
