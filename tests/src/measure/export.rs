//! The record of a million readings as a file of each kind, beside `sqlite3` writing the same rows as CSV.

use super::stats::{Times, timed};
use super::tools::{find, run, run_watched};
use super::{Line, rounds};
use crate::process::Place;
use crate::year::Year;
use std::fs::File;
use std::process::{Command, Stdio};
use std::time::{SystemTime, UNIX_EPOCH};

const ROUNDS: usize = 5;
const LARGE: usize = 1_000_000;
const SMALL: usize = 100_000;
/// A session of each.
const YEAR: Year = Year {
    sessions: 2,
    readings: LARGE + SMALL,
    large: LARGE,
};
/// What the daemon's memory may grow by, MiB, and how much more the verb may take for ten times the readings.
const FLAT_MIB: f64 = 6.0;
const FLAT: f64 = 1.25;
/// What csv may take, times the yardstick's time; and the others, ms.
const CSV: f64 = 1.5;
const OTHERS_MS: f64 = 5_000.0;

/// The rows as they are stored, with their cables' names.
const ROWS: &str = "select reading.step, cable.name, seq, t_ns, value_pm, resolution_pm from reading \
                    join cable on cable.id = reading.cable where step = ";

pub(super) fn row() -> Vec<Line> {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    std::fs::create_dir(place.data()).unwrap();
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    YEAR.write(&place.data(), i64::try_from(now.as_nanos()).unwrap())
        .unwrap();
    let large = YEAR.large_session();
    let small = if large == 1 { 2 } else { 1 };
    let daemon = place.start();
    let before = daemon.kib("VmHWM");
    let export = |session: i64, form: &str| {
        let file = place.file(&format!("record.{form}"));
        let session = session.to_string();
        run_watched(&mut place.command(&["export", &session, "--to", file.to_str().unwrap()]))
    };
    let sqlite = find("sqlite3", "sqlite3");
    let sqlite_rows = || {
        let Ok(sqlite) = &sqlite else { return };
        let out = File::create(place.file("rows.csv")).unwrap();
        let ended = Command::new(sqlite)
            .arg("-csv")
            .arg(place.data().join("conewright.db"))
            .arg(format!("{ROWS}{large}"))
            .stdout(Stdio::from(out))
            .status();
        assert!(ended.unwrap().success());
    };
    let mut lines = Vec::new();
    for form in ["csv", "json", "html", "pdf"] {
        let small_kib = export(small, form);
        let (mut ours, mut theirs) = (Times::default(), Times::default());
        let mut kib = 0;
        for _ in 0..rounds(ROUNDS) {
            let (took, most) = timed(|| export(large, form));
            ours.push(took);
            kib = most;
            if form == "csv" {
                theirs.push(timed(sqlite_rows).0);
            }
        }
        let ours = ours.median();
        let line = Line::told(
            format!("export of {LARGE} readings as {form}"),
            format!("{:.2} s", ours / 1e3),
        );
        lines.push(match (form, &sqlite) {
            ("csv", Ok(_)) => {
                let theirs = theirs.median();
                line.beside(format!("sqlite3 -csv {:.2} s", theirs / 1e3), ours / theirs)
                    .reach(format!("at most {CSV}"), ours <= CSV * theirs)
            }
            ("csv", Err(why)) => Line::missing(line.what, why.clone()),
            _ => line.reach("under 5 s", ours < OTHERS_MS),
        });
        let (many, few) = (kib as f64 / 1_024.0, small_kib as f64 / 1_024.0);
        lines.push(
            Line::told(
                format!("the verb's memory, {form}"),
                format!("{many:.0} MiB"),
            )
            .beside(format!("{SMALL} readings: {few:.0} MiB"), many / few)
            .reach(format!("flat: at most {FLAT}"), many <= FLAT * few),
        );
    }
    let grown = (daemon.kib("VmHWM") - before) as f64 / 1_024.0;
    lines.push(
        Line::told(
            "the daemon's memory, over all these exports",
            format!("{grown:.1} MiB more"),
        )
        .reach(
            format!("flat: at most {FLAT_MIB} MiB more"),
            grown <= FLAT_MIB,
        ),
    );
    run(&mut place.command(&["daemon", "stop"]));
    lines
}
