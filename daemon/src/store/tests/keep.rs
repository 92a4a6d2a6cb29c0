//! Sessions archived, deleted, and brought back; the room that they took.

use super::damage::{FRAME, Killed, kept_marks, one};
use super::*;
use protocol::record::Record;

/// A store with thirty marks whose log was damaged in the middle, over which a daemon has started; and what it found.
fn damaged(further: impl FnOnce(&mut Store, u32)) -> (Killed, usize) {
    let killed = Killed::new(30);
    killed.spoil(killed.frames / 2 * FRAME, 4_096);
    let mut store = open(killed.directory.path());
    let here = kept_marks(&store);
    assert!((1..30).contains(&here), "{here}");
    further(&mut store, here as u32);
    store.close().unwrap();
    (killed, here)
}

#[test]
fn what_can_be_read_behind_a_damage_is_brought_back_in_its_place() {
    let (killed, here) = damaged(|store, _| {
        // Read since, and used by no mark.
        let since = Write {
            readings: readings(1, 900..950),
            ..Default::default()
        };
        store.write(&since).unwrap();
    });
    let home = killed.directory.path();
    let offered = offers(home, None).unwrap();
    let offer = &offered.sessions[0];
    assert_eq!((offer.there.session, offer.there.marks), (1, 30));
    assert_eq!(offer.marks_here, Some(here as u64));
    assert_eq!((offer.how, offered.faults.len()), (How::Completed, 0));
    assert!(!check(killed.directory.path()).unwrap().is_sound());
    bring_back(home, None, &[]).unwrap();
    let found = check(killed.directory.path()).unwrap();
    assert!(found.is_sound(), "{found:?}");
    assert_eq!(found.counts.marks, 30);
    let store = open(killed.directory.path());
    let events = decode::events(&store.connection, 1).unwrap();
    let told: Vec<_> = events.iter().map(|event| &*event.text).collect();
    assert!(told[0].contains("damaged"), "it stays told: {told:?}");
    assert!(
        told[1].ends_with(&format!(": {} marks", 30 - here)),
        "{told:?}"
    );
    let error = offers(home, None).unwrap_err();
    assert!(matches!(error, StoreError::NothingKept { .. }), "{error:?}");
}

#[test]
fn a_session_that_went_on_stays_and_the_other_comes_back_beside_it() {
    let (killed, here) = damaged(|store, here| {
        let mut since = one(here + 1);
        let mut later = mark(here + 1, 900, 904);
        later.t = Time(77);
        since.readings = readings(1, 900..905);
        since.rows = vec![Row::Mark {
            step: 1,
            mark: later,
        }];
        store.write(&since).unwrap();
    });
    let home = killed.directory.path();
    let done = bring_back(home, None, &[1]).unwrap();
    assert_eq!(done.sessions[0].how, How::Beside { as_session: 2 });
    let found = check(killed.directory.path()).unwrap();
    assert!(found.is_sound(), "{found:?}");
    assert_eq!(found.counts.marks as usize, here + 1 + 30);
    let restored = open(killed.directory.path()).restore().unwrap();
    let open = restored.open.unwrap();
    assert_eq!((open.info.id, restored.next_session), (1, 3));
    assert_eq!(open.step.unwrap().evidence.marks.len(), here + 1);
}

#[test]
fn a_damage_may_be_left_as_it_is() {
    let (killed, here) = damaged(|_, _| {});
    let home = killed.directory.path();
    assert_eq!(leave(home).unwrap(), 1);
    let found = check(killed.directory.path()).unwrap();
    assert!(found.is_sound(), "{found:?}");
    assert_eq!(found.counts.marks as usize, here);
}

/// Two closed sessions and an open one.
fn three() -> (tempfile::TempDir, Vec<Record>) {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    for id in 1..=3 {
        let mut rows = vec![session(id), step(id, id, 1)];
        rows.push(Row::Mark {
            step: id,
            mark: mark(1, 3, 7),
        });
        if id < 3 {
            rows.push(Row::Learned {
                fixture: "plate".to_owned(),
                step: id,
                what: Some(Learned::default()),
            });
            rows.push(Row::StepClosed {
                id,
                closed: Time(90),
            });
            rows.push(Row::SessionClosed {
                id,
                closed_utc: Time(99),
            });
        }
        let write = Write {
            readings: readings(id, 0..5_000),
            rows,
        };
        store.write(&write).unwrap();
    }
    store.close().unwrap();
    let records = records(directory.path());
    (directory, records)
}

