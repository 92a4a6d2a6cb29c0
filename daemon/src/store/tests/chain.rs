//! The chain over the marks: what is lost or changed after it was acknowledged is seen.

use super::*;

/// The faults that `store check` finds after a hand from outside has changed a store of three marks, the first taken back.
fn faults_after(change: &str) -> Vec<String> {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    for write in script() {
        store.write(&write).unwrap();
    }
    let further = Write {
        readings: readings(1, 12..15),
        rows: vec![Row::Mark {
            step: 1,
            mark: mark(3, 12, 14),
        }],
    };
    store.write(&further).unwrap();
    let before = check(directory.path()).unwrap();
    assert!(before.is_sound(), "{:?}", before.faults);
    store
        .connection
        .pragma_update(None, "foreign_keys", false)
        .unwrap();
    store.connection.execute_batch(change).unwrap();
    check(directory.path()).unwrap().faults
}

#[test]
fn a_mark_that_was_lost_or_changed_is_named() {
    for (change, told) in [
        (
            "DELETE FROM mark WHERE number = 3",
            "mark 3 of step 1 of session 1 was acknowledged and is missing",
        ),
        (
            "UPDATE mark SET place = replace(place, '\"A\"', '\"B\"') WHERE number = 2",
            "mark 2 of step 1 of session 1 was changed after it was acknowledged",
        ),
        (
            "UPDATE reading SET value_pm = value_pm + 1 WHERE seq = 13",
            "mark 3 of step 1 of session 1 was changed after it was acknowledged",
        ),
        (
            "UPDATE mark SET taken_back = 0 WHERE number = 1",
            "mark 1 of step 1 of session 1 was taken back, and counts",
        ),
        (
            "UPDATE mark SET taken_back = 1 WHERE number = 2",
            "mark 2 of step 1 of session 1 is taken back, and nobody took it back",
        ),
        (
            "DELETE FROM mark WHERE number = 3; DELETE FROM chain WHERE mark = 3",
            "the last 1 change of the marks of session 1 are missing",
        ),
        (
            "DELETE FROM chain WHERE mark = 2",
            "1 change before mark 3 of step 1 of session 1 are missing in the chain",
        ),
        (
            "DELETE FROM chain WHERE mark = 3; UPDATE session SET links = 3",
            "mark 3 of step 1 of session 1 is not in the chain",
        ),
    ] {
        let faults = faults_after(change);
        assert!(
            faults.iter().any(|fault| fault == told),
            "{change}: {faults:?}"
        );
    }
}

/// One changed mark is one fault: those after it stand on the hash that it had.
#[test]
fn the_marks_after_a_changed_one_are_not_blamed() {
    let faults = faults_after("UPDATE mark SET round = 9 WHERE number = 2");
    assert_eq!(faults.len(), 1, "{faults:?}");
}

/// A store of an older program has marks without a link.
#[test]
fn marks_before_the_first_link_are_accepted() {
    let directory = tempfile::tempdir().unwrap();
    let older = &schema::MIGRATIONS[..3];
    let older = Store::open_with(directory.path(), Box::new(NoFault), older);
    drop(older);
    let mut store = open(directory.path());
    for write in script() {
        store.write(&write).unwrap();
    }
    // As the older program left it: two marks, the first of them taken back.
    store
        .connection
        .execute_batch("DELETE FROM chain; UPDATE session SET links = 0")
        .unwrap();
    let further = Write {
        readings: readings(1, 12..15),
        rows: vec![
            Row::Mark {
                step: 1,
                mark: mark(3, 12, 14),
            },
            Row::TakenBack { step: 1, number: 2 },
        ],
    };
    store.write(&further).unwrap();
    let found = check(directory.path()).unwrap();
    assert_eq!(found.faults, [] as [String; 0]);
}
