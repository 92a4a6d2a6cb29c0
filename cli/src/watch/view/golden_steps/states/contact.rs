use super::common::{mark, opened, with};
use crate::watch::hand::Answer;
use crate::watch::state::{Mode, Watch};
use crate::watch::view::golden::watching;
use metrology::contact::Zones;
use protocol::api::{Code, Refusal, Status};
use protocol::evidence::Place;
use protocol::step::ContactPlan;

fn printed(zones: Option<[f64; 3]>, found_arcsec: Option<[f64; 2]>) -> Status {
    let step = ContactPlan {
        found_arcsec,
        ..ContactPlan::default()
    };
    let status = opened(step);
    let Some([big_percent, middle_percent, small_percent]) = zones else {
        return status;
    };
    let zones = Zones {
        big_percent,
        middle_percent,
        small_percent,
    };
    let mut status = with(status, &step, &zones);
    status.marks = vec![mark(1, Place::Print(zones), None)];
    status
}

pub fn states() -> Vec<(&'static str, Watch)> {
    let judged = |zones, found| watching(printed(zones, found), "0.013", true);
    let mut judging = judged(None, None);
    judging.mode = Mode::Judged("90 40 ".to_owned());
    let mut misjudged = judged(None, None);
    misjudged.mode = Mode::Judged("90 140 0".to_owned());
    misjudged.on_answer(Answer::Refused(
        Refusal::new(
            Code::BadValue,
            "a print is three numbers from 0 to 100: big end, middle, small end",
        )
        .hint("as 90 40 0"),
    ));
    let found = Some([0.5, 2.0]);
    vec![
        ("contact_first", judging),
        ("contact_mistyped", misjudged),
        ("contact_disagrees", judged(Some([90.0, 40.0, 0.0]), found)),
        ("contact_full", judged(Some([90.0, 85.0, 80.0]), found)),
        ("contact_alone", judged(Some([5.0, 60.0, 90.0]), None)),
    ]
}
