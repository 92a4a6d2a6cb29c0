//! Plots as SVG: line charts, polar plots and bars.
//!
//! Series differ by weight, dash, dot and label, never by colour alone: a record is printed in grey.

mod axis;
mod bars;
mod chart;
mod frame;
mod polar;

use maud::{Markup, Render, html};
use protocol::sheet::plot::{Dot, Plot, Stroke};
use std::fmt::Write;

/// How the plots look, by their classes: the same on the page and in the PDF.
pub const STYLE: &str = include_str!("plot.css");

/// One drawing of a plot.
pub struct Drawing {
    /// What stands above it, where two stand beside each other.
    pub caption: Option<&'static str>,
    /// One `<svg>` element.
    pub svg: Markup,
}

/// The drawings of a plot; two stand beside each other.
pub fn drawings(plot: &Plot) -> Vec<Drawing> {
    let one = |svg: Markup| Drawing { caption: None, svg };
    match plot {
        Plot::Chart(chart) => vec![one(chart::svg(chart))],
        Plot::Bars(bars) => vec![one(bars::svg(bars))],
        Plot::Polars { pair, one_scale } => {
            let own = pair.each_ref().map(|(_, polar)| polar::reach_um(polar));
            let both = own[0].max(own[1]);
            let drawn = pair.iter().zip(own).map(|((caption, polar), own)| Drawing {
                caption: Some(caption),
                svg: polar::svg(polar, if *one_scale { both } else { own }),
            });
            drawn.collect()
        }
    }
}

/// The plot as the page holds it.
pub fn draw(plot: &Plot) -> Markup {
    let drawings = drawings(plot);
    html! {
        @if let [one] = drawings.as_slice() {
            div.wide { (one.svg) }
        } @else {
            div.pair {
                @for drawing in &drawings {
                    figure {
                        @if let Some(caption) = drawing.caption { figcaption { (caption) } }
                        (drawing.svg)
                    }
                }
            }
        }
    }
}

/// A place on paper, to a tenth of a pixel.
struct Px(f64);

impl Render for Px {
    fn render_to(&self, buffer: &mut String) {
        let _ = write!(buffer, "{:.1}", self.0);
    }
}

/// The class that draws a stroke; none for what is not joined.
fn class(stroke: Stroke) -> Option<String> {
    match stroke {
        Stroke::None => None,
        Stroke::Heavy => Some("heavy".into()),
        Stroke::Light => Some("light".into()),
        Stroke::Dashed(index) => Some(format!("light d{}", index % 3 + 1)),
    }
}

/// A path through places on paper.
fn path(places: impl Iterator<Item = [f64; 2]>, closed: bool) -> String {
    let mut path = String::new();
    for (i, [x, y]) in places.enumerate() {
        let command = if i == 0 { 'M' } else { 'L' };
        let _ = write!(path, "{command}{x:.1} {y:.1}");
    }
    if closed && !path.is_empty() {
        path.push('Z');
    }
    path
}

/// A dot; those of a legend are of a class of their own, since they are no points.
fn dot(dot: Dot, [x, y]: [f64; 2], sample: bool) -> Markup {
    let (class, r) = match dot {
        Dot::None => return html! {},
        Dot::Cross => {
            let d = format!("M{:.1} {:.1}l8 8m0 -8l-8 8", x - 4.0, y - 4.0);
            return html! { path.cross.sample[sample] d=(d) {} };
        }
        Dot::Full => ("heavy", 3.0),
        Dot::Open => ("light", 3.0),
        Dot::Fine => ("fine", 1.1),
    };
    html! { circle.(class).sample[sample] cx=(Px(x)) cy=(Px(y)) r=(r) {} }
}
