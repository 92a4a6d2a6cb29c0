//! A shop of benches: one PostgreSQL, a server of its own in a temporary directory, that 100 simulated daemons fill through `COPY`.
//! A simulation: what is sent has the form and the amount of what sessions hold (`tests/src/year.rs`).

use super::stats::{Times, timed};
use super::tools::{Process, run, yardsticks};
use super::{Line, rounds};
use crate::toolroom::DEADLINE;
use std::fmt::Write as _;
use std::fs::Permissions;
use std::io::{BufWriter, Write};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const BENCHES: usize = 100;
/// Of one bench in a year.
const SESSIONS_A_YEAR: usize = 2_000;
const MARKS: usize = 9;
/// Of one session, as in the simulated year.
const READINGS: usize = 5_000;
/// Sessions of each bench that are sent whole, each in a transaction of its own, and those without their readings.
const WHOLE: usize = 10;
const MARKED: usize = 20;
const ASKED: usize = 31;
const DAY_MS: i64 = 86_400_000;
/// The beginning of 2026, UTC.
const YEAR_MS: i64 = 1_767_225_600_000;

/// A server in a directory, reached by a socket in it; it ends with this value.
struct Server {
    bin: PathBuf,
    user: Option<&'static str>,
    directory: tempfile::TempDir,
    process: Option<Process>,
}

