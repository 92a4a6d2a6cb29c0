//! How long a reading takes from the port to a client. Beside it: a general sensor daemon, `gpsd` from Debian's packages, which takes
//! sentences of its own from a port and hands them to a client as JSON. And a thread that only carries bytes from a port to a socket:
//! what that takes is the machine's, and no program is below it.

use super::stats::Times;
use super::tools::{Process, busy_loops, find, free_port};
use super::{Line, rounds};
use crate::bare::Bare;
use crate::process::Place;
use crate::pulse::{Port, Pulse};
use crate::toolroom::DEADLINE;
use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::os::unix::fs::PermissionsExt;
use std::process::Command;
use std::time::{Duration, Instant};

/// Sentences for the general daemon, each of a later time.
struct Feed {
    port: Port,
    /// Milliseconds of the day in the last sentence.
    number: u32,
}

/// Ten o'clock, in milliseconds: where the sentences begin.
const TEN: u32 = 36_000_000;

impl Feed {
    /// Sends a sentence, and gives the time in it, by which the report is known.
    fn send(&mut self) -> String {
        self.number += 1;
        let (s, ms) = (self.number / 1_000, self.number % 1_000);
        let (h, m, s) = (s / 3_600, s / 60 % 60, s % 60);
        let body = format!(
            "GPRMC,{h:02}{m:02}{s:02}.{ms:03},A,5530.0000,N,01200.0000,E,0.0,0.0,010126,,,A"
        );
        // The checksum of NMEA 0183: all characters between `$` and `*`, exclusive or.
        let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
        self.port.put(format!("${body}*{sum:02X}\r\n").as_bytes());
        format!("T{h:02}:{m:02}:{s:02}.{ms:03}Z\"")
    }
}

/// The general daemon, with a port that we feed and a client.
pub(super) struct Gpsd {
    feed: Feed,
    process: Process,
    lines: BufReader<TcpStream>,
    line: String,
}

/// The general daemon without a client, as it is when nobody looks.
pub(super) struct Unwatched {
    feed: Feed,
    process: Process,
}

impl Unwatched {
    pub(super) fn send(&mut self) {
        self.feed.send();
    }

    pub(super) fn pid(&self) -> u32 {
        self.process.pid()
    }
}

impl Gpsd {
    /// Starts it, and returns when its client has a first report.
    pub(super) fn start() -> Result<Self, String> {
        let program = find("gpsd", "gpsd")?;
        let port = Port::open();
        // It gives its rights up before it opens the port.
        let anyone = std::fs::Permissions::from_mode(0o666);
        std::fs::set_permissions(port.path(), anyone).map_err(|e| e.to_string())?;
        let listen = free_port();
        let process = Process::start(
            // In the foreground, without waiting for a client, and never writing to the port.
            Command::new(program)
                .args(["-N", "-n", "-b", "-S", &listen.to_string()])
                .arg(port.path()),
        )?;
        let until = Instant::now() + DEADLINE;
        let stream = loop {
            match TcpStream::connect((Ipv4Addr::LOCALHOST, listen)) {
                Ok(stream) => break stream,
                Err(error) if Instant::now() > until => return Err(format!("gpsd: {error}")),
                Err(_) => std::thread::yield_now(),
            }
        };
        stream.set_nodelay(true).map_err(|e| e.to_string())?;
        let mut asked = stream.try_clone().map_err(|e| e.to_string())?;
        asked
            .write_all(b"?WATCH={\"enable\":true,\"json\":true};\n")
            .map_err(|e| e.to_string())?;
        let mut gpsd = Self {
            feed: Feed { port, number: TEN },
            process,
            lines: BufReader::new(stream),
            line: String::new(),
        };
        // It reports the first sentences when it knows which of them ends a cycle.
        let pause = Some(Duration::from_millis(100));
        gpsd.lines.get_ref().set_read_timeout(pause).unwrap();
        while Instant::now() < until {
            let time = gpsd.feed.send();
            if gpsd.until(&time).is_some() {
                gpsd.lines
                    .get_ref()
                    .set_read_timeout(Some(DEADLINE))
                    .unwrap();
                return Ok(gpsd);
            }
        }
        Err("gpsd reports nothing of what is sent to its port".to_owned())
    }

    /// Ends its client.
    pub(super) fn unwatched(self) -> Unwatched {
        Unwatched {
            feed: self.feed,
            process: self.process,
        }
    }

