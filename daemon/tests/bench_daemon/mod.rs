//! A whole daemon for tests: real store, real socket, real API; the cables and the clocks are the test's own.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    reason = "each test uses its part of it, and a panic is a test's message"
)]

use conewright_daemon::cable::{CableEvent, CableEventKind, Fault as PortFault};
use conewright_daemon::clock::Clock;
use conewright_daemon::pedal::{KeyChange, Keys, PedalOpener, run_with};
use conewright_daemon::store::{Call, Fault, Gate};
use conewright_daemon::{Fatal, Home, Parts, ServePedal, Socket, run};
use config::{Cable, Cadence, Config, ConfigError, PortSelector};
use http_body_util::{BodyExt, Full};
use hyper::body::{Bytes, Incoming};
use hyper::{Method, Request, Response};
use hyper_util::rt::TokioIo;
use metrology::{Length, Unit};
use protocol::api::{CableState, Live, LiveReading, Status};
use protocol::record::Verified;
use serde_json::{Value, json};
use std::collections::HashMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicI64, Ordering::SeqCst};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tempfile::TempDir;
use tokio::net::UnixStream;
use tokio::sync::{mpsc, oneshot};
use tokio::task::JoinHandle;

pub const MS: i64 = 1_000_000;
pub const S: i64 = 1_000_000_000;

/// A generous deadline: what is waited for takes milliseconds, and a hang has to be told as one.
pub async fn soon<T>(work: impl Future<Output = T>) -> T {
    tokio::time::timeout(Duration::from_secs(20), work)
        .await
        .expect("within its deadline")
}

/// Clocks that a test sets.
#[derive(Debug)]
pub struct HandClock {
    pub steady: AtomicI64,
    pub utc: AtomicI64,
    pub awake: AtomicI64,
}

impl Clock for HandClock {
    fn steady_ns(&self) -> i64 {
        self.steady.load(SeqCst)
    }
    fn utc_ns(&self) -> i64 {
        self.utc.load(SeqCst)
    }
    fn awake_ns(&self) -> i64 {
        self.awake.load(SeqCst)
    }
}

impl HandClock {
    /// The computer sleeps.
    pub fn sleep(&self, ns: i64) {
        self.steady.fetch_add(ns, SeqCst);
        self.utc.fetch_add(ns, SeqCst);
    }

    pub fn advance(&self, ns: i64) {
        self.awake.fetch_add(ns, SeqCst);
        self.steady.fetch_add(ns, SeqCst);
        self.utc.fetch_add(ns, SeqCst);
    }
}

impl Default for HandClock {
    fn default() -> Self {
        Self {
            steady: AtomicI64::new(1_000 * S),
            utc: AtomicI64::new(1_700_000_000 * S),
            awake: AtomicI64::new(900 * S),
        }
    }
}

/// A seam that a test opens and shuts.
#[derive(Clone, Default)]
pub struct Tap(Arc<Mutex<Valve>>);

#[derive(Default)]
struct Valve {
    fault: Option<Fault>,
    /// Commits that pass all the same.
    pass: usize,
    /// The next commit says here that it has come, and waits.
    held: Option<(oneshot::Sender<()>, oneshot::Receiver<()>)>,
}

impl Tap {
    pub fn set(&self, fault: Option<Fault>) {
        *self.0.lock().unwrap() = Valve {
            fault,
            ..Valve::default()
        };
    }

    /// Lets one transaction through, and is as it was after that.
    pub fn pass_one(&self) {
        self.0.lock().unwrap().pass = 1;
    }

    /// Holds the next commit: gives back what tells that it has come, and what lets it go on.
    pub fn hold_commit(&self) -> (oneshot::Receiver<()>, oneshot::Sender<()>) {
        let (came, comes) = oneshot::channel();
        let (go, goes) = oneshot::channel();
        self.0.lock().unwrap().held = Some((came, goes));
        (comes, go)
    }
}

