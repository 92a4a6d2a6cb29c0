//! Plots as SVG text: line charts, polar plots and bars.
//!
//! Series differ by weight, dash, dot and label, never by colour alone: a record is printed in grey.

mod axis;
mod bars;
mod chart;
mod polar;

use super::page::Page;
use protocol::sheet::plot::Plot;

/// Draws a plot into the page.
pub fn draw(page: &mut Page, plot: &Plot) {
    match plot {
        Plot::Chart(chart) => page.svg(&chart::svg(chart)),
        Plot::Bars(bars) => page.svg(&bars::svg(bars)),
        Plot::Polars { pair, one_scale } => {
            let own = pair.each_ref().map(|(_, polar)| polar::reach_um(polar));
            let both = own[0].max(own[1]);
            let svg = |i: usize| {
                let reach_um = if *one_scale { both } else { own[i] };
                (pair[i].0, polar::svg(&pair[i].1, reach_um))
            };
            page.pair([svg(0), svg(1)]);
        }
    }
}

/// Text inside HTML or SVG. What a control character would be is left out: neither can hold it.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(c),
            '\u{fffe}' | '\u{ffff}' => {}
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_xml_cannot_hold_is_left_out() {
        assert_eq!(escaped("a\u{1b}[0m<b>\u{0}\tc"), "a[0m&lt;b&gt;\tc");
    }
}
