//! The world around an engine: its store, its cable, its clients and its clock, each worked by hand.
//!
//! Nothing happens by itself. The runtime has one thread and a clock that stands still; the store's thread is
//! [`ByHand`]. So the order in which cable, clients, clock and store meet is the one that was drawn, and the same at each run.

use super::act::Act;
use super::book::{Book, outcome_in};
use crate::cable::{CableEvent, CableEventKind};
use crate::clock::Clock;
use crate::engine::{Engine, EngineParts, Handle};
use crate::run::open_store;
use crate::store::{ByHand, Call, FILE_NAME, Fault, Gate, StoreError, Writer};
use config::{Cable, Cadence, Config, PortSelector};
use metrology::Length;
use protocol::api::{CableState, Code, Refusal};
use serde_json::Value;
use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicI64, Ordering::SeqCst};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tempfile::TempDir;
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;

const MS: i64 = 1_000_000;
/// So often tasks are let run after each event: more than any chain of them is long.
const TURNS: usize = 12;

/// Clocks that a test sets.
struct HandClock {
    steady: AtomicI64,
    utc: AtomicI64,
    awake: AtomicI64,
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

/// What the disk does with the calls to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Trouble {
    /// So many calls pass before it.
    pub after: u32,
    pub fault: Fault,
    /// Until it is healed; otherwise one call.
    pub for_good: bool,
}

#[derive(Clone, Default)]
struct Disk(Arc<Mutex<Option<Trouble>>>);

impl Gate for Disk {
    fn fault(&mut self, call: Call) -> Option<Fault> {
        if !matches!(call, Call::Begin | Call::Write | Call::Commit) {
            return None;
        }
        let mut planned = self.0.lock().unwrap();
        let trouble = planned.as_mut()?;
        if let Some(less) = trouble.after.checked_sub(1) {
            trouble.after = less;
            return None;
        }
        let fault = trouble.fault;
        if !trouble.for_good {
            *planned = None;
        }
        Some(fault)
    }
}

type Line = Arc<Mutex<Option<(usize, mpsc::Sender<CableEvent>)>>>;

/// An engine that runs.
struct Running {
    engine: JoinHandle<Result<(), StoreError>>,
    handle: Handle,
    store: ByHand,
    stop: watch::Sender<bool>,
    line: Line,
    data: TempDir,
}

/// Something that a client waits for.
struct Asked {
    act: Act,
    answer: JoinHandle<Result<Value, Refusal>>,
}

/// What was met on the way, so that a test can tell that it tested anything.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Met {
    pub acknowledged: usize,
    pub marks: usize,
    pub refused: usize,
    pub by_the_store: usize,
    pub kills: usize,
    pub kills_between: usize,
    pub stops: usize,
    pub looks: usize,
}

pub(super) struct World {
    clock: Arc<HandClock>,
    disk: Disk,
    boot: u32,
    book: Book,
    asked: Vec<Asked>,
    running: Running,
    seq: i64,
    pub met: Met,
}

impl World {
    /// With an empty store.
    pub async fn new() -> Result<Self, String> {
        let clock = Arc::new(HandClock {
            steady: AtomicI64::new(1_000_000 * MS),
            utc: AtomicI64::new(1_700_000_000_000 * MS),
            awake: AtomicI64::new(900_000 * MS),
        });
        let disk = Disk::default();
        let running = Running::start(directory()?, &clock, &disk, 0)?;
        let mut world = Self {
            clock,
            disk,
            boot: 0,
            book: Book::default(),
            asked: Vec::new(),
            running,
            seq: 0,
            met: Met::default(),
        };
        world.turn().await?;
        Ok(world)
    }

    /// Lets the tasks run until nothing is left to do, and takes the answers that have come.
    async fn turn(&mut self) -> Result<(), String> {
        for _ in 0..TURNS {
            tokio::task::yield_now().await;
        }
        if self.running.engine.is_finished() {
            let ended = (&mut self.running.engine).await;
            return Err(format!("the engine has ended: {ended:?}"));
        }
        self.answers().await
    }

    async fn answers(&mut self) -> Result<(), String> {
        let (come, waiting) = std::mem::take(&mut self.asked)
            .into_iter()
            .partition(|asked| asked.answer.is_finished());
        self.asked = waiting;
        let come: Vec<Asked> = come;
        for Asked { act, answer } in come {
            match answer.await.map_err(|error| format!("{act:?}: {error}"))? {
                Ok(answer) => {
                    self.book.write(&act, &answer)?;
                    self.met.acknowledged += 1;
                }
                Err(refusal) if refusal.code == Code::Internal => {
                    return Err(format!("{act:?}: {}", refusal.message));
                }
                Err(refusal) => {
                    self.met.refused += 1;
                    let by_the_store = matches!(refusal.code, Code::StoreFull | Code::StoreFailed);
                    self.met.by_the_store += usize::from(by_the_store);
                }
            }
        }
        Ok(())
    }

