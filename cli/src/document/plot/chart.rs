//! A chart of lines and points over an axis.

use super::axis::Axis;
use super::frame::{Frame, WIDTH};
use super::{Px, class, dot, path};
use maud::{Markup, html};
use protocol::sheet::plot::{Chart, Flag, Series, Stroke};

/// The usual height.
const TALL: f64 = 230.0;
/// That of a chart that stands beside a larger one of the same thing.
const LOW: f64 = 165.0;
const BELOW: f64 = 40.0;
const LABEL_HEIGHT: f64 = 11.0;
/// What a character of a legend takes, about.
const CHARACTER: f64 = 6.3;

/// The chart as one `<svg>` element.
pub fn svg(chart: &Chart) -> Markup {
    // Room for the legend and the flags' names.
    let top = if chart.legend { 26.0 } else { 14.0 };
    let frame = Frame::new(if chart.low { LOW } else { TALL }, top, BELOW);
    let points = || chart.series.iter().flat_map(|s| s.points.iter());
    let xs = points()
        .map(|p| p.0)
        .chain(chart.flags.iter().flat_map(|f| [f.from, f.to]));
    let x = Axis::over(xs, frame.left, frame.right, 1e-3);
    let y = Axis::over(points().map(|p| p.1), frame.base, frame.top, 0.002);
    html! {
        svg viewBox={ "0 0 " (WIDTH) " " (frame.height) } role="img" aria-label=(chart.title) {
            (frame.across(&y))
            (frame.below(&x))
            (frame.axes(&chart.x_label, &chart.y_label))
            @for named in &chart.flags { (flag(named, &frame, &x)) }
            @for series in &chart.series { (draw(series, &x, &y)) }
            @if chart.legend { (legend(&chart.series, frame.left)) } @else { (labels(&chart.series, &x, &y)) }
        }
    }
}

fn flag(flag: &Flag, frame: &Frame, x: &Axis) -> Markup {
    let (from, to) = (x.place(flag.from), x.place(flag.to));
    let (width, top) = ((to - from).max(1.5), frame.top);
    html! {
        rect.flag x=(Px(from)) y=(top) width=(Px(width)) height=(Px(frame.base - top)) {}
        text.flagname x=(Px(from + width / 2.0)) y=(Px(top + 9.0)) { (flag.label) }
    }
}

/// The series' names with samples, in a line above.
fn legend(series: &[Series], left: f64) -> Markup {
    let mut right = left;
    let named = series.iter().filter(|s| !s.label.is_empty()).map(|series| {
        let at = right;
        right += 41.0 + CHARACTER * series.label.chars().count() as f64;
        (at, series)
    });
    html! {
        @for (at, series) in named {
            @if let Some(class) = class(series.stroke) {
                path.(class).sample d={ "M" (Px(at)) " 10h22" } {}
            }
            (dot(series.dot, [at + 11.0, 10.0], true))
            text.legend x=(Px(at + 27.0)) y="13.5" { (series.label) }
        }
    }
}

/// The series' names at their right ends; the heavy one first, and none over another.
fn labels(series: &[Series], x: &Axis, y: &Axis) -> Markup {
    let is_heavy = |s: &&Series| s.stroke == Stroke::Heavy;
    let (heavy, light): (Vec<&Series>, Vec<&Series>) = series.iter().partition(is_heavy);
    let mut taken: Vec<f64> = Vec::new();
    let ends = heavy.into_iter().chain(light).filter_map(|series| {
        let (px, py) = series.points.last()?;
        let [px, py] = [x.place(*px), y.place(*py)];
        let over = taken.iter().any(|other| (other - py).abs() < LABEL_HEIGHT);
        if series.label.is_empty() || over {
            return None;
        }
        taken.push(py);
        Some((series, [px, py]))
    });
    html! {
        @for (series, [px, py]) in ends {
            @let weight = if is_heavy(&series) { "heavy" } else { "light" };
            text.series.(weight) x=(Px(px + 6.0)) y=(Px(py + 3.5)) { (series.label) }
        }
    }
}

fn draw(series: &Series, x: &Axis, y: &Axis) -> Markup {
    let places = || {
        series
            .points
            .iter()
            .map(|(px, py)| [x.place(*px), y.place(*py)])
    };
    html! {
        @if let Some(class) = class(series.stroke) { path.(class) d=(path(places(), false)) {} }
        @for place in places() { (dot(series.dot, place, false)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::sheet::plot::Dot;

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
            let svg = svg(&chart(points)).into_string();
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            assert!(svg.contains("&lt;t&gt;"));
        }
    }
}
