use super::*;
use metrology::Length;
use protocol::api::SessionFilter;
use protocol::evidence::{CableReadings, Mark, MarkSource, Place, Reading, Time};
use protocol::plan::{Plan, StepKind};
use protocol::record::{Event, EventKind};
use rusqlite::Connection;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};

mod beginning;
mod chain;
mod damage;
mod keep;
mod soundness;

const FURTHER: &str = "ALTER TABLE session ADD COLUMN bench TEXT;";

fn open(directory: &Path) -> Store {
    Store::open(directory, Box::new(NoFault)).unwrap()
}

fn session(id: i64) -> Row {
    Row::Session(Box::new(SessionRow {
        id,
        name: format!("spindle {id}"),
        opened: Time(1),
        opened_utc: Time(2),
        setup: Default::default(),
        cables: Vec::new(),
    }))
}

fn step(id: i64, session: i64, number: u32) -> Row {
    Row::Step(Box::new(StepRow {
        id,
        session,
        number,
        plan: Plan::usual(StepKind::Zero),
        opened: Time(3),
    }))
}

fn readings(step: i64, seqs: std::ops::Range<u64>) -> Vec<ReadingRow> {
    seqs.map(|seq| ReadingRow {
        step,
        cable: "bench".into(),
        reading: Reading {
            seq,
            t: Time(seq.cast_signed() * 1_000_000),
            value: Length::from_um(seq.cast_signed()),
            resolution: Length::from_um(1),
        },
    })
    .collect()
}

fn mark(number: u32, first_seq: u64, last_seq: u64) -> Mark {
    Mark {
        number,
        t: Time(5),
        place: Place::Station(metrology::setup::Station {
            name: "A".to_owned(),
            position: Length::ZERO,
        }),
        round: 1,
        clamped: false,
        setting: 0,
        source: MarkSource::Dwell {
            cable: "bench".to_owned(),
            first_seq,
            last_seq,
        },
        taken_back: false,
    }
}

fn integrity(store: &Store) -> String {
    store
        .connection
        .query_row("PRAGMA integrity_check", [], |row| row.get(0))
        .unwrap()
}

#[test]
fn files_are_their_owners_alone() {
    let directory = tempfile::tempdir().unwrap();
    // A file with wider rights, as a careless copy leaves it, is narrowed.
    drop(open(directory.path()));
    fs::set_permissions(
        directory.path().join(FILE_NAME),
        fs::Permissions::from_mode(0o644),
    )
    .unwrap();
    let mut store = open(directory.path());
    store
        .write(&Write {
            rows: vec![session(1)],
            ..Default::default()
        })
        .unwrap();
    let mut seen = Vec::new();
    for entry in fs::read_dir(directory.path()).unwrap() {
        let entry = entry.unwrap();
        let mode = entry.metadata().unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o600, "{:?}", entry.file_name());
        seen.push(entry.file_name().into_string().unwrap());
    }
    assert!(seen.contains(&format!("{FILE_NAME}-wal")), "{seen:?}");
}

#[test]
fn an_older_file_is_brought_up_to_date_and_a_copy_of_it_kept() {
    let directory = tempfile::tempdir().unwrap();
    let first = &schema::MIGRATIONS[..1];
    let mut older = Store::open_with(directory.path(), Box::new(NoFault), first).unwrap();
    older
        .write(&Write {
            rows: vec![session(1)],
            ..Default::default()
        })
        .unwrap();
    let step =
        "INSERT INTO step (id, session, number, kind, opened_t_ns) VALUES (1, 1, 1, '\"zero\"', 3)";
    older.connection.execute(step, []).unwrap();
    older.close().unwrap();
    let mut store = open(directory.path());
    let open = store.restore().unwrap().open.unwrap();
    let plan = Plan::usual(StepKind::Zero);
    assert_eq!(open.step.unwrap().plan, plan, "the step has its plan now");
    let copy = directory.path().join(format!("{FILE_NAME}.v1"));
    assert_eq!(
        fs::metadata(&copy).unwrap().permissions().mode() & 0o777,
        0o600
    );
    let copy = Connection::open(copy).unwrap();
    let version: i64 = copy
        .pragma_query_value(None, "user_version", |r| r.get(0))
        .unwrap();
    let names: String = copy
        .query_row("SELECT name FROM session", [], |r| r.get(0))
        .unwrap();
    assert_eq!((version, names.as_str()), (1, "spindle 1"));
}

