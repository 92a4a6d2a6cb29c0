//! Part and spindle apart, as a reversal tells them.

use super::words::direction;
use crate::document::page::Page;
use crate::document::plot::{Circle, Dot, Polar, Stroke, Trace};
use metrology::runout::{Parted, ReversalOutcome};

/// An eccentricity below this has no direction to speak of.
const LEAST_UM: f64 = 0.005;

pub fn plots(page: &mut Page, reversal: &ReversalOutcome) {
    page.subheading("Part and spindle apart, by reversal");
    let mut polars = [
        polar("The part", &reversal.angles_deg, &reversal.part),
        polar("The spindle", &reversal.angles_deg, &reversal.spindle),
    ];
    // One scale for both, so that the eye may compare them.
    let reach = polars.iter().map(Polar::reach_um).fold(0.0, f64::max);
    for polar in &mut polars {
        polar.reach_um = Some(reach);
    }
    let [part, spindle] = polars.map(|polar| polar.svg());
    page.pair([("the part", part), ("the spindle", spindle)]);
    let harmonic = |parted: &Parted, order: usize| {
        parted
            .harmonics_um
            .get(order - 2)
            .map_or_else(String::new, |um| format!("{um:.2}"))
    };
    page.table(
        &[
            "",
            "#Eccentricity, µm",
            "High spot",
            "#Form, minimum zone, µm",
            "#Least squares, µm",
            "#2 a turn, µm",
            "#3 a turn, µm",
        ],
        [("Part", &reversal.part), ("Spindle", &reversal.spindle)].map(|(name, parted)| {
            vec![
                name.to_owned(),
                format!("{:.2}", parted.eccentricity_um),
                if parted.eccentricity_um < LEAST_UM {
                    "none".to_owned()
                } else {
                    direction(parted.high_spot_deg)
                },
                format!("{:.2}", parted.error_mz_um),
                format!("{:.2}", parted.error_ls_um),
                harmonic(parted, 2),
                harmonic(parted, 3),
            ]
        }),
    );
    page.list(&reversal.remarks);
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
        reach_um: None,
    }
}
