//! How the places of a run-out step are named.

use crate::evidence::Place;
use crate::plan::Plan;
use crate::step::naming::{named, next, read};
use crate::step::{AnglesFrom, RunoutPlan, Work};
use metrology::setup::Setup;

#[test]
fn a_stretch_has_no_names_but_its_own() {
    let plan = Plan::of(Work::Runout(RunoutPlan {
        angles: AnglesFrom::Turns,
        ..RunoutPlan::default()
    }));
    assert_eq!(read(&plan, "turn"), Ok(Place::Turn { plane: None }));
    assert!(read(&plan, "120").unwrap_err().message.contains("turn"));
    let steady = Plan::of(Work::Runout(RunoutPlan {
        angles: AnglesFrom::Steady,
        ..RunoutPlan::default()
    }));
    assert_eq!(
        read(&steady, "5").unwrap().to_string(),
        "begin in plane 5 mm"
    );
    assert_eq!(read(&steady, "begin").unwrap().to_string(), "begin");
    let end = next(Some(Place::End { station: None }));
    let setup = Setup::default();
    assert!(named(&steady, &setup, &[], &end, "5").is_err());
}
