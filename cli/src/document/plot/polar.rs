//! A polar plot: levels round a turn, much magnified, about a base circle.
//!
//! 0° is at the top and angles go clockwise, as the hours do, so that "true it at four o'clock" is where a clock has it. The base
//! circle stands for the level 0; a level above it, toward the indicator, lies outside. What is magnified is the level and
//! not the part, so an eccentric circle is drawn as what its readings would be, a limaçon.

use super::axis::{round_step, step_text};
use super::chart::{class, dot};
use super::escaped;
use protocol::sheet::plot::{Circle, Polar};
use std::f64::consts::TAU;
use std::fmt::Write;

const WIDTH: f64 = 330.0;
const HEIGHT: f64 = 348.0;
const MIDDLE: [f64; 2] = [165.0, 172.0];
/// The base circle.
const BASE: f64 = 78.0;
/// How far a level may reach from it, either way.
const REACH: f64 = 58.0;
/// Points of a drawn circle.
const CIRCLE: usize = 180;

fn points(circle: &Circle) -> Vec<(f64, f64)> {
    let angle = |i: usize| TAU * i as f64 / CIRCLE as f64;
    (0..CIRCLE)
        .map(|i| (angle(i), circle.at(angle(i))))
        .collect()
}

/// The ring distance, and pixels per micrometre.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scale {
    ring_um: f64,
    px_per_um: f64,
}

impl Scale {
    /// The largest level within reach, with rings of a round distance.
    fn of(reach_um: f64) -> Self {
        let reach_um = reach_um.max(1e-3);
        let ring_um = round_step(reach_um / 3.0);
        let rings = (reach_um / ring_um - 1e-9).ceil();
        Self {
            ring_um,
            px_per_um: REACH / (rings * ring_um),
        }
    }

    fn place(self, angle: f64, level_um: f64) -> [f64; 2] {
        let r = BASE + level_um * self.px_per_um;
        let (sin, cos) = angle.sin_cos();
        [MIDDLE[0] + r * sin, MIDDLE[1] - r * cos]
    }
}

/// The largest level, either way, of what is drawn, µm.
pub fn reach_um(polar: &Polar) -> f64 {
    let traces = polar
        .traces
        .iter()
        .flat_map(|t| t.points.iter().map(|p| p.1));
    let circles = polar.circles.iter().flat_map(points).map(|p| p.1);
    let band = polar.band.iter().flat_map(|(_, levels)| *levels);
    traces
        .chain(circles)
        .chain(band)
        .map(f64::abs)
        .fold(0.0, f64::max)
}

/// What one ring is worth, in words.
fn scale_words(scale: Scale) -> String {
    format!("one ring {} µm", step_text(scale.ring_um, scale.ring_um))
}

/// The plot as one `<svg>` element, its scale made for the largest level `reach_um`, µm.
pub fn svg(polar: &Polar, reach_um: f64) -> String {
    let scale = Scale::of(reach_um);
    let mut out = format!(
        "<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{}\">",
        escaped(&polar.title)
    );
    face(&mut out, scale);
    if !polar.band.is_empty() {
        let side = |which: usize| {
            let points = polar
                .band
                .iter()
                .map(move |(a, levels)| (*a, levels[which]));
            path(points, scale, true)
        };
        let _ = write!(out, "<path class=\"band\" d=\"{}{}\"/>", side(0), side(1));
    }
    for circle in &polar.circles {
        if let Some(class) = class(circle.stroke) {
            let d = path(points(circle).into_iter(), scale, true);
            let _ = write!(out, "<path class=\"circle {class}\" d=\"{d}\"/>");
        }
    }
    for trace in &polar.traces {
        if let Some(class) = class(trace.stroke) {
            let d = path(trace.points.iter().copied(), scale, trace.closed);
            let _ = write!(out, "<path class=\"trace {class}\" d=\"{d}\"/>");
        }
        for (angle, level) in &trace.points {
            let [x, y] = scale.place(*angle, *level);
            dot(&mut out, trace.dot, x, y, false);
        }
    }
    if let Some(angle) = polar.spot {
        let [x, y] = scale.place(angle, 0.0);
        let tip = (BASE + REACH + 8.0 - BASE) / scale.px_per_um;
        let [tip_x, tip_y] = scale.place(angle, tip);
        let _ = write!(
            out,
            "<path class=\"spot\" d=\"M{:.1} {:.1}L{tip_x:.1} {tip_y:.1}\"/>\
             <circle class=\"spot\" cx=\"{tip_x:.1}\" cy=\"{tip_y:.1}\" r=\"4\"/>",
            MIDDLE[0].midpoint(x),
            MIDDLE[1].midpoint(y)
        );
    }
    let _ = write!(
        out,
        "<text class=\"xtick\" x=\"{}\" y=\"{}\">{}</text></svg>",
        MIDDLE[0],
        HEIGHT - 4.0,
        escaped(&scale_words(scale))
    );
    out
}