impl Gate for Tap {
    fn fault(&mut self, call: Call) -> Option<Fault> {
        let held = (call == Call::Commit).then(|| self.0.lock().unwrap().held.take());
        if let Some((came, goes)) = held.flatten() {
            came.send(()).unwrap();
            goes.blocking_recv().unwrap();
        }
        let mut valve = self.0.lock().unwrap();
        if valve.pass > 0 {
            valve.pass -= usize::from(call == Call::Commit);
            return None;
        }
        valve
            .fault
            .filter(|_| matches!(call, Call::Write | Call::Commit))
    }
}

type Lines = Arc<Mutex<HashMap<String, (usize, mpsc::Sender<CableEvent>)>>>;

/// A pedal's keys, pressed by a test: all that is above the kernel's interface is the daemon's own.
#[derive(Clone, Default)]
pub struct Foot(Arc<Mutex<FootSwitch>>);

#[derive(Default)]
struct FootSwitch {
    /// What keeps it from being opened; nothing when it is there.
    fault: Option<PortFault>,
    /// The daemon's end, while it is open.
    open: Option<mpsc::UnboundedSender<io::Result<KeyChange>>>,
}

impl Foot {
    pub fn serve(&self) -> ServePedal {
        let foot = self.clone();
        Arc::new(move |_, number, clock, events, stop| {
            Box::pin(run_with(foot.clone(), number, clock, events, stop))
        })
    }

    /// Keeps it from being opened, or no longer.
    pub fn set(&self, fault: Option<PortFault>) {
        self.0.lock().unwrap().fault = fault;
    }

    /// Pulls it while it is open.
    pub fn pull(&self) {
        let mut switch = self.0.lock().unwrap();
        switch.fault = Some(PortFault::Gone("no foot switch is plugged in".to_owned()));
        let left = io::Error::from_raw_os_error(19);
        switch.open.take().unwrap().send(Err(left)).unwrap();
    }

    /// A key goes down (1), comes up (0) or is repeated (2).
    pub fn key(&self, key: u16, value: i32) {
        let switch = self.0.lock().unwrap();
        let open = switch.open.as_ref().expect("the pedal is open");
        open.send(Ok(KeyChange { key, value })).unwrap();
    }
}

impl PedalOpener for Foot {
    type Keys = FootKeys;
    async fn open(&mut self) -> Result<FootKeys, PortFault> {
        let mut switch = self.0.lock().unwrap();
        if let Some(fault) = &switch.fault {
            return Err(fault.clone());
        }
        let (foot, keys) = mpsc::unbounded_channel();
        switch.open = Some(foot);
        Ok(FootKeys(keys))
    }
}

pub struct FootKeys(mpsc::UnboundedReceiver<io::Result<KeyChange>>);

impl Keys for FootKeys {
    async fn next(&mut self) -> io::Result<KeyChange> {
        match self.0.recv().await {
            Some(change) => change,
            None => std::future::pending().await,
        }
    }
}

/// Where a daemon lives, whether it runs or not.
pub struct Place {
    pub root: TempDir,
    pub clock: Arc<HandClock>,
    pub boot_id: String,
    pub config: Config,
    pub tap: Tap,
    pub reload: Arc<Mutex<Option<Result<Config, ConfigError>>>>,
    pub foot: Foot,
    /// What the disk is said to have left.
    pub free_room: conewright_daemon::FreeRoom,
}

impl Place {
    pub fn new(config: Config) -> Self {
        Self {
            root: tempfile::tempdir().unwrap(),
            clock: Arc::default(),
            boot_id: "one start".to_owned(),
            config,
            tap: Tap::default(),
            reload: Arc::default(),
            foot: Foot::default(),
            free_room: Arc::new(|_| Ok(1 << 40)),
        }
    }

    pub fn data(&self) -> PathBuf {
        self.root.path().join("data")
    }

    pub fn socket(&self) -> PathBuf {
        self.root.path().join("run/socket")
    }