#[test]
fn a_newer_file_is_refused_and_left_as_it_is() {
    let directory = tempfile::tempdir().unwrap();
    let known = [schema::MIGRATIONS, &[FURTHER]].concat();
    let newer = Store::open_with(directory.path(), Box::new(NoFault), &known).unwrap();
    newer.close().unwrap();
    let before = fs::read(directory.path().join(FILE_NAME)).unwrap();
    let Err(error) = Store::open(directory.path(), Box::new(NoFault)) else {
        panic!("a newer store was opened");
    };
    assert!(
        matches!(
            error,
            StoreError::Newer {
                found,
                known,
                ..
            } if found == known + 1
        ),
        "{error:?}"
    );
    assert!(error.to_string().contains("newer program"), "{error}");
    assert!(error.hint().unwrap().contains("--data"));
    assert_eq!(fs::read(directory.path().join(FILE_NAME)).unwrap(), before);
}

/// SQLite itself meets the end of the room here, in the middle of a transaction.
#[test]
fn a_full_disk_refuses_whole_transactions_and_ends_when_there_is_room() {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    store
        .write(&Write {
            rows: vec![session(1), step(1, 1, 1)],
            readings: readings(1, 0..100),
        })
        .unwrap();
    let pages: i64 = store
        .connection
        .pragma_query_value(None, "page_count", |r| r.get(0))
        .unwrap();
    // The pragma answers with the limit, which `pragma_update` would take for a mistake.
    let limit = |store: &Store, pages: i64| {
        store
            .connection
            .query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(()))
            .unwrap();
    };
    limit(&store, pages + 1);
    let big = Write {
        rows: vec![Row::Mark {
            step: 1,
            mark: mark(1, 0, 9),
        }],
        readings: readings(1, 100..5_000),
    };
    let error = store.write(&big).unwrap_err();
    assert!(error.is_full(), "{error:?}");
    assert!(error.to_string().contains("no room"), "{error}");
    assert_eq!(integrity(&store), "ok");
    let restored = store.restore().unwrap();
    let step = restored.open.unwrap().step.unwrap();
    assert_eq!(step.evidence.marks, [], "nothing of it was stored");
    assert_eq!(step.last_seq["bench"], 99);
    limit(&store, pages + 1_000);
    store.write(&big).unwrap();
    let step = store.restore().unwrap().open.unwrap().step.unwrap();
    assert_eq!(step.evidence.marks, [mark(1, 0, 9)]);
    assert_eq!(step.evidence.readings["bench"].len(), 10, "the mark's own");
    assert_eq!(step.last_seq["bench"], 4_999);
}

#[test]
fn a_file_that_was_taken_away_is_not_written_into() {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    fs::remove_file(directory.path().join(FILE_NAME)).unwrap();
    let error = store
        .write(&Write {
            rows: vec![session(1)],
            ..Default::default()
        })
        .unwrap_err();
    assert!(matches!(error, StoreError::Removed { .. }), "{error:?}");
    // The same file put back is worked with at once: nothing has to be started again for that.
    let hint = error.hint().unwrap();
    assert!(hint.contains("the daemon goes on"), "{hint}");
    assert!(!hint.contains("restart"), "{hint}");
}

#[test]
fn a_change_that_meets_no_row_is_an_error() {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    let lost = Write {
        rows: vec![Row::TakenBack { step: 7, number: 1 }],
        ..Default::default()
    };
    assert!(store.write(&lost).is_err());
}

