//! The large values of a step, at the size that fits: those that must be there, and one more where there is room.

use super::page::Page;
use crate::watch::digits::{self, Size};
use crate::watch::look::Look;
use protocol::screen::{Screen, Value};
use ratatui::text::{Line, Span};

/// Columns between two values.
const APART: u16 = 3;
/// What stands above and below the digits.
const AROUND: u16 = 2;

/// Large values at the size that fits.
#[derive(Debug)]
pub struct Panel {
    values: Vec<Value>,
    size: Size,
    stacked: bool,
    look: Look,
}

/// Lays the values out in the given columns and rows as large as they go; `None` where not even small digits
/// fit.
pub fn arrange(screen: &Screen, look: Look, width: u16, rows: u16) -> Option<Panel> {
    let must = &screen.must;
    let lowest = look.lowest_digits();
    let side = |values: &[Value]| {
        digits::largest(lowest, rows.saturating_sub(AROUND), |size| {
            let used: u16 = values.iter().map(|value| columns(value, look, size)).sum();
            used + APART * (values.len() as u16).saturating_sub(1) <= width
        })
    };
    let stacked = digits::largest(lowest, (rows / 2).saturating_sub(AROUND), |size| {
        must.len() == 2 && must.iter().all(|value| columns(value, look, size) <= width)
    });
    let beside = side(must);
    let panel = |values, size, stacked| Panel {
        values,
        size,
        stacked,
        look,
    };
    if let Some(size) = stacked
        && beside.is_none_or(|beside| size.height > beside.height + 1)
    {
        return Some(panel(must.clone(), size, true));
    }
    let beside = beside?;
    if let Some(may) = &screen.may {
        let all: Vec<_> = must.iter().chain([may]).cloned().collect();
        // One more is a comfort: it may cost the others a row, or a third where they are large, and never
        // the thickness that makes small digits readable.
        let allowed = |size: &Size| {
            let as_thick = digits::stroke(size.width) == digits::stroke(beside.width);
            let large = size.width >= 9 && size.height * 3 >= beside.height * 2;
            large || (as_thick && size.height + 1 >= beside.height)
        };
        if let Some(size) = side(&all).filter(allowed) {
            return Some(panel(all, size, false));
        }
    }
    Some(panel(must.clone(), beside, false))
}

fn columns(value: &Value, look: Look, size: Size) -> u16 {
    let text = |text: &str| look.text(text).chars().count() as u16;
    let digits = if digits::drawable(&value.value) {
        digits::width(&value.value, size).max(digits::width(&value.widest, size))
    } else {
        text(&value.value)
    };
    digits.max(text(&value.label)).max(text(&value.under) + 2)
}

fn drawn(value: &Value, look: Look, size: Size) -> Vec<String> {
    if digits::drawable(&value.value) {
        return digits::lines(&value.value, size, look.digits(value.current));
    }
    let mut lines = vec![String::new(); usize::from(size.height)];
    lines[usize::from(size.height / 2)].clone_from(&value.value);
    lines
}

impl Panel {
    /// How many rows it takes.
    pub const fn rows(&self) -> u16 {
        let one = self.size.height + AROUND;
        if self.stacked { one * 2 } else { one }
    }

    /// Draws it.
    pub fn draw(&self, page: &mut Page<'_>) {
        let top = page.y;
        let mut x = 0;
        for (i, value) in self.values.iter().enumerate() {
            page.y = top;
            let width = columns(value, self.look, self.size);
            if self.stacked {
                page.y = top + i as u16 * (self.size.height + AROUND);
            } else if i + 1 == self.values.len() && i > 0 {
                // The last one stands at the right edge, the first at the left.
                x = page.width().saturating_sub(width);
            } else if i > 0 {
                let used: u16 = self
                    .values
                    .iter()
                    .map(|value| columns(value, self.look, self.size))
                    .sum();
                x += page.width().saturating_sub(used) / (self.values.len() as u16 - 1);
            }
            self.one(page, x, value);
            if !self.stacked {
                x += width;
            }
        }
        page.y = top + self.rows();
    }

    fn one(&self, page: &mut Page<'_>, x: u16, value: &Value) {
        let look = self.look;
        page.at(
            x,
            &Line::styled(look.text(&value.label).into_owned(), look.faint()),
        );
        page.y += 1;
        for line in drawn(value, look, self.size) {
            page.at(x, &Line::styled(line, look.large(value.meaning)));
            page.y += 1;
        }
        let under = look.text(&value.under).into_owned();
        let style = look.under(value.under_meaning);
        page.at(x, &Line::styled(format!(" {under} "), style));
    }
}

/// The values in a row each, where there is no room for large digits.
pub fn compact(page: &mut Page<'_>, screen: &Screen) {
    for value in &screen.must {
        let look = page.look;
        let name: String = value.label.chars().take_while(|&c| c != ',').collect();
        page.line(Line::from(vec![
            Span::styled(format!("{name:9}"), look.faint()),
            Span::raw(if name.len() < 9 { "" } else { " " }),
            Span::styled(format!("{} ", value.value), look.large(value.meaning)),
            Span::styled(
                look.text(&value.under).into_owned(),
                look.under(value.under_meaning),
            ),
        ]));
    }
}
