use super::common::{mark, next, opened, with};
use crate::watch::state::{Mode, Then, Watch};
use crate::watch::view::golden::{mm, watching};
use metrology::Length;
use metrology::size::{Measured, SectionReading, SizeOptions};
use protocol::api::Status;
use protocol::evidence::Place;
use protocol::plan::SizePlan;

/// Diameters at the gauge plane and 24 mm from it, the wanted ones and this much more, µm, in each round.
fn sized(more_um: &[[f64; 2]]) -> Status {
    let step = SizePlan {
        size: SizeOptions {
            pass: Some(Length::from_um(10)),
            allowance: Some(Length::from_um(5)),
            diameter_u: Some(mm("0.0001")),
            ..SizeOptions::default()
        },
        at: vec![Length::ZERO, mm("24")],
        ..SizePlan::default()
    };
    let mut status = opened(step.clone());
    // A micrometer has no cable here.
    status.indicator = None;
    let plane = |plane: Length| Place::Plane { plane };
    if more_um.is_empty() {
        return next(status, plane(Length::ZERO));
    }
    // 1:12 from 40 mm at the gauge plane.
    let wanted = [(0.0, 40.0), (24.0, 38.0)].into_iter().cycle();
    let readings: Vec<_> = wanted
        .zip(more_um.iter().copied().flatten())
        .map(|((plane_mm, wanted), more)| SectionReading {
            plane_mm,
            diameter_mm: wanted + more * 1e-3,
        })
        .collect();
    status.marks = (1..)
        .zip(&readings)
        .map(|(n, r)| {
            mark(
                n,
                plane(Length::from_mm(r.plane_mm).unwrap()),
                Some(r.diameter_mm),
            )
        })
        .collect();
    next(
        with(status, &step, &Measured::Sections(readings)),
        plane(Length::ZERO),
    )
}

pub fn states() -> Vec<(&'static str, Watch)> {
    let mut unplaced = sized(&[]);
    (unplaced.next_place, unplaced.next_mark) = (None, None);
    let mut unplaced = watching(unplaced, "0.013", true);
    unplaced.mode = Mode::Place {
        text: "24".to_owned(),
        then: Then::Mark(Some("38.0123".to_owned())),
    };
    let measured = |more_um: &[[f64; 2]]| watching(sized(more_um), "0.013", true);
    let mut typing = measured(&[[46.2, 44.0]]);
    typing.mode = Mode::Value("40.0214".to_owned());
    let ground = [[46.2, 44.0], [12.0, 16.4]];
    vec![
        ("size_first", measured(&[])),
        ("size_place_asked", unplaced),
        ("size_left", measured(&[[46.2, 44.0]])),
        ("size_typing", typing),
        ("size_undersize", measured(&[[-12.4, -10.0]])),
        ("size_ground_between", measured(&ground)),
    ]
}
