//! What charts and bars stand in: a grid across, ticks with their values, two axes with their names.

use super::Px;
use super::axis::Axis;
use maud::{Markup, html};

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
    pub fn across(&self, y: &Axis) -> Markup {
        html! {
            @for tick in y.ticks() {
                @let at = y.place(tick);
                path.grid d={ "M" (self.left) " " (Px(at)) "H" (self.right) } {}
                text.ytick x=(Px(self.left - 5.0)) y=(Px(at + 3.5)) { (y.tick_text(tick)) }
            }
        }
    }

    /// The ticks below, each with its value.
    pub fn below(&self, x: &Axis) -> Markup {
        html! {
            @for tick in x.ticks() {
                @let at = x.place(tick);
                path.grid d={ "M" (Px(at)) " " (self.base) "v4" } {}
                text.xtick x=(Px(at)) y=(Px(self.base + 16.0)) { (x.tick_text(tick)) }
            }
        }
    }

    /// The two axes with their names.
    pub fn axes(&self, x_label: &str, y_label: &str) -> Markup {
        let Self {
            left,
            right,
            top,
            base,
            height,
        } = self;
        html! {
            path.axis d={ "M" (left) " " (top) "V" (base) "H" (right) } {}
            text.xtick x=(Px(left.midpoint(*right))) y=(Px(height - 6.0)) { (x_label) }
            text.xtick transform={ "translate(13 " (Px(top.midpoint(*base))) ") rotate(-90)" } { (y_label) }
        }
    }
}
