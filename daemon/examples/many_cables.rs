//! Many virtual cables at once, for as long as wanted: whether every reading arrives, once and in order, and what it
//! costs.
//!
//! `many_cables [SECONDS [CABLES [READINGS_PER_SECOND]]]`; exit status 1 when a reading was lost or out of order.

use conewright_daemon::bench::{Bench, SetUp, VirtualCable};
use conewright_daemon::cable::{CableEventKind, run};
use conewright_daemon::clock::SystemClock;
use config::model::{Cable, Cadence, PortSelector};
use metrology::Length;
use protocol::frame::Frame;
use std::io;
use std::process::ExitCode;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use tokio::time::{Instant, timeout_at};

fn bench(seed: u64) -> Bench {
    // Wide noise, so that two readings are seldom alike and a lost one shows.
    let set_up = SetUp {
        noise_um: 400.0,
        ..SetUp::default()
    };
    Bench::new(seed, set_up)
}

/// What one cable should show next.
struct Expected {
    bench: Bench,
    far: VirtualCable,
    got: u64,
    wrong: u64,
}

/// So many readings are looked through for the first one: what was sent while the port was emptied is gone.
const LOST_AT_FIRST: usize = 50;

impl Expected {
    fn check(&mut self, value: Length, step_s: f64) {
        let may_skip = if self.got == 0 { LOST_AT_FIRST } else { 1 };
        let found = (0..may_skip).any(|_| self.bench.read(step_s) == value);
        self.got += 1;
        self.wrong += u64::from(!found);
    }
}

fn main() -> io::Result<ExitCode> {
    let mut numbers = std::env::args().skip(1).map(|text| text.parse::<f64>());
    let mut number = |otherwise: f64| numbers.next().unwrap_or(Ok(otherwise));
    let (Ok(seconds), Ok(cables), Ok(rate_hz)) = (number(600.0), number(24.0), number(50.0)) else {
        return Err(io::Error::other(
            "expected numbers: SECONDS CABLES READINGS_PER_SECOND",
        ));
    };
    let frame = Frame::shipped("text").ok_or_else(|| io::Error::other("no frame `text`"))?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let mut expected = Vec::new();
    for seed in 0..cables as u64 {
        expected.push(Expected {
            bench: bench(seed),
            far: VirtualCable::start(bench(seed), frame.clone(), rate_hz)?,
            got: 0,
            wrong: 0,
        });
    }
    let (mut skipped, mut worst) = (0, Duration::ZERO);
    let begun = Instant::now();
    runtime.block_on(async {
        let (events, mut arriving) = mpsc::channel(256);
        let (_stop, stopped) = watch::channel(false);
        for (index, expected) in expected.iter().enumerate() {
            let port = PortSelector::Path(expected.far.path()?);
            let streams = Cadence::Streams { stale_after_s: 2.0 };
            let cable = Cable::new(&index.to_string(), port, streams, "text");
            let clock = Arc::new(SystemClock);
            tokio::spawn(run(cable, index, clock, events.clone(), stopped.clone()));
        }
        let end = begun + Duration::from_secs_f64(seconds);
        let mut last = Instant::now();
        while let Ok(Some(event)) = timeout_at(end, arriving.recv()).await {
            match event.kind {
                CableEventKind::Reading { value, .. } => {
                    expected[event.cable].check(value, 1.0 / rate_hz);
                }
                CableEventKind::Skipped { total, .. } => skipped += total,
                CableEventKind::State { .. } | CableEventKind::Instrument { .. } => {}
            }
            worst = worst.max(last.elapsed());
            last = Instant::now();
        }
        Ok::<(), io::Error>(())
    })?;
    let lasted = begun.elapsed().as_secs_f64();
    let readings: u64 = expected.iter().map(|e| e.got).sum();
    let wrong: u64 = expected.iter().map(|e| e.wrong).sum();
    let mut no_room = 0;
    for one in &expected {
        no_room += one.far.counts()?.1;
    }
    println!("{cables} cables, {rate_hz} readings/s each, {lasted:.1} s");
    println!(
        "{readings} readings, {wrong} lost or out of order, {no_room} found no room, {skipped} bytes skipped"
    );
    println!("longest time without any reading {worst:?}");
    println!(
        "cables' side {:.2} % of a core, benches' side {:.2} %, {} kB resident",
        100.0 * cpu_s(|name| name != "virtual-cable") / lasted,
        100.0 * cpu_s(|name| name == "virtual-cable") / lasted,
        resident_kb()
    );
    // A listener that sets in cannot know in the middle of what: a line or two of each cable are no loss.
    let at_the_start = cables as u64 * 64;
    Ok(
        if wrong + no_room == 0 && skipped <= at_the_start && readings > 0 {
            ExitCode::SUCCESS
        } else {
            ExitCode::FAILURE
        },
    )
}

/// Processor time of this program's threads whose name fits, s.
fn cpu_s(fits: impl Fn(&str) -> bool) -> f64 {
    let tasks = std::fs::read_dir("/proc/self/task").into_iter().flatten();
    let ticks: u64 = tasks
        .flatten()
        .filter_map(|task| {
            let stat = std::fs::read_to_string(task.path().join("stat")).ok()?;
            let (head, rest) = stat.rsplit_once(')')?;
            let name = head.split_once('(')?.1;
            // Fields 14 and 15 of proc_pid_stat(5), in hundredths of a second.
            let mut fields = rest.split_whitespace().skip(11);
            let time = fields.next()?.parse::<u64>().ok()? + fields.next()?.parse::<u64>().ok()?;
            fits(name).then_some(time)
        })
        .sum();
    ticks as f64 / 100.0
}

fn resident_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok())
        .unwrap_or(0)
}
