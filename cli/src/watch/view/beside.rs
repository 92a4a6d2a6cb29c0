//! What a large window shows beside the digits: the last minute, the plot of the open step, and its rows.

use super::page::Page;
use super::{plot, table};
use crate::watch::state::Watch;
use protocol::screen::plot::Plot;
use protocol::screen::{self, Listing, Minute, Screen, Strip};

/// From this size on there is room beside the digits; the head and the keys take two rows more.
const FROM: (u16, u16) = (120, 28);
/// The columns of the right part, at least and at most; between them it is the smaller part of the window.
const COLUMNS: (u16, u16) = (45, 84);
/// More rows make the last minute no clearer.
const MOST_MINUTE: u16 = 14;
/// The same of the plot.
const MOST_PLOT: u16 = 22;

/// What stands there, at least by its kind: an empty part keeps its place, so that nothing jumps.
pub struct Beside<'s> {
    minute: Option<Option<Minute>>,
    plot: Option<Plot>,
    listing: Option<&'s Listing>,
}

/// The columns of the right part; none where the window is too small, or the open step has nothing to show there.
pub fn columns(watch: &Watch, screen: &Screen, (width, height): (u16, u16)) -> Option<u16> {
    let status = watch.known.status.as_ref()?;
    // What is judged by eye has its strip, across the whole window.
    let shown = status.step.is_some()
        && !matches!(screen.strip, Strip::Zones(_))
        && !status.step?.kind.by_eye();
    (shown && width >= FROM.0 && height >= FROM.1)
        .then(|| (width * 2 / 5).clamp(COLUMNS.0, COLUMNS.1).min(width - 76))
}

impl<'s> Beside<'s> {
    /// What is known for it.
    pub fn of(watch: &Watch, screen: &'s Screen, now_s: f64) -> Self {
        let seen = watch.seen(now_s);
        let style = watch.style();
        let grown = seen
            .status
            .and_then(|status| watch.trace.recorded(status, style));
        Self {
            minute: seen.indicator().map(|_| watch.trace.minute(now_s, style)),
            plot: grown.or_else(|| screen::plot(&seen)),
            listing: screen.listing.as_ref(),
        }
    }

    /// Draws it down to `until`: rows as many as there are, and what is left to the plots.
    pub fn draw(&self, page: &mut Page<'_>, until: u16) {
        let room = until.saturating_sub(page.y);
        let rows = self
            .listing
            .map_or(0, |listing| table::rows(listing, page) + 1);
        let plots = u16::from(self.minute.is_some()) + u16::from(self.plot.is_some());
        // The rows may not push out a plot, nor the plots the last rows.
        let rows = rows.min(room.saturating_sub(plots * (plot::LEAST_ROWS + 1)).max(4));
        let spare = room.saturating_sub(rows + u16::from(rows > 0));
        let each = spare.saturating_sub(plots.saturating_sub(1)) / plots.max(1);
        if let Some(minute) = &self.minute {
            let high = each.min(MOST_MINUTE);
            if high >= plot::LEAST_ROWS {
                plot::minute(page, minute.as_ref(), high);
                page.blank();
            }
        }
        let left = until.saturating_sub(page.y + rows + u16::from(rows > 0));
        if let Some(shown) = &self.plot
            && left >= plot::LEAST_ROWS
        {
            plot::step(page, shown, left.min(MOST_PLOT));
            page.blank();
        }
        table::draw(page, self.listing, until.saturating_sub(page.y));
    }
}
