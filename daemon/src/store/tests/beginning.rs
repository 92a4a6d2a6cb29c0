//! What lies in the place of a store before it is opened.

use super::*;

fn refused(directory: &Path) -> StoreError {
    match Store::open(directory, Box::new(NoFault)) {
        Ok(_) => panic!("it was opened"),
        Err(error) => error,
    }
}

/// Every file of a directory with its bytes.
fn files(directory: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<_> = fs::read_dir(directory)
        .unwrap()
        .map(|entry| {
            let entry = entry.unwrap();
            let name = entry.file_name().into_string().unwrap();
            (name, fs::read(entry.path()).unwrap())
        })
        .collect();
    files.sort();
    files
}

#[test]
fn another_programs_database_is_refused_and_not_a_byte_changes() {
    // A space and marks that mean something in the name of a database.
    let outer = tempfile::tempdir().unwrap();
    let directory = outer.path().join("a 100% store? #2");
    fs::create_dir(&directory).unwrap();
    let path = directory.join(FILE_NAME);
    let other = Connection::open(&path).unwrap();
    other
        .execute_batch("CREATE TABLE shopping (what TEXT)")
        .unwrap();
    other.close().unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).unwrap();
    let before = files(&directory);
    let error = refused(&directory);
    assert!(matches!(error, StoreError::Foreign { .. }), "{error:?}");
    assert_eq!(files(&directory), before);
    let mode = fs::metadata(&path).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o644);
}

#[test]
fn an_empty_file_is_no_new_store() {
    let directory = tempfile::tempdir().unwrap();
    fs::write(directory.path().join(FILE_NAME), b"").unwrap();
    let error = refused(directory.path());
    assert!(matches!(error, StoreError::Empty { .. }), "{error:?}");
    assert!(error.hint().unwrap().contains("last good copy"));
    assert_eq!(
        fs::metadata(directory.path().join(FILE_NAME))
            .unwrap()
            .len(),
        0
    );
}

#[test]
fn a_missing_file_beside_what_it_left_is_told() {
    for left in ["conewright.db-wal", "conewright.db.v3"] {
        let directory = tempfile::tempdir().unwrap();
        fs::write(directory.path().join(left), b"what was").unwrap();
        let error = refused(directory.path());
        assert!(matches!(error, StoreError::Missing { .. }), "{error:?}");
        assert!(error.to_string().contains(left), "{error}");
        assert_eq!(files(directory.path()).len(), 1, "{left}");
        fs::remove_file(directory.path().join(left)).unwrap();
        drop(open(directory.path()));
    }
}

/// The power goes while a new store is made: what was begun is put aside, and nobody takes it for a store.
#[test]
fn a_store_that_was_half_made_is_made_again() {
    let directory = tempfile::tempdir().unwrap();
    for left in [
        "conewright.db.new",
        "conewright.db.new-wal",
        "conewright.db.new-shm",
    ] {
        fs::write(directory.path().join(left), b"half").unwrap();
    }
    let store = open(directory.path());
    assert_eq!(integrity(&store), "ok");
    store.close().unwrap();
    let names: Vec<String> = files(directory.path())
        .into_iter()
        .map(|(name, _)| name)
        .collect();
    assert_eq!(names, [FILE_NAME]);
}
