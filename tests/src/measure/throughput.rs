//! Readings a second from ports to the file, as fast as the ports take them. Beside it: `cat` reading the same bytes from ports of its own,
//! and `sqlite3` inserting the stored rows with the same durability.

use super::stats::Times;
use super::tools::{Process, find, run};
use super::{Line, rounds};
use crate::process::Place;
use crate::pulse::Port;
use crate::toolroom::DEADLINE;
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::fs::File;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const ROUNDS: usize = 3;
/// Readings of each port.
const EACH: u64 = 100_000;
/// Of the slower yardstick's rate, what is promised.
const SHARE: f64 = 0.8;
/// Rows of one transaction of the yardstick: as many as the daemon gathers at such a rate.
const GROUP: u64 = 10_000;

pub(super) fn row() -> Vec<Line> {
    [1, 8].into_iter().map(with_ports).collect()
}

/// One of the ports belongs to the open step and is stored; the others are decoded and shown.
fn with_ports(count: usize) -> Line {
    let what = format!(
        "{count} port{} at full speed, one of them stored: readings/s, none lost",
        if count == 1 { "" } else { "s" }
    );
    let sqlite = find("sqlite3", "sqlite3");
    let (mut ours, mut cat, mut inserted) = (Times::default(), Times::default(), Times::default());
    let mut lost = 0;
    for _ in 0..rounds(ROUNDS) {
        let (took, missing) = through_the_daemon(count);
        ours.push(took);
        lost += missing;
        cat.push(through_cat(count));
        if let Ok(sqlite) = &sqlite {
            inserted.push(by_sqlite(sqlite));
        }
    }
    let all = (count as u64 * EACH) as f64;
    // Readings a second, from the median time in ms.
    let rate = |times: &Times, readings: f64| readings / times.median() * 1e3;
    let ours = rate(&ours, all);
    let line = Line::told(what, format!("{ours:.0}/s, {lost} lost"));
    if let Err(why) = sqlite {
        return Line::missing(line.what, why);
    }
    let (cat, inserted) = (rate(&cat, all), rate(&inserted, EACH as f64));
    let slower = cat.min(inserted);
    line.beside(
        format!("cat {cat:.0}/s, sqlite3 {inserted:.0} rows/s"),
        ours / slower,
    )
    .reach(
        format!("{SHARE} of the slower, none lost"),
        ours >= SHARE * slower && lost == 0,
    )
}

/// All ports at once, each by a thread of its own.
fn send(ports: &mut [Port]) {
    std::thread::scope(|scope| {
        for port in ports {
            scope.spawn(|| port.send_many(EACH, 0));
        }
    });
}

/// How long it took, and how many readings of the step are not in the file.
fn through_the_daemon(count: usize) -> (Duration, u64) {
    let directory = tempfile::tempdir().unwrap();
    let mut ports: Vec<Port> = (0..count).map(|_| Port::open()).collect();
    let cables = ports.iter().enumerate();
    let config: String = cables
        .map(|(n, port)| port.cable(&format!("c{n}")))
        .collect();
    let place = Place::new(directory.path(), &config);
    let daemon = place.start();
    let until = Instant::now() + DEADLINE;
    loop {
        ports.iter_mut().for_each(|port| port.send(1));
        let status = cables_of(&place);
        if status.iter().all(|cable| cable["state"] == "live") {
            break;
        }
        assert!(Instant::now() < until, "{}", place.log());
    }
    let before = settled(&place);
    for (path, body) in [
        (
            "/v1/sessions",
            json!({ "name": "load", "span": "80", "cable": "c0" }),
        ),
        ("/v1/steps", json!({ "kind": "zero" })),
    ] {
        let (status, answer) = place.post(path, &body);
        assert_eq!(status, 200, "{answer}");
    }
    let begun = Instant::now();
    send(&mut ports);
    let until = Instant::now() + DEADLINE;
    let wanted: Vec<u64> = before.iter().map(|n| n + EACH).collect();
    loop {
        let now = counts(&place);
        if now.iter().zip(&wanted).all(|(now, wanted)| now >= wanted) {
            break;
        }
        assert!(Instant::now() < until, "lost: {now:?} of {wanted:?}");
        std::thread::sleep(Duration::from_millis(1));
    }
    // A note is committed together with the readings before it, and answered when all of it is on the disk.
    let (status, answer) = place.post("/v1/notes", &json!({ "text": "end" }));
    let took = begun.elapsed();
    assert_eq!(status, 200, "{answer}");
    daemon.stop();
    (took, EACH.saturating_sub(stored_readings(&place)))
}

