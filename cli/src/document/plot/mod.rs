//! Plots: line charts, polar plots and bars, drawn once as shapes. The page writes them as SVG, and the PDF is painted with them.
//!
//! Series differ by weight, dash, dot and label, never by colour alone: a record is printed in grey.

pub(crate) mod axis;
mod bars;
mod chart;
mod frame;
pub mod look;
mod polar;
pub mod shape;

use maud::{Markup, html};
use protocol::sheet::plot::Plot;
use protocol::style::Style;
use shape::Shape;

/// One drawing of a plot.
pub struct Drawing {
    /// What stands above it, where two stand beside each other.
    pub caption: Option<String>,
    /// What it shows.
    pub title: String,
    /// How wide and high it is, in pixels.
    pub size: [f64; 2],
    /// What it is made of.
    pub shapes: Vec<Shape>,
}

impl Drawing {
    /// As one `<svg>` element.
    fn svg(&self) -> Markup {
        let [wide, high] = self.size;
        html! {
            svg viewBox={ "0 0 " (wide) " " (high) } role="img" aria-label=(self.title) {
                @for shape in &self.shapes { (shape) }
            }
        }
    }
}

/// The drawings of a plot; two stand beside each other. Its own values are in the style's units, but levels round a turn.
pub fn drawings(plot: &Plot, style: Style) -> Vec<Drawing> {
    match plot {
        Plot::Chart(chart) => vec![chart::drawing(chart, style)],
        Plot::Bars(bars) => vec![bars::drawing(bars, style)],
        Plot::Polars { pair, one_scale } => {
            let own = pair.each_ref().map(|(_, polar)| polar::reach_um(polar));
            let both = own[0].max(own[1]);
            let drawn = pair.iter().zip(own).map(|((caption, polar), own)| Drawing {
                caption: Some(caption.clone()),
                ..polar::drawing(polar, if *one_scale { both } else { own }, style)
            });
            drawn.collect()
        }
    }
}

/// The plot as the page holds it.
pub fn draw(plot: &Plot, style: Style) -> Markup {
    let drawings = drawings(plot, style);
    html! {
        @if let [one] = drawings.as_slice() {
            div.wide { (one.svg()) }
        } @else {
            div.pair {
                @for drawing in &drawings {
                    figure {
                        @if let Some(caption) = &drawing.caption { figcaption { (caption) } }
                        (drawing.svg())
                    }
                }
            }
        }
    }
}
