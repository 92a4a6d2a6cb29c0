//! The plot of an open step, as data: what was marked so far. How large it is and how it is drawn is the renderer's choice.

use crate::api::MarkLine;
use crate::evidence::Place;
use crate::style::Style;
use serde::Serialize;

/// What is drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "form", rename_all = "lowercase")]
pub enum Plot {
    /// Points over an axis.
    Line(Line),
    /// Points round a turn, seen along the axis toward the chuck: 0° is 12 o'clock, and they go clockwise.
    Round(Round),
}

/// Points over an axis.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Line {
    /// What it shows.
    pub title: String,
    /// The x axis with its unit.
    pub x_label: String,
    /// The y axis with its unit.
    pub y_label: String,
    /// What is drawn, each with its name; empty where there is only one.
    pub series: Vec<(String, Vec<[f64; 2]>)>,
    /// What is allowed on the y axis.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<[f64; 2]>,
    /// The points are joined in the order that they have, not along the axis.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub kept: bool,
}

/// Points round a turn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Round {
    /// What it shows.
    pub title: String,
    /// The unit of the levels.
    pub unit: &'static str,
    /// Angles in degrees, and levels.
    pub points: Vec<[f64; 2]>,
    /// Where it stands out, degrees, once that is found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high_deg: Option<f64>,
}

impl Line {
    /// One row of points; none where there are none.
    pub(crate) fn of(
        title: String,
        [x_label, y_label]: [String; 2],
        points: Vec<[f64; 2]>,
    ) -> Option<Self> {
        (!points.is_empty()).then(|| Self {
            title,
            x_label,
            y_label,
            series: vec![(String::new(), points)],
            ..Self::default()
        })
    }
}

/// Marks by the place that `x` gives them, as small lengths from the first.
pub(crate) fn from_first(
    marks: &[MarkLine],
    units: Style,
    x: impl Fn(&Place) -> Option<f64>,
) -> Vec<[f64; 2]> {
    let mut first = None;
    let points = marks.iter().filter_map(|mark| {
        let (x, value_mm) = (x(mark.at.as_ref()?)?, mark.value?.value_mm);
        let first = *first.get_or_insert(value_mm);
        Some([x, units.small((value_mm - first) * 1e3)])
    });
    points.collect()
}