    pub async fn ask(&mut self, act: Act) -> Result<(), String> {
        let (handle, asked) = (self.running.handle.clone(), act.clone());
        let answer = tokio::spawn(async move { asked.ask(&handle).await });
        self.asked.push(Asked { act, answer });
        self.turn().await
    }

    async fn event(&mut self, kind: CableEventKind) -> Result<(), String> {
        let line = self.running.line.lock().unwrap().clone();
        if let Some((cable, events)) = line {
            // A full channel makes the cable's task wait; this one does without.
            let _ = events.try_send(CableEvent { cable, kind });
        }
        self.turn().await
    }

    pub async fn state(&mut self, state: CableState) -> Result<(), String> {
        self.event(CableEventKind::State {
            state,
            detail: None,
        })
        .await
    }

    /// The cable was opened with this adapter.
    pub async fn instrument(&mut self, known_as: &str) -> Result<(), String> {
        let known_as = Some(known_as.to_owned());
        self.event(CableEventKind::Instrument { known_as }).await
    }

    /// Readings 40 ms apart about a place.
    pub async fn readings(&mut self, count: usize, um: i64) -> Result<(), String> {
        for _ in 0..count {
            self.advance(40).await?;
            self.seq += 1;
            let kind = CableEventKind::Reading {
                value: Length::from_um(um + self.seq % 2),
                resolution: Length::from_um(1),
                steady_ns: self.clock.steady_ns(),
                unit: None,
            };
            self.event(kind).await?;
        }
        Ok(())
    }

    pub async fn garbage(&mut self) -> Result<(), String> {
        self.seq += 1;
        let total = self.seq as u64;
        self.event(CableEventKind::Skipped {
            total,
            last: "\\x00".to_owned(),
        })
        .await
    }

    /// Time passes while the computer is awake.
    pub async fn advance(&mut self, ms: i64) -> Result<(), String> {
        for clock in [&self.clock.steady, &self.clock.utc, &self.clock.awake] {
            clock.fetch_add(ms * MS, SeqCst);
        }
        tokio::time::advance(Duration::from_millis(ms.unsigned_abs())).await;
        self.turn().await
    }

    /// The computer sleeps.
    pub async fn sleep(&mut self, ms: i64) -> Result<(), String> {
        self.clock.steady.fetch_add(ms * MS, SeqCst);
        self.clock.utc.fetch_add(ms * MS, SeqCst);
        self.turn().await
    }

    /// The computer's clock is set, to either side.
    pub async fn set_clock(&mut self, ms: i64) -> Result<(), String> {
        self.clock.utc.fetch_add(ms * MS, SeqCst);
        self.turn().await
    }

    pub async fn perform(&mut self) -> Result<(), String> {
        self.running.store.perform();
        self.turn().await
    }

    pub async fn deliver(&mut self) -> Result<(), String> {
        self.running.store.deliver();
        self.turn().await
    }

    pub fn trouble(&mut self, trouble: Option<Trouble>) {
        *self.disk.0.lock().unwrap() = trouble;
    }

    /// The store does everything that it was given.
    pub async fn settle(&mut self) -> Result<(), String> {
        while self.running.store.perform() || self.running.store.deliver() {
            self.turn().await?;
        }
        Ok(())
    }

    /// Looks at screen and store: both have what was acknowledged, no more and no less, and they agree on what it comes to.
    pub async fn look(&mut self) -> Result<(), String> {
        self.met.looks += 1;
        self.trouble(None);
        self.settle().await?;
        self.ask(Act::Flush).await?;
        self.settle().await?;
        let handle = self.running.handle.clone();
        let status = tokio::spawn(async move { handle.status().await });
        self.turn().await?;
        if !status.is_finished() {
            return Err("the engine does not answer".to_owned());
        }
        let status = status.await.map_err(|error| error.to_string())?;
        let status = status.map_err(|refusal| refusal.message)?;
        self.book.is_shown_by(&status)?;
        let data = self.running.data.path();
        self.book.is_in(data)?;
        if status.step.is_some() {
            let live = serde_json::to_value(&status.outcome).unwrap();
            let stored = outcome_in(data)?;
            if live != stored {
                return Err(format!("live   {live}\nstored {stored}"));
            }
        }
        Ok(())
    }

