//! A power cut at any moment of a session: whatever part of what was not synced is lost, torn or reordered, every
//! acknowledged mark is there, exactly once.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::cuts::{self, Recorded, recovery_campaign};

#[test]
fn whatever_a_power_cut_leaves_holds_every_acknowledged_mark() {
    let recorded = Recorded::session(20);
    let told = cuts::campaign(&recorded, 60, 1);
    assert!(told.failures.is_empty(), "{told:#?}");
    assert!(told.at_stake > 100, "{told:#?}");
    // And the power is cut again while the daemon recovers from it.
    let again = recovery_campaign(&recorded, 2, 2);
    assert!(again.failures.is_empty(), "{again:#?}");
    assert!(again.at_stake > 30, "{again:#?}");
}