/// Rings, hours and degrees.
fn face(out: &mut String, scale: Scale) {
    let ring_px = scale.ring_um * scale.px_per_um;
    let rings = (REACH / ring_px + 1e-6) as i32;
    for ring in -rings..=rings {
        let class = if ring == 0 { "grid base" } else { "grid" };
        let _ = write!(
            out,
            "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{:.1}\"/>",
            MIDDLE[0],
            MIDDLE[1],
            BASE + f64::from(ring) * ring_px
        );
    }
    for hour in 0..12 {
        let (sin, cos) = (TAU * f64::from(hour) / 12.0).sin_cos();
        let at = |r: f64| [MIDDLE[0] + r * sin, MIDDLE[1] - r * cos];
        let [[x1, y1], [x2, y2]] = [at(BASE - REACH), at(BASE + REACH)];
        let _ = write!(
            out,
            "<path class=\"grid\" d=\"M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}\"/>"
        );
        if hour % 3 == 0 {
            let name = ["12 h, 0°", "3 h", "6 h, 180°", "9 h"][hour as usize / 3];
            let below = ["", "90°", "", "270°"][hour as usize / 3];
            let [x, y] = at(BASE + REACH + 15.0);
            let _ = write!(
                out,
                "<text class=\"xtick\" x=\"{x:.1}\" y=\"{:.1}\">{name}</text>\
                 <text class=\"xtick small\" x=\"{x:.1}\" y=\"{:.1}\">{below}</text>",
                y + 3.0,
                y + 15.0
            );
        }
    }
}

fn path(points: impl Iterator<Item = (f64, f64)>, scale: Scale, closed: bool) -> String {
    let mut path = String::new();
    for (i, (angle, level)) in points.enumerate() {
        let [x, y] = scale.place(angle, level);
        let command = if i == 0 { 'M' } else { 'L' };
        let _ = write!(path, "{command}{x:.1} {y:.1}");
    }
    if closed && !path.is_empty() {
        path.push('Z');
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::sheet::plot::{Dot, Stroke, Trace};

    fn polar(points: Vec<(f64, f64)>) -> Polar {
        Polar {
            title: "t".into(),
            traces: vec![Trace {
                points,
                stroke: Stroke::Heavy,
                dot: Dot::Full,
                closed: true,
            }],
            circles: Vec::new(),
            band: Vec::new(),
            spot: None,
        }
    }

    #[test]
    fn four_oclock_is_where_a_clock_has_it() {
        let scale = Scale::of(6.0);
        assert_eq!(scale.ring_um, 2.0);
        let [x, y] = scale.place(TAU / 3.0, 6.0);
        let r = BASE + REACH;
        // At four o'clock: to the right by sin 120°, and below the middle by half.
        assert!((x - (MIDDLE[0] + r * 0.75_f64.sqrt())).abs() < 1e-9);
        assert!((y - (MIDDLE[1] + r / 2.0)).abs() < 1e-9);
        let reach = reach_um(&polar(vec![(0.0, 6.0)]));
        assert_eq!(scale_words(Scale::of(reach)), "one ring 2 µm");
        assert_eq!(scale_words(Scale::of(12.0)), "one ring 5 µm");
    }

    #[test]
    fn empty_and_flat_plots_have_finite_places() {
        for points in [vec![], vec![(0.0, 0.0); 3]] {
            let polar = polar(points);
            let svg = svg(&polar, reach_um(&polar));
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
    }
}