fn cables_of(place: &Place) -> Vec<Value> {
    let answer = place.ask("GET", "/v1/status", "").unwrap();
    let status: Value = serde_json::from_str(answer.split_once("\r\n\r\n").unwrap().1).unwrap();
    status["cables"].as_array().unwrap().clone()
}

fn counts(place: &Place) -> Vec<u64> {
    let cables = cables_of(place);
    cables
        .iter()
        .map(|c| c["readings"].as_u64().unwrap())
        .collect()
}

/// The counts when no more come of what was sent before.
fn settled(place: &Place) -> Vec<u64> {
    let mut before = counts(place);
    loop {
        std::thread::sleep(Duration::from_millis(50));
        let now = counts(place);
        if now == before {
            return now;
        }
        before = now;
    }
}

/// How many readings the store has of the session.
fn stored_readings(place: &Place) -> u64 {
    let file = place.data().join("conewright.db");
    let sqlite = find("sqlite3", "sqlite3").unwrap_or_else(|_| "sqlite3".into());
    match Command::new(sqlite)
        .arg(&file)
        .arg("select count(*) from reading")
        .output()
    {
        Ok(output) => String::from_utf8_lossy(&output.stdout)
            .trim()
            .parse()
            .unwrap_or(0),
        // Without it the counts of the daemon are all that there is.
        Err(_) => EACH,
    }
}

fn through_cat(count: usize) -> Duration {
    let directory = tempfile::tempdir().unwrap();
    let mut ports: Vec<Port> = (0..count).map(|_| Port::open()).collect();
    let files: Vec<_> = (0..count)
        .map(|n| directory.path().join(n.to_string()))
        .collect();
    let cats: Vec<Process> = ports
        .iter()
        .zip(&files)
        .map(|(port, file)| {
            let near = File::open(port.path()).unwrap();
            let mut raw = tcgetattr(&near).unwrap();
            raw.make_raw();
            tcsetattr(&near, OptionalActions::Now, &raw).unwrap();
            let mut command = Command::new("cat");
            command.stdin(near).stdout(File::create(file).unwrap());
            Process(command.spawn().unwrap())
        })
        .collect();
    let begun = Instant::now();
    send(&mut ports);
    // "+0.000\r\n" is eight bytes, whatever the value.
    let wanted = EACH * 8;
    while !files.iter().all(|file| size(file) >= wanted) {
        assert!(begun.elapsed() < DEADLINE, "cat has not got all bytes");
        std::thread::sleep(Duration::from_millis(1));
    }
    let took = begun.elapsed();
    drop(cats);
    took
}

fn size(file: &Path) -> u64 {
    std::fs::metadata(file).map_or(0, |file| file.len())
}

/// The rows of one port into a table like the store's, with its durability, in transactions of [`GROUP`].
fn by_sqlite(sqlite: &Path) -> Duration {
    let directory = tempfile::tempdir().unwrap();
    let mut script = String::from(
        "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;\n\
         CREATE TABLE reading (step INTEGER NOT NULL, cable INTEGER NOT NULL, seq INTEGER NOT NULL, t_ns INTEGER NOT NULL, \
         value_pm INTEGER NOT NULL, resolution_pm INTEGER NOT NULL, PRIMARY KEY (step, cable, seq)) STRICT, WITHOUT ROWID;\n",
    );
    for n in 0..EACH {
        if n % GROUP == 0 {
            script += if n == 0 {
                "BEGIN;\n"
            } else {
                "COMMIT;BEGIN;\n"
            };
        }
        let (t, pm) = (
            1_800_000_000_000_000_000 + n * 10_000_000,
            n % 1_000 * 1_000_000,
        );
        writeln!(
            script,
            "INSERT INTO reading VALUES (1,1,{n},{t},{pm},1000000);"
        )
        .unwrap();
    }
    script += "COMMIT;\n";
    let file = directory.path().join("rows.sql");
    std::fs::write(&file, script).unwrap();
    let begun = Instant::now();
    run(Command::new(sqlite)
        .arg(directory.path().join("rows.db"))
        .stdin(Stdio::from(File::open(file).unwrap())));
    begun.elapsed()
}
