//! The daemon's memory does not grow with the readings; the program `memory` streams ten million.

use conewright_tests::memory::{With, stream};

/// More than the allocator's and the database's own ups and downs.
const NOTHING_KIB: u64 = 5_120;

/// What waits for a store that is behind, and as much again in the transaction under way.
const BEHIND_KIB: u64 = 2 * 131_072 * 64 / 1_024;

#[test]
fn readings_that_are_shown_or_stored_are_not_held() {
    for (with, may_grow) in [
        (With::NoSession, NOTHING_KIB),
        (With::AStep, NOTHING_KIB + BEHIND_KIB),
    ] {
        let told = stream(with, 200_000, 4);
        // The last readings of half a minute are held: the first part fills their place.
        assert!(told.grew_kib(1, 4) < may_grow, "{with:?}: {told:?}");
    }
}

#[test]
fn what_is_recorded_is_held_once() {
    let told = stream(With::ARecording, 50_000, 3);
    // 32 bytes each, and while the place for them is made twice as large, the old one beside the new.
    let held = 3 * 150_000 * 32 / 1_024;
    assert!(told.grew_kib(0, 3) < NOTHING_KIB + held, "{told:?}");
    // Nor does one that is started over it, after a kill in the middle of it, take more.
    assert!(
        told.restarted.0 < told.highest_kib + NOTHING_KIB,
        "{told:?}"
    );
}