    pub fn parts(&self, lines: &Lines) -> Result<Parts, Fatal> {
        let home = Home::acquire(&self.data())?;
        let socket = Socket::listen(&self.socket(), &home)?;
        let (lines, reload) = (Arc::clone(lines), Arc::clone(&self.reload));
        Ok(Parts {
            papers: vec![conewright_daemon::Paper {
                ending: "html",
                kind: "text/html; charset=utf-8",
                write: |record, _, out| {
                    let record: Value =
                        serde_json::from_reader(record).map_err(|e| e.to_string())?;
                    let name = record["session"]["name"].as_str().unwrap();
                    out.write_all(name.as_bytes()).map_err(|e| e.to_string())
                },
            }],
            home,
            socket,
            config: self.config.clone(),
            config_file: None,
            source: Box::new(move || reload.lock().unwrap().take()),
            serve: Arc::new(move |cable, index, _, events, mut stop| {
                lines.lock().unwrap().insert(cable.name, (index, events));
                Box::pin(async move {
                    let _ = stop.wait_for(|stop| *stop).await;
                })
            }),
            serve_pedal: self.foot.serve(),
            clock: self.clock.clone(),
            boot_id: self.boot_id.clone(),
            gate: Box::new(self.tap.clone()),
            free_room: Arc::clone(&self.free_room),
            ready: Box::new(|| {}),
        })
    }

    /// Starts a daemon, which answers as soon as this returns.
    pub fn start(self) -> Bench {
        let lines = Lines::default();
        let parts = self.parts(&lines).unwrap();
        let (stop, stopped) = oneshot::channel::<()>();
        let daemon = tokio::spawn(run(parts, async move {
            let _ = stopped.await;
        }));
        Bench {
            place: self,
            lines,
            stop,
            daemon,
        }
    }

    /// What a kill at this instant would leave: the files as they are, at a place of their own.
    pub fn image(&self) -> Self {
        let image = Self {
            root: tempfile::tempdir().unwrap(),
            clock: Arc::clone(&self.clock),
            boot_id: self.boot_id.clone(),
            config: self.config.clone(),
            tap: Tap::default(),
            reload: Arc::default(),
            foot: Foot::default(),
            free_room: Arc::clone(&self.free_room),
        };
        fs::create_dir(image.data()).unwrap();
        for name in ["conewright.db", "conewright.db-wal"] {
            fs::copy(self.data().join(name), image.data().join(name)).unwrap();
        }
        image
    }
}

/// A running daemon.
pub struct Bench {
    pub place: Place,
    lines: Lines,
    stop: oneshot::Sender<()>,
    daemon: JoinHandle<Result<(), Fatal>>,
}

impl Bench {
    pub async fn stop(self) -> (Place, Result<(), Fatal>) {
        let _ = self.stop.send(());
        (self.place, soon(self.daemon).await.unwrap())
    }

    /// Waits for a daemon that was asked to stop by other means.
    pub async fn ended(self) -> (Place, Result<(), Fatal>) {
        (self.place, soon(self.daemon).await.unwrap())
    }

    async fn event(&self, cable: &str, kind: CableEventKind) {
        // The task of a cable begins a moment after the daemon.
        let line = soon(async {
            loop {
                let line = self.lines.lock().unwrap().get(cable).cloned();
                match line {
                    Some(line) => break line,
                    None => tokio::task::yield_now().await,
                }
            }
        })
        .await;
        let (index, events) = line;
        let event = CableEvent { cable: index, kind };
        soon(events.send(event)).await.unwrap();
    }

    pub async fn state(&self, cable: &str, state: CableState, detail: Option<&str>) {
        let detail = detail.map(str::to_owned);
        self.event(cable, CableEventKind::State { state, detail })
            .await;
    }

    /// The cable was opened with this; the task reports it only where it is another one than before.
    pub async fn instrument(&self, cable: &str, known_as: &str) {
        let known_as = Some(known_as.to_owned());
        self.event(cable, CableEventKind::Instrument { known_as })
            .await;
    }

    pub async fn skipped(&self, cable: &str, total: u64, last: &str) {
        let last = last.to_owned();
        self.event(cable, CableEventKind::Skipped { total, last })
            .await;
    }

    pub async fn reading(&self, cable: &str, um: i64, steady_ns: i64) {
        self.reading_in(cable, Length::from_um(um), None, steady_ns)
            .await;
    }

