//! What `check` finds, and what `backup` makes and refuses.

use super::*;

/// A store with one session of two marks, and the directory that it lies in.
fn filled() -> (tempfile::TempDir, Store) {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    for write in script() {
        store.write(&write).unwrap();
    }
    (directory, store)
}

const FILLED: Counts = Counts {
    sessions: 1,
    steps: 1,
    marks: 2,
    taken_back: 1,
    readings: 12,
    events: 1,
};

/// The faults found after a hand from outside has changed the store.
fn faults_after(change: &str) -> Vec<String> {
    let (directory, store) = filled();
    store
        .connection
        .pragma_update(None, "foreign_keys", false)
        .unwrap();
    store.connection.execute_batch(change).unwrap();
    let found = check(directory.path()).unwrap();
    assert!(!found.is_sound());
    found.faults
}

#[test]
fn a_sound_store_is_counted_open_closed_and_after_a_kill() {
    let (directory, store) = filled();
    let found = check(directory.path()).unwrap();
    assert_eq!(
        (found.faults.as_slice(), found.counts),
        ([].as_slice(), FILLED)
    );
    assert!(found.log_bytes > 0, "the log is open");
    // As a kill leaves it: the file and its log, nobody beside.
    let image = tempfile::tempdir().unwrap();
    for name in [FILE_NAME.to_owned(), format!("{FILE_NAME}-wal")] {
        fs::copy(directory.path().join(&name), image.path().join(&name)).unwrap();
    }
    assert_eq!(check(image.path()).unwrap().counts, FILLED);
    assert!(
        image.path().join(format!("{FILE_NAME}-wal")).exists(),
        "asking changes nothing"
    );
    store.close().unwrap();
    let found = check(directory.path()).unwrap();
    assert_eq!((found.log_bytes, found.counts), (0, FILLED));
    assert_eq!(found.version, found.known_version);
}

#[test]
fn what_is_wrong_is_told_by_its_place() {
    for (change, told) in [
        (
            "DELETE FROM reading WHERE seq = 5",
            "mark 1 of step 1 of session 1 uses 5 readings of `bench`, and 4 of them are there",
        ),
        (
            "DELETE FROM mark WHERE number = 1",
            "mark 1 of step 1 of session 1 is missing",
        ),
        (
            "UPDATE session SET setup = '{'",
            "the set-up of session 1 cannot be read",
        ),
        (
            "UPDATE mark SET source = '{}' WHERE number = 2",
            "the marks of step 1 of session 1 cannot be read",
        ),
        ("DELETE FROM session", "belongs to a row of `session`"),
        (
            "UPDATE reading SET step = 9 WHERE seq = 1",
            "1 readings belong to no step",
        ),
        (
            "UPDATE step SET plan = '{}'",
            "the plan of step 1 of session 1 cannot be read",
        ),
    ] {
        let faults = faults_after(change);
        assert!(
            faults.iter().any(|fault| fault.contains(told)),
            "{change}: {faults:?}"
        );
    }
}

/// Every page spoiled in turn: it is told, or the page holds nothing.
#[test]
fn a_spoiled_page_is_found() {
    let (directory, store) = filled();
    store.close().unwrap();
    let path = directory.path().join(FILE_NAME);
    let whole = fs::read(&path).unwrap();
    let pages = whole.len() / 4096;
    assert!(pages > 8, "{pages}");
    for page in 0..pages {
        let mut spoiled = whole.clone();
        spoiled[page * 4096..][..4096].fill(0xa5);
        fs::write(&path, spoiled).unwrap();
        let found = check(directory.path());
        assert!(
            found.as_ref().is_ok_and(|found| !found.is_sound()),
            "page {page}: {found:?}"
        );
        let to = directory.path().join("copy.db");
        let error = backup(directory.path(), &to, false).unwrap_err();
        assert!(matches!(error, StoreError::Unsound { .. }), "{error:?}");
        assert!(!to.exists(), "no copy of a broken store is made");
    }
}

#[test]
fn what_is_no_store_of_ours_is_refused() {
    let directory = tempfile::tempdir().unwrap();
    let error = check(directory.path()).unwrap_err();
    assert!(error.to_string().contains("find the store"), "{error}");
    let other = Connection::open(directory.path().join(FILE_NAME)).unwrap();
    other
        .execute_batch("CREATE TABLE shopping (what TEXT)")
        .unwrap();
    let error = check(directory.path()).unwrap_err();
    assert!(matches!(error, StoreError::Foreign { .. }), "{error:?}");
    let (directory, store) = filled();
    store
        .connection
        .pragma_update(None, "user_version", 99)
        .unwrap();
    let error = check(directory.path()).unwrap_err();
    assert!(
        matches!(error, StoreError::Newer { found: 99, .. }),
        "{error:?}"
    );
}

#[test]
fn a_copy_is_whole_private_and_replaces_nothing_unasked() {
    let (directory, mut store) = filled();
    let other = tempfile::tempdir().unwrap();
    let to = other.path().join(FILE_NAME);
    let copy = backup(directory.path(), &to, false).unwrap();
    assert_eq!((copy.counts, &copy.file), (FILLED, &to));
    let mode = fs::metadata(&to).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode, 0o600);
    let before = fs::read(&to).unwrap();

    let more = Write {
        rows: vec![session(2)],
        ..Default::default()
    };
    store.write(&more).unwrap();
    let error = backup(directory.path(), &to, false).unwrap_err();
    assert!(matches!(error, StoreError::Exists { .. }), "{error:?}");
    assert!(error.hint().unwrap().contains("--force"));
    assert_eq!(fs::read(&to).unwrap(), before);
    let copy = backup(directory.path(), &to, true).unwrap();
    assert_eq!(copy.counts.sessions, 2);
    assert_eq!(
        fs::read_dir(other.path()).unwrap().count(),
        1,
        "nothing is left beside it"
    );
    // A copy with the store's name is a store.
    assert_eq!(
        open(other.path()).restore().unwrap(),
        store.restore().unwrap()
    );
}

#[test]
fn a_copy_never_takes_the_place_of_the_store() {
    let (directory, store) = filled();
    let at = |name: &str| directory.path().join(name);
    std::os::unix::fs::symlink(at(FILE_NAME), at("link.db")).unwrap();
    for name in [
        FILE_NAME,
        "link.db",
        "conewright.db-wal",
        "conewright.db-journal",
        "lock",
    ] {
        let error = backup(directory.path(), &at(name), true).unwrap_err();
        assert!(
            matches!(error, StoreError::Itself { .. }),
            "{name}: {error:?}"
        );
    }
    let error = backup(directory.path(), &at("none/copy.db"), false).unwrap_err();
    assert!(error.to_string().contains("none"), "{error}");
    backup(directory.path(), &at("copy.db"), false).unwrap();
    assert_eq!(check(directory.path()).unwrap().counts, FILLED);
    drop(store);
}
