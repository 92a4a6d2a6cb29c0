//! A polar plot: levels round a turn, much magnified, about a base circle.
//!
//! 0° is at the top and angles go clockwise, as the hours do, so that "true it at four o'clock" is where a clock has it. The base
//! circle stands for the level 0; a level above it, toward the indicator, lies outside. What is magnified is the level and
//! not the part, so an eccentric circle is drawn as what its readings would be, a limaçon.

use super::Drawing;
use super::axis::{round_step, step_text};
use super::look::{Area, Label, Line, Of};
use super::shape::{Canvas, Path};
use protocol::said;
use protocol::sheet::plot::{Circle, Polar};
use protocol::style::Style;
use std::f64::consts::TAU;

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

/// The ring distance in the style's small unit, pixels for each of that unit, and pixels per micrometre.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scale {
    ring: f64,
    px: f64,
    px_per_um: f64,
}

impl Scale {
    /// The largest level within reach, with rings of a round distance.
    fn of(reach_um: f64, style: Style) -> Self {
        let reach = style.small(reach_um.max(1e-3));
        let ring = round_step(reach / 3.0);
        let rings = (reach / ring - 1e-9).ceil();
        let px = REACH / (rings * ring);
        Self {
            ring,
            px,
            px_per_um: px * style.small(1.0),
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
fn scale_words(scale: Scale, style: Style) -> String {
    let ring = step_text(scale.ring, scale.ring, style);
    let worth = format!("{ring} {}", style.small_sign());
    said!(style, "one-ring", worth = worth)
}

/// The plot, its scale made for the largest level `reach_um`, µm.
pub fn drawing(polar: &Polar, reach_um: f64, style: Style) -> Drawing {
    let scale = Scale::of(reach_um, style);
    let placed = |points: &[(f64, f64)]| -> Vec<[f64; 2]> {
        let points = points.iter();
        points
            .map(|(angle, level)| scale.place(*angle, *level))
            .collect()
    };
    let mut canvas = Canvas::default();
    face(&mut canvas, scale, style);
    if !polar.band.is_empty() {
        let side = |which: usize| {
            let points = polar.band.iter();
            let places = points.map(|(angle, levels)| scale.place(*angle, levels[which]));
            Path::closed(places.collect::<Vec<_>>())
        };
        canvas.within(Area::Band, vec![side(0), side(1)]);
    }
    for circle in &polar.circles {
        if let Some(line) = Line::of(circle.stroke, Of::Circle) {
            canvas.ring_of(line, placed(&points(circle)));
        }
    }
    for trace in &polar.traces {
        let places = placed(&trace.points);
        match Line::of(trace.stroke, Of::Trace) {
            Some(line) if trace.closed => canvas.ring_of(line, places.as_slice()),
            Some(line) => canvas.line(line, places.as_slice()),
            None => {}
        }
        for place in places {
            canvas.dot(trace.dot, place);
        }
    }
    if let Some(angle) = polar.spot {
        spot(&mut canvas, scale, angle);
    }
    let below = [MIDDLE[0], HEIGHT - 4.0];
    canvas.text(Label::Middle, below, scale_words(scale, style));
    Drawing {
        caption: None,
        title: polar.title.clone(),
        size: [WIDTH, HEIGHT],
        shapes: canvas.shapes,
    }
}

/// The high spot: a line outward, with a ball at its end.
fn spot(canvas: &mut Canvas, scale: Scale, angle: f64) {
    let [x, y] = scale.place(angle, 0.0);
    let from = [MIDDLE[0].midpoint(x), MIDDLE[1].midpoint(y)];
    let tip = scale.place(angle, (REACH + 8.0) / scale.px_per_um);
    canvas.line(Line::Spot, [from, tip]);
    canvas.disc(Area::Ball, tip, 4.0);
}

/// Rings, hours and degrees.
fn face(canvas: &mut Canvas, scale: Scale, style: Style) {
    let ring_px = scale.ring * scale.px;
    let rings = (REACH / ring_px + 1e-6) as i32;
    let at = |hour: i32, r: f64| {
        let (sin, cos) = (TAU * f64::from(hour) / 12.0).sin_cos();
        [MIDDLE[0] + r * sin, MIDDLE[1] - r * cos]
    };
    for ring in -rings..=rings {
        let line = if ring == 0 { Line::Base } else { Line::Grid };
        canvas.ring(line, MIDDLE, BASE + f64::from(ring) * ring_px);
    }
    for hour in 0..12 {
        canvas.line(Line::Grid, [at(hour, BASE - REACH), at(hour, BASE + REACH)]);
    }
    for (hour, name, below) in [
        (0, said!(style, "hour-up"), ""),
        (3, said!(style, "hour-right"), "90°"),
        (6, said!(style, "hour-down"), ""),
        (9, said!(style, "hour-left"), "270°"),
    ] {
        let [x, y] = at(hour, BASE + REACH + 15.0);
        canvas.text(Label::Middle, [x, y + 3.0], name);
        canvas.text(Label::Small, [x, y + 15.0], below);
    }
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
        let usual = Style::default();
        let scale = Scale::of(6.0, usual);
        assert_eq!(scale.ring, 2.0);
        let [x, y] = scale.place(TAU / 3.0, 6.0);
        let r = BASE + REACH;
        // At four o'clock: to the right by sin 120°, and below the middle by half.
        assert!((x - (MIDDLE[0] + r * 0.75_f64.sqrt())).abs() < 1e-9);
        assert!((y - (MIDDLE[1] + r / 2.0)).abs() < 1e-9);
        let reach = reach_um(&polar(vec![(0.0, 6.0)]));
        assert_eq!(scale_words(Scale::of(reach, usual), usual), "one ring 2 µm");
        assert_eq!(scale_words(Scale::of(12.0, usual), usual), "one ring 5 µm");
    }

    /// A tenth is 2.54 µm: 30 µm are 11.8 of them, and three rings of 5 reach that far.
    #[test]
    fn in_inches_the_rings_are_round_tenths() {
        let inch = Style::of(metrology::Unit::In);
        let scale = Scale::of(30.0, inch);
        assert_eq!(scale_words(scale, inch), "one ring 5 tenths");
        let [_, y] = scale.place(0.0, 38.1);
        assert!((MIDDLE[1] - BASE - REACH - y).abs() < 1e-9);
    }

    #[test]
    fn empty_and_flat_plots_have_finite_places() {
        for points in [vec![], vec![(0.0, 0.0); 3]] {
            let polar = polar(points);
            let svg = drawing(&polar, reach_um(&polar), Style::default())
                .svg()
                .into_string();
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
    }
}
