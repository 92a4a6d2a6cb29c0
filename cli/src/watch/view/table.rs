//! The step's listing, in as many rows as there are.

use super::page::Page;
use protocol::screen::{Column, Listing, Table};
use ratatui::text::Line;

/// Characters of where something was read and of its value, in a listing without columns.
const CELL: (usize, usize) = (5, 9);
/// What keeps two cells apart.
const APART: &str = "   ";
/// The longest bar behind a row, and what the row takes of the window.
const BAR: (u16, u16) = (60, 30);

/// Draws a listing in at most `rows` rows; gives the rows used.
pub fn draw(page: &mut Page<'_>, listing: Option<&Listing>, rows: u16) -> u16 {
    let (head, lines, newest_last) = match listing {
        None => return 0,
        Some(Listing::Table(table)) => {
            let (head, lines) = rows_of(table, page);
            (head, lines, table.newest_last)
        }
        Some(Listing::Cells { heading, cells }) => {
            (heading.clone(), rows_of_cells(cells, page), true)
        }
    };
    let look = page.look;
    let head = look.text(&head).into_owned();
    page.line(Line::styled(head, look.faint()));
    let room = usize::from(rows.saturating_sub(1));
    let shown = if newest_last {
        &lines[lines.len().saturating_sub(room)..]
    } else {
        &lines[..room.min(lines.len())]
    };
    for row in shown {
        page.line(Line::raw(look.text(row).into_owned()));
    }
    shown.len() as u16 + 1
}

/// How many rows it would fill, with its head.
pub fn rows(listing: &Listing, page: &Page<'_>) -> u16 {
    let rows = match listing {
        Listing::Table(table) => table.rows.len(),
        Listing::Cells { cells, .. } => cells.len().div_ceil(per_row(page)),
    };
    u16::try_from(rows + 1).unwrap_or(u16::MAX)
}

/// As many in a row as there is room for.
fn per_row(page: &Page<'_>) -> usize {
    let (place, value) = CELL;
    let per_row = usize::from(page.width()) / (place + 1 + value + APART.len());
    per_row.clamp(1, 6)
}

/// The cells, row by row.
fn rows_of_cells(cells: &[[String; 2]], page: &Page<'_>) -> Vec<String> {
    let (place, value) = CELL;
    let cell = |[at, read]: &[String; 2]| format!("{at:>place$} {read:>value$}");
    cells
        .chunks(per_row(page))
        .map(|row| row.iter().map(cell).collect::<Vec<_>>().join(APART))
        .collect()
}

/// The head and the rows of a table.
fn rows_of(table: &Table, page: &Page<'_>) -> (String, Vec<String>) {
    let all = || (0..).zip(&table.columns);
    let mut columns: Vec<(usize, &Column)> = all().collect();
    // One that is cut could be taken for another one.
    let width = |(_, column): &(usize, &Column)| column.room + 1 + usize::from(!column.right);
    if columns.iter().map(width).sum::<usize>() > usize::from(page.width()) + 1 {
        columns = all().filter(|(_, column)| !column.spare).collect();
    }
    let line = |cell: &dyn Fn(usize) -> String| {
        let mut line = String::new();
        for (i, column) in &columns {
            let (cell, room) = (cell(*i), column.room);
            let apart = if line.is_empty() { "" } else { " " };
            line.push_str(apart);
            line.push_str(&if column.right {
                format!("{cell:>room$}")
            } else {
                format!(" {cell:room$}")
            });
        }
        line
    };
    let head = line(&|i| table.columns[i].name.clone());
    let mut rows: Vec<String> = table
        .rows
        .iter()
        .map(|row| line(&|i| row[i].clone()))
        .collect();
    let ink = if page.look.blocks { "█" } else { "#" };
    let longest = f64::from(page.width().saturating_sub(BAR.1).min(BAR.0));
    for (row, share) in rows.iter_mut().zip(&table.bars) {
        row.push(' ');
        row.push_str(&ink.repeat((share * longest).round() as usize));
    }
    (head, rows)
}