#[test]
fn a_reading_is_never_replaced_by_another() {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    let first = Write {
        rows: vec![session(1), step(1, 1, 1)],
        readings: readings(1, 0..3),
    };
    store.write(&first).unwrap();
    let mut again = Write {
        readings: readings(1, 1..5),
        ..Default::default()
    };
    store.write(&again).unwrap();
    again.readings[0].reading.value = Length::from_um(77);
    assert!(store.write(&again).is_err());
    let kept = decode::readings(&store.connection, 1).unwrap();
    let expected: CableReadings = readings(1, 0..5).iter().map(|row| row.reading).collect();
    assert_eq!(kept["bench"], expected);
}

/// The next daemon needs the run's anchor: its timeline goes on from it.
#[test]
fn a_run_that_begins_on_a_full_disk_is_stored_with_the_first_write() {
    let anchor = Anchor {
        boot_id: "one start".to_owned(),
        steady_ns: 5,
        utc_ns: 6,
        t: Time(12),
    };
    for written in [true, false] {
        let directory = tempfile::tempdir().unwrap();
        drop(open(directory.path()));
        let mut store = Store::open(directory.path(), Box::new(FullOnce::default())).unwrap();
        assert!(store.begin_run("0", &anchor).unwrap_err().is_full());
        if written {
            let first = Write {
                rows: vec![session(1)],
                ..Default::default()
            };
            store.write(&first).unwrap();
        }
        store.end_run(Time(20)).unwrap();
        store.close().unwrap();
        let found = LastRun {
            boot_id: "one start".to_owned(),
            offset_ns: 7,
            ended: Some(Time(20)),
        };
        let restored = open(directory.path()).restore().unwrap();
        assert_eq!(restored.run, Some(found), "written: {written}");
    }
}

/// Has no room for the first row.
#[derive(Default)]
struct FullOnce(bool);

impl Gate for FullOnce {
    fn fault(&mut self, call: Call) -> Option<Fault> {
        let first = call == Call::Write && !self.0;
        self.0 |= first;
        first.then_some(Fault::Full)
    }
}

/// A script of transactions as a short set-up makes them.
fn script() -> Vec<Write> {
    let rows = |rows| Write {
        rows,
        ..Default::default()
    };
    vec![
        rows(vec![session(1)]),
        rows(vec![step(1, 1, 1)]),
        Write {
            readings: readings(1, 0..5),
            ..Default::default()
        },
        Write {
            readings: readings(1, 3..8),
            rows: vec![Row::Mark {
                step: 1,
                mark: mark(1, 3, 7),
            }],
        },
        rows(vec![Row::TakenBack { step: 1, number: 1 }]),
        Write {
            readings: readings(1, 8..12),
            rows: vec![
                Row::Mark {
                    step: 1,
                    mark: mark(2, 8, 11),
                },
                Row::Event {
                    session: 1,
                    event: Event {
                        t: Time(6),
                        utc_ns: Time(7),
                        what: EventKind::Note,
                        text: "dressed the wheel".to_owned(),
                    },
                },
                Row::Learned {
                    fixture: "magnetic chuck".to_owned(),
                    step: 1,
                    what: Some(Learned::default()),
                },
            ],
        },
        rows(vec![Row::StepClosed {
            id: 1,
            closed: Time(8),
        }]),
    ]
}

/// Lets the n-th call fail, once or from then on.
struct Nth {
    left: u32,
    for_good: bool,
    fault: Fault,
    met: Arc<AtomicBool>,
}

impl Gate for Nth {
    fn fault(&mut self, _: Call) -> Option<Fault> {
        self.left = self.left.saturating_sub(1);
        let now = self.left == 0 && (self.for_good || !self.met.load(Relaxed));
        if now {
            self.met.store(true, Relaxed);
        }
        now.then_some(self.fault)
    }
}