    /// A reading whose frame states its unit, or does not.
    pub async fn reading_in(&self, cable: &str, value: Length, unit: Option<Unit>, steady_ns: i64) {
        let kind = CableEventKind::Reading {
            value,
            resolution: Length::from_um(1),
            steady_ns,
            unit,
        };
        self.event(cable, kind).await;
    }

    /// Two seconds of readings at 10 a second, the last of them now; returns when the daemon has taken them.
    pub async fn dwell(&self, cable: &str, um: i64) {
        self.state(cable, CableState::Live, None).await;
        let before = self.readings(cable).await;
        // Each dwell lies after the one before, as it must in life.
        self.place.clock.advance(900 * MS);
        let now = self.place.clock.steady_ns();
        for i in 0..20 {
            self.reading(cable, um, now - (19 - i) * 40 * MS).await;
        }
        soon(async { while self.readings(cable).await < before + 20 {} }).await;
    }

    /// `count` readings of these cables, `every_ns` apart, the first after that time from now and the last now; each shows
    /// what `shows` gives for the seconds from now on, to 0.1 µm. Returns when the daemon has taken them.
    pub async fn stream(
        &self,
        cables: &[&str],
        count: usize,
        every_ns: i64,
        shows: impl Fn(&str, f64) -> f64,
    ) {
        let mut before = Vec::new();
        for cable in cables {
            self.state(cable, CableState::Live, None).await;
            before.push(self.readings(cable).await);
        }
        for i in 1..=count {
            self.place.clock.advance(every_ns);
            let now = self.place.clock.steady_ns();
            let seconds = i as f64 * every_ns as f64 * 1e-9;
            for cable in cables {
                let shown = (shows(cable, seconds) * 1e4).round() as i64;
                self.event(
                    cable,
                    CableEventKind::Reading {
                        value: Length::from_pm(shown * 100_000),
                        resolution: Length::from_pm(100_000),
                        steady_ns: now,
                        unit: None,
                    },
                )
                .await;
            }
        }
        for (cable, before) in cables.iter().zip(before) {
            let all = before + count as u64;
            soon(async { while self.readings(cable).await < all {} }).await;
        }
    }

    pub async fn readings(&self, cable: &str) -> u64 {
        let status = self.status().await;
        let of_cable = status.cables.iter().find(|c| c.name == cable);
        of_cable.unwrap().readings
    }

    pub async fn status(&self) -> Status {
        let (status, body) = self.get("/v1/status").await;
        assert_eq!(status, 200, "{body}");
        serde_json::from_value(body).unwrap()
    }

    /// Waits until the status is as wished.
    pub async fn until(&self, what: impl Fn(&Status) -> bool) -> Status {
        soon(async {
            let mut watch = self.watch().await;
            loop {
                if let Live::Snapshot(status) = watch.next().await
                    && what(&status)
                {
                    break *status;
                }
            }
        })
        .await
    }

    pub async fn get(&self, path: &str) -> (u16, Value) {
        request(&self.place.socket(), Method::GET, path, Vec::new()).await
    }

    pub async fn post(&self, path: &str, body: Value) -> (u16, Value) {
        let body = serde_json::to_vec(&body).unwrap();
        request(&self.place.socket(), Method::POST, path, body).await
    }

    /// Posts, and demands success.
    pub async fn done(&self, path: &str, body: Value) -> Value {
        let (status, body) = self.post(path, body).await;
        assert_eq!(status, 200, "{path}: {body}");
        body
    }

    /// Posts, and demands this refusal; gives its message.
    pub async fn refused(&self, path: &str, body: Value, code: &str) -> String {
        let (status, body) = self.post(path, body).await;
        assert!(status >= 400, "{path} was not refused: {body}");
        assert_eq!(body["code"], code, "{body}");
        assert!(body["hint"].is_string(), "no hint: {body}");
        body["message"].as_str().unwrap().to_owned()
    }

    pub async fn open(&self, options: Value) -> Value {
        let mut body = json!({ "name": "spindle seat" });
        for (key, value) in options.as_object().unwrap() {
            body[key] = value.clone();
        }
        self.done("/v1/sessions", body).await
    }

    pub async fn open_zero(&self) {
        self.open(json!({ "span": "80", "cable": "bench" })).await;
        self.done("/v1/steps", json!({ "kind": "zero" })).await;
    }

