//! A log that was damaged after its changes were acknowledged, and a torn end, which is no damage.

use super::super::log::{self, beside};
use super::*;
use std::os::unix::fs::FileExt;

const PAGE: u64 = 4096;
pub(super) const FRAME: u64 = PAGE + 24;
const HEAD: u64 = 32;

/// A store with thirty marks, as a kill leaves it, and how many frames its log has.
pub(super) struct Killed {
    pub directory: tempfile::TempDir,
    pub frames: u64,
}

impl Killed {
    pub fn new(marks: u32) -> Self {
        Self::after(marks, |_| {})
    }

    fn after(marks: u32, last: impl FnOnce(&mut Store)) -> Self {
        let live = tempfile::tempdir().unwrap();
        let mut store = open(live.path());
        let begun = Write {
            rows: vec![session(1), step(1, 1, 1)],
            ..Default::default()
        };
        store.write(&begun).unwrap();
        for number in 1..=marks {
            store.write(&one(number)).unwrap();
        }
        last(&mut store);
        let directory = tempfile::tempdir().unwrap();
        for ending in ["", "-wal", "-shm"] {
            let name = format!("{FILE_NAME}{ending}");
            fs::copy(live.path().join(&name), directory.path().join(&name)).unwrap();
        }
        let log = beside(&directory.path().join(FILE_NAME), "-wal");
        let frames = (fs::metadata(log).unwrap().len() - HEAD) / FRAME;
        Self { directory, frames }
    }

    fn path(&self) -> std::path::PathBuf {
        self.directory.path().join(FILE_NAME)
    }

    /// Overwrites some of the log.
    pub fn spoil(&self, at: u64, bytes: u64) {
        let log = fs::File::options()
            .write(true)
            .open(beside(&self.path(), "-wal"))
            .unwrap();
        log.write_all_at(&vec![0xa5; bytes as usize], at).unwrap();
    }

    fn cut(&self, bytes: u64) {
        let log = fs::File::options()
            .write(true)
            .open(beside(&self.path(), "-wal"))
            .unwrap();
        log.set_len(bytes).unwrap();
    }

    fn without_index(&self) {
        fs::remove_file(beside(&self.path(), "-shm")).unwrap();
    }
}

pub(super) fn one(number: u32) -> Write {
    let first = u64::from(number) * 5;
    Write {
        readings: readings(1, first..first + 5),
        rows: vec![Row::Mark {
            step: 1,
            mark: mark(number, first, first + 4),
        }],
    }
}

pub(super) fn kept_marks(store: &Store) -> usize {
    decode::marks(&store.connection, 1).unwrap().len()
}

#[test]
fn a_damaged_log_is_told_and_its_marks_counted() {
    for with_index in [true, false] {
        let killed = Killed::new(30);
        if !with_index {
            killed.without_index();
        }
        killed.spoil(HEAD + killed.frames / 2 * FRAME + 100, PAGE);
        // Asking leaves the traces in place, so that it may be asked twice.
        for _ in 0..2 {
            let found = check(killed.directory.path()).unwrap();
            assert!(!found.is_sound());
            let lost = found.lost[0].marks.unwrap();
            assert_eq!(lost + found.counts.marks, 30, "with index: {with_index}");
            assert!(found.counts.marks < 20, "{found:?}");
            let to = killed.directory.path().join("copy.db");
            let error = backup(killed.directory.path(), &to, false).unwrap_err();
            assert!(matches!(error, StoreError::Unsound { .. }), "{error:?}");
        }
        let mut store = open(killed.directory.path());
        let here = kept_marks(&store);
        let lost = store.restore().unwrap().lost;
        assert_eq!(lost[0].marks, Some(30 - here as u64));
        assert!(lost[0].words().contains("are missing"));
        let events = decode::events(&store.connection, 1).unwrap();
        let told = format!("{} acknowledged marks of this session", 30 - here);
        assert!(events[0].text.contains(&told), "{events:?}");
        // The next start finds it noted, and nothing new.
        store.write(&one(here as u32 + 1)).unwrap();
        store.close().unwrap();
        let again = open(killed.directory.path()).restore().unwrap();
        assert_eq!(again.lost, lost);
        assert!(!check(killed.directory.path()).unwrap().is_sound());
    }
}

