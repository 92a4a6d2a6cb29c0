//! Plots in characters: the last minute, points over an axis, and points round a turn.
//!
//! Series and limits differ by line, dot and label, never by colour alone.

use super::page::Page;
use crate::document::plot::axis::Axis;
use protocol::said;
use protocol::screen::Minute;
use protocol::screen::plot::{Line as LinePlot, Plot, Round};
use ratatui::layout::Rect;
use ratatui::style::Color;
use ratatui::text::Line;
use ratatui::widgets::Widget;
use ratatui::widgets::canvas::{Canvas, Circle, Context, Line as Stroke, Points};

/// In fewer rows a plot tells nothing.
pub const LEAST_ROWS: u16 = 7;
/// The rows of a title and of what stands under a plot.
const AROUND: u16 = 2;
/// From one label of an axis to the next there are about this many units of [`Axis`], which counts pixels.
const LABEL_PX: f64 = 30.0;
/// Rows from one label to the next.
const LABEL_ROWS: f64 = 2.5;
/// Of more points than this each is no dot of its own.
const MOST_DOTS: usize = 60;

/// The dots of each series: the first is joined by a line as well.
const DOTS: [&str; 3] = ["o", "x", "+"];

/// An axis of values between the lowest and the highest row.
fn upright(values: impl Iterator<Item = f64>, rows: u16, least: f64) -> Axis {
    let long = f64::from(rows) / LABEL_ROWS * LABEL_PX;
    Axis::over(values, 0.0, long, least)
}

/// What a plot is drawn on: its rows, the room for the values at the left, and the axes.
struct Sheet {
    area: Rect,
    x: [f64; 2],
    y: [f64; 2],
}

impl Sheet {
    /// Writes the title and the values at the left, and leaves the rows below to what is drawn.
    fn begin(page: &mut Page<'_>, title: &str, rows: u16, x: [f64; 2], axis: &Axis) -> Self {
        let look = page.look;
        page.line(Line::styled(look.text(title).into_owned(), look.strong()));
        let height = rows.saturating_sub(AROUND);
        let labels: Vec<(f64, String)> = axis
            .ticks()
            .map(|t| (t, axis.tick_text(t, look.words)))
            .collect();
        let wide = labels.iter().map(|(_, text)| text.len()).max().unwrap_or(0) as u16 + 1;
        let top = page.y;
        for (tick, text) in &labels {
            let share = (axis.high - tick) / (axis.high - axis.low);
            page.y = top + (share * f64::from(height.saturating_sub(1))).round() as u16;
            let text = format!("{text:>room$}", room = usize::from(wide) - 1);
            page.at(0, &Line::styled(text, look.faint()));
        }
        page.y = top;
        Self {
            area: page.part(wide, height),
            x,
            y: [axis.low, axis.high],
        }
    }

    /// Draws, and writes what stands under it.
    fn end(self, page: &mut Page<'_>, under: &str, paint: impl Fn(&mut Context<'_>)) {
        let look = page.look;
        let canvas = Canvas::default()
            .x_bounds(self.x)
            .y_bounds(self.y)
            .marker(look.ink_of_plots())
            .paint(paint);
        canvas.render(self.area, page.buffer());
        page.y += self.area.height;
        let indent = " ".repeat(usize::from(page.width().saturating_sub(self.area.width)));
        let under = format!("{indent}{under}");
        page.line(Line::styled(look.text(&under).into_owned(), look.faint()));
    }
}

fn colour(page: &Page<'_>, colour: Color) -> Color {
    if page.look.colour {
        colour
    } else {
        Color::Reset
    }
}

fn joined(context: &mut Context<'_>, points: &[[f64; 2]], colour: Color) {
    for pair in points.windows(2) {
        let ([x1, y1], [x2, y2]) = (pair[0], pair[1]);
        context.draw(&Stroke::new(x1, y1, x2, y2, colour));
    }
    if let [[x, y]] = points {
        let coords = &[(*x, *y)];
        context.draw(&Points::new(coords, colour));
    }
}

