//! What charts and bars stand in: a grid across, ticks with their values, two axes with their names.

use super::axis::Axis;
use super::look::{Label, Line};
use super::shape::Canvas;
use protocol::style::Style;

/// The usual width of a plot.
pub const WIDTH: f64 = 680.0;
const LEFT: f64 = 62.0;
const RIGHT: f64 = WIDTH - 56.0;

/// The rectangle in which values are drawn, in pixels.
pub struct Frame {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    /// Where its lower edge is.
    pub base: f64,
    /// Of the whole plot.
    pub height: f64,
}

impl Frame {
    /// Of a plot so high, with so much above and below the rectangle.
    pub const fn new(height: f64, top: f64, below: f64) -> Self {
        Self {
            left: LEFT,
            right: RIGHT,
            top,
            base: height - below,
            height,
        }
    }

    /// A line across at each tick, with its value at the left.
    pub fn across(&self, canvas: &mut Canvas, y: &Axis, style: Style) {
        for tick in y.ticks() {
            let at = y.place(tick);
            canvas.line(Line::Grid, [[self.left, at], [self.right, at]]);
            canvas.text(
                Label::Before,
                [self.left - 5.0, at + 3.5],
                y.tick_text(tick, style),
            );
        }
    }

    /// The ticks below, each with its value.
    pub fn below(&self, canvas: &mut Canvas, x: &Axis, style: Style) {
        for tick in x.ticks() {
            let at = x.place(tick);
            canvas.line(Line::Grid, [[at, self.base], [at, self.base + 4.0]]);
            canvas.text(
                Label::Middle,
                [at, self.base + 16.0],
                x.tick_text(tick, style),
            );
        }
    }

    /// The two axes with their names.
    pub fn axes(&self, canvas: &mut Canvas, x_label: &str, y_label: &str) {
        let Self {
            left,
            right,
            top,
            base,
            height,
        } = *self;
        canvas.line(Line::Axis, [[left, top], [left, base], [right, base]]);
        let below = [left.midpoint(right), height - 6.0];
        canvas.text(Label::Middle, below, x_label);
        canvas.upward(Label::Middle, [13.0, top.midpoint(base)], y_label);
    }
}
