//! The daemon's life: one entry with everything injected, and the order of its end.

use crate::api::{Api, Phase, Server};
use crate::cable;
use crate::clock::{Clock, SystemClock};
use crate::engine::{Engine, EngineParts, FreeRoom, Serve, ServePedal};
use crate::fatal::Fatal;
use crate::home::Home;
use crate::page::{Page, Paper};
use crate::pedal;
use crate::program::PROGRAM;
use crate::reload::{self, ConfigSource};
use crate::socket::{Socket, SocketFile};
use crate::store::{Gate, NoFault, Restored, Store, Writer};
use crate::timeline::Timeline;
use config::Config;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{Notify, watch};

/// How long threads that still read the store are waited for at the very end.
const READERS_END: Duration = Duration::from_secs(1);
/// How long a thread that opens ports is kept for the next one.
const HELPERS_KEPT: Duration = Duration::from_secs(1);

/// Everything that a daemon is made of.
pub struct Parts {
    /// The data directory, held.
    pub home: Home,
    /// The socket, listening.
    pub socket: Socket,
    /// The configuration.
    pub config: Config,
    /// Where a changed configuration comes from.
    pub source: ConfigSource,
    /// The file of the configuration, for those who ask; it may not be there yet.
    pub config_file: Option<PathBuf>,
    /// What serves a cable.
    pub serve: Serve,
    /// What serves the pedal.
    pub serve_pedal: ServePedal,
    /// The clocks.
    pub clock: Arc<dyn Clock>,
    /// Distinguishes one start of the computer from another: the steady clock starts again with each.
    pub boot_id: String,
    /// The seam at which a test makes the store fail.
    pub gate: Box<dyn Gate>,
    /// How the system is asked for the room that is left on a disk.
    pub free_room: FreeRoom,
    /// The documents that the live page makes of a record, beside its JSON.
    pub papers: Vec<Paper>,
    /// Called once, when the daemon answers.
    pub ready: Box<dyn FnOnce() + Send>,
}

impl Parts {
    /// The parts of a real daemon.
    #[must_use]
    pub fn real(home: Home, socket: Socket, config: Config, source: ConfigSource) -> Self {
        Self {
            home,
            socket,
            config,
            source,
            config_file: None,
            serve: Arc::new(|cable, index, clock, events, stop| {
                Box::pin(cable::run(cable, index, clock, events, stop))
            }),
            serve_pedal: Arc::new(|pedal, number, clock, events, stop| {
                Box::pin(pedal::run(pedal, number, clock, events, stop))
            }),
            clock: Arc::new(SystemClock),
            boot_id: boot_id(),
            gate: Box::new(NoFault),
            free_room: Arc::new(free_room),
            papers: Vec::new(),
            ready: Box::new(|| {}),
        }
    }
}

/// What a user without rights of his own may still write, bytes.
fn free_room(directory: &Path) -> std::io::Result<u64> {
    let found = rustix::fs::statvfs(directory)?;
    Ok(found.f_bavail.saturating_mul(found.f_frsize))
}

/// The kernel's own name for this start of the computer.
fn boot_id() -> String {
    // Without it every start of the daemon is taken for one of the computer, and the timeline begins at UTC.
    std::fs::read_to_string("/proc/sys/kernel/random/boot_id")
        .map(|id| id.trim().to_owned())
        .unwrap_or_else(|_| format!("unknown to process {}", std::process::id()))
}

