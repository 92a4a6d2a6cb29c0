//! What a daemon costs that nobody looks at: processor time and memory beside the general sensor daemon at the same rate, and
//! how often it wakes when its cable is not connected.

use super::latency::Gpsd;
use super::tools::{kib, woken, worked};
use super::{Line, share};
use crate::process::Place;
use crate::pulse::Port;
use crate::toolroom::DEADLINE;
use serde_json::json;
use std::time::{Duration, Instant};

/// How long each streams.
const TEN_MINUTES: f64 = 600.0;
/// Between two readings.
const APART: Duration = Duration::from_millis(50);
/// How long a daemon without an instrument is looked at.
const ALONE: f64 = 60.0;
/// What it may take, MiB resident.
const MOST_MIB: f64 = 8.0;

/// One cable at 20 readings/s, no client: step closed and step open, beside `gpsd`, all at once.
pub(super) fn streaming() -> Vec<Line> {
    let directories = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let mut ports = [Port::open(), Port::open()];
    let places = [0, 1].map(|n| Place::new(directories[n].path(), &ports[n].config()));
    let daemons = [places[0].start(), places[1].start()];
    for (place, port) in places.iter().zip(&mut ports) {
        until_live(place, port);
    }
    for (path, body) in [
        (
            "/v1/sessions",
            json!({ "name": "idle", "span": "80", "cable": "bench" }),
        ),
        ("/v1/steps", json!({ "kind": "zero" })),
    ] {
        let (status, answer) = places[1].post(path, &body);
        assert_eq!(status, 200, "{answer}");
    }
    let mut other = Gpsd::start().map(Gpsd::unwatched);
    let pids = daemons.each_ref().map(|daemon| daemon.pid());
    let before = pids.map(worked);
    let other_before = other
        .as_ref()
        .map_or(Duration::ZERO, |gpsd| worked(gpsd.pid()));
    let begun = Instant::now();
    let lasting = Duration::from_secs_f64(TEN_MINUTES * share());
    let mut number = 0;
    let mut due = begun;
    while begun.elapsed() < lasting {
        due += APART;
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
        number = number % 900 + 1;
        ports.iter_mut().for_each(|port| port.send(number));
        if let Ok(gpsd) = &mut other {
            gpsd.send();
        }
    }
    let minutes = begun.elapsed().as_secs_f64() / 60.0;
    let their = other.as_ref().map(|gpsd| {
        let cpu = worked(gpsd.pid()) - other_before;
        (
            cpu.as_secs_f64(),
            kib(gpsd.pid(), "VmRSS:") as f64 / 1_024.0,
        )
    });
    let mut lines = Vec::new();
    for (n, step) in ["step closed", "step open"].into_iter().enumerate() {
        let what = format!("20 readings/s for {minutes:.1} min, no client, {step}");
        let cpu = (worked(pids[n]) - before[n]).as_secs_f64();
        let mib = kib(pids[n], "VmRSS:") as f64 / 1_024.0;
        let line = Line::told(format!("{what}: processor time"), format!("{cpu:.2} s"));
        lines.push(match &their {
            Ok((theirs, _)) => line
                .beside(format!("gpsd {theirs:.2} s"), cpu / theirs)
                .reach("less", cpu < *theirs),
            Err(why) => Line::missing(line.what, why.as_str()),
        });
        let line = Line::told(format!("{what}: resident"), format!("{mib:.1} MiB"))
            .reach(format!("under {MOST_MIB} MiB"), mib < MOST_MIB);
        lines.push(match &their {
            Ok((_, theirs)) => line.beside(format!("gpsd {theirs:.1} MiB"), mib / theirs),
            Err(_) => line,
        });
    }
    daemons.into_iter().for_each(|daemon| daemon.stop());
    lines
}

/// Sends until the daemon has opened the port: what is sent before is lost.
fn until_live(place: &Place, port: &mut Port) {
    let until = Instant::now() + DEADLINE;
    loop {
        port.send(1);
        let status = place.ask("GET", "/v1/status", "").unwrap();
        if status.contains("\"state\":\"live\"") {
            return;
        }
        assert!(Instant::now() < until, "{status}\n{}", place.log());
    }
}

/// A daemon whose cable is not connected: its threads sleep until the kernel tells of a new device.
pub(super) fn alone() -> Vec<Line> {
    let directory = tempfile::tempdir().unwrap();
    let config = Port::open()
        .cable("bench")
        .replace("/dev/pts/", "/dev/pts/none-");
    let place = Place::new(directory.path(), &config);
    let daemon = place.start();
    let pid = daemon.pid();
    // What it does after its first answer belongs to its start, and so does the end of threads that helped there.
    std::thread::sleep(Duration::from_secs(15));
    let (woken_before, worked_before) = (woken(pid), worked(pid));
    let lasting = ALONE * share();
    std::thread::sleep(Duration::from_secs_f64(lasting));
    let times = woken(pid) - woken_before;
    let cpu = (worked(pid) - worked_before).as_secs_f64() * 1e3;
    daemon.stop();
    vec![
        Line::told(
            format!("no cable connected, {lasting:.0} s: wake-ups"),
            format!("{times}, {cpu:.2} ms of work"),
        )
        .reach("0", times == 0),
    ]
}
