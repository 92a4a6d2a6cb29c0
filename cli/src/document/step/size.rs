//! A size step's part of the page.

use super::words::{limits, plain_um, plus_minus};
use super::{Figures, verdict_words};
use crate::document::page::Page;
use crate::document::plot::{Chart, Dot, Series, Stroke};
use crate::layout::{signed, um};
use metrology::Angle;
use metrology::size::{Finish, Passes, Plane, SizeOutcome};

/// What is left in words, and the half angle's verdict where it was measured.
pub fn headlines(outcome: &SizeOutcome) -> Vec<String> {
    let stock_um = outcome.stock_on_diameter_um.unwrap_or_default();
    let finish = outcome.finish.map(|finish| match finish {
        Finish::Left => format!("{stock_um:.1} µm LEFT ON DIAMETER"),
        Finish::AtSize => "AT SIZE, as far as it was measured".into(),
        Finish::Undersize => format!("UNDER SIZE BY {:.1} µm ON DIAMETER", -stock_um),
        Finish::Oversize => format!("BORE OVER SIZE BY {:.1} µm ON DIAMETER", -stock_um),
    });
    let angle = outcome
        .verdict
        .map(|v| format!("HALF ANGLE {}", verdict_words(Some(v), "")));
    let mut lines: Vec<String> = finish.into_iter().chain(angle).collect();
    if lines.is_empty() {
        lines.push("WHAT IS LEFT IS NOT KNOWN".into());
    }
    lines
}

pub fn figures(outcome: &SizeOutcome) -> Figures {
    let stock = outcome.stock_on_diameter_um.map(|stock| {
        let at = outcome
            .stock_plane_mm
            .map_or_else(String::new, |plane| format!(", at plane {plane:.3} mm"));
        plus_minus(stock, outcome.stock_expanded_um, " µm") + &at
    });
    vec![
        ("Left on diameter", stock),
        (
            "Infeed square to the axis",
            outcome.infeed_square_to_axis_um.map(um),
        ),
        (
            "Infeed square to the cone",
            outcome.infeed_square_to_cone_um.map(um),
        ),
        ("Passes", outcome.passes.as_ref().map(passes)),
        (
            "Half angle",
            outcome.half_angle_deg.map(|deg| {
                let expanded = outcome
                    .half_angle_expanded_arcsec
                    .map_or_else(String::new, |u| format!(" ± {u:.2}″"));
                format!("{deg:.6}° ({}){expanded}", Angle::from_deg(deg).dms(1))
            }),
        ),
        (
            "Error of the half angle",
            outcome
                .half_angle_error_arcsec
                .map(|error| plus_minus(error, outcome.half_angle_expanded_arcsec, "″")),
        ),
        (
            "Limits of the half angle's error",
            outcome.limits_arcsec.map(limits),
        ),
    ]
}

fn passes(passes: &Passes) -> String {
    let roughing = match passes.count {
        0 => "none before finishing".to_owned(),
        1 => format!("one of {}", plain_um(passes.last_um)),
        count => format!(
            "{count}: {} of {}, the last of {}",
            count - 1,
            plain_um(passes.depth_um),
            plain_um(passes.last_um)
        ),
    };
    if passes.finishing_um > 0.0 {
        format!(
            "{roughing}; then {} to finish",
            plain_um(passes.finishing_um)
        )
    } else {
        roughing
    }
}

pub fn plots(page: &mut Page, outcome: &SizeOutcome) {
    if outcome.planes.is_empty() {
        return;
    }
    if let Some(chart) = chart(&outcome.planes) {
        page.subheading("Diameters against the wanted cone");
        page.svg(&chart.svg());
    }
    page.subheading("Planes");
    page.table(
        &[
            "#Plane, mm",
            "#Diameter, mm",
            "#Wanted, mm",
            "#Left on diameter, µm",
        ],
        outcome.planes.iter().map(|plane| {
            vec![
                format!("{:.3}", plane.plane_mm),
                format!("{:.5}", plane.diameter_mm),
                plane
                    .wanted_mm
                    .map_or_else(String::new, |w| format!("{w:.5}")),
                plane.stock_um.map_or_else(String::new, |s| signed(s, 2)),
            ]
        }),
    );
    page.source("Planes count from the gauge plane, positive toward the small end.");
}

/// Diameters less what they are to be: the cone itself, of millimetres, would hide the micrometres.
fn chart(planes: &[Plane]) -> Option<Chart> {
    let mut points: Vec<(f64, f64)> = planes
        .iter()
        .filter_map(|plane| Some((plane.plane_mm, (plane.diameter_mm - plane.wanted_mm?) * 1e3)))
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (first, last) = (points.first()?.0, points.last()?.0);
    // A single plane has a cone to either side of it.
    let room = if first < last { 0.0 } else { 1.0 };
    let wanted = vec![(first - room, 0.0), (last + room, 0.0)];
    Some(Chart {
        title: "Diameters against the wanted cone".into(),
        x_label: "plane, mm from the gauge plane toward the small end".into(),
        y_label: "from wanted, µm".into(),
        series: vec![
            Series {
                label: "measured".into(),
                points,
                stroke: Stroke::Dashed(0),
                dot: Dot::Full,
            },
            Series {
                label: "the wanted cone".into(),
                points: wanted,
                stroke: Stroke::Heavy,
                dot: Dot::None,
            },
        ],
        flags: Vec::new(),
        legend: true,
        height: Chart::LOW,
    })
}
