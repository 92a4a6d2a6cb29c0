//! A chart of lines and points over an axis.

use super::axis::Axis;
use super::escaped;
use protocol::sheet::plot::{Chart, Dot, Series, Stroke};
use std::fmt::Write;

const WIDTH: f64 = 680.0;
/// The usual height.
const TALL: f64 = 230.0;
/// That of a chart that stands beside a larger one of the same thing.
const LOW: f64 = 165.0;
const LEFT: f64 = 62.0;
const RIGHT: f64 = 56.0;
const BOTTOM: f64 = 40.0;
const LABEL_HEIGHT: f64 = 11.0;
/// What a character of a legend takes, about.
const CHARACTER: f64 = 6.3;

/// The class that draws a stroke; none for what is not joined.
pub(super) fn class(stroke: Stroke) -> Option<String> {
    match stroke {
        Stroke::None => None,
        Stroke::Heavy => Some("heavy".into()),
        Stroke::Light => Some("light".into()),
        Stroke::Dashed(index) => Some(format!("light d{}", index % 3 + 1)),
    }
}

const fn height(chart: &Chart) -> f64 {
    if chart.low { LOW } else { TALL }
}

/// Room for the legend and the flags' names.
fn top(chart: &Chart) -> f64 {
    if chart.legend { 26.0 } else { 14.0 }
}

/// The chart as one `<svg>` element.
pub fn svg(chart: &Chart) -> String {
    let points = || chart.series.iter().flat_map(|s| s.points.iter());
    let xs = points()
        .map(|p| p.0)
        .chain(chart.flags.iter().flat_map(|f| [f.from, f.to]));
    let x = Axis::over(xs, LEFT, WIDTH - RIGHT, 1e-3);
    let (top, base) = (top(chart), height(chart) - BOTTOM);
    let y = Axis::over(points().map(|p| p.1), base, top, 0.002);
    let mut out = format!(
        "<svg viewBox=\"0 0 {WIDTH} {}\" role=\"img\" aria-label=\"{}\">",
        height(chart),
        escaped(&chart.title)
    );
    grid(chart, &mut out, &x, &y);
    for flag in &chart.flags {
        let (from, to) = (x.place(flag.from), x.place(flag.to));
        let width = (to - from).max(1.5);
        let middle = from + width / 2.0;
        let _ = write!(
            out,
            "<rect class=\"flag\" x=\"{from:.1}\" y=\"{top}\" width=\"{width:.1}\" height=\"{:.1}\"/>\
             <text class=\"flagname\" x=\"{middle:.1}\" y=\"{:.1}\">{}</text>",
            base - top,
            top + 9.0,
            escaped(&flag.label)
        );
    }
    for series in &chart.series {
        draw(&mut out, series, &x, &y);
    }
    if chart.legend {
        legend(chart, &mut out);
    } else {
        labels(chart, &mut out, &x, &y);
    }
    out.push_str("</svg>");
    out
}

fn grid(chart: &Chart, out: &mut String, x: &Axis, y: &Axis) {
    let (top, base, right) = (top(chart), height(chart) - BOTTOM, WIDTH - RIGHT);
    for tick in y.ticks() {
        let at = y.place(tick);
        let _ = write!(
            out,
            "<path class=\"grid\" d=\"M{LEFT} {at:.1}H{right}\"/>\
             <text class=\"ytick\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            LEFT - 5.0,
            at + 3.5,
            y.tick_text(tick)
        );
    }
    for tick in x.ticks() {
        let at = x.place(tick);
        let _ = write!(
            out,
            "<path class=\"grid\" d=\"M{at:.1} {base}v4\"/>\
             <text class=\"xtick\" x=\"{at:.1}\" y=\"{:.1}\">{}</text>",
            base + 16.0,
            x.tick_text(tick)
        );
    }
    let _ = write!(
        out,
        "<path class=\"axis\" d=\"M{LEFT} {top}V{base}H{right}\"/>\
         <text class=\"xtick\" x=\"{:.1}\" y=\"{:.1}\">{}</text>\
         <text class=\"xtick\" transform=\"translate(13 {:.1}) rotate(-90)\">{}</text>",
        LEFT.midpoint(right),
        height(chart) - 6.0,
        escaped(&chart.x_label),
        top.midpoint(base),
        escaped(&chart.y_label)
    );
}

