//! Part and spindle apart, as a reversal tells them.

use super::harmonics;
use crate::said;
use crate::sheet::plot::{Circle, Dot, Plot, Polar, Stroke, Trace};
use crate::sheet::words::direction;
use crate::sheet::{Column, Part, Table};
use crate::style::Style;
use metrology::runout::{Parted, ReversalOutcome};

/// An eccentricity below this has no direction to speak of.
const LEAST_UM: f64 = 0.005;

pub(super) fn parts(reversal: &ReversalOutcome, style: Style) -> Vec<Part> {
    let both = [
        (said!(style, "part"), &reversal.part),
        (said!(style, "spindle"), &reversal.spindle),
    ];
    let drawn = |title, parted| polar(title, &reversal.angles_deg, parted);
    let pair = Box::new([
        (
            said!(style, "the-part"),
            drawn(said!(style, "the-part-title"), &reversal.part),
        ),
        (
            said!(style, "the-spindle"),
            drawn(said!(style, "the-spindle-title"), &reversal.spindle),
        ),
    ]);
    let small = style.small_sign();
    let rows = both.clone().map(|(name, parted)| {
        vec![
            name,
            style.micro_number(parted.eccentricity_um, 2),
            if parted.eccentricity_um < LEAST_UM {
                said!(style, "no-high-spot")
            } else {
                direction(parted.high_spot_deg, style)
            },
            style.micro_number(parted.error_mz_um, 2),
            style.micro_number(parted.error_ls_um, 2),
        ]
    });
    let columns = [
        Column::text(said!(style, "column-of")),
        Column::number(said!(style, "column-eccentricity", unit = small)),
        Column::text(said!(style, "high-spot")),
        Column::number(said!(style, "column-form-mz", unit = small)),
        Column::number(said!(style, "column-form-ls", unit = small)),
    ];
    let table = Table::new(columns, rows);
    let notes = reversal.remarks.iter();
    let notes: Vec<String> = notes.map(|note| style.retold(note)).collect();
    let one_scale = true;
    let apart = Part {
        heading: said!(style, "part-and-spindle-apart"),
        plot: Some(Plot::Polars { pair, one_scale }),
        table: Some(table),
        note: notes.join(" "),
    };
    let harmonics = both.into_iter().filter_map(|(name, parted)| {
        let table = harmonics::table(&parted.harmonics_um, &parted.proved_orders, style)?;
        Some(Part::table(said!(style, "harmonics-of", of = name), table))
    });
    [apart].into_iter().chain(harmonics).collect()
}

fn polar(title: String, angles_deg: &[f64], parted: &Parted) -> Polar {
    let spot = parted.high_spot_deg.to_radians();
    let e = parted.eccentricity_um;
    Polar {
        title,
        traces: vec![Trace {
            points: angles_deg
                .iter()
                .map(|deg| deg.to_radians())
                .zip(parted.profile_um.iter().copied())
                .collect(),
            stroke: Stroke::Light,
            dot: Dot::Full,
            closed: true,
        }],
        circles: vec![Circle {
            centre_um: [e * spot.cos(), e * spot.sin()],
            level_um: 0.0,
            radius_um: None,
            stroke: Stroke::Heavy,
        }],
        band: Vec::new(),
        spot: (e >= LEAST_UM).then_some(spot),
    }
}