#[test]
fn the_damaged_files_are_kept_as_they_were_and_what_can_be_read_beside_them() {
    let killed = Killed::new(30);
    killed.spoil(HEAD + killed.frames / 2 * FRAME, PAGE);
    let log = fs::read(beside(&killed.path(), "-wal")).unwrap();
    let file = fs::read(killed.path()).unwrap();
    let mut store = open(killed.directory.path());
    let kept = store.restore().unwrap().lost[0].kept.clone();
    assert_eq!(fs::read(&kept).unwrap(), file);
    assert_eq!(fs::read(beside(&kept, "-wal")).unwrap(), log);
    let mode = fs::metadata(&kept).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode, 0o600);
    let read = Connection::open(beside(&kept, "-read")).unwrap();
    assert_eq!(decode::marks(&read, 1).unwrap().len(), 30);
    let whole: String = read
        .query_row("PRAGMA integrity_check", [], |row| row.get(0))
        .unwrap();
    assert_eq!(whole, "ok");
}

/// Wherever the damage lies, the index tells it; without the index the changes behind it do, but for the last two.
#[test]
fn a_damage_anywhere_is_found() {
    let killed = Killed::new(12);
    let log = beside(&killed.path(), "-wal");
    let whole = fs::read(&log).unwrap();
    let index = fs::read(beside(&killed.path(), "-shm")).unwrap();
    let mut found_alone = 0;
    for frame in 0..killed.frames {
        for offset in [4, 30, 4_000] {
            fs::write(&log, &whole).unwrap();
            fs::write(beside(&killed.path(), "-shm"), &index).unwrap();
            killed.spoil(HEAD + frame * FRAME + offset, 64);
            let damage = log::look(&killed.path()).unwrap();
            let damage = damage.unwrap_or_else(|| panic!("frame {frame} at {offset}"));
            assert!(u64::from(damage.first_lost) <= frame + 1);
            assert_eq!(u64::from(damage.last_committed), killed.frames);
            killed.without_index();
            found_alone += u64::from(log::look(&killed.path()).unwrap().is_some());
        }
    }
    // A change has six frames at most.
    assert!(found_alone >= (killed.frames - 12) * 3, "{found_alone}");
    fs::write(&log, &whole).unwrap();
    assert_eq!(log::look(&killed.path()).unwrap(), None);
}

#[test]
fn a_log_without_its_head_without_its_end_or_without_itself_is_damaged() {
    let killed = Killed::new(30);
    killed.spoil(0, PAGE);
    assert!(log::look(&killed.path()).unwrap().is_some());
    killed.without_index();
    let found = check(killed.directory.path()).unwrap();
    assert!(found.lost[0].changes > 25, "{found:?}");
    let killed = Killed::new(30);
    killed.cut(HEAD + killed.frames / 2 * FRAME);
    assert!(log::look(&killed.path()).unwrap().is_some());
    fs::remove_file(beside(&killed.path(), "-wal")).unwrap();
    assert!(log::look(&killed.path()).unwrap().is_some());
}

/// What a power cut leaves of a change that was never acknowledged: any part of it, and no index.
#[test]
fn a_torn_end_is_no_damage() {
    let before = Killed::new(10);
    let killed = Killed::new(11);
    killed.without_index();
    let log = beside(&killed.path(), "-wal");
    let whole = fs::read(&log).unwrap();
    for sector in (HEAD + before.frames * FRAME) / 512..(whole.len() as u64).div_ceil(512) {
        fs::write(&log, &whole).unwrap();
        let from = (sector * 512).max(HEAD + before.frames * FRAME);
        let to = ((sector + 1) * 512).min(whole.len() as u64);
        killed.spoil(from, to - from);
        assert_eq!(log::look(&killed.path()).unwrap(), None, "sector {sector}");
    }
    for cut in [0, 1, 24, 2_000, FRAME, FRAME + 9] {
        fs::write(
            &log,
            &whole[..(HEAD + before.frames * FRAME + cut) as usize],
        )
        .unwrap();
        assert_eq!(log::look(&killed.path()).unwrap(), None, "cut at {cut}");
    }
}

