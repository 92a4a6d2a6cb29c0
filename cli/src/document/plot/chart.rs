//! A chart of lines and points over an axis.

use super::Drawing;
use super::axis::Axis;
use super::frame::{Frame, WIDTH};
use super::look::{Area, Label, Line, Of};
use super::shape::Canvas;
use protocol::sheet::plot::{Chart, Flag, Series, Stroke};
use protocol::style::Style;

/// The usual height.
const TALL: f64 = 230.0;
/// That of a chart that stands beside a larger one of the same thing.
const LOW: f64 = 165.0;
const BELOW: f64 = 40.0;
const LABEL_HEIGHT: f64 = 11.0;
/// What a character of a legend takes, about.
const CHARACTER: f64 = 6.3;

/// The chart.
pub fn drawing(chart: &Chart, style: Style) -> Drawing {
    // Room for the legend and the flags' names.
    let top = if chart.legend { 26.0 } else { 14.0 };
    let frame = Frame::new(if chart.low { LOW } else { TALL }, top, BELOW);
    let points = || chart.series.iter().flat_map(|s| s.points.iter());
    let xs = points()
        .map(|p| p.0)
        .chain(chart.flags.iter().flat_map(|f| [f.from, f.to]));
    let x = Axis::over(xs, frame.left, frame.right, 1e-3);
    let y = Axis::over(points().map(|p| p.1), frame.base, frame.top, 0.002);
    let mut canvas = Canvas::default();
    frame.across(&mut canvas, &y, style);
    frame.below(&mut canvas, &x, style);
    frame.axes(&mut canvas, &chart.x_label, &chart.y_label);
    for named in &chart.flags {
        flag(&mut canvas, named, &frame, &x);
    }
    for series in &chart.series {
        draw(&mut canvas, series, &x, &y);
    }
    if chart.legend {
        canvas.sample(|canvas| legend(canvas, &chart.series, frame.left));
    } else {
        labels(&mut canvas, &chart.series, &x, &y);
    }
    Drawing {
        caption: None,
        title: chart.title.clone(),
        size: [WIDTH, frame.height],
        shapes: canvas.shapes,
    }
}

fn flag(canvas: &mut Canvas, flag: &Flag, frame: &Frame, x: &Axis) {
    let (from, to) = (x.place(flag.from), x.place(flag.to));
    let (width, top) = ((to - from).max(1.5), frame.top);
    canvas.block(Area::Flag, [from, top], [width, frame.base - top]);
    let middle = [from + width / 2.0, top + 9.0];
    canvas.text(Label::FlagName, middle, &flag.label);
}

/// The series' names with samples, in a line above.
fn legend(canvas: &mut Canvas, series: &[Series], left: f64) {
    let mut at = left;
    for series in series.iter().filter(|s| !s.label.is_empty()) {
        if let Some(line) = Line::of(series.stroke, Of::Chart) {
            canvas.line(line, [[at, 10.0], [at + 22.0, 10.0]]);
        }
        canvas.dot(series.dot, [at + 11.0, 10.0]);
        canvas.text(Label::Legend, [at + 27.0, 13.5], &series.label);
        at += 41.0 + CHARACTER * series.label.chars().count() as f64;
    }
}

/// The series' names at their right ends; the heavy one first, and none over another.
fn labels(canvas: &mut Canvas, series: &[Series], x: &Axis, y: &Axis) {
    let is_heavy = |s: &&Series| s.stroke == Stroke::Heavy;
    let (heavy, light): (Vec<&Series>, Vec<&Series>) = series.iter().partition(is_heavy);
    let mut taken: Vec<f64> = Vec::new();
    for series in heavy.into_iter().chain(light) {
        let Some((px, py)) = series.points.last() else {
            continue;
        };
        let [px, py] = [x.place(*px), y.place(*py)];
        let over = taken.iter().any(|other| (other - py).abs() < LABEL_HEIGHT);
        if series.label.is_empty() || over {
            continue;
        }
        taken.push(py);
        let label = if is_heavy(&series) {
            Label::Heavy
        } else {
            Label::Light
        };
        canvas.text(label, [px + 6.0, py + 3.5], &series.label);
    }
}

fn draw(canvas: &mut Canvas, series: &Series, x: &Axis, y: &Axis) {
    let points = series.points.iter();
    let places: Vec<[f64; 2]> = points
        .map(|(px, py)| [x.place(*px), y.place(*py)])
        .collect();
    if let Some(line) = Line::of(series.stroke, Of::Chart) {
        canvas.line(line, places.as_slice());
    }
    for place in places {
        canvas.dot(series.dot, place);
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
            let svg = drawing(&chart(points), Style::default())
                .svg()
                .into_string();
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            assert!(svg.contains("&lt;t&gt;"));
        }
    }
}