impl Server {
    fn start() -> Result<Self, String> {
        let versions = std::fs::read_dir("/usr/lib/postgresql");
        let mut bins: Vec<PathBuf> = (versions.into_iter().flatten().flatten())
            .map(|entry| entry.path().join("bin"))
            .filter(|bin| bin.join("initdb").is_file())
            .collect();
        bins.sort();
        let bin = bins
            .pop()
            .ok_or("PostgreSQL is not here (package postgresql)")?;
        // The server does not run with the rights of root.
        let user = rustix::process::geteuid().is_root().then_some("postgres");
        let directory = tempfile::tempdir().map_err(|error| error.to_string())?;
        let mut server = Self {
            bin,
            user,
            directory,
            process: None,
        };
        let path = server.directory.path().to_owned();
        if let Some(user) = user {
            std::fs::set_permissions(&path, Permissions::from_mode(0o755)).unwrap();
            run(Command::new("chown").arg(user).arg(&path));
        }
        let data = path.join("data");
        run(server
            .command("initdb")
            .args(["-A", "trust", "-E", "UTF8", "-D"])
            .arg(&data));
        let mut command = server.command("postgres");
        command
            .arg("-D")
            .arg(&data)
            .arg("-k")
            .arg(&path)
            .args(["-c", "listen_addresses=", "-c", "max_connections=200"])
            .args(["-c", "max_wal_size=4GB"]);
        server.process = Some(Process::start(&mut command)?);
        let until = Instant::now() + DEADLINE;
        while !server
            .psql()
            .args(["-c", "select 1"])
            .output()
            .unwrap()
            .status
            .success()
        {
            if Instant::now() > until {
                return Err("PostgreSQL does not answer".to_owned());
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        Ok(server)
    }

    /// One of its programs, as the server's user.
    fn command(&self, name: &str) -> Command {
        let program = self.bin.join(name);
        let mut command = match self.user {
            None => Command::new(program),
            Some(user) => {
                let mut command = Command::new("setpriv");
                let ids = [format!("--reuid={user}"), format!("--regid={user}")];
                command.args(ids).arg("--clear-groups").arg(program);
                command
            }
        };
        command
            .current_dir(self.directory.path())
            .env("LC_ALL", "C");
        command
    }

    fn psql(&self) -> Command {
        let mut command = Command::new(self.bin.join("psql"));
        let host = self.directory.path();
        let user = self.user.map(str::to_owned);
        let user = user
            .or_else(|| std::env::var("USER").ok())
            .unwrap_or_default();
        command
            .args([
                "-X",
                "-q",
                "-v",
                "ON_ERROR_STOP=1",
                "-d",
                "postgres",
                "-U",
                &user,
                "-h",
            ])
            .arg(host);
        command
    }

    /// What one number-valued query gives.
    fn number(&self, query: &str) -> f64 {
        let output = self.psql().args(["-At", "-c", query]).output().unwrap();
        String::from_utf8_lossy(&output.stdout)
            .trim()
            .parse()
            .unwrap()
    }

    /// Every bench's daemon at once, each over a connection of its own, sends what `write` makes for it.
    fn fed(&self, write: impl Fn(usize, &mut dyn Write) + Sync) -> Duration {
        let feed = |bench: usize| {
            let mut client = self.psql().stdin(Stdio::piped()).spawn().unwrap();
            let mut into = BufWriter::new(client.stdin.take().unwrap());
            write(bench, &mut into);
            into.flush().unwrap();
            drop(into);
            assert!(client.wait().unwrap().success(), "bench {bench}");
        };
        let feed = &feed;
        let (took, ()) = timed(|| {
            std::thread::scope(|scope| {
                (0..BENCHES).for_each(|bench| drop(scope.spawn(move || feed(bench))));
            });
        });
        took
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // A fast stop in its own order; whatever is left of it goes with its directory.
        let data = self.directory.path().join("data");
        let mut stop = self.command("pg_ctl");
        let _ = stop.args(["stop", "-m", "fast", "-D"]).arg(data).output();
    }
}

/// A time, as the archive takes it.
fn utc(ms: i64) -> String {
    let (day, ms) = (ms.div_euclid(DAY_MS), ms.rem_euclid(DAY_MS));
    // The simulated year is no leap year.
    let day = day - YEAR_MS / DAY_MS;
    let (mut month, mut left) = (0, day);
    let lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    while left >= lengths[month] {
        left -= lengths[month];
        month += 1;
    }
    let s = ms / 1_000;
    format!(
        "2026-{:02}-{:02} {:02}:{:02}:{:02}+00",
        month + 1,
        left + 1,
        s / 3_600,
        s / 60 % 60,
        s % 60
    )
}

/// The rows of some sessions of a bench, in one transaction: sessions, marks and, when wanted, readings.
fn sessions(bench: usize, ids: std::ops::Range<usize>, with_readings: bool, into: &mut dyn Write) {
    let mut text = String::from("BEGIN;\nCOPY session FROM STDIN;\n");
    let opened =
        |id: usize| YEAR_MS + 364 * DAY_MS * (id % SESSIONS_A_YEAR) as i64 / SESSIONS_A_YEAR as i64;
    for id in ids.clone() {
        let (begin, end) = (utc(opened(id)), utc(opened(id) + 900_000));
        let (fixture, off) = (id % 5, (id * 7 % 19) as f64 / 10.0);
        let verdict = ["in tolerance", "not proven", "out of tolerance"][id % 17 / 8];
        writeln!(
            text,
            "{bench}\t{id}\tspindle seat {id}\t{begin}\t{end}\t1:12\tfixture {bench}-{fixture}\t{verdict}\t{off}\t1.4\t{SETUP}"
        )
        .unwrap();
    }
    text += "\\.\nCOPY mark FROM STDIN;\n";
    for id in ids.clone() {
        for number in 0..MARKS {
            let t = opened(id) * 1_000_000 + number as i64 * 50_000_000_000;
            let (place, round) = (["A", "B", "A"][number % 3], number / 3 + 1);
            let first = number * READINGS / MARKS;
            let hash = (id * MARKS + number).wrapping_mul(0x9e37_79b9_7f4a_7c15);
            writeln!(
                text,
                "{bench}\t{id}\t{}\t{t}\t{place}\t{round}\tf\tdwell {first} {}\t\\\\x{hash:016x}{hash:016x}{hash:016x}{hash:016x}",
                number + 1,
                first + 25
            )
            .unwrap();
        }
    }
    text += "\\.\n";
    if with_readings {
        text += "COPY reading FROM STDIN;\n";
        for id in ids {
            for seq in 0..READINGS {
                let t = opened(id) * 1_000_000 + seq as i64 * 10_000_000;
                let pm = 120_000_000 + ((seq * 2_654_435_761) >> 16 & 3) * 1_000_000;
                writeln!(text, "{bench}\t{id}\t{seq}\t{t}\t{pm}\t1000000").unwrap();
            }
        }
        text += "\\.\n";
    }
    text += "COMMIT;\n";
    into.write_all(text.as_bytes()).unwrap();
}

/// A set-up as a session states it.
const SETUP: &str = r#"{"taper":"1:12","length_mm":80,"tolerance":"AT4","span_mm":80,"bar":{"kind":"sine","centre_distance_mm":100},"kit":"metric-88","stations":[{"name":"A","position_mm":0},{"name":"B","position_mm":80}],"indicator":{"cable":"bench","resolution_mm":0.001}}"#;

fn file(server: &Server, path: &Path) -> Command {
    let mut command = server.psql();
    command.arg("-f").arg(path);
    command
}

pub(super) fn row() -> Vec<Line> {
    let server = match Server::start() {
        Ok(server) => server,
        Err(why) => return vec![Line::missing("one archive for 100 daemons", why)],
    };
    run(&mut file(&server, &yardsticks("shop.sql")));
    let year = rounds(SESSIONS_A_YEAR).max(50);
    // The year so far, without readings, in large groups: to be asked and added to.
    let filled = server.fed(|bench, into| {
        for from in (0..year).step_by(50) {
            sessions(bench, from..(from + 50).min(year), false, into);
        }
    });
    run(server.psql().args(["-c", "VACUUM ANALYZE"]));
    let size = |table: &str| server.number(&format!("SELECT pg_total_relation_size('{table}')"));
    let of_session = (size("session") + size("mark")) / (BENCHES * year) as f64;

    let each = |first: usize, count: usize, with_readings: bool| {
        let took = server.fed(|bench, into| {
            for id in first..first + count {
                sessions(bench, id..id + 1, with_readings, into);
            }
        });
        (BENCHES * count) as f64 / took.as_secs_f64()
    };
    let marked = each(SESSIONS_A_YEAR, rounds(MARKED), false);
    let whole_count = rounds(WHOLE);
    let whole = each(SESSIONS_A_YEAR + MARKED, whole_count, true);
    let of_reading = size("reading") / (BENCHES * whole_count * READINGS) as f64;
    run(server.psql().args(["-c", "VACUUM ANALYZE"]));

    let mut asked = Times::default();
    let query = yardsticks("fixture_year.sql");
    for _ in 0..rounds(ASKED) {
        asked.push(timed(|| run(&mut file(&server, &query))).0);
    }
    let found = file(&server, &query).arg("-At").output().unwrap();
    let found = String::from_utf8_lossy(&found.stdout).lines().count();
    // 100 benches, 2 000 sessions a year each.
    let gib = |bytes: f64| bytes * (BENCHES * SESSIONS_A_YEAR) as f64 / f64::from(1 << 30);
    let told = |what: &str, figure: String| {
        Line::told(
            format!("archive in PostgreSQL, {BENCHES} daemons: {what}"),
            figure,
        )
    };
    vec![
        told(
            "a year's sessions and marks sent in groups",
            format!(
                "{} sessions in {:.0} s",
                BENCHES * year,
                filled.as_secs_f64()
            ),
        ),
        told(
            "sessions with marks, one transaction each",
            format!("{marked:.0} sessions/s"),
        ),
        told(
            &format!("sessions with {READINGS} readings, one transaction each"),
            format!(
                "{whole:.0} sessions/s, {:.0} readings/s",
                whole * READINGS as f64
            ),
        ),
        told(
            "size of a year, without readings and with all",
            format!(
                "{:.1} GiB, {:.0} GiB ({of_session:.0} bytes a session, {of_reading:.0} a reading)",
                gib(of_session),
                gib(of_session + of_reading * READINGS as f64)
            ),
        ),
        told(
            "all set-ups of this fixture in a year",
            format!(
                "{found} set-ups in {:.1} ms with the client's start",
                asked.median()
            ),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_days_of_the_simulated_year_are_calendar_days() {
        let at = |day: i64| utc(YEAR_MS + day * DAY_MS + 3_661_000);
        assert_eq!(at(0), "2026-01-01 01:01:01+00");
        assert_eq!(at(59), "2026-03-01 01:01:01+00");
        assert_eq!(at(364), "2026-12-31 01:01:01+00");
    }
}
