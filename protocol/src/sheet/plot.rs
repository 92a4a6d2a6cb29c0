//! Plots as data. A renderer decides how large they are and with what they are drawn.

/// How a series' points are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// They are not.
    None,
    /// What counts.
    Heavy,
    /// What stands beside it.
    Light,
    /// One of three dash patterns, so that neighbours differ in grey print too.
    Dashed(usize),
}

/// How a series' points are marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dot {
    /// They are not.
    None,
    /// Black.
    Full,
    /// A ring.
    Open,
    /// Small, for many.
    Fine,
    /// A cross, for what is doubted.
    Cross,
}

/// A series of points.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Its name; empty for none.
    pub label: String,
    /// Its points, x and y in the units of the axes.
    pub points: Vec<(f64, f64)>,
    /// How they are joined.
    pub stroke: Stroke,
    /// How they are marked.
    pub dot: Dot,
}

/// A place on the x axis with a name, and the span of x that belongs to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Flag {
    /// Its name.
    pub label: String,
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

/// Lines and points over an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// What it shows.
    pub title: String,
    /// The x axis with its unit.
    pub x_label: String,
    /// The y axis with its unit.
    pub y_label: String,
    /// What is drawn, the last on top.
    pub series: Vec<Series>,
    /// Spans of the x axis with names.
    pub flags: Vec<Flag>,
    /// Whether the names of the series stand in a line above the chart, and not at the ends of their lines.
    pub legend: bool,
    /// Whether it may be lower than usual: it stands beside a larger one of the same thing.
    pub low: bool,
}

/// One bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What stands under it.
    pub label: String,
    /// And under that.
    pub note: String,
    /// Its height, in the unit of the y axis.
    pub value: f64,
}

/// Bars from a base line at zero.
#[derive(Debug, Clone, PartialEq)]
pub struct Bars {
    /// What they show.
    pub title: String,
    /// What the bars are of.
    pub x_label: String,
    /// The y axis with its unit.
    pub y_label: String,
    /// The bars, from the left.
    pub bars: Vec<Bar>,
    /// Where the axis ends; at the largest bar when not stated.
    pub highest: Option<f64>,
    /// A level across all bars, with its name.
    pub level: Option<(f64, String)>,
    /// Decimals of the value that stands on each bar.
    pub places: usize,
}

/// A profile round a turn.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Angles in radians and levels in micrometres, whatever unit the rings are told in.
    pub points: Vec<(f64, f64)>,
    /// How they are joined.
    pub stroke: Stroke,
    /// How they are marked.
    pub dot: Dot,
    /// Whether its end is joined with its beginning.
    pub closed: bool,
}

/// A circle about a centre near the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Circle {
    /// Along 0° and along 90°, µm.
    pub centre_um: [f64; 2],
    /// Its level, µm.
    pub level_um: f64,
    /// Its own radius, where the part's is known, µm: then it is a circle and no limaçon.
    pub radius_um: Option<f64>,
    /// How it is drawn.
    pub stroke: Stroke,
}

impl Circle {
    /// Its level in a direction, µm; `angle` in radians.
    #[must_use]
    pub fn at(&self, angle: f64) -> f64 {
        let [a, b] = self.centre_um;
        let (sin, cos) = angle.sin_cos();
        let along = a * cos + b * sin;
        let limacon = self.level_um + along;
        match self.radius_um {
            // Along the ray: the distance to the circle, less the radius.
            Some(radius) => {
                let across = a * sin - b * cos;
                // R(√(1 − q²) − 1) without the cancellation.
                let square = across * across / radius;
                limacon - square / (1.0 + (1.0 - square / radius).max(0.0).sqrt())
            }
            None => limacon,
        }
    }
}

/// Levels round a turn. 0° is at the top and angles go clockwise, as the hours do.
#[derive(Debug, Clone, PartialEq)]
pub struct Polar {
    /// What it shows.
    pub title: String,
    /// The profiles.
    pub traces: Vec<Trace>,
    /// Circles fitted to them.
    pub circles: Vec<Circle>,
    /// A filled ring between a lower and an upper level at each angle: many turns at once.
    pub band: Vec<(f64, [f64; 2])>,
    /// The high spot, radians.
    pub spot: Option<f64>,
}

/// What is drawn in one place.
#[derive(Debug, Clone, PartialEq)]
pub enum Plot {
    /// Lines and points.
    Chart(Chart),
    /// Bars.
    Bars(Bars),
    /// Two plots round a turn beside each other, each with its caption.
    Polars {
        /// The plots with their captions.
        pair: Box<[(String, Polar); 2]>,
        /// Whether both have one scale, so that the eye may compare them.
        one_scale: bool,
    },
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
    use std::f64::consts::TAU;

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
    fn a_circle_of_known_radius_is_less_than_a_limacon_across_its_way() {
        // e = 100 µm on R = 1 mm: across the way the surface lies e²/2R = 5 µm further in.
        let circle = |radius_um| Circle {
            centre_um: [100.0, 0.0],
            level_um: 0.0,
            radius_um,
            stroke: Stroke::Light,
        };
        let across = circle(Some(1_000.0)).at(TAU / 4.0);
        assert!((across - (1_000_000.0_f64 - 10_000.0).sqrt() + 1_000.0).abs() < 1e-9);
        assert!(circle(None).at(TAU / 4.0).abs() < 1e-9);
        assert!((circle(Some(1_000.0)).at(0.0) - 100.0).abs() < 1e-9);
    }
}
