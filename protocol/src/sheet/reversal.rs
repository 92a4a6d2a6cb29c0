//! Part and spindle apart, as a reversal tells them.

use super::harmonics;
use super::plot::{Circle, Dot, Plot, Polar, Stroke, Trace};
use super::words::{cell, direction};
use super::{Part, Table};
use metrology::runout::{Parted, ReversalOutcome};

/// An eccentricity below this has no direction to speak of.
const LEAST_UM: f64 = 0.005;

pub(super) fn parts(reversal: &ReversalOutcome) -> Vec<Part> {
    let both = [("part", &reversal.part), ("spindle", &reversal.spindle)];
    let drawn = |title: &str, parted| polar(title, &reversal.angles_deg, parted);
    let pair = Box::new([
        ("the part", drawn("The part", &reversal.part)),
        ("the spindle", drawn("The spindle", &reversal.spindle)),
    ]);
    let rows = both.map(|(name, parted)| {
        vec![
            name.to_owned(),
            cell(Some(parted.eccentricity_um), 2),
            if parted.eccentricity_um < LEAST_UM {
                "none".to_owned()
            } else {
                direction(parted.high_spot_deg)
            },
            cell(Some(parted.error_mz_um), 2),
            cell(Some(parted.error_ls_um), 2),
        ]
    });
    let table = Table::new(
        &[
            "of",
            "#eccentricity, µm",
            "high spot",
            "#form, minimum zone, µm",
            "#least squares, µm",
        ],
        rows,
    );
    let one_scale = true;
    let apart = Part {
        heading: "Part and spindle apart, by reversal".to_owned(),
        plot: Some(Plot::Polars { pair, one_scale }),
        table: Some(table),
        note: reversal.remarks.join(" "),
    };
    let harmonics = both.into_iter().filter_map(|(name, parted)| {
        let table = harmonics::table(&parted.harmonics_um, &parted.proved_orders)?;
        Some(Part::table(format!("Harmonics of the {name}"), table))
    });
    [apart].into_iter().chain(harmonics).collect()
}

fn polar(title: &str, angles_deg: &[f64], parted: &Parted) -> Polar {
    let spot = parted.high_spot_deg.to_radians();
    let e = parted.eccentricity_um;
    Polar {
        title: title.into(),
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
