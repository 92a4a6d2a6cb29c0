//! Plots as SVG text: a line chart with marked points, and a trace over time with the marks on it.
//!
//! Series differ by weight, dash and label, never by colour alone: a record is printed in grey.

use std::fmt::Write;

const WIDTH: f64 = 680.0;
const HEIGHT: f64 = 260.0;
const LEFT: f64 = 62.0;
const RIGHT: f64 = 56.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 40.0;
const LABEL_HEIGHT: f64 = 11.0;

/// A series of points joined by a line.
pub struct Series {
    pub label: String,
    pub points: Vec<(f64, f64)>,
    /// The one that counts is drawn heavy; the others light.
    pub heavy: bool,
}

/// A place on the x axis with a name, and the span of x that belongs to it.
pub struct Flag {
    pub label: String,
    pub from: f64,
    pub to: f64,
}

/// What is drawn.
pub struct Chart {
    pub title: String,
    pub x_label: String,
    pub y_label: String,
    pub series: Vec<Series>,
    pub flags: Vec<Flag>,
    /// Whether points are drawn as dots.
    pub dots: bool,
}

/// An axis: its span in data and on paper, and round numbers to label.
struct Axis {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    step: f64,
}

impl Axis {
    /// Covers the values with a twentieth of room at each end.
    fn over(values: impl Iterator<Item = f64>, from: f64, to: f64, least: f64) -> Self {
        let (low, high) = values
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                (l.min(v), h.max(v))
            });
        let (low, high) = if low > high {
            (0.0, least)
        } else {
            (low, high)
        };
        let room = ((high - low) * 0.05)
            .max((least - (high - low)) / 2.0)
            .max(0.0);
        let (low, high) = (low - room, high + room);
        Self {
            low,
            high,
            from,
            to,
            step: round_step((high - low) / 6.0),
        }
    }

    fn place(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }

    fn ticks(&self) -> impl Iterator<Item = f64> + '_ {
        let first = (self.low / self.step).ceil() as i64;
        let last = (self.high / self.step).floor() as i64;
        (first..=last).map(|i| i as f64 * self.step)
    }

    fn tick_text(&self, tick: f64) -> String {
        let places = (-self.step.log10().floor()).clamp(0.0, 6.0) as usize;
        // A rounded zero must not be printed as -0.
        let tick = if tick.abs() < self.step / 2.0 {
            0.0
        } else {
            tick
        };
        format!("{tick:.places$}")
    }
}

/// The smallest of 1, 2, 5 times a power of ten that is not below `rough`.
fn round_step(rough: f64) -> f64 {
    let power = 10_f64.powf(rough.log10().floor());
    let share = rough / power;
    let factor = if share <= 1.0 {
        1.0
    } else if share <= 2.0 {
        2.0
    } else if share <= 5.0 {
        5.0
    } else {
        10.0
    };
    factor * power
}

/// Text inside HTML or SVG.
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
            c => out.push(c),
        }
    }
    out
}

impl Chart {
    /// The chart as one `<svg>` element.
    #[must_use]
    pub fn svg(&self) -> String {
        let points = || self.series.iter().flat_map(|s| s.points.iter());
        let xs = points()
            .map(|p| p.0)
            .chain(self.flags.iter().flat_map(|f| [f.from, f.to]));
        let x = Axis::over(xs, LEFT, WIDTH - RIGHT, 1.0);
        let y = Axis::over(points().map(|p| p.1), HEIGHT - BOTTOM, TOP, 0.002);
        let mut out = format!(
            "<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{}\">",
            escaped(&self.title)
        );
        self.grid(&mut out, &x, &y);
        for flag in &self.flags {
            let (from, to) = (x.place(flag.from), x.place(flag.to));
            let width = (to - from).max(1.5);
            let middle = from + width / 2.0;
            let _ = write!(
                out,
                "<rect class=\"flag\" x=\"{from:.1}\" y=\"{TOP}\" width=\"{width:.1}\" height=\"{:.1}\"/>\
                 <text class=\"flagname\" x=\"{middle:.1}\" y=\"{:.1}\">{}</text>",
                HEIGHT - BOTTOM - TOP,
                TOP + 9.0,
                escaped(&flag.label)
            );
        }
        for (index, series) in self.series.iter().enumerate() {
            self.draw(&mut out, series, index, &x, &y);
        }
        self.labels(&mut out, &x, &y);
        out.push_str("</svg>");
        out
    }

    fn grid(&self, out: &mut String, x: &Axis, y: &Axis) {
        let (base, right) = (HEIGHT - BOTTOM, WIDTH - RIGHT);
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
            "<path class=\"axis\" d=\"M{LEFT} {TOP}V{base}H{right}\"/>\
             <text class=\"xtick\" x=\"{:.1}\" y=\"{:.1}\">{}</text>\
             <text class=\"xtick\" transform=\"translate(13 {:.1}) rotate(-90)\">{}</text>",
            LEFT.midpoint(right),
            HEIGHT - 6.0,
            escaped(&self.x_label),
            TOP.midpoint(base),
            escaped(&self.y_label)
        );
    }

    fn draw(&self, out: &mut String, series: &Series, index: usize, x: &Axis, y: &Axis) {
        let class = if series.heavy { "heavy" } else { "light" };
        // Three dash patterns in turn, so that neighbours differ in grey print too.
        let dash = if series.heavy || self.series.len() == 1 {
            ""
        } else {
            [" d1", " d2", " d3"][index % 3]
        };
        let mut path = String::new();
        for (i, (px, py)) in series.points.iter().enumerate() {
            let command = if i == 0 { 'M' } else { 'L' };
            let _ = write!(path, "{command}{:.1} {:.1}", x.place(*px), y.place(*py));
        }
        let _ = write!(out, "<path class=\"{class}{dash}\" d=\"{path}\"/>");
        if self.dots {
            for (px, py) in &series.points {
                let _ = write!(
                    out,
                    "<circle class=\"{class}\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"3\"/>",
                    x.place(*px),
                    y.place(*py)
                );
            }
        }
    }

    /// The series' names at their right ends; the heavy one first, and none over another.
    fn labels(&self, out: &mut String, x: &Axis, y: &Axis) {
        let mut taken: Vec<f64> = Vec::new();
        let heavy_first = self
            .series
            .iter()
            .filter(|s| s.heavy)
            .chain(self.series.iter().filter(|s| !s.heavy));
        for series in heavy_first {
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
                if series.heavy { "heavy" } else { "light" },
                x.place(*px) + 6.0,
                at + 3.5,
                escaped(&series.label)
            );
        }
    }
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
            pair
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_five() {
        for (rough, step) in [
            (0.7, 1.0),
            (1.0, 1.0),
            (1.4, 2.0),
            (3.0, 5.0),
            (6.0, 10.0),
            (0.013, 0.02),
        ] {
            assert!((round_step(rough) / step - 1.0).abs() < 1e-9, "{rough}");
        }
    }

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
    fn flat_and_empty_charts_have_finite_places() {
        let chart = |points: Vec<(f64, f64)>| Chart {
            title: "<t>".into(),
            x_label: "x".into(),
            y_label: "y".into(),
            series: vec![Series {
                label: "1".into(),
                points,
                heavy: true,
            }],
            flags: vec![],
            dots: true,
        };
        for points in [vec![], vec![(0.0, 0.0)], vec![(0.0, 5.0), (80.0, 5.0)]] {
            let svg = chart(points).svg();
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            assert!(svg.contains("&lt;t&gt;"));
        }
    }
}
