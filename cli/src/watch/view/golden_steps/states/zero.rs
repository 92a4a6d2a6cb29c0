use super::common::{mark, next, opened, station, with};
use crate::watch::state::{Mode, Watch};
use crate::watch::view::golden::{mm, watching};
use metrology::zero::ZeroMark;
use metrology::zero::level::LevelOptions;
use protocol::api::Status;
use protocol::evidence::Place;
use protocol::plan::{About, ZeroPlan};

fn level() -> Status {
    let plan = ZeroPlan {
        about: About::Level,
        level: LevelOptions {
            wheel: Some(mm("300")),
            part: Some(mm("40")),
            height: None,
        },
    };
    let zero_mark = |name: &str, position_mm: f64, value_mm: f64, time_s: f64| ZeroMark {
        round: 1,
        station: name.to_owned(),
        position_mm,
        value_mm,
        sd_mm: Some(4e-4),
        readings: 24,
        resolution: mm("0.001"),
        time_s: Some(time_s),
        clamped: false,
        setting: 0,
    };
    let marks = vec![
        zero_mark("A", 0.0, 0.0125, 0.0),
        zero_mark("B", 80.0, 0.0431, 20.0),
        zero_mark("A", 0.0, 0.0127, 40.0),
    ];
    let mut status = opened(plan.clone());
    status.marks = (1..)
        .zip(&marks)
        .map(|(n, m)| {
            mark(
                n,
                Place::Station(station(&m.station, "0")),
                Some(m.value_mm),
            )
        })
        .collect();
    status.next_round = Some(2);
    let status = with(status, &plan, &marks);
    next(status, Place::Station(station("A", "0")))
}

pub fn states() -> Vec<(&'static str, Watch)> {
    let mut menu = watching(level(), "0.013", true);
    menu.mode = Mode::Menu;
    vec![
        ("level_enough", watching(level(), "0.013", true)),
        ("menu", menu),
    ]
}