    /// Reads on until a report has this time; nothing when none comes in time.
    fn until(&mut self, time: &str) -> Option<()> {
        loop {
            self.line.clear();
            match self.lines.read_line(&mut self.line) {
                Ok(1..) if self.line.contains("\"TPV\"") && self.line.contains(time) => {
                    return Some(());
                }
                Ok(1..) => {}
                _ => return None,
            }
        }
    }

    fn beat(&mut self) -> Duration {
        let begun = Instant::now();
        let time = self.feed.send();
        self.until(&time).unwrap();
        begun.elapsed()
    }
}

/// So many beats at a rate: each is sent when it is due, or at once when the last was late.
fn beats(a_second: u32, count: usize, times: &mut Times, mut beat: impl FnMut() -> Duration) {
    let apart = Duration::from_secs(1) / a_second;
    let mut due = Instant::now();
    for _ in 0..count {
        due = (due + apart).max(Instant::now());
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
        times.push(beat());
    }
}

const ROUNDS: usize = 5;

/// What is promised, ms: of the median, where anything is, and of the 99th percentile.
struct Promise {
    median: Option<f64>,
    p99: f64,
}

/// Lines of median and 99th percentile at a rate.
fn compare(
    pulse: &mut Pulse,
    other: &mut Result<Gpsd, String>,
    a_second: u32,
    beats_a_round: usize,
    promise: &Promise,
) -> Vec<Line> {
    let [mut ours, mut theirs, mut least, mut worked] = [(); 4].map(|()| Times::default());
    let mut bare = Bare::begin();
    for _ in 0..rounds(ROUNDS) {
        beats(a_second, beats_a_round, &mut ours, || {
            let beat = pulse.beat();
            worked.push(beat.worked);
            beat.took
        });
        beats(a_second, beats_a_round, &mut least, || bare.beat());
        if let Ok(gpsd) = other {
            beats(a_second, beats_a_round, &mut theirs, || gpsd.beat());
        }
    }
    bare.end();
    let what = |of: &str| format!("reading to client, store on, {a_second}/s: {of}");
    let line = |of: &str, share: f64, most: Option<f64>| {
        let (took, own) = (ours.at(share), worked.at(share));
        let line = Line::told(what(of), format!("{took:.3} ms, {own:.3} ms of work"));
        let within = most.is_none_or(|most| took < most);
        let most = most.map_or(String::new(), |most| format!(", under {most} ms"));
        match &*other {
            Ok(_) => {
                let its = theirs.at(share);
                let bare = least.at(share);
                line.beside(
                    format!("gpsd {its:.3} ms; bytes carried only {bare:.3} ms"),
                    took / its,
                )
                .reach(format!("below it{most}"), within && took < its)
            }
            Err(why) => line.without_yardstick(why.as_str()),
        }
    };
    vec![
        line("median", 0.5, promise.median),
        line("99th percentile", 0.99, Some(promise.p99)),
    ]
}

fn with_both(
    measure: impl FnOnce(&mut Pulse, &mut Result<Gpsd, String>) -> Vec<Line>,
) -> Vec<Line> {
    let directory = tempfile::tempdir().unwrap();
    let port = Port::open();
    let place = Place::new(directory.path(), &port.config());
    let running = place.start();
    let (status, answer) = place.post(
        "/v1/sessions",
        &serde_json::json!({ "name": "load", "span": "80", "cable": "bench" }),
    );
    assert_eq!(status, 200, "{answer}");
    let (status, answer) = place.post("/v1/steps", &serde_json::json!({ "kind": "zero" }));
    assert_eq!(status, 200, "{answer}");
    let mut pulse = Pulse::begin(&place, &running, port);
    let lines = measure(&mut pulse, &mut Gpsd::start());
    running.stop();
    lines
}

/// With nothing else to do.
pub(super) fn undisturbed() -> Vec<Line> {
    let promise = Promise {
        median: Some(0.1),
        p99: 1.0,
    };
    with_both(|pulse, other| {
        [(20, 100), (100, 400), (1_000, 3_000)]
            .into_iter()
            .flat_map(|(a_second, beats)| compare(pulse, other, a_second, beats, &promise))
            .collect()
    })
}

/// With four busy loops on the machine's cores.
pub(super) fn under_load() -> Vec<Line> {
    let promise = Promise {
        median: None,
        p99: 5.0,
    };
    with_both(|pulse, other| {
        let _busy = busy_loops(4);
        [(20, 60), (100, 300), (1_000, 1_500)]
            .into_iter()
            .flat_map(|(a_second, beats)| compare(pulse, other, a_second, beats, &promise))
            .map(|line| Line {
                what: format!("four busy loops: {}", line.what),
                ..line
            })
            .collect()
    })
}
