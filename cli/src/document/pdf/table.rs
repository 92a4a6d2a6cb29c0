//! Tables: columns as wide as they need, rows over pages with the heading repeated.

use super::font::{Lettering, width};
use super::pages::{BLACK, Item, MARGIN, Pages};
use super::text::lines;
use crate::document::facts::{Fact, capital};
use protocol::sheet::Table;

const CELL: Lettering = Lettering::plain(8.5);
const HEAD: Lettering = Lettering::bold(8.5);
/// Between columns.
const BETWEEN: f32 = 12.0;
/// Above and below the text of a row.
const WITHIN: f32 = 1.3;
/// A row with more lines may be broken over pages.
const WHOLE: usize = 12;
/// How much wider a column is made at a time, while that saves lines.
const WIDER: f32 = 12.0;
/// No column is made narrower for the sake of another.
const NARROWEST: f32 = 60.0;
/// The columns of a table with more cells are not fitted to their words: it would take long.
const FITTED: usize = 120;
/// A table with more rows is cut in two parts beside each other, if it is narrow enough.
const LONG: usize = 12;

/// A column.
#[derive(Clone)]
struct Column {
    name: String,
    numeric: bool,
    style: Lettering,
}

/// What is drawn.
struct Grid {
    columns: Vec<Column>,
    rows: Vec<Vec<String>>,
}

/// A table; one without rows is left out.
pub fn table(pages: &mut Pages, of: &Table) {
    let columns = of.columns.iter().map(|column| Column {
        name: capital(&column.name),
        numeric: column.numeric,
        style: CELL,
    });
    let grid = Grid {
        columns: columns.collect(),
        rows: of.rows.clone(),
    };
    draw(pages, beside_itself(grid, pages.width()));
}

/// Names with what they are.
pub fn facts(pages: &mut Pages, facts: &[Fact]) {
    let rows = facts.iter();
    let grid = Grid {
        columns: named(["", ""]),
        rows: rows
            .map(|(name, value)| vec![name.clone(), value.clone()])
            .collect(),
    };
    draw(pages, grid);
}

/// Two sides of the same things.
pub fn sides(pages: &mut Pages, headings: &[String; 2], rows: &[[String; 3]]) {
    let grid = Grid {
        columns: named(["", &headings[0], &headings[1]]),
        rows: rows.iter().map(|row| row.to_vec()).collect(),
    };
    draw(pages, grid);
}

/// Columns of words whose first one holds names.
fn named<const N: usize>(names: [&str; N]) -> Vec<Column> {
    let column = |(index, name): (usize, &str)| Column {
        name: name.to_owned(),
        numeric: false,
        style: if index == 0 { HEAD } else { CELL },
    };
    names.into_iter().enumerate().map(column).collect()
}

/// How wide the cells of a column want to be.
fn wanted(grid: &Grid, index: usize) -> f32 {
    let column = &grid.columns[index];
    let cells = grid.rows.iter().map(|row| (&row[index], column.style));
    let cells = cells.chain([(&column.name, HEAD)]);
    let printed = cells.flat_map(|(text, style)| {
        // A long text takes more lines than one whatever its exact width is.
        let short: String = text.chars().take(400).collect();
        lines(&short, style, f32::INFINITY)
            .into_iter()
            .map(move |line| width(&line, style))
    });
    printed.fold(0.0, f32::max) + 0.5
}

fn all_wanted(grid: &Grid) -> Vec<f32> {
    (0..grid.columns.len()).map(|i| wanted(grid, i)).collect()
}

/// The second half of a long and narrow table beside its first.
fn beside_itself(grid: Grid, room: f32) -> Grid {
    let one: f32 = all_wanted(&grid).iter().map(|w| w + BETWEEN).sum();
    if grid.rows.len() <= LONG || 2.0 * (one + BETWEEN) > room {
        return grid;
    }
    let half = grid.rows.len().div_ceil(2);
    let (left, right) = grid.rows.split_at(half);
    let none = vec![String::new(); grid.columns.len()];
    let right = right.iter().chain(std::iter::repeat(&none));
    let rows = left.iter().zip(right);
    // An empty column keeps them apart.
    let apart = [String::new()];
    Grid {
        rows: rows
            .map(|(left, right)| [left, &apart[..], right].concat())
            .collect(),
        columns: [&grid.columns, &named([""]), &grid.columns[..]].concat(),
    }
}

/// The widths: what each column wants, if all have room; else the narrow ones have it and the others share the rest.
fn widths(grid: &Grid, room: f32) -> Vec<f32> {
    let wanted = all_wanted(grid);
    let mut rest = room - BETWEEN * (wanted.len().saturating_sub(1)) as f32;
    let mut open: Vec<usize> = (0..wanted.len()).collect();
    let mut widths = wanted.clone();
    loop {
        let share = rest / open.len().max(1) as f32;
        let (fit, wide): (Vec<usize>, Vec<usize>) = open.iter().partition(|i| wanted[**i] <= share);
        if fit.is_empty() {
            for index in wide {
                widths[index] = share;
            }
            return widths;
        }
        rest -= fit.iter().map(|i| wanted[*i]).sum::<f32>();
        open = wide;
        if open.is_empty() {
            return widths;
        }
    }
}

