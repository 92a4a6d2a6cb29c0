//! The plots, as the page has them.

use super::font::{Lettering, printable, width};
use super::line::write_line;
use super::pages::{Item, MARGIN, Pages, SMALL};
use crate::document::plot::look::{Anchor, Area, Label, Line};
use crate::document::plot::shape::{Form, Path as Places, Shape};
use crate::document::plot::{self, Drawing};
use krilla::color::luma;
use krilla::geom::{Path, PathBuilder, Rect, Transform};
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, FillRule, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::Font;
use protocol::sheet::plot::Plot;
use protocol::style::Style;

/// Between two beside each other.
const BETWEEN: f32 = 14.0;
/// A plot round a turn is no wider.
const WIDEST_OF_TWO: f32 = 225.0;
/// How far a Bézier curve's handles lie from its ends when it is a quarter of a circle, in radii: `4/3 (√2 − 1)`.
const QUARTER: f64 = 0.552_284_75;

/// A plot that has its size.
pub struct Placed {
    drawings: Vec<Drawing>,
    wide: f32,
    /// How high it is with all that stands above and below it.
    pub height: f32,
}

/// The plot in so much room across.
pub fn placed(plot: &Plot, room: f32, style: Style) -> Placed {
    let drawings = plot::drawings(plot, style);
    let count = drawings.len() as f32;
    let wide = (room - BETWEEN * (count - 1.0)) / count;
    let wide = if drawings.len() > 1 {
        wide.min(WIDEST_OF_TWO)
    } else {
        wide
    };
    let high = drawings.iter().map(|drawing| high(drawing, wide));
    let caption = if drawings.iter().any(|drawing| drawing.caption.is_some()) {
        SMALL.line() + 2.0
    } else {
        0.0
    };
    Placed {
        height: high.fold(0.0, f32::max) + caption + 5.0,
        drawings,
        wide,
    }
}

fn scale(drawing: &Drawing, wide: f32) -> f32 {
    wide / drawing.size[0] as f32
}

fn high(drawing: &Drawing, wide: f32) -> f32 {
    drawing.size[1] as f32 * scale(drawing, wide)
}

/// Puts it where the page stands; it is never broken.
pub fn draw(pages: &mut Pages, placed: Placed) {
    pages.keep(placed.height);
    let top = pages.y;
    let mut left = MARGIN;
    for drawing in placed.drawings {
        pages.y = top;
        if let Some(caption) = &drawing.caption {
            let caption = printable(caption);
            let x = left + (placed.wide - width(&caption, SMALL)) / 2.0;
            pages.line(x, caption, SMALL);
            pages.y += 2.0;
        }
        let scale = scale(&drawing, placed.wide);
        pages.put(Item::Plot([left, pages.y], scale, drawing.shapes));
        left += placed.wide + BETWEEN;
    }
    pages.y = top + placed.height;
}

/// Paints a plot's shapes.
pub fn paint(surface: &mut Surface<'_>, fonts: &[Font; 2], shapes: &[Shape]) {
    for shape in shapes {
        match &shape.form {
            Form::Lines(line, paths) => {
                stroke(surface, *line);
                put(surface, joined(paths));
            }
            Form::Within(area, paths) => {
                fill(surface, *area);
                put(surface, joined(paths));
            }
            Form::Ring(line, centre, radius) => {
                stroke(surface, *line);
                put(surface, circle(*centre, *radius));
            }
            Form::Disc(area, centre, radius) => {
                fill(surface, *area);
                put(surface, circle(*centre, *radius));
            }
            Form::Block(area, [x, y], [wide, high]) => {
                fill(surface, *area);
                let mut path = PathBuilder::new();
                if let Some(rect) =
                    Rect::from_xywh(*x as f32, *y as f32, *wide as f32, *high as f32)
                {
                    path.push_rect(rect);
                }
                put(surface, path.finish());
            }
            Form::Text(label, at, text, upward) => {
                write(surface, fonts, *label, *at, text, *upward);
            }
        }
    }
}

fn put(surface: &mut Surface<'_>, path: Option<Path>) {
    if let Some(path) = path {
        surface.draw_path(&path);
    }
}

fn pen(line: Line) -> Stroke {
    let pen = line.pen();
    Stroke {
        paint: luma::Color::new(pen.grey).into(),
        width: pen.width,
        dash: (!pen.dashes.is_empty()).then(|| StrokeDash {
            array: pen.dashes.to_vec(),
            offset: 0.0,
        }),
        ..Stroke::default()
    }
}

fn stroke(surface: &mut Surface<'_>, line: Line) {
    surface.set_fill(None);
    surface.set_stroke(Some(pen(line)));
}

fn fill(surface: &mut Surface<'_>, area: Area) {
    let ink = area.ink();
    surface.set_fill(Some(Fill {
        paint: luma::Color::new(ink.grey).into(),
        opacity: NormalizedF32::new(ink.opacity).unwrap_or(NormalizedF32::ONE),
        rule: FillRule::EvenOdd,
    }));
    surface.set_stroke(area.edge().map(pen));
}

fn joined(paths: &[Places]) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for path in paths {
        for (index, [x, y]) in path.places.iter().enumerate() {
            if index == 0 {
                builder.move_to(*x as f32, *y as f32);
            } else {
                builder.line_to(*x as f32, *y as f32);
            }
        }
        if path.closed && !path.places.is_empty() {
            builder.close();
        }
    }
    builder.finish()
}

fn circle([x, y]: [f64; 2], radius: f64) -> Option<Path> {
    let mut builder = PathBuilder::new();
    let at = |across: f64, down: f64| [(x + radius * across) as f32, (y + radius * down) as f32];
    let [start_x, start_y] = at(1.0, 0.0);
    builder.move_to(start_x, start_y);
    for (from, to) in [
        ([1.0, 0.0], [0.0, 1.0]),
        ([0.0, 1.0], [-1.0, 0.0]),
        ([-1.0, 0.0], [0.0, -1.0]),
        ([0.0, -1.0], [1.0, 0.0]),
    ] {
        let [a, b] = [(from, to), (to, from)]
            .map(|(near, far)| at(near[0] + QUARTER * far[0], near[1] + QUARTER * far[1]));
        let end = at(to[0], to[1]);
        builder.cubic_to(a[0], a[1], b[0], b[1], end[0], end[1]);
    }
    builder.close();
    builder.finish()
}

fn write(
    surface: &mut Surface<'_>,
    fonts: &[Font; 2],
    label: Label,
    [x, y]: [f64; 2],
    text: &str,
    upward: bool,
) {
    let script = label.script();
    let style = Lettering {
        size: script.size,
        bold: script.bold,
        grey: false,
    };
    let text = printable(text);
    let before = match script.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => width(&text, style) / 2.0,
        Anchor::End => width(&text, style),
    };
    let (x, y) = (x as f32, y as f32);
    surface.push_transform(&if upward {
        Transform::from_row(0.0, -1.0, 1.0, 0.0, x, y)
    } else {
        Transform::from_translate(x, y)
    });
    write_line(surface, fonts, [-before, 0.0], &text, style);
    surface.pop();
}
