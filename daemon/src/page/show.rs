//! What the page shows, made once for all screens, and only while one looks on.

use crate::engine::Handle;
use axum::body::Bytes;
use config::Config;
use metrology::Unit;
use metrology::setup::Setup;
use protocol::api::{Live, Refusal, Status};
use protocol::plan::StepKind;
use protocol::screen::plot::Plot;
use protocol::screen::{self, Known, Marked, Screen, Trace, TracePoint, User};
use protocol::style::Style;
use serde::Serialize;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::broadcast::error::RecvError;
use tokio::sync::{Notify, watch};
use tokio::time::{Instant, MissedTickBehavior};

/// Frames, of which only the newest is kept.
pub(super) type Frames = watch::Receiver<Bytes>;

/// The shortest time between two frames.
const FRAME: Duration = Duration::from_millis(33);
/// How often ages are told anew.
const LOOK: Duration = Duration::from_millis(500);

/// How things are shown, as it is configured.
#[derive(Clone, Copy)]
struct Styled {
    unit: Option<Unit>,
    words: Style,
}

impl Styled {
    fn of(config: &Config) -> Self {
        Self {
            unit: config.screen.unit,
            words: config.document.words(),
        }
    }

    fn style(self, setup: Option<&Setup>) -> Style {
        self.words.in_unit(self.unit, setup)
    }
}

#[derive(Default)]
struct State {
    trace: Trace,
    style: Style,
    /// The place that the indicator was taken to without a mark there.
    went_to: Option<String>,
    target: Option<String>,
    recording_since: Option<f64>,
}

/// A frame: the screen, and what the page needs beside it to know what its buttons do.
#[derive(Serialize)]
struct Frame<'a> {
    screen: Screen,
    plot: Option<Plot>,
    session: Option<&'a str>,
    kind: Option<StepKind>,
    /// The number of the last mark.
    mark: Option<u32>,
    marked: &'a [Marked],
    clamped: bool,
    recording_since: Option<f64>,
    /// A press is asked about, or a mark waits for rest: undo means that one.
    asked: bool,
    /// The step is judged by eye.
    by_eye: bool,
    /// Values are typed.
    typed: bool,
    settled: bool,
    target: &'a Option<String>,
    /// What closing the step now would lose.
    loses: Option<String>,
    /// What is typed to name the place of a mark.
    place_wanted: String,
    now: Option<TracePoint>,
    /// The stations, with their distance from A, mm.
    stations: Vec<(&'a str, f64)>,
    /// The station that the indicator stands at, as far as the user has said.
    stands_at: Option<&'a str>,
    /// The next mark needs a place that the user names.
    needs_place: bool,
}

/// What is shown, and to whom.
pub(super) struct Show {
    frames: watch::Sender<Bytes>,
    /// Told of each that comes to look on.
    viewer: Notify,
    state: Mutex<State>,
}