/// How many lines the rows take.
fn lines_taken(grid: &Grid, widths: &[f32]) -> usize {
    let high = |row: &Vec<String>| {
        let cells = grid.columns.iter().zip(row).zip(widths);
        let high = cells.map(|((column, text), wide)| lines(text, column.style, *wide).len());
        high.max().unwrap_or_default()
    };
    grid.rows.iter().map(high).sum()
}

/// The widths, with room moved from column to column while that saves lines.
fn fitted(grid: &Grid, room: f32) -> Vec<f32> {
    let mut best = widths(grid, room);
    if grid.rows.len() * grid.columns.len() > FITTED {
        return best;
    }
    let mut taken = lines_taken(grid, &best);
    let columns = best.len();
    let moves: Vec<[usize; 2]> = (0..columns)
        .flat_map(|from| (0..columns).map(move |to| [from, to]))
        .filter(|[from, to]| from != to)
        .collect();
    while taken > grid.rows.len() {
        let moved = |[from, to]: [usize; 2], times: f32| {
            let mut widths = best.clone();
            widths[from] -= times * WIDER;
            widths[to] += times * WIDER;
            (widths[from] >= NARROWEST).then_some(widths)
        };
        let tried = moves
            .iter()
            .flat_map(|of| [1.0, 2.0, 4.0].map(|times| moved(*of, times)));
        let counted = tried
            .flatten()
            .map(|widths| (lines_taken(grid, &widths), widths));
        match counted.min_by_key(|(lines, _)| *lines) {
            Some((fewer, widths)) if fewer < taken => (taken, best) = (fewer, widths),
            _ => break,
        }
    }
    best
}

/// Lines `from` to `to` of each cell of a row.
fn put_lines(
    pages: &mut Pages,
    grid: &Grid,
    cells: &[Vec<String>],
    widths: &[f32],
    [from, to]: [usize; 2],
    style: Option<Lettering>,
) {
    let top = pages.y;
    let mut left = MARGIN;
    for ((column, cell), wide) in grid.columns.iter().zip(cells).zip(widths) {
        let style = style.unwrap_or(column.style);
        for (index, line) in cell.iter().take(to).skip(from).enumerate() {
            let x = if column.numeric {
                left + wide - width(line, style)
            } else {
                left
            };
            pages.y = top + index as f32 * CELL.line();
            pages.line(x, line.clone(), style);
        }
        left += wide + BETWEEN;
    }
    pages.y = top + (to - from) as f32 * CELL.line();
}

fn rule(pages: &mut Pages, widths: &[f32], weight: f32, light: u8) {
    let across = widths.iter().sum::<f32>() + BETWEEN * (widths.len().saturating_sub(1)) as f32;
    let (y, right) = (pages.y, MARGIN + across);
    pages.put(Item::Rule([MARGIN, y], [right, y], weight, light));
}

fn head(pages: &mut Pages, grid: &Grid, widths: &[f32]) {
    if grid.columns.iter().all(|column| column.name.is_empty()) {
        return;
    }
    let names = grid.columns.iter().zip(widths);
    let cells: Vec<Vec<String>> = names.map(|(c, wide)| lines(&c.name, HEAD, *wide)).collect();
    let high = cells.iter().map(Vec::len).max().unwrap_or_default();
    pages.y += WITHIN;
    put_lines(pages, grid, &cells, widths, [0, high], Some(HEAD));
    pages.y += WITHIN;
    rule(pages, widths, 0.8, BLACK);
}

fn draw(pages: &mut Pages, grid: Grid) {
    if grid.rows.is_empty() {
        return;
    }
    let widths = fitted(&grid, pages.width());
    // The heading is not left alone at the end of a page.
    pages.keep(4.0 * CELL.line());
    head(pages, &grid, &widths);
    for row in &grid.rows {
        let columns = grid.columns.iter().zip(row).zip(&widths);
        let cells: Vec<Vec<String>> = columns
            .map(|((column, text), wide)| lines(text, column.style, *wide))
            .collect();
        draw_row(pages, &grid, &cells, &widths);
    }
    pages.gap(7.0);
}

fn draw_row(pages: &mut Pages, grid: &Grid, cells: &[Vec<String>], widths: &[f32]) {
    let high = cells.iter().map(Vec::len).max().unwrap_or_default();
    let mut from = 0;
    while from < high {
        let fits = ((pages.room() - 2.0 * WITHIN) / CELL.line()).max(0.0) as usize;
        let least = if high <= WHOLE { high } else { 2 };
        if fits < least.min(high - from) {
            pages.turn();
            head(pages, grid, widths);
            continue;
        }
        let to = high.min(from + fits);
        pages.y += WITHIN;
        put_lines(pages, grid, cells, widths, [from, to], None);
        pages.y += WITHIN;
        from = to;
    }
    rule(pages, widths, 0.5, 190);
}
