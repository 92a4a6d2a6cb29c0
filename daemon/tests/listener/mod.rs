//! A listener for the tests of cables: the cable's task, its events, and a deadline on every wait.

// Each test file is a crate of its own, and uses its part of this.
#![allow(dead_code)]

use conewright_daemon::bench::{Bench, SetUp};
use conewright_daemon::cable::{
    CableEvent, CableEventKind, Fault, Opened, Opener, SystemOpener, run_with,
};
use conewright_daemon::clock::{Clock, SystemClock};
use config::model::{Cable, Cadence, PortSelector};
use metrology::Length;
use protocol::api::CableState;
use protocol::frame::Frame;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, DuplexStream, duplex};
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio::time::{Instant, timeout};

/// No event that a test waits for takes as long as this, on however busy a machine.
const DEADLINE: Duration = Duration::from_secs(30);

pub fn cable(port: &Path, cadence: Cadence) -> Cable {
    let port = PortSelector::Path(port.to_owned());
    Cable::new("bench", port, cadence, "text")
}

pub const STREAMS: Cadence = Cadence::Streams { stale_after_s: 2.0 };

/// What the instruments of these tests send.
pub fn frame() -> Frame {
    Frame::shipped("text").unwrap()
}

/// A bench with noise, so that neighbouring readings differ.
pub fn bench(seed: u64) -> Bench {
    Bench::new(
        seed,
        SetUp {
            noise_um: 40.0,
            ..SetUp::default()
        },
    )
}

/// Tokio's paused clock as the daemon's.
pub struct Paused(Instant);

impl Clock for Paused {
    fn steady_ns(&self) -> i64 {
        self.0.elapsed().as_nanos().try_into().unwrap()
    }
    fn utc_ns(&self) -> i64 {
        self.steady_ns()
    }
}

pub fn paused() -> Arc<Paused> {
    Arc::new(Paused(Instant::now()))
}

/// Opens what the test hands over, and is gone while there is nothing.
pub struct Handed<P>(pub mpsc::UnboundedReceiver<Result<P, Fault>>);

impl<P: AsyncRead + AsyncWrite + Unpin + Send> Opener for Handed<P> {
    type Port = P;
    async fn open(&mut self) -> Result<Opened<P>, Fault> {
        match self.0.try_recv() {
            Ok(Ok(port)) => Ok(Opened {
                port,
                path: PathBuf::from("/dev/fake"),
                notes: Vec::new(),
                instrument: None,
                marked: false,
            }),
            Ok(Err(fault)) => Err(fault),
            Err(_) => Err(Fault::Gone("nothing there".to_owned())),
        }
    }
}

/// A cable on a port of the test's own: its far end, its listener, and the way to hand further ports over.
pub fn start(
    cadence: Cadence,
) -> (
    DuplexStream,
    Listener,
    mpsc::UnboundedSender<Result<DuplexStream, Fault>>,
) {
    let (ports, handed) = mpsc::unbounded_channel();
    let (near, far) = duplex(4096);
    ports.send(Ok(near)).unwrap();
    let listener = Listener::with(Handed(handed), cable(Path::new("fake"), cadence), paused());
    (far, listener, ports)
}

pub struct Listener {
    pub events: mpsc::Receiver<CableEvent>,
    stop: watch::Sender<bool>,
    task: JoinHandle<()>,
}

/// What a wait went past, and what it ended with.
pub struct Seen {
    pub before: Vec<CableEventKind>,
    pub last: CableEventKind,
}

impl Listener {
    pub fn of(cable: Cable) -> Self {
        Self::with(
            SystemOpener::new(cable.clone()),
            cable,
            Arc::new(SystemClock),
        )
    }

    pub fn with<O: Opener + 'static>(opener: O, cable: Cable, clock: Arc<dyn Clock>) -> Self {
        let (events_in, events) = mpsc::channel(64);
        let (stop, stopped) = watch::channel(false);
        let task = tokio::spawn(run_with(opener, cable, 0, clock, events_in, stopped));
        Self { events, stop, task }
    }

    pub async fn next(&mut self) -> CableEventKind {
        timeout(DEADLINE, self.events.recv())
            .await
            .expect("no event came within the deadline")
            .expect("the cable's task ended")
            .kind
    }

    /// Waits for an event that fits.
    pub async fn until(&mut self, fits: impl Fn(&CableEventKind) -> bool) -> Seen {
        let mut before = Vec::new();
        loop {
            let last = self.next().await;
            if fits(&last) {
                return Seen { before, last };
            }
            before.push(last);
        }
    }

    /// Waits for a state, and gives what came before it, and its detail.
    pub async fn until_state(
        &mut self,
        wanted: CableState,
    ) -> (Vec<CableEventKind>, Option<String>) {
        let seen = self
            .until(|kind| matches!(kind, CableEventKind::State { state, .. } if *state == wanted))
            .await;
        match seen.last {
            CableEventKind::State { detail, .. } => (seen.before, detail),
            other => panic!("{other:?}"),
        }
    }

    /// Waits for a state, and gives its detail.
    pub async fn state(&mut self, wanted: CableState) -> Option<String> {
        self.until_state(wanted).await.1
    }

    /// Waits for the next reading.
    pub async fn reading(&mut self) -> (Length, i64) {
        let seen = self
            .until(|kind| matches!(kind, CableEventKind::Reading { .. }))
            .await;
        match seen.last {
            CableEventKind::Reading {
                value, steady_ns, ..
            } => (value, steady_ns),
            other => panic!("{other:?}"),
        }
    }

    /// Stops the task, and waits until it has ended.
    pub async fn stop(self) {
        self.stop
            .send(true)
            .expect("the task ended before it was told to");
        timeout(DEADLINE, self.task)
            .await
            .expect("the task did not end within the deadline")
            .expect("the task panicked");
    }
}