impl Show {
    pub fn new() -> Self {
        Self {
            frames: watch::Sender::new(Bytes::new()),
            viewer: Notify::new(),
            state: Mutex::default(),
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The frames from now on.
    pub fn frames(&self) -> Frames {
        let mut frames = self.frames.subscribe();
        self.viewer.notify_one();
        // What is there is news to whoever has just come, if it is not that of viewers who are gone.
        if self.frames.receiver_count() > 1 {
            frames.mark_changed();
        }
        frames
    }

    /// The last minute, as an event.
    pub fn trace(&self) -> Bytes {
        let state = self.state();
        let readings: Vec<TracePoint> = state.trace.readings(state.style).collect();
        event("trace", &readings)
    }

    /// The time, as an event.
    pub fn beat(&self, now_s: f64) -> Bytes {
        event("beat", &now_s)
    }

    /// The indicator was taken to the place of the target; false where there is none.
    pub fn go(&self) -> bool {
        let mut state = self.state();
        state.went_to = state.target.clone();
        state.went_to.is_some()
    }

    /// Makes frames while somebody looks on, until it is dropped.
    pub async fn run(&self, engine: &Handle) {
        loop {
            // A page that nobody looks at costs nothing.
            if self.frames.receiver_count() == 0 {
                self.viewer.notified().await;
                continue;
            }
            if let Err(why) = self.follow(engine).await {
                tracing::debug!(%why, "the page has nothing to show");
                tokio::time::sleep(LOOK).await;
            }
            self.state().trace = Trace::default();
        }
    }

    /// Follows the engine until nobody looks on, or it tells no more.
    async fn follow(&self, engine: &Handle) -> Result<(), Refusal> {
        let mut known = Known::default();
        let mut subscription = engine.subscribe().await?;
        let mut styled = Styled::of(&engine.configured().await?.config);
        self.take(&subscription.snapshot, &mut known, styled, engine.now_s());
        let mut look = tokio::time::interval(LOOK);
        look.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let mut sent = Instant::now() - FRAME;
        let mut changed = true;
        let mut last = Bytes::new();
        loop {
            tokio::select! {
                biased;
                () = self.frames.closed() => return Ok(()),
                () = tokio::time::sleep_until(sent + FRAME), if changed => {
                    let frame = self.frame(&known, styled, engine.now_s());
                    if frame != last {
                        self.frames.send_replace(frame.clone());
                        last = frame;
                    }
                    sent = Instant::now();
                    changed = false;
                }
                received = subscription.events.recv() => {
                    let bytes = match received {
                        Ok(bytes) => bytes,
                        Err(RecvError::Lagged(_)) => {
                            subscription = engine.subscribe().await?;
                            styled = Styled::of(&engine.configured().await?.config);
                            std::mem::take(&mut subscription.snapshot)
                        }
                        Err(RecvError::Closed) => return Ok(()),
                    };
                    self.take(&bytes, &mut known, styled, engine.now_s());
                    changed = true;
                }
                _ = look.tick() => changed = true,
            }
        }
    }

    fn take(&self, event: &[u8], known: &mut Known, styled: Styled, now_s: f64) {
        let json = event.strip_prefix(b"data: ").unwrap_or(event);
        let live: Live = match serde_json::from_slice(json) {
            Ok(live) => live,
            Err(error) => {
                tracing::error!(%error, "an event cannot be read");
                return;
            }
        };
        known.on_live(live.clone(), now_s);
        let Some(status) = &known.status else { return };
        let mut state = self.state();
        state.style = styled.style(status.setup.as_ref());
        let before = state.trace.place();
        let style = state.style;
        state.trace.on_live(&live, known, now_s, style);
        if let Live::Snapshot(_) = live {
            state.on_status(status, now_s);
            if before.is_some() && before != state.trace.place() {
                state.went_to = None;
            }
        }
    }

    fn frame(&self, known: &Known, styled: Styled, now_s: f64) -> Bytes {
        let state = self.state();
        let user = User {
            went_to: state.went_to.as_deref(),
            ..User::default()
        };
        let setup = known
            .status
            .as_ref()
            .and_then(|status| status.setup.as_ref());
        let style = styled.style(setup);
        let seen = known.seen(now_s, user, style);
        let status = known.status.as_ref();
        let indicator = seen.indicator();
        let frame = Frame {
            plot: screen::plot(&seen),
            session: status
                .and_then(|status| status.session.as_ref())
                .map(|session| &*session.name),
            kind: status.and_then(|status| status.step).map(|step| step.kind),
            mark: seen.last_mark().map(|mark| mark.number),
            marked: state.trace.marks(),
            clamped: status.is_some_and(|status| status.clamped),
            recording_since: state.recording_since,
            asked: status.is_some_and(|s| s.double_press.is_some() || s.waiting.is_some()),
            by_eye: status
                .and_then(|status| status.step)
                .is_some_and(|step| step.kind.by_eye()),
            typed: indicator.is_none(),
            settled: indicator.as_ref().is_some_and(screen::Indicator::settled),
            target: &state.target,
            loses: status.and_then(|status| screen::loses(status, style)),
            place_wanted: status
                .map(|status| screen::place_wanted(status, style))
                .unwrap_or_default(),
            now: state.trace.readings(state.style).next_back(),
            stations: status
                .and_then(|status| status.setup.as_ref())
                .map(|setup| {
                    let stations = setup.stations.iter();
                    stations.map(|s| (&*s.name, s.position.mm())).collect()
                })
                .unwrap_or_default(),
            stands_at: seen.stands_at(),
            needs_place: seen.next().is_none()
                && status.is_some_and(|status| {
                    status.step.is_some() && !status.recording && status.double_press.is_none()
                }),
            screen: screen::of(&seen),
        };
        event("frame", &frame)
    }
}

impl State {
    fn on_status(&mut self, status: &Status, now_s: f64) {
        self.target = screen::target(status, self.style).map(|target| target.place);
        self.recording_since = status
            .recording
            .then(|| self.recording_since.unwrap_or(now_s));
    }
}

/// An event as Server-Sent Events write it: JSON has no line breaks of its own.
fn event(name: &str, data: &impl Serialize) -> Bytes {
    let mut bytes = format!("event: {name}\ndata: ").into_bytes();
    if let Err(error) = serde_json::to_writer(&mut bytes, data) {
        // Only a map with keys that are no strings could fail, and there is none.
        tracing::error!(%error, "an event could not be written");
    }
    bytes.extend_from_slice(b"\n\n");
    bytes.into()
}
