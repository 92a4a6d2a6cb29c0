//! A small year: the daemon starts on it at once, lists and exports it, and its memory does not grow with what it exports. The program
//! `year` does the same at full size and prints the figures.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::measure::run_watched;
use conewright_tests::process::Place;
use conewright_tests::year::Year;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// Debug builds on a machine that others use: far more than it takes, far less than a wait for anything.
const SOON: Duration = Duration::from_secs(5);

/// Puts a year into the store of a place, up to now.
fn store(year: &Year, place: &Place) {
    std::fs::create_dir(place.data()).unwrap();
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    year.write(&place.data(), i64::try_from(now.as_nanos()).unwrap())
        .unwrap();
}

#[test]
fn a_store_full_of_sessions_is_started_listed_and_exported() {
    let year = Year {
        sessions: 100,
        readings: 25_000,
        large: 15_000,
    };
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    store(&year, &place);
    let timed = |what: &str, work: &mut dyn FnMut()| {
        let begun = Instant::now();
        work();
        let took = begun.elapsed();
        assert!(took < SOON, "{what} took {took:?}");
    };
    let mut started = None;
    timed("the start", &mut || started = Some(place.start()));
    let running = started.unwrap();
    timed("the list", &mut || {
        let list = place.json(&["session", "list"]);
        let sessions = list["sessions"].as_array().unwrap();
        assert_eq!(sessions.len(), year.sessions);
        assert_eq!(sessions[0]["session"], year.sessions, "newest first");
        assert!(
            sessions.iter().all(|s| s["verdict"].is_string()),
            "{}",
            sessions[0]
        );
    });
    let file = place.file("large.json");
    let (to, of) = (file.to_str().unwrap(), year.large_session().to_string());
    let export = || {
        place.json(&["export", &of, "--to", to]);
    };
    timed("an export", &mut || export());
    let verified = place.json(&["verify", to]);
    assert_eq!(verified["agrees"], true, "{verified}");
    assert_eq!(verified["readings"], year.large);
    let after_one = running.kib("VmHWM");
    for _ in 0..5 {
        export();
    }
    let growth = running.kib("VmHWM") - after_one;
    assert!(growth < 4 * 1024, "five more exports took {growth} KiB");
    running.stop();
}

/// Held as a record and as its text, these readings would take 12 MiB.
#[test]
fn the_daemon_does_not_hold_the_readings_of_a_record_that_it_sends() {
    let year = Year {
        sessions: 1,
        readings: 150_000,
        large: 150_000,
    };
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    store(&year, &place);
    let running = place.start();
    place.json(&["session", "list"]);
    let before = running.kib("VmHWM");
    let file = place.file("large.json");
    let of = year.large_session().to_string();
    place.json(&["export", &of, "--to", file.to_str().unwrap()]);
    let growth = running.kib("VmHWM") - before;
    assert!(growth < 6 * 1024, "the export took {growth} KiB");
    running.stop();
}

/// Held as a record, 200 000 readings more would take 70 MiB.
#[test]
fn no_export_holds_the_readings_of_its_record() {
    let year = Year {
        sessions: 2,
        readings: 300_000,
        large: 200_000,
    };
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    store(&year, &place);
    let running = place.start();
    place.json(&["session", "list"]);
    let before = running.kib("VmHWM");
    let archive = place.file("data/conewright.db");
    for form in ["json", "csv", "html", "pdf"] {
        let file = place.file(&format!("record.{form}"));
        let mut export = ["export", "1", "--to", file.to_str().unwrap(), "", ""];
        let few = run_watched(&mut place.command(&export[..4]));
        export[1] = "2";
        let many = run_watched(&mut place.command(&export[..4]));
        assert!(many < few + 6 * 1024, "{form}: {few} KiB, then {many} KiB");
        // From a file it is the same document, and the store's own reading is in this process.
        let live = std::fs::read(&file).unwrap();
        export[4..].copy_from_slice(&["--from", archive.to_str().unwrap()]);
        let from_file = run_watched(&mut place.command(&export));
        assert!(
            from_file < few + 12 * 1024,
            "{form}: {few} KiB, then {from_file} KiB"
        );
        assert!(
            live == std::fs::read(&file).unwrap(),
            "{form}: another document"
        );
    }
    let growth = running.kib("VmHWM") - before;
    assert!(
        growth < 6 * 1024,
        "the exports took {growth} KiB of the daemon"
    );
    running.stop();
}
