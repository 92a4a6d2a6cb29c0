//! Plots as SVG text: line charts, polar plots and bars.
//!
//! Series differ by weight, dash, dot and label, never by colour alone: a record is printed in grey.

mod axis;
mod bars;
mod chart;
mod polar;

pub use bars::{Bar, Bars};
pub use chart::{Chart, Dot, Flag, Series, Stroke};
pub use polar::{Circle, Polar, Trace};

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

/// A long trace cut to a thousand columns, each with its smallest and largest value: nothing that stands out is lost.
#[must_use]
pub fn reduced(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    const COLUMNS: usize = 1_000;
    if points.len() <= 2 * COLUMNS {
        return points.to_vec();
    }
    points
        .chunks(points.len().div_ceil(COLUMNS))
        .flat_map(|column| {
            let by_value = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
            let low = column.iter().min_by(by_value).copied();
            let high = column.iter().max_by(by_value).copied();
            let mut pair: Vec<(f64, f64)> = low.into_iter().chain(high).collect();
            pair.sort_by(|a, b| a.0.total_cmp(&b.0));
            pair.dedup();
            pair
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reduced_trace_keeps_what_stands_out() {
        let points: Vec<(f64, f64)> = (0..100_000)
            .map(|i| (f64::from(i), f64::from(u8::from(i == 54_321))))
            .collect();
        let short = reduced(&points);
        assert!(short.len() <= 2_000);
        assert!(short.contains(&(54_321.0, 1.0)));
        assert!(short.windows(2).all(|pair| pair[0].0 <= pair[1].0));
    }

    #[test]
    fn what_xml_cannot_hold_is_left_out() {
        assert_eq!(escaped("a\u{1b}[0m<b>\u{0}\tc"), "a[0m&lt;b&gt;\tc");
    }
}