/// The series' names with samples, in a line above.
fn legend(chart: &Chart, out: &mut String) {
    let mut at = LEFT;
    for series in chart.series.iter().filter(|s| !s.label.is_empty()) {
        let sample = Series {
            label: String::new(),
            points: Vec::new(),
            ..*series
        };
        let middle = at + 11.0;
        if let Some(class) = class(sample.stroke) {
            let _ = write!(out, "<path class=\"{class} sample\" d=\"M{at:.1} 10h22\"/>");
        }
        dot(out, sample.dot, middle, 10.0, true);
        let _ = write!(
            out,
            "<text class=\"legend\" x=\"{:.1}\" y=\"13.5\">{}</text>",
            at + 27.0,
            escaped(&series.label)
        );
        at += 41.0 + CHARACTER * series.label.chars().count() as f64;
    }
}

/// The series' names at their right ends; the heavy one first, and none over another.
fn labels(chart: &Chart, out: &mut String, x: &Axis, y: &Axis) {
    let mut taken: Vec<f64> = Vec::new();
    let heavy = |s: &&Series| s.stroke == Stroke::Heavy;
    let heavy_first = chart
        .series
        .iter()
        .filter(heavy)
        .chain(chart.series.iter().filter(|s| !heavy(s)));
    for series in heavy_first.filter(|s| !s.label.is_empty()) {
        let Some((px, py)) = series.points.last() else {
            continue;
        };
        let at = y.place(*py);
        if taken.iter().any(|other| (other - at).abs() < LABEL_HEIGHT) {
            continue;
        }
        taken.push(at);
        let _ = write!(
            out,
            "<text class=\"series {}\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            if heavy(&series) { "heavy" } else { "light" },
            x.place(*px) + 6.0,
            at + 3.5,
            escaped(&series.label)
        );
    }
}

fn draw(out: &mut String, series: &Series, x: &Axis, y: &Axis) {
    if let Some(class) = class(series.stroke) {
        let mut path = String::new();
        for (i, (px, py)) in series.points.iter().enumerate() {
            let command = if i == 0 { 'M' } else { 'L' };
            let _ = write!(path, "{command}{:.1} {:.1}", x.place(*px), y.place(*py));
        }
        let _ = write!(out, "<path class=\"{class}\" d=\"{path}\"/>");
    }
    for (px, py) in &series.points {
        dot(out, series.dot, x.place(*px), y.place(*py), false);
    }
}

/// A dot; those of a legend are of a class of their own, since they are no points.
pub(super) fn dot(out: &mut String, dot: Dot, x: f64, y: f64, sample: bool) {
    let sample = if sample { " sample" } else { "" };
    let (class, r) = match dot {
        Dot::None => return,
        Dot::Cross => {
            let _ = write!(
                out,
                "<path class=\"cross{sample}\" d=\"M{:.1} {:.1}l8 8m0 -8l-8 8\"/>",
                x - 4.0,
                y - 4.0
            );
            return;
        }
        Dot::Full => ("heavy", 3.0),
        Dot::Open => ("light", 3.0),
        Dot::Fine => ("fine", 1.1),
    };
    let _ = write!(
        out,
        "<circle class=\"{class}{sample}\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{r}\"/>"
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flat_and_empty_charts_have_finite_places() {
        let chart = |points: Vec<(f64, f64)>| Chart {
            title: "<t>".into(),
            x_label: "x".into(),
            y_label: "y".into(),
            series: vec![Series {
                label: "1".into(),
                points,
                stroke: Stroke::Heavy,
                dot: Dot::Full,
            }],
            flags: vec![],
            legend: false,
            low: false,
        };
        for points in [vec![], vec![(0.0, 0.0)], vec![(0.0, 5.0), (80.0, 5.0)]] {
            let svg = svg(&chart(points));
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            assert!(svg.contains("&lt;t&gt;"));
        }
    }
}
