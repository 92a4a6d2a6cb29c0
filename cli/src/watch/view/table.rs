//! The step's table, in as many rows as there are.

use super::page::Page;
use crate::watch::face;
use protocol::api::Status;
use ratatui::text::Line;

/// Draws the step's table in at most `rows` rows; gives the rows used.
pub fn draw(page: &mut Page<'_>, status: &Status, rows: u16) -> u16 {
    let look = page.look;
    let Some(table) = face::table(status, look, page.width()) else {
        return 0;
    };
    page.line(Line::styled(
        look.text(&table.head).into_owned(),
        look.faint(),
    ));
    let shown = table.shown(usize::from(rows.saturating_sub(1)));
    for row in shown {
        page.line(Line::raw(look.text(row).into_owned()));
    }
    shown.len() as u16 + 1
}
