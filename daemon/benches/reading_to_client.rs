//! How long a reading takes from the pty to a client, with the store on; and what the daemon costs when idle.
//!
//! `cargo bench -p conewright-daemon`. Client and instrument are threads of this process beside the daemon's, so
//! the memory shown is a little more than the daemon's own. Aims on a shop computer: median under 0.2 ms and 99th
//! percentile under 2 ms at 100 readings/s; under 10 MiB resident and under 0.5 % of a core at 20 readings/s.

#![allow(clippy::unwrap_used, reason = "a panic is a benchmark's message")]

use conewright_daemon::{Home, Parts, Socket, reload, run_blocking};
use config::{Cable, Cadence, Config, PortSelector};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::time::{ClockId, clock_gettime};
use std::fs::{self, File};
use std::io::{BufRead, BufReader, Read, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Readings timed in one run.
const READINGS: usize = 2_000;
/// How long the daemon idles.
const IDLE: Duration = Duration::from_secs(10);

fn main() {
    let root = tempfile::tempdir().unwrap();
    // Opened for the whole run: a line without a far end would be a cable that left.
    let far = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
    grantpt(&far).unwrap();
    unlockpt(&far).unwrap();
    let name = ptsname(&far, Vec::new()).unwrap().into_string().unwrap();
    let mut far = File::from(far);

    let home = Home::acquire(&root.path().join("data")).unwrap();
    let socket_path = root.path().join("socket");
    let socket = Socket::listen(&socket_path, &home).unwrap();
    let port = PortSelector::Path(PathBuf::from(name));
    let cadence = Cadence::Streams { stale_after_s: 1.0 };
    let config = Config {
        cables: vec![Cable::new("bench", port, cadence, "text")],
        ..Config::default()
    };
    let parts = Parts::real(home, socket, config, reload::fixed());
    let daemon = std::thread::spawn(move || run_blocking(parts, std::future::pending()));

    let mut live = Live::open(&socket_path);
    live.until("\"event\":\"snapshot\"");
    // Until the port is open, what is sent there is lost.
    std::thread::sleep(Duration::from_millis(500));
    println!(
        "begun:                    {:5.2} MiB resident",
        resident_mib()
    );
    post(
        &socket_path,
        "/v1/sessions",
        r#"{"name":"bench","span":"80"}"#,
    );

    let cpu = process_cpu_s();
    let begun = Instant::now();
    while begun.elapsed() < IDLE {
        send(&mut far, &mut live, 0.012);
        std::thread::sleep(Duration::from_millis(50));
    }
    println!(
        "idle at 20 readings/s:    {:5.2} MiB resident, {:.2} % of a core with its client",
        resident_mib(),
        (process_cpu_s() - cpu) / begun.elapsed().as_secs_f64() * 100.0
    );

    post(&socket_path, "/v1/steps", r#"{"kind":"zero"}"#);
    let mut took: Vec<Duration> = (0..READINGS)
        .map(|n| {
            std::thread::sleep(Duration::from_millis(10));
            send(&mut far, &mut live, 0.001 * (n % 7) as f64)
        })
        .collect();
    took.sort_unstable();
    let at = |share: f64| took[((READINGS - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
    println!(
        "reading to client, store on, 100 readings/s: p50 {:.3} ms, p90 {:.3} ms, p99 {:.3} ms, largest {:.3} ms",
        at(0.5),
        at(0.9),
        at(0.99),
        at(1.0)
    );
    let alone = marks_ms(&socket_path);
    println!("a mark, to its answer after the commit:      {alone:.2} ms");
    for (kind, said) in HELD {
        let held: Vec<_> = (0..150).map(|_| hold(&socket_path, said)).collect();
        let among = marks_ms(&socket_path);
        println!(
            "  among 150 {kind}: {among:.2} ms, {:.1} times as long",
            among / alone
        );
        drop(held);
    }
    println!(
        "at the end:               {:5.2} MiB resident",
        resident_mib()
    );
    post(&socket_path, "/v1/stop", "");
    daemon.join().unwrap().unwrap();
}

/// Sends a reading, and waits until the client has it.
fn send(far: &mut File, live: &mut Live, mm: f64) -> Duration {
    let line = format!("{mm:+.4}\r\n");
    let begun = Instant::now();
    far.write_all(line.as_bytes()).unwrap();
    live.until("\"event\":\"reading\"");
    begun.elapsed()
}

/// Connections that a client may hold without asking for anything.
const HELD: [(&str, &str); 3] = [
    (
        "heads without their body",
        "POST /v1/marks HTTP/1.1\r\nhost: x\r\ncontent-length: 20\r\n\r\n",
    ),
    ("half heads", "POST /v1/marks HTTP/1.1\r\nho"),
    ("silent connections", ""),
];

fn hold(socket: &Path, said: &str) -> UnixStream {
    let mut stream = UnixStream::connect(socket).unwrap();
    stream.write_all(said.as_bytes()).unwrap();
    stream
}

/// The mean of marks one after the other, ms.
fn marks_ms(socket: &Path) -> f64 {
    const MARKS: u32 = 50;
    let begun = Instant::now();
    for _ in 0..MARKS {
        post(socket, "/v1/marks", r#"{"value":"0.1"}"#);
    }
    begun.elapsed().as_secs_f64() * 1e3 / f64::from(MARKS)
}

struct Live {
    lines: BufReader<UnixStream>,
    line: Vec<u8>,
}

impl Live {
    fn open(socket: &Path) -> Self {
        let mut stream = UnixStream::connect(socket).unwrap();
        stream
            .write_all(b"GET /v1/events HTTP/1.1\r\nhost: conewright\r\n\r\n")
            .unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(20)))
            .unwrap();
        Self {
            lines: BufReader::new(stream),
            line: Vec::new(),
        }
    }

    fn until(&mut self, what: &str) {
        loop {
            self.line.clear();
            assert!(self.lines.read_until(b'\n', &mut self.line).unwrap() > 0);
            let found = self
                .line
                .windows(what.len())
                .any(|window| window == what.as_bytes());
            if found {
                return;
            }
        }
    }
}

fn post(socket: &Path, path: &str, body: &str) {
    let mut stream = UnixStream::connect(socket).unwrap();
    let request = format!(
        "POST {path} HTTP/1.1\r\nhost: conewright\r\nconnection: close\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
}

fn resident_mib() -> f64 {
    let status = fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find(|l| l.starts_with("VmRSS:")).unwrap();
    let kib: f64 = line.split_whitespace().nth(1).unwrap().parse().unwrap();
    kib / 1024.0
}

fn process_cpu_s() -> f64 {
    let t = clock_gettime(ClockId::ProcessCPUTime);
    t.tv_sec as f64 + t.tv_nsec as f64 * 1e-9
}
