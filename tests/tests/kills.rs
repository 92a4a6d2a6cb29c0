//! The daemon killed at random moments; the program `kills` does it a thousand times.

use conewright_tests::kills::campaign;

#[test]
fn killed_at_random_moments_it_has_lost_nothing() {
    let told = campaign(18, 5);
    assert!(told.failures.is_empty(), "{told:#?}");
    assert!(
        told.kills == 18 && told.marks > told.moments && told.moments > 0,
        "{told:#?}"
    );
    assert!(told.readings.promised > 0, "{told:#?}");
}