/// The last minute, with its marks by name.
pub fn minute(page: &mut Page<'_>, minute: Option<&Minute>, rows: u16) {
    let words = page.look.words;
    let Some(minute) = minute else {
        let nothing = said!(words, "watch-no-reading");
        page.line(Line::styled(nothing, page.look.faint()));
        page.y += rows.saturating_sub(1);
        return;
    };
    let title = said!(words, "watch-last-minute", unit = minute.unit);
    let values = minute.runs.iter().flatten().map(|p| p[1]);
    let axis = upright(values, rows.saturating_sub(AROUND), minute.least);
    let span = [-protocol::screen::TRACE_S, 0.0];
    let sheet = Sheet::begin(page, &title, rows, span, &axis);
    let (ink, mark) = (colour(page, Color::Cyan), colour(page, Color::Magenta));
    let (bottom, top) = (axis.low, axis.high);
    // The name of a mark stands over its post, at the highest row, where there is room from the one before.
    let each_s = protocol::screen::TRACE_S / f64::from(sheet.area.width.max(1));
    let mut names: Vec<(f64, String)> = Vec::new();
    for (at_s, name) in minute.marks.iter().rev() {
        let name = page.look.text(name).into_owned();
        let room_s = (name.chars().count() as f64 + 1.0) * each_s;
        let next_s = names.last().map_or(0.0, |(next, _)| *next);
        if at_s + room_s <= next_s {
            names.push((*at_s, name));
        }
    }
    let room = usize::from(sheet.area.width);
    let under = format!(
        "{:<half$}{:>rest$}",
        said!(words, "watch-minute-ago"),
        said!(words, "watch-now"),
        half = room / 2,
        rest = room - room / 2
    );
    sheet.end(page, &under, |context| {
        for (at_s, _) in &minute.marks {
            context.draw(&Stroke::new(*at_s, bottom, *at_s, top, mark));
        }
        context.layer();
        for run in &minute.runs {
            joined(context, run, ink);
        }
        for (at_s, name) in &names {
            context.print(*at_s, top, Line::styled(name.clone(), mark));
        }
    });
}

/// The plot of the open step.
pub fn step(page: &mut Page<'_>, plot: &Plot, rows: u16) {
    match plot {
        Plot::Line(plot) => line(page, plot, rows),
        Plot::Round(plot) => round(page, plot, rows),
    }
}

fn line(page: &mut Page<'_>, plot: &LinePlot, rows: u16) {
    let look = page.look;
    let words = look.words;
    let points = || plot.series.iter().flat_map(|(_, points)| points);
    let limits = plot.limits.unwrap_or([0.0; 2]);
    let values = points().map(|p| p[1]).chain(limits);
    let named = plot
        .series
        .iter()
        .zip(DOTS)
        .filter(|((name, _), _)| !name.is_empty());
    let legend: Vec<String> = named
        .map(|((name, _), dot)| format!("{dot} {name}"))
        .collect();
    let rows = rows - u16::from(!legend.is_empty());
    let axis = upright(values, rows.saturating_sub(AROUND), 1.0);
    let across = Axis::over(points().map(|p| p[0]), 0.0, 3.0 * LABEL_PX, 1.0);
    let title = format!("{}: {}", plot.title, plot.y_label);
    let x = [across.low, across.high];
    let sheet = Sheet::begin(page, &title, rows, x, &axis);
    let ends = [
        points().map(|p| p[0]).fold(f64::INFINITY, f64::min),
        points().map(|p| p[0]).fold(f64::NEG_INFINITY, f64::max),
    ];
    let inks = [Color::Cyan, Color::Magenta, Color::Yellow].map(|ink| colour(page, ink));
    let faint = colour(page, Color::DarkGray);
    let limit = colour(page, Color::Yellow);
    let series: Vec<(Color, Vec<[f64; 2]>)> = plot
        .series
        .iter()
        .zip(inks.into_iter().cycle())
        .map(|((_, points), ink)| {
            let mut points = points.clone();
            if !plot.kept {
                points.sort_by(|a, b| a[0].total_cmp(&b[0]));
            }
            (ink, points)
        })
        .collect();
    let first = |x: f64| {
        let text = across.tick_text(x, words);
        // The first round is 1, not 1.0.
        let whole = text
            .strip_suffix('0')
            .and_then(|text| text.strip_suffix(['.', ',']));
        whole.map_or(text.clone(), str::to_owned)
    };
    let (low, high) = (first(ends[0]), first(ends[1]));
    let span = said!(words, "from-to", low = low, high = high);
    let under = format!("{span}  {}", plot.x_label);
    let allowed = look.text(&said!(words, "watch-allowed")).into_owned();
    sheet.end(page, &under, |context| {
        context.draw(&Stroke::new(x[0], 0.0, x[1], 0.0, faint));
        for at in plot.limits.iter().flatten() {
            let dashes: Vec<(f64, f64)> = (0..=24)
                .map(|i| (x[0] + (x[1] - x[0]) * f64::from(i) / 24.0, *at))
                .collect();
            context.draw(&Points::new(&dashes, limit));
        }
        context.layer();
        for (i, (ink, points)) in series.iter().enumerate() {
            if i == 0 {
                joined(context, points, *ink);
            }
            if points.len() <= MOST_DOTS {
                for [x, y] in points {
                    context.print(*x, *y, Line::styled(DOTS[i % DOTS.len()], *ink));
                }
            }
        }
        if let Some([_, high]) = plot.limits {
            let at = x[1] - (x[1] - x[0]) * 0.25;
            context.print(at, high, Line::styled(allowed.clone(), limit));
        }
    });
    if !legend.is_empty() {
        page.line(Line::styled(legend.join(", "), look.faint()));
    }
}