/// The n-th call fails for n = 1, 2, 3 and on until a run meets no fault: after each, the file is sound, and
/// it holds exactly what was acknowledged.
#[test]
fn whichever_call_fails_what_was_acknowledged_is_there_and_nothing_else() {
    for (fault, for_good) in [
        (Fault::Full, false),
        (Fault::Full, true),
        (Fault::Io, false),
        (Fault::ReadOnly, true),
    ] {
        let mut runs = 0;
        for n in 1.. {
            let directory = tempfile::tempdir().unwrap();
            let met = Arc::default();
            let gate = Nth {
                left: n,
                for_good,
                fault,
                met: Arc::clone(&met),
            };
            let mut acknowledged = Vec::new();
            if let Ok(mut store) = Store::open(directory.path(), Box::new(gate)) {
                for write in script() {
                    // As the user does: once more, and then no further.
                    match store.write(&write).or_else(|_| store.write(&write)) {
                        Ok(()) => acknowledged.push(write),
                        Err(_) => break,
                    }
                }
            }
            runs += 1;
            let mut again = open(directory.path());
            assert_eq!(integrity(&again), "ok", "call {n}");
            let beside = tempfile::tempdir().unwrap();
            let mut expected = open(beside.path());
            for write in &acknowledged {
                expected.write(write).unwrap();
            }
            assert_eq!(
                again.restore().unwrap(),
                expected.restore().unwrap(),
                "{fault:?} at call {n}, for good: {for_good}"
            );
            if !met.load(Relaxed) {
                assert_eq!(acknowledged.len(), script().len());
                break;
            }
        }
        assert!(runs > 30, "only {runs} calls were tried");
    }
}

/// What a power cut leaves is the file and its log as they are; a copy of both is such an image.
#[test]
fn an_image_taken_while_the_store_is_open_holds_what_was_acknowledged() {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    for write in script() {
        store.write(&write).unwrap();
        let image = tempfile::tempdir().unwrap();
        for name in [FILE_NAME.to_owned(), format!("{FILE_NAME}-wal")] {
            fs::copy(directory.path().join(&name), image.path().join(&name)).unwrap();
        }
        assert_eq!(
            open(image.path()).restore().unwrap(),
            store.restore().unwrap()
        );
    }
}

#[test]
fn a_reader_sees_the_session_whole() {
    let directory = tempfile::tempdir().unwrap();
    let mut store = open(directory.path());
    for write in script() {
        store.write(&write).unwrap();
    }
    let mut reader = Reader::open(directory.path()).unwrap();
    let line = &reader.sessions(&SessionFilter::default()).unwrap()[0];
    assert_eq!((line.session, line.steps), (1, 1));
    assert_eq!(line.name, "spindle 1");
    for which in [Which::Current, Which::Latest, Which::Number(1)] {
        let record = reader.session(which, "0").unwrap();
        let step = &record.steps[0];
        let marks: Vec<_> = step.evidence.marks.iter().map(|m| m.taken_back).collect();
        assert_eq!(marks, [true, false]);
        assert_eq!(step.evidence.readings["bench"].len(), 12);
        assert_eq!(record.events[0].text, "dressed the wheel");
    }
    let error = reader.session(Which::Number(9), "0").unwrap_err();
    assert!(matches!(error, StoreError::NoSession { .. }), "{error:?}");
    assert!("../9".parse::<Which>().is_err());
}

#[test]
fn of_a_long_recording_only_as_much_is_read_as_is_held() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = open(dir.path());
    let write = Write {
        readings: readings(1, 1..11),
        rows: vec![session(1), step(1, 1, 1)],
    };
    store.write(&write).unwrap();
    let first = |most| {
        let from = Time(i64::MIN);
        let read = decode::readings_since(&store.connection, 1, &["bench"], from, most).unwrap();
        read["bench"].iter().map(|r| r.seq).collect::<Vec<_>>()
    };
    assert_eq!(first(3), [1, 2, 3]);
    assert_eq!(first(100).len(), 10);
}