/// The power is cut twice: in a change that was never acknowledged, and while the next daemon writes over its first frame. Torn,
/// that frame's head says that it ends a change, and still has the checksum from which the old frames behind it go on.
#[test]
fn a_head_torn_over_an_older_one_is_no_damage() {
    let before = Killed::new(10);
    let killed = Killed::new(11);
    killed.without_index();
    assert!(killed.frames > before.frames + 2);
    killed.cut(HEAD + (killed.frames - 1) * FRAME + 24);
    let log = beside(&killed.path(), "-wal");
    let cut = fs::read(&log).unwrap();
    let at = (HEAD + before.frames * FRAME) as usize;
    // Page 1, the last of a change that leaves 18 pages; salt; another checksum.
    let mut head = [0, 0, 0, 1, 0, 0, 0, 18].to_vec();
    head.extend(&cut[at + 8..at + 16]);
    head.extend([0x5a; 8]);
    for torn in 0..=head.len() {
        let mut both = cut.clone();
        both[at..at + torn].copy_from_slice(&head[..torn]);
        fs::write(&log, &both).unwrap();
        assert_eq!(log::look(&killed.path()).unwrap(), None, "torn at {torn}");
    }
}

/// A change whose sync failed is overwritten by a shorter one; its end lies behind that, with the same salt and a commit.
#[test]
fn the_remains_of_a_rejected_change_are_no_damage() {
    let killed = Killed::new(10);
    killed.without_index();
    // Each on a copy: a store that is closed brings its log into its file.
    let log_after = |work: &dyn Fn(&mut Store)| {
        let copy = tempfile::tempdir().unwrap();
        for ending in ["", "-wal"] {
            let to = beside(&copy.path().join(FILE_NAME), ending);
            fs::copy(beside(&killed.path(), ending), to).unwrap();
        }
        let mut store = open(copy.path());
        work(&mut store);
        fs::read(beside(&copy.path().join(FILE_NAME), "-wal")).unwrap()
    };
    let longer = log_after(&|store| {
        let mut long = one(11);
        long.readings.extend(readings(1, 100..900));
        store.write(&long).unwrap();
    });
    let shorter = log_after(&|store| drop(store.taken_back(StoreError::Ended)));
    assert!(longer.len() > shorter.len());
    let mut both = longer;
    both[..shorter.len()].copy_from_slice(&shorter);
    fs::write(beside(&killed.path(), "-wal"), &both).unwrap();
    assert_eq!(log::look(&killed.path()).unwrap(), None);
    // And with a change over them, which may lie as far as they do.
    let mut store = open(killed.directory.path());
    store.write(&one(11)).unwrap();
    assert_eq!(log::look(&killed.path()).unwrap(), None);
}

/// A log that begins anew keeps the frames of the one before behind its own.
#[test]
fn an_older_log_behind_the_frames_is_no_damage() {
    let killed = Killed::after(30, |store| {
        store
            .connection
            .query_row("PRAGMA wal_checkpoint(RESTART)", [], |_| Ok(()))
            .unwrap();
        store.write(&one(31)).unwrap();
    });
    assert!(killed.frames > 60);
    assert_eq!(log::look(&killed.path()).unwrap(), None);
    assert!(check(killed.directory.path()).unwrap().is_sound());
    // Its head torn while it was written, and nothing of it behind it yet: all is in the file.
    killed.without_index();
    killed.spoil(HEAD - 8, 8);
    let found = check(killed.directory.path()).unwrap();
    assert!(found.counts.marks >= 30, "{found:?}");
}