/// Round a turn: 12 o'clock is above, and the angle goes clockwise.
fn round(page: &mut Page<'_>, plot: &Round, rows: u16) {
    let look = page.look;
    let levels = || plot.points.iter().map(|p| p[1]);
    let (low, high) = levels().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
        (l.min(v), h.max(v))
    });
    let span = (high - low).max(1.0);
    let title = format!("{}, {}", plot.title, plot.unit);
    page.line(Line::styled(look.text(&title).into_owned(), look.strong()));
    // A cell is about twice as high as it is wide.
    let height = rows.saturating_sub(AROUND).min(page.width() / 2);
    let area = page.part(page.width().saturating_sub(height * 2) / 2, height);
    let area = Rect {
        width: (height * 2).min(area.width),
        ..area
    };
    const INNER: f64 = 0.3;
    const OUTER: f64 = 0.78;
    let radius = |level: f64| INNER + (OUTER - INNER) * (level - low) / span;
    let at = |deg: f64, radius: f64| {
        let (sin, cos) = deg.to_radians().sin_cos();
        [radius * sin, radius * cos]
    };
    let mut points = plot.points.clone();
    points.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut ring: Vec<[f64; 2]> = points.iter().map(|p| at(p[0], radius(p[1]))).collect();
    let dots = ring.clone();
    if ring.len() > 2 {
        ring.push(ring[0]);
    }
    let [faint, ink, hand] =
        [Color::DarkGray, Color::Cyan, Color::Magenta].map(|ink| colour(page, ink));
    let canvas = Canvas::default()
        .x_bounds([-1.0, 1.0])
        .y_bounds([-1.0, 1.0])
        .marker(look.ink_of_plots())
        .paint(|context| {
            for level in [low, high] {
                context.draw(&Circle {
                    x: 0.0,
                    y: 0.0,
                    radius: radius(level),
                    color: faint,
                });
            }
            context.layer();
            joined(context, &ring, ink);
            if let Some(deg) = plot.high_deg {
                context.layer();
                let [x, y] = at(deg, OUTER);
                context.draw(&Stroke::new(0.0, 0.0, x, y, hand));
            }
            if dots.len() <= MOST_DOTS {
                for [x, y] in &dots {
                    context.print(*x, *y, Line::styled("o", ink));
                }
            }
            for hour in 1..=12 {
                let [x, y] = at(f64::from(hour) * 30.0, 0.96);
                context.print(x, y, Line::styled(hour.to_string(), faint));
            }
        });
    canvas.render(area, page.buffer());
    page.y += height;
    let words = look.words;
    let (low, high) = (words.number(low, 1), words.number(high, 1));
    let under = match plot.high_deg {
        Some(_) => said!(words, "watch-circles-hand", low = low, high = high),
        None => said!(words, "watch-circles", low = low, high = high),
    };
    page.line(Line::styled(look.text(&under).into_owned(), look.faint()));
}
