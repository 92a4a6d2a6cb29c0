//! A page that is written from top to bottom, and never past its edges.

use crate::watch::look::Look;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

/// Rows of a part of the window.
pub struct Page<'b> {
    buffer: &'b mut Buffer,
    area: Rect,
    /// The next row, from the window's top.
    pub y: u16,
    /// How things look.
    pub look: Look,
}

impl<'b> Page<'b> {
    /// The whole window.
    pub fn new(buffer: &'b mut Buffer, area: Rect, look: Look) -> Self {
        Self {
            buffer,
            area,
            y: area.y,
            look,
        }
    }

    /// A part of the page's columns, from the current row down to `until`.
    pub fn column(&mut self, x: u16, width: u16, until: u16) -> Page<'_> {
        let area = Rect {
            x: self.area.x + x,
            y: self.y,
            width,
            height: until.saturating_sub(self.y),
        }
        .intersection(self.area);
        Page {
            buffer: &mut *self.buffer,
            area,
            y: area.y,
            look: self.look,
        }
    }

    /// The columns from `x` on, so many rows from the current one; it may be empty.
    pub fn part(&self, x: u16, rows: u16) -> Rect {
        let part = Rect {
            x: self.area.x.saturating_add(x),
            y: self.y,
            width: self.area.width.saturating_sub(x),
            height: rows,
        };
        part.intersection(self.area)
    }

    /// What is drawn on, for what draws itself.
    pub const fn buffer(&mut self) -> &mut Buffer {
        self.buffer
    }

    /// Columns.
    pub const fn width(&self) -> u16 {
        self.area.width
    }

    fn row(&self) -> Option<Rect> {
        (self.y < self.area.bottom()).then_some(Rect {
            y: self.y,
            height: 1,
            ..self.area
        })
    }

    /// Writes a row.
    pub fn line(&mut self, line: Line<'_>) {
        if let Some(row) = self.row() {
            let line = whole(line, row.width);
            self.buffer.set_line(row.x, row.y, &line, row.width);
        }
        self.y = self.y.saturating_add(1);
    }

    /// Writes a word on a plate that goes from edge to edge, and as many parts after it as fit whole.
    pub fn banner(&mut self, word: &str, parts: &[String], style: Style) {
        let width = usize::from(self.area.width);
        let mut text = format!(" {word}");
        for (i, part) in parts.iter().enumerate() {
            let part = self.look.text(part);
            let between = if i == 0 { "  " } else { ", " };
            if text.chars().count() + between.len() + part.chars().count() + 1 > width {
                break;
            }
            text.push_str(between);
            text.push_str(&part);
        }
        self.line(Line::styled(format!("{text:<width$}"), style));
    }

    /// Leaves a row empty.
    pub fn blank(&mut self) {
        self.y = self.y.saturating_add(1);
    }

    /// Draws a line across.
    pub fn rule(&mut self) {
        let dash = self.look.text("─").into_owned();
        let rule = dash.repeat(usize::from(self.area.width));
        let style = self.look.faint();
        self.line(Line::from(Span::styled(rule, style)));
    }

    /// Writes a row with something at both ends; the right one keeps its place.
    pub fn sides(&mut self, left: Line<'_>, right: Line<'_>) {
        if let Some(row) = self.row() {
            let wide = u16::try_from(right.width())
                .unwrap_or(row.width)
                .min(row.width);
            let room = row.width - wide;
            let left = whole(left, room.saturating_sub(1));
            self.buffer
                .set_line(row.x, row.y, &left, room.saturating_sub(1));
            self.buffer.set_line(row.x + room, row.y, &right, wide);
        }
        self.y = self.y.saturating_add(1);
    }

    /// Writes at a column of the current row, without going on to the next.
    pub fn at(&mut self, x: u16, line: &Line<'_>) {
        if let Some(row) = self.row()
            && x < row.width
        {
            self.buffer.set_line(row.x + x, row.y, line, row.width - x);
        }
    }

    /// Writes a label and as many parts after it, from the first, as fit whole; nothing when there are no parts.
    pub fn fitting(&mut self, label: Span<'_>, parts: &[String]) {
        if parts.is_empty() {
            self.blank();
            return;
        }
        let room = usize::from(self.area.width).saturating_sub(label.width() + 1);
        let mut text = String::new();
        for part in parts {
            let part = self.look.text(part);
            // A part that begins with a blank goes on from the one before.
            let between = if text.is_empty() || part.starts_with(' ') {
                ""
            } else {
                ", "
            };
            if text.chars().count() + between.len() + part.chars().count() > room {
                break;
            }
            text.push_str(between);
            text.push_str(&part);
        }
        self.line(Line::from(vec![label, Span::raw(" "), Span::raw(text)]));
    }

    /// Empties some rows.
    pub fn clear(&mut self, from: u16, until: u16) {
        for y in from..until.min(self.area.bottom()) {
            for x in self.area.left()..self.area.right() {
                self.buffer[(x, y)].reset();
            }
        }
    }
}

