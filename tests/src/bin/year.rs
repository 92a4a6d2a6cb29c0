//! A simulated year: 10⁷ readings in 2 000 sessions, one of them with 10⁶. Prints how long the daemon takes to start on it, what
//! listing and exporting cost, and how much memory the daemon has meanwhile.
//!
//! `cargo build --release && cargo run --release -p conewright-tests --bin year`; sizes can be given as `year SESSIONS READINGS LARGE`.

#![allow(clippy::unwrap_used, reason = "a panic is the program's message")]

use conewright_tests::process::{Place, Running};
use conewright_tests::year::Year;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// Each figure is the median of so many runs.
const RUNS: usize = 9;

fn main() {
    let sizes: Vec<usize> = std::env::args().skip(1).flat_map(|n| n.parse()).collect();
    let [sessions, readings, large] = sizes[..]
        .try_into()
        .unwrap_or([2_000, 10_000_000, 1_000_000]);
    let year = Year {
        sessions,
        readings,
        large,
    };
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    std::fs::create_dir(place.data()).unwrap();
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    let begun = Instant::now();
    year.write(&place.data(), i64::try_from(now.as_nanos()).unwrap())
        .unwrap();
    let bytes = std::fs::metadata(place.data().join("conewright.db"))
        .unwrap()
        .len();
    println!(
        "{sessions} sessions, {readings} readings: {} MiB, written in {:.0} s",
        bytes >> 20,
        begun.elapsed().as_secs_f64()
    );

    let started: Vec<Duration> = (0..RUNS)
        .map(|_| {
            let begun = Instant::now();
            let running = place.start();
            let took = begun.elapsed();
            running.stop();
            took
        })
        .collect();
    tell("daemon, from its start to its first answer", started);

    let running = place.start();
    println!("memory of the daemon after its start: {}", memory(&running));
    let list = || drop(place.json(&["session", "list"]));
    tell("session list", (0..RUNS).map(|_| timed(list)).collect());
    println!("memory after {RUNS} lists: {}", memory(&running));
    let of = year.large_session().to_string();
    for (form, runs) in [("json", 5), ("csv", 3), ("html", 3), ("pdf", 3)] {
        let file = place.file(&format!("large.{form}"));
        let to = file.to_str().unwrap();
        let took = (0..runs)
            .map(|_| timed(|| drop(place.json(&["export", &of, "--to", to]))))
            .collect();
        tell(&format!("export of {large} readings as {form}"), took);
        let bytes = std::fs::metadata(&file).unwrap().len();
        println!(
            "  {} MiB; memory of the daemon: {}",
            bytes >> 20,
            memory(&running)
        );
    }
    let file = place.file("large.json");
    let took = vec![timed(|| {
        drop(place.json(&["verify", file.to_str().unwrap()]))
    })];
    tell("verify of it", took);
    running.stop();
}

fn timed(work: impl FnOnce()) -> Duration {
    let begun = Instant::now();
    work();
    begun.elapsed()
}

fn memory(running: &Running<'_>) -> String {
    let mib = |what| running.kib(what) as f64 / 1024.0;
    format!(
        "{:.1} MiB resident, {:.1} MiB at the highest",
        mib("VmRSS"),
        mib("VmHWM")
    )
}

fn tell(what: &str, mut took: Vec<Duration>) {
    took.sort_unstable();
    let ms = |d: &Duration| d.as_secs_f64() * 1e3;
    let (least, middle, most) = (&took[0], &took[took.len() / 2], &took[took.len() - 1]);
    println!(
        "{what}: median {:.1} ms ({:.1} to {:.1})",
        ms(middle),
        ms(least),
        ms(most)
    );
}