fn records(directory: &Path) -> Vec<Record> {
    let mut reader = Reader::open(directory).unwrap();
    let lines = reader.sessions(&SessionFilter::default()).unwrap();
    lines
        .iter()
        .rev()
        .map(|line| reader.session(Which::Number(line.session), "").unwrap())
        .collect()
}

#[test]
fn a_session_is_archived_deleted_and_brought_back_as_it_was() {
    let (directory, before) = three();
    let other = tempfile::tempdir().unwrap();
    let to = other.path().join("seats.db");
    let archived = archive(directory.path(), &[2], &to, false).unwrap();
    assert_eq!((archived.counts.sessions, archived.counts.marks), (1, 1));
    assert_eq!(fs::read_dir(other.path()).unwrap().count(), 1);
    let mode = fs::metadata(&to).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode, 0o600);
    assert!(check_one(&to).unwrap().is_sound());
    let mut reader = Reader::open_file(&to).unwrap();
    assert_eq!(reader.session(Which::Number(2), "").unwrap(), before[1]);
    let error = archive(directory.path(), &[1], &to, false).unwrap_err();
    assert!(matches!(error, StoreError::Exists { .. }), "{error:?}");

    let home = directory.path();
    let deleted = delete(home, &[2]).unwrap();
    assert_eq!((deleted[0].marks, deleted[0].readings), (1, 5_000));
    assert_eq!(
        records(directory.path()),
        [before[0].clone(), before[2].clone()]
    );
    let found = check(directory.path()).unwrap();
    assert!(found.is_sound(), "{found:?}");

    let back = bring_back(home, Some(&to), &[]).unwrap();
    assert_eq!(back.sessions[0].how, How::Added);
    assert_eq!(records(directory.path()), before);
    assert!(check(directory.path()).unwrap().is_sound());
    let restored = open(directory.path()).restore().unwrap();
    assert_eq!(restored.learned["plate"].len(), 2);
    let again = bring_back(home, Some(&to), &[]).unwrap();
    assert_eq!(again.sessions[0].how, How::Unchanged);
}

#[test]
fn an_open_session_is_neither_archived_nor_deleted() {
    let (directory, before) = three();
    let to = directory.path().join("seats.db");
    let home = directory.path();
    for error in [
        archive(directory.path(), &[1, 3], &to, false).unwrap_err(),
        delete(home, &[1, 3]).unwrap_err(),
    ] {
        assert!(
            matches!(error, StoreError::OpenSession { session: 3 }),
            "{error:?}"
        );
    }
    let error = delete(home, &[1, 9]).unwrap_err();
    assert!(matches!(error, StoreError::NoSession { .. }), "{error:?}");
    assert!(!to.exists());
    assert_eq!(records(directory.path()), before);
}

#[test]
fn the_number_of_a_deleted_session_is_not_given_again() {
    let (directory, _) = three();
    let mut store = open(directory.path());
    let closed = Row::SessionClosed {
        id: 3,
        closed_utc: Time(100),
    };
    let write = Write {
        rows: vec![closed],
        ..Default::default()
    };
    store.write(&write).unwrap();
    store.close().unwrap();
    let home = directory.path();
    delete(home, &[3]).unwrap();
    let restored = open(directory.path()).restore().unwrap();
    assert_eq!((restored.next_session, restored.next_step), (4, 4));
}

#[test]
fn a_compacted_store_gives_back_the_room_of_deleted_sessions() {
    let (directory, before) = three();
    let home = directory.path();
    delete(home, &[1, 2]).unwrap();
    let (from, to) = compact(home).unwrap();
    assert!(to < from / 2, "{from} to {to}");
    assert_eq!(records(directory.path()), before[2..]);
    assert!(check(directory.path()).unwrap().is_sound());
}