/// A line that does not fit is cut at a blank, and the cut is shown: half a number would be another number.
fn whole(line: Line<'_>, width: u16) -> Line<'_> {
    let width = usize::from(width);
    if line.width() <= width {
        return line;
    }
    let text: String = line.spans.iter().map(|span| &*span.content).collect();
    if text.trim_end().chars().count() <= width || !text.trim_start().contains(' ') {
        return line;
    }
    const CUT: &str = "...";
    let room = width.saturating_sub(CUT.len());
    let end = text
        .char_indices()
        .take(room + 1)
        .filter(|(_, c)| *c == ' ')
        .last()
        .map_or(0, |(at, _)| at);
    let mut left = text[..end].trim_end().len();
    let style = line.style;
    let mut spans = Vec::new();
    for span in line.spans {
        let mut kept = left.min(span.content.len());
        while !span.content.is_char_boundary(kept) {
            kept -= 1;
        }
        left -= kept;
        spans.push(Span::styled(span.content[..kept].to_owned(), span.style));
    }
    spans.push(Span::raw(CUT));
    Line::from(spans).style(style)
}

/// Makes room for the sign of a cut: at a blank where there is one, and never in a number.
fn cut(line: &mut String, width: usize) {
    while line.chars().count() + 3 > width {
        let at = line.trim_end().rfind(' ').unwrap_or_else(|| {
            let numbers = line.contains(|c: char| c.is_ascii_digit());
            let end = line.char_indices().last().map_or(0, |(at, _)| at);
            if numbers { 0 } else { end }
        });
        line.truncate(at);
        if line.is_empty() {
            break;
        }
    }
    line.push_str("...");
}

/// Breaks a text at blanks into lines of at most `width` columns, and at most `rows` of them. What does not
/// fit is cut, and the cut is shown.
pub fn wrap(text: &str, width: u16, rows: usize) -> Vec<String> {
    let width = usize::from(width).max(1);
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split(' ') {
        let mut word = word;
        let used = line.chars().count();
        let space = usize::from(!line.is_empty());
        if used + space + word.chars().count() <= width {
            if space == 1 {
                line.push(' ');
            }
            line.push_str(word);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        // A word longer than a line is broken wherever it must be.
        while word.chars().count() > width {
            let cut = word
                .char_indices()
                .nth(width)
                .map_or(word.len(), |(i, _)| i);
            lines.push(word[..cut].to_owned());
            word = &word[cut..];
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        lines.push(line);
    }
    if lines.len() > rows {
        lines.truncate(rows);
        if let Some(last) = lines.last_mut() {
            cut(last, width);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_broken_at_blanks_and_cut_visibly() {
        assert_eq!(wrap("one two three", 7, 9), ["one two", "three"]);
        assert_eq!(wrap("abcdefghij", 4, 9), ["abcd", "efgh", "ij"]);
        assert_eq!(wrap("one two three four", 7, 2), ["one two", "thre..."]);
        assert_eq!(wrap("rises by 11.4 µm here", 14, 1), ["rises by..."]);
        assert_eq!(wrap("it 123456 789", 6, 2), ["it", "..."]);
        assert!(wrap("", 7, 2).is_empty());
        assert_eq!(wrap("µµµ µµµ", 3, 9), ["µµµ", "µµµ"]);
    }
}
