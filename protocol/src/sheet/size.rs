//! A size.

use super::compared::{Compare, Measured, Share, states};
use super::plot::{Chart, Dot, Plot, Series, Stroke};
use super::words::{plain_um, signed_cell};
use super::{Amount, Drawn, Figure, Headline, Part, Sheet, Table, Unit};
use crate::record::StepRecord;
use crate::step::SizePlan;
use metrology::Angle;
use metrology::setup::Setup;
use metrology::size::{Finish, Passes, Plane, SizeOutcome};
use serde::Serialize;

impl Drawn for SizePlan {
    fn sheet(_setup: &Setup, size: &SizeOutcome, _step: Option<&StepRecord>) -> Sheet {
        let infeed =
            |name, um: Option<f64>| Some(Figure::amount(name, Amount::signed(um?, Unit::Um)));
        let stock = size.stock_on_diameter_um.map(|stock| {
            let at = size
                .stock_plane_mm
                .map_or_else(String::new, |plane| format!(", at plane {plane:.3} mm"));
            let amount = Amount::signed(stock, Unit::Um).within(size.stock_expanded_um);
            Figure::amount("left on diameter", amount).more(at)
        });
        let half_angle = size.half_angle_deg.map(|deg| {
            Figure::amount("half angle", Amount::plain(deg, Unit::Deg).places(7))
                .more(format!("  {}", Angle::from_deg(deg).dms(1)))
        });
        let figures = [
            stock,
            infeed("infeed square to the axis", size.infeed_square_to_axis_um),
            infeed("infeed square to the cone", size.infeed_square_to_cone_um),
            size.passes.as_ref().map(|split| {
                let (roughing, then) = passes(split, plain_um);
                let then = then.map_or_else(String::new, |then| format!("; {then}"));
                Figure::words("passes", roughing).more(then)
            }),
            half_angle,
            Figure::half_angle_error(
                "error of the half angle",
                size.half_angle_error_arcsec,
                size.half_angle_expanded_arcsec,
            ),
            Figure::limits(size.limits_arcsec),
        ];
        Sheet {
            headlines: headlines(size),
            figures: figures.into_iter().flatten().collect(),
            parts: parts(&size.planes),
            ..Sheet::default()
        }
    }

    fn budget_of(outcome: &SizeOutcome) -> Option<&'static str> {
        Some(match outcome.half_angle_deg {
            Some(_) => "the half angle",
            None => "the stock on diameter",
        })
    }
}

/// A size, for a comparison of sessions.
#[derive(Debug, Serialize)]
struct Stock {
    #[serde(skip_serializing_if = "Option::is_none")]
    stock_on_diameter_um: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    finish: Option<Finish>,
}

