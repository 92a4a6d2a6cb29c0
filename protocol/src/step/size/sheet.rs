//! A size.

use crate::record::StepRecord;
use crate::said;
use crate::sheet::compared::{Compare, Measured, Share, states};
use crate::sheet::plot::{Chart, Dot, Plot, Series, Stroke};
use crate::sheet::{Amount, Column, Drawn, Figure, Headline, Part, Sheet, Table, Unit};
use crate::step::SizePlan;
use crate::style::Style;
use metrology::Angle;
use metrology::grind::NextPass;
use metrology::setup::Setup;
use metrology::size::{Finish, GrindPlan, Ground, Passes, Plane, SizeOutcome};
use serde::Serialize;

impl Drawn for SizePlan {
    fn sheet(
        _setup: &Setup,
        size: &SizeOutcome,
        _step: Option<&StepRecord>,
        style: Style,
    ) -> Sheet {
        let infeed = |name: String, um: Option<f64>| {
            let amount = Amount::signed(um?, Unit::Um);
            Some(Figure::amount(name, amount, style))
        };
        let stock = size.stock_on_diameter_um.map(|stock| {
            let at = size.stock_plane_mm.map_or_else(String::new, |plane| {
                said!(style, "stock-at-plane", plane = style.long_text(plane, 3))
            });
            let amount = Amount::signed(stock, Unit::Um).within(size.stock_expanded_um);
            Figure::amount(said!(style, "left-on-diameter"), amount, style).more(at)
        });
        let half_angle = size.half_angle_deg.map(|deg| {
            let amount = Amount::plain(deg, Unit::Deg).places(7);
            Figure::amount(said!(style, "half-angle"), amount, style)
                .more(format!("  {}", style.dms(Angle::from_deg(deg))))
        });
        let figures = [
            stock,
            infeed(
                said!(style, "infeed-to-axis"),
                size.infeed_square_to_axis_um,
            ),
            infeed(
                said!(style, "infeed-to-cone"),
                size.infeed_square_to_cone_um,
            ),
            size.passes.as_ref().map(|split| {
                let (roughing, then) = passes(split, |um| style.micro(um), style);
                let then = then.map_or_else(String::new, |then| format!("; {then}"));
                Figure::words(said!(style, "passes"), roughing).more(then)
            }),
            size.next_pass.map(|next| {
                let words = next_pass(next, |um| style.micro(um), style);
                Figure::words(said!(style, "next-pass"), words)
            }),
            size.grind.as_ref().map(|plan| plunges(plan, style)),
            size.grind.as_ref().and_then(|plan| lead_out(plan, style)),
            size.grind
                .as_ref()
                .and_then(|plan| angle_costs(plan, style)),
            half_angle,
            Figure::half_angle_error(
                said!(style, "half-angle-error"),
                size.half_angle_error_arcsec,
                size.half_angle_expanded_arcsec,
                style,
            ),
            Figure::limits(size.limits_arcsec, style),
        ];
        Sheet {
            headlines: headlines(size, style),
            figures: figures.into_iter().flatten().collect(),
            parts: parts(&size.planes, style)
                .into_iter()
                .chain(ground(&size.ground, style))
                .collect(),
            ..Sheet::default()
        }
    }