    /// A kill at this instant: the files stay as they are, nobody is told anything, and the daemon is started again. Of the act that
    /// is on the disk and was not acknowledged yet, the answer is the one that would have come next.
    pub async fn kill(&mut self, boots: bool) -> Result<(), String> {
        self.met.kills += 1;
        let image = self.running.image()?;
        if self.running.store.is_done() {
            self.met.kills_between += 1;
            self.deliver().await?;
        }
        self.asked.clear();
        self.running.engine.abort();
        self.trouble(None);
        self.start(image, boots).await
    }

    /// The daemon is stopped in its own order: whoever waits has his answer.
    pub async fn stop(&mut self, boots: bool) -> Result<(), String> {
        self.met.stops += 1;
        self.trouble(None);
        self.running.stop.send_replace(true);
        while !self.running.engine.is_finished() {
            let worked = self.running.store.perform() | self.running.store.deliver();
            if !worked {
                // Its thread ends meanwhile.
                std::thread::yield_now();
            }
            tokio::task::yield_now().await;
        }
        let ended = (&mut self.running.engine).await;
        match ended {
            Ok(Ok(())) => {}
            other => return Err(format!("the engine ended with {other:?}")),
        }
        // Requests that the engine never took are answered with that it stops.
        for _ in 0..TURNS {
            tokio::task::yield_now().await;
        }
        self.asked.retain(|asked| asked.answer.is_finished());
        let stopping: Vec<Asked> = std::mem::take(&mut self.asked);
        for asked in stopping {
            match asked.answer.await.map_err(|error| error.to_string())? {
                Ok(answer) => self.book.write(&asked.act, &answer)?,
                Err(_) => self.met.refused += 1,
            }
        }
        let data = self.running.image()?;
        self.start(data, boots).await
    }

    async fn start(&mut self, data: TempDir, boots: bool) -> Result<(), String> {
        if boots {
            // The steady clock begins anew with the computer.
            self.boot += 1;
            self.clock.steady.store(5_000 * MS, SeqCst);
            self.clock.awake.store(5_000 * MS, SeqCst);
        }
        self.running = Running::start(data, &self.clock, &self.disk, self.boot)?;
        self.turn().await?;
        self.look().await
    }

    /// The last look.
    pub async fn end(mut self) -> Result<Met, String> {
        self.look().await?;
        self.stop(false).await?;
        self.met.marks = self.book.marks();
        self.running.engine.abort();
        Ok(self.met)
    }
}

fn directory() -> Result<TempDir, String> {
    tempfile::tempdir().map_err(|error| error.to_string())
}

impl Running {
    fn start(
        data: TempDir,
        clock: &Arc<HandClock>,
        disk: &Disk,
        boot: u32,
    ) -> Result<Self, String> {
        let (place, gate) = (data.path().to_owned(), Box::new(disk.clone()));
        let opened = open_store(&place, gate, &**clock, &format!("start {boot}"));
        let (store, restored, timeline) = opened.map_err(|error| format!("start: {error}"))?;
        let (writer, store) = Writer::by_hand(store);
        let line = Line::default();
        let served = Arc::clone(&line);
        let (engine, handle) = Engine::new(EngineParts {
            nudge: Arc::default(),
            config: Config {
                cables: vec![cable()],
                ..Config::default()
            },
            source: crate::reload::fixed(),
            config_file: None,
            serve: Arc::new(move |_, index, _, events, mut stop| {
                *served.lock().unwrap() = Some((index, events));
                Box::pin(async move {
                    let _ = stop.wait_for(|stop| *stop).await;
                })
            }),
            serve_pedal: Arc::new(|_, _, _, _, _| Box::pin(async {})),
            clock: clock.clone(),
            timeline,
            restored,
            writer,
            directory: place,
            free_room: Arc::new(|_| Ok(1 << 40)),
        });
        let (stop, stops) = watch::channel(false);
        Ok(Self {
            engine: tokio::spawn(engine.run(stops)),
            handle,
            store,
            stop,
            line,
            data,
        })
    }

    /// The files as they are, at a place of their own.
    fn image(&self) -> Result<TempDir, String> {
        let image = directory()?;
        for name in [FILE_NAME.to_owned(), format!("{FILE_NAME}-wal")] {
            let from: PathBuf = self.data.path().join(&name);
            if from.exists() {
                fs::copy(&from, image.path().join(&name)).map_err(|error| error.to_string())?;
            }
        }
        Ok(image)
    }
}

fn cable() -> Cable {
    let port = PortSelector::Path("/dev/ttyUSB0".into());
    Cable::new(
        "bench",
        port,
        Cadence::Streams { stale_after_s: 1.0 },
        "text",
    )
}