impl Compare for SizePlan {
    /// What was left at last: before that the part was larger by what was ground off since.
    fn compare(steps: &[Measured<'_, SizeOutcome>]) -> Share {
        let stock = states(steps, |size| Stock {
            stock_on_diameter_um: size.stock_on_diameter_um,
            finish: size.finish,
        });
        let stock = stock.map(|stock| stock.left);
        Share::default()
            .field("size", stock.as_ref())
            .line("left on diameter", |name| {
                let stock = stock?;
                let amount = Amount::signed(stock.stock_on_diameter_um?, Unit::Um);
                Some(Figure::amount(name, amount).more(match stock.finish {
                    Some(Finish::AtSize) => ", at size or too far",
                    Some(Finish::Undersize) => ", under size",
                    Some(Finish::Oversize) => ", over size",
                    Some(Finish::Left) | None => "",
                }))
            })
    }
}

/// What is left, and the half angle's verdict where it was measured.
fn headlines(size: &SizeOutcome) -> Vec<Headline> {
    let stock_um = size.stock_on_diameter_um.unwrap_or_default();
    let disagree = size.rounds_disagree.map(|_| {
        Headline::new(
            "the rounds disagree",
            ", and nothing says that the part was ground between",
        )
    });
    // Where nothing tells how sure it is, what was measured is said all the same.
    let unsure = match (size.finish, size.stock_on_diameter_um) {
        (None, Some(_)) => Some(Headline::new(
            format!("{stock_um:.1} µm left on diameter"),
            " as measured; the uncertainty is not known",
        )),
        _ => None,
    };
    // What nothing puts right stands in capitals everywhere.
    let finish = size.finish.map(|finish| match finish {
        Finish::Left => Headline::new(format!("{stock_um:.1} µm left on diameter"), ""),
        Finish::AtSize => Headline::new("at size or too far", ", within the uncertainty"),
        Finish::Undersize => {
            Headline::new(format!("UNDER SIZE by {:.1} µm on diameter", -stock_um), "")
        }
        Finish::Oversize => Headline::new(
            format!("BORE OVER SIZE by {:.1} µm on diameter", -stock_um),
            "",
        ),
    });
    let angle = size.verdict.map(|verdict| {
        let found = Headline::of(Some(verdict), size.undecided_because, "");
        Headline::new(format!("half angle {}", found.decision), found.reason)
    });
    let lines = [disagree, unsure, finish, angle];
    let mut lines: Vec<Headline> = lines.into_iter().flatten().collect();
    if lines.is_empty() {
        lines.push(Headline::new("what is left is not known", ""));
    }
    lines
}

/// The passes, and what is left for finishing after them; `um` writes a small length.
pub(crate) fn passes(passes: &Passes, um: impl Fn(f64) -> String) -> (String, Option<String>) {
    let roughing = match passes.count {
        0 => "none before finishing".to_owned(),
        1 => format!("1 of {}", um(passes.last_um)),
        count => {
            let (each, last) = (um(passes.depth_um), um(passes.last_um));
            if last == each {
                format!("{count} of {each}")
            } else {
                format!("{count}: {} of {each}, the last of {last}", count - 1)
            }
        }
    };
    let finishing = passes.finishing_um;
    let then = (finishing > 0.0).then(|| format!("then {} to finish", um(finishing)));
    (roughing, then)
}

fn parts(planes: &[Plane]) -> Vec<Part> {
    if planes.is_empty() {
        return Vec::new();
    }
    let rows = planes.iter().map(|plane| {
        let wanted = plane.wanted_mm;
        vec![
            format!("{:.3}", plane.plane_mm),
            format!("{:.5}", plane.diameter_mm),
            wanted.map_or_else(String::new, |mm| format!("{mm:.5}")),
            signed_cell(plane.stock_um, 2),
        ]
    });
    let table = Table::new(
        &[
            "#plane, mm",
            "#diameter, mm",
            "#wanted, mm",
            "#left on diameter, µm",
        ],
        rows,
    );
    let chart = chart(planes).map(|chart| Part::plot("Diameters against the wanted cone", chart));
    let table = Part::table("Planes", table)
        .note("Planes count from the gauge plane, positive toward the small end.");
    chart.into_iter().chain([table]).collect()
}

/// Diameters less what they are to be: the cone itself, of millimetres, would hide the micrometres.
fn chart(planes: &[Plane]) -> Option<Plot> {
    let mut points: Vec<(f64, f64)> = planes
        .iter()
        .filter_map(|plane| Some((plane.plane_mm, (plane.diameter_mm - plane.wanted_mm?) * 1e3)))
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (first, last) = (points.first()?.0, points.last()?.0);
    // A single plane has a cone to either side of it.
    let room = if first < last { 0.0 } else { 1.0 };
    let wanted = vec![(first - room, 0.0), (last + room, 0.0)];
    Some(Plot::Chart(Chart {
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
        low: true,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_last_pass_like_the_others_is_not_named_apart() {
        let split = |count, last_um| Passes {
            count,
            depth_um: 12.7,
            last_um,
            finishing_um: 0.0,
        };
        let words = |split| passes(&split, |um| format!("{um:.2} µm")).0;
        assert_eq!(words(split(2, 12.7)), "2 of 12.70 µm");
        assert_eq!(
            words(split(2, 5.0)),
            "2: 1 of 12.70 µm, the last of 5.00 µm"
        );
        assert_eq!(words(split(1, 5.0)), "1 of 5.00 µm");
    }
}