    fn budget_of(outcome: &SizeOutcome, style: Style) -> Option<String> {
        Some(match outcome.half_angle_deg {
            Some(_) => said!(style, "budget-of-half-angle"),
            None => said!(style, "budget-of-stock"),
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
    fn compare(steps: &[Measured<'_, SizeOutcome>], style: Style) -> Share {
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
                Some(
                    Figure::amount(name.to_owned(), amount, style).more(match stock.finish {
                        Some(Finish::AtSize) => ", at size or too far",
                        Some(Finish::Undersize) => ", under size",
                        Some(Finish::Oversize) => ", over size",
                        Some(Finish::Left) | None => "",
                    }),
                )
            })
    }
}

/// What is left, and the half angle's verdict where it was measured.
fn headlines(size: &SizeOutcome, style: Style) -> Vec<Headline> {
    let stock_um = size.stock_on_diameter_um.unwrap_or_default();
    let disagree = size.rounds_disagree.map(|_| {
        Headline::new(
            said!(style, "rounds-disagree"),
            said!(style, "rounds-disagree-why"),
        )
    });
    let left = || said!(style, "stock-left", stock = style.micro_text(stock_um, 1));
    // Where nothing tells how sure it is, what was measured is said all the same.
    let unsure = match (size.finish, size.stock_on_diameter_um) {
        (None, Some(_)) => Some(Headline::new(left(), said!(style, "stock-unsure"))),
        _ => None,
    };
    let short = || style.micro_text(-stock_um, 1);
    // What nothing puts right stands in capitals everywhere.
    let finish = size.finish.map(|finish| match finish {
        Finish::Left => Headline::new(left(), ""),
        Finish::AtSize => Headline::new(
            said!(style, "at-size-or-too-far"),
            said!(style, "within-uncertainty"),
        ),
        Finish::Undersize => Headline::new(said!(style, "under-size", by = short()), ""),
        Finish::Oversize => Headline::new(said!(style, "bore-over-size", by = short()), ""),
    });
    let angle = size.verdict.map(|verdict| {
        let found = Headline::of(Some(verdict), size.undecided_because, "", style);
        let decision = said!(style, "half-angle-is", decision = found.decision);
        Headline::new(decision, found.reason)
    });
    let lines = [disagree, unsure, finish, angle];
    let mut lines: Vec<Headline> = lines.into_iter().flatten().collect();
    if lines.is_empty() {
        lines.push(Headline::new(said!(style, "stock-unknown"), ""));
    }
    lines
}

/// The passes, and what is left for finishing after them; `um` writes a small length.
pub(crate) fn passes(
    passes: &Passes,
    um: impl Fn(f64) -> String,
    style: Style,
) -> (String, Option<String>) {
    let roughing = match passes.count {
        0 => said!(style, "passes-none"),
        1 => said!(style, "passes-of", count = 1, each = um(passes.last_um)),
        count => {
            let (each, last) = (um(passes.depth_um), um(passes.last_um));
            if last == each {
                said!(style, "passes-of", count = count, each = each)
            } else {
                said!(
                    style,
                    "passes-last",
                    count = count,
                    others = count - 1,
                    each = each,
                    last = last
                )
            }
        }
    };
    let finishing = passes.finishing_um;
    let then = (finishing > 0.0).then(|| said!(style, "then-to-finish", depth = um(finishing)));
    (roughing, then)
}

/// The next pass in a sentence; `um` writes a small length.
pub(crate) fn next_pass(next: NextPass, um: impl Fn(f64) -> String, style: Style) -> String {
    match next {
        NextPass::Rough {
            infeed_um,
            expects_um,
        } => said!(
            style,
            "pass-rough",
            infeed = um(infeed_um),
            left = um(expects_um)
        ),
        NextPass::Finish {
            infeed_um,
            expects_um,
        } if infeed_um < 0.0 => said!(
            style,
            "pass-back",
            infeed = um(-infeed_um),
            left = um(expects_um)
        ),
        NextPass::Finish {
            infeed_um,
            expects_um,
        } => said!(
            style,
            "pass-finish",
            infeed = um(infeed_um),
            left = um(expects_um)
        ),
        NextPass::AtSize | NextPass::TooFar => said!(style, "pass-none"),
    }
}

/// What each pass was to leave and what it left.
fn ground(passes: &[Ground], style: Style) -> Option<Part> {
    let small = style.small_sign();
    let rows = (1..).zip(passes).map(|(number, pass): (u32, &Ground)| {
        let off_um = pass.after_um - pass.expected_um;
        let amounts = [
            pass.infeed_um,
            pass.before_um,
            pass.expected_um,
            pass.after_um,
        ];
        let amounts = amounts.map(|um| style.micro_number(um, 2));
        [number.to_string()]
            .into_iter()
            .chain(amounts)
            .chain([style.micro_signed_number(off_um, 2)])
            .collect::<Vec<_>>()
    });
    let columns = [
        Column::number(said!(style, "column-pass")),
        Column::number(said!(style, "column-infeed", unit = small)),
        Column::number(said!(style, "column-before", unit = small)),
        Column::number(said!(style, "column-expected", unit = small)),
        Column::number(said!(style, "column-measured", unit = small)),
        Column::number(said!(style, "column-off", unit = small)),
    ];
    let table = (!passes.is_empty()).then(|| Table::new(columns, rows))?;
    Some(Part::table(said!(style, "ground-so-far"), table).note(said!(style, "ground-as-advised")))
}

/// Where the wheel plunges, from the big end.
fn plunges(plan: &GrindPlan, style: Style) -> Figure {
    let places = plan.plunges_mm.iter();
    let places: Vec<String> = places.map(|mm| style.long_number(*mm, 1)).collect();
    let overlap = (plan.plunges_mm.len() > 1).then(|| {
        let overlap = style.long_text(plan.overlap_mm, 1);
        said!(style, "plunges-overlap", overlap = overlap)
    });
    let value = said!(
        style,
        "plunges-at",
        count = plan.plunges_mm.len(),
        places = places.join("; "),
        unit = style.long_sign()
    );
    Figure::words(said!(style, "plunges"), value)
        .more(overlap.map_or_else(String::new, |overlap| format!(", {overlap}")))
}

/// How far the wheel runs out, and the radius of its corner.
fn lead_out(plan: &GrindPlan, style: Style) -> Option<Figure> {
    let length = |mm: f64| style.long_text(mm, 2);
    let out = plan
        .lead_out_mm
        .map(|mm| said!(style, "lead-out-by", by = length(mm)));
    let corner = plan
        .blend_radius_mm
        .map(|mm| said!(style, "blend-radius-of", radius = length(mm)));
    let words: Vec<String> = [out, corner].into_iter().flatten().collect();
    (!words.is_empty()).then(|| Figure::words(said!(style, "wheel-run"), words.join(", ")))
}

/// What the error of the half angle costs at both ends.
fn angle_costs(plan: &GrindPlan, style: Style) -> Option<Figure> {
    let [big, small] = plan.angle_costs_um?.map(|um| style.micro_signed(um));
    let words = said!(style, "angle-costs-at", big = big, small = small);
    Some(Figure::words(said!(style, "angle-costs"), words))
}

fn parts(planes: &[Plane], style: Style) -> Vec<Part> {
    if planes.is_empty() {
        return Vec::new();
    }
    let [long, small] = [style.long_sign(), style.small_sign()];
    let rows = planes.iter().map(|plane| {
        let wanted = plane.wanted_mm;
        vec![
            style.long_number(plane.plane_mm, 3),
            style.long_number(plane.diameter_mm, 5),
            wanted.map_or_else(String::new, |mm| style.long_number(mm, 5)),
            style.micro_signed_cell(plane.stock_um, 2),
        ]
    });
    let columns = [
        Column::number(said!(style, "column-plane", unit = long)),
        Column::number(said!(style, "column-diameter", unit = long)),
        Column::number(said!(style, "column-wanted", unit = long)),
        Column::number(said!(style, "column-left", unit = small)),
    ];
    let table = Table::new(columns, rows);
    let chart = chart(planes, style)
        .map(|chart| Part::plot(said!(style, "diameters-against-wanted"), chart));
    let table = Part::table(said!(style, "planes"), table).note(said!(style, "planes-count-from"));
    chart.into_iter().chain([table]).collect()
}

/// Diameters less what they are to be: the cone itself, of millimetres, would hide the micrometres.
fn chart(planes: &[Plane], style: Style) -> Option<Plot> {
    let mut points: Vec<(f64, f64)> = planes
        .iter()
        .filter_map(|plane| {
            let off_um = (plane.diameter_mm - plane.wanted_mm?) * 1e3;
            Some((style.long(plane.plane_mm), style.small(off_um)))
        })
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (first, last) = (points.first()?.0, points.last()?.0);
    // A single plane has a cone to either side of it.
    let room = if first < last { 0.0 } else { 1.0 };
    let wanted = vec![(first - room, 0.0), (last + room, 0.0)];
    Some(Plot::Chart(Chart {
        title: said!(style, "diameters-against-wanted"),
        x_label: said!(style, "plane-from-gauge-plane", unit = style.long_sign()),
        y_label: said!(style, "from-wanted", unit = style.small_sign()),
        series: vec![
            Series {
                label: said!(style, "measured"),
                points,
                stroke: Stroke::Dashed(0),
                dot: Dot::Full,
            },
            Series {
                label: said!(style, "the-wanted-cone"),
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
        let words = |split| passes(&split, |um| format!("{um:.2} µm"), Style::default()).0;
        assert_eq!(words(split(2, 12.7)), "2 of 12.70 µm");
        assert_eq!(
            words(split(2, 5.0)),
            "2: 1 of 12.70 µm, the last of 5.00 µm"
        );
        assert_eq!(words(split(1, 5.0)), "1 of 5.00 µm");
    }
}
