//! Bars from a base line.

use super::Drawing;
use super::axis::Axis;
use super::frame::{Frame, WIDTH};
use super::look::{Area, Label, Line, Of};
use super::shape::Canvas;
use protocol::sheet::plot::Bars;
use protocol::style::Style;

const FRAME: Frame = Frame::new(175.0, 18.0, 52.0);
/// No bar is wider, however few there are.
const WIDEST: f64 = 90.0;

/// The bars.
pub fn drawing(bars: &Bars, style: Style) -> Drawing {
    let Frame {
        left,
        right,
        top,
        base,
        height,
    } = FRAME;
    let largest = bars.bars.iter().map(|bar| bar.value).fold(0.0, f64::max);
    let highest = bars.highest.unwrap_or_else(|| (largest * 1.1).max(0.01));
    let y = Axis::between(0.0, highest, base, top);
    let pitch = (right - left) / bars.bars.len().max(1) as f64;
    let width = (pitch * 0.6).min(WIDEST);
    let mut canvas = Canvas::default();
    FRAME.across(&mut canvas, &y, style);
    if let Some((level, name)) = &bars.level {
        let at = y.place(*level);
        canvas.line(Line::Dashed(Of::Chart, 0), [[left, at], [right, at]]);
        canvas.text(Label::Light, [right + 4.0, at + 3.5], name);
    }
    for (index, bar) in bars.bars.iter().enumerate() {
        let middle = left + pitch * (index as f64 + 0.5);
        let top = y.place(bar.value);
        let corner = [middle - width / 2.0, top];
        canvas.block(Area::Bar, corner, [width, base - top]);
        let value = style.number(bar.value, bars.places);
        canvas.text(Label::Middle, [middle, top - 4.0], value);
        canvas.text(Label::Middle, [middle, base + 14.0], &bar.label);
        canvas.text(Label::Small, [middle, base + 26.0], &bar.note);
    }
    FRAME.axes(&mut canvas, &bars.x_label, &bars.y_label);
    Drawing {
        caption: None,
        title: bars.title.clone(),
        size: [WIDTH, height],
        shapes: canvas.shapes,
    }
}