/// Runs a daemon until `until` is ready or a client asks it to stop.
///
/// The order of its end: no more requests are taken, and those that have begun are answered; live views end;
/// the cables stop; what they had still sent is stored; the store's log goes into its file; the socket is
/// removed; the data directory is released.
///
/// # Errors
/// The store cannot be opened, or could not be closed; a task of the daemon has failed.
pub async fn run(parts: Parts, until: impl Future<Output = ()>) -> Result<(), Fatal> {
    let Parts {
        home,
        socket,
        config,
        source,
        config_file,
        serve,
        serve_pedal,
        clock,
        boot_id,
        gate,
        free_room,
        papers,
        ready,
    } = parts;
    let directory = home.directory().to_owned();
    let (store, restored, timeline) = open_store(&directory, gate, &*clock, &boot_id)?;
    let no_thread = cannot("begin a thread for the store in", &directory);
    let writer = Writer::start(store).map_err(no_thread)?;
    let nudge = Arc::new(Notify::new());
    let telling = reload::tell_of_changes(config_file.clone(), Arc::clone(&nudge));
    let (engine, handle) = Engine::new(EngineParts {
        nudge,
        config,
        source,
        config_file,
        serve,
        serve_pedal,
        clock,
        timeline,
        restored,
        writer,
        directory: directory.clone(),
        free_room,
    });
    let in_parts = socket.into_parts();
    let (listener, socket_file, closed) =
        in_parts.map_err(cannot("use the socket of", &directory))?;
    tell_closed([home.closed(), closed.as_deref()]);

    let (stop_engine, engine_stops) = watch::channel(false);
    let mut engine = tokio::spawn(engine.run(engine_stops));
    let (stop_serving, mut asked) = watch::channel(false);
    let (phase, phases) = watch::channel(Phase::Open);
    let page = Arc::new(Page::new(papers));
    let api = Api::new(
        handle,
        directory.clone(),
        phases,
        stop_serving.clone(),
        page,
    );
    let bound = (listener, socket_file.clone());
    let started = Server::start(api, phase, bound, asked.clone());
    let served = started.map_err(cannot("begin a thread for requests to", home.directory()))?;
    answers(&socket_file, &directory, ready);

    let early = tokio::select! {
        () = until => None,
        _ = asked.wait_for(|stop| *stop) => None,
        ended = &mut engine => Some(ended),
        never = telling => match never {},
    };
    tracing::info!("the daemon stops");
    home.leaving();
    stop_serving.send_replace(true);
    let served = served.await;
    stop_engine.send_replace(true);
    let ended = match early {
        Some(ended) => ended,
        None => engine.await,
    };
    socket_file.remove();
    home.release();
    served.map_err(|_| Fatal::Fault("the thread for requests has failed".to_owned()))?;
    ended.map_err(|error| Fatal::Fault(error.to_string()))??;
    tracing::info!("the daemon has stopped");
    Ok(())
}

/// The daemon answers, which whoever waits for it is told.
fn answers(socket: &SocketFile, data: &Path, ready: Box<dyn FnOnce() + Send>) {
    tracing::info!(
        socket = %socket.path().display(),
        data = %data.display(),
        "the daemon answers"
    );
    ready();
}

/// Tells which directories were open to others.
fn tell_closed(directories: [Option<&str>; 2]) {
    for words in directories.into_iter().flatten() {
        tracing::warn!("{words}");
    }
}

/// Why something in the data directory could not be done.
fn cannot(doing: &'static str, directory: &Path) -> impl FnOnce(std::io::Error) -> Fatal {
    let path = directory.to_owned();
    move |source| Fatal::File {
        path,
        doing,
        source,
    }
}

/// Opens the store, reads what the last daemon left, and begins a run.
pub(crate) fn open_store(
    directory: &Path,
    gate: Box<dyn Gate>,
    clock: &dyn Clock,
    boot_id: &str,
) -> Result<(Store, Restored, Timeline), Fatal> {
    let mut store = Store::open(directory, gate)?;
    let restored = store.restore()?;
    let (timeline, anchor) = Timeline::begin(clock, boot_id, &restored);
    match store.begin_run(PROGRAM, &anchor) {
        // The live view is worth having on a full disk; marks are rejected until there is room.
        Err(error) if error.is_full() => tracing::error!(%error, "the store has no room"),
        begun => begun?,
    }
    Ok((store, restored, timeline))
}

/// The same on a runtime of one thread: a reading never changes threads on its way from the cable to a live view. Requests have
/// a thread of their own, and the store's writing another.
///
/// # Errors
/// As [`run`], and when the system gives no runtime.
pub fn run_blocking(parts: Parts, until: impl Future<Output = ()>) -> Result<(), Fatal> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .thread_keep_alive(HELPERS_KEPT)
        .build()
        .map_err(|error| Fatal::Fault(format!("no runtime: {error}")))?;
    let result = runtime.block_on(run(parts, until));
    runtime.shutdown_timeout(READERS_END);
    result
}