    pub async fn mark(&self, body: Value) -> Value {
        self.done("/v1/marks", body).await
    }

    /// The record of the session opened last, verified.
    pub async fn record(&self) -> Value {
        let (status, text) = raw(
            &self.place.socket(),
            Method::GET,
            "/v1/sessions/latest/record",
            Vec::new(),
        )
        .await;
        assert_eq!(status, 200, "{text}");
        let verified = protocol::record::verify(&text).unwrap();
        assert!(matches!(verified, Verified::Agrees { .. }), "{verified:?}");
        serde_json::from_str(&text).unwrap()
    }

    pub async fn watch(&self) -> Watch {
        Watch::open(&self.place.socket()).await
    }
}

/// The events of a daemon.
pub struct Watch {
    body: Incoming,
    rest: Vec<u8>,
}

impl Watch {
    pub async fn open(socket: &Path) -> Self {
        let response = send(socket, Method::GET, "/v1/events", Vec::new()).await;
        assert_eq!(response.status(), 200);
        assert_eq!(response.headers()["content-type"], "text/event-stream");
        Self {
            body: response.into_body(),
            rest: Vec::new(),
        }
    }

    /// The next event; none when the daemon has ended the stream.
    pub async fn next_or_end(&mut self) -> Option<Live> {
        loop {
            if let Some(end) = self.rest.windows(2).position(|pair| pair == b"\n\n") {
                let line: Vec<u8> = self.rest.drain(..end + 2).collect();
                let data = line.strip_prefix(b"data: ").unwrap();
                return Some(serde_json::from_slice(data).unwrap());
            }
            let frame = soon(self.body.frame()).await?.unwrap();
            self.rest.extend_from_slice(frame.data_ref().unwrap());
        }
    }

    pub async fn next(&mut self) -> Live {
        self.next_or_end().await.expect("the stream goes on")
    }

    pub async fn next_reading(&mut self) -> LiveReading {
        loop {
            if let Live::Reading(reading) = self.next().await {
                break reading;
            }
        }
    }
}

async fn send(socket: &Path, method: Method, path: &str, body: Vec<u8>) -> Response<Incoming> {
    let stream = soon(UnixStream::connect(socket)).await.unwrap();
    let (mut sender, connection) =
        soon(hyper::client::conn::http1::handshake(TokioIo::new(stream)))
            .await
            .unwrap();
    tokio::spawn(connection);
    let request = Request::builder()
        .method(method)
        .uri(path)
        .header("host", "conewright")
        .body(Full::new(Bytes::from(body)))
        .unwrap();
    soon(sender.send_request(request)).await.unwrap()
}

/// One request; the status and the body as text.
pub async fn raw(socket: &Path, method: Method, path: &str, body: Vec<u8>) -> (u16, String) {
    let response = send(socket, method, path, body).await;
    let status = response.status().as_u16();
    let bytes = soon(response.into_body().collect())
        .await
        .unwrap()
        .to_bytes();
    (status, String::from_utf8(bytes.to_vec()).unwrap())
}

/// One request; the body as JSON, which names the version of the API.
pub async fn request(socket: &Path, method: Method, path: &str, body: Vec<u8>) -> (u16, Value) {
    let (status, text) = raw(socket, method, path, body).await;
    let value: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["api"], 1, "{text}");
    (status, value)
}

/// A cable that streams, called `bench`.
/// The kind and the text of each event in a record.
pub fn events(record: &Value) -> Vec<(String, String)> {
    let text = |v: &Value| v.as_str().unwrap().to_owned();
    let all = record["events"].as_array().unwrap();
    all.iter()
        .map(|e| (text(&e["what"]), text(&e["text"])))
        .collect()
}

pub fn streaming() -> Config {
    Config {
        cables: vec![cable("bench", Cadence::Streams { stale_after_s: 1.0 })],
        ..Default::default()
    }
}

pub fn cable(name: &str, cadence: Cadence) -> Cable {
    let port = PortSelector::Path("/dev/ttyUSB0".into());
    Cable::new(name, port, cadence, "text")
}
