//! What the engine holds.

use super::double_press::DoublePress;
use super::feed::Feed;
use super::handle::Handle;
use super::looks::{Looks, Nudge};
use super::pedal::{PedalService, ServePedal};
use super::request::{Change, Query};
use super::room::{FreeRoom, Room};
use super::roster::{Roster, Serve};
use super::session::Session;
use super::waiting_mark::WaitingMark;
use super::write_queue::WriteQueue;
use crate::cable::CableEvent;
use crate::clock::Clock;
use crate::reload::ConfigSource;
use crate::store::{Learned, Lost, Restored, Writer};
use crate::timeline::{ClockWatch, Timeline};
use config::Config;
use metrology::dial::IndicatorCheck;
use protocol::evidence::{Reading, Time};
use protocol::record::CableSettings;
use std::collections::{BTreeMap, VecDeque};
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::{Notify, mpsc};
use tokio::time::Instant;

/// Events of cables that may wait. Only a flood fills it, and then the cables wait.
const CABLE_EVENTS: usize = 1_024;
/// Requests that may wait for the engine.
const REQUESTS: usize = 64;

/// What has just happened. The clients show it for a while.
pub(super) struct Notice {
    /// Counts them, so that a commit takes away only one that was there before it began.
    pub number: u64,
    pub words: String,
    pub until: Instant,
}

/// What the engine is made of.
pub(crate) struct EngineParts {
    pub config: Config,
    pub source: ConfigSource,
    pub config_file: Option<PathBuf>,
    pub serve: Serve,
    pub serve_pedal: ServePedal,
    pub clock: Arc<dyn Clock>,
    pub timeline: Timeline,
    pub restored: Restored,
    pub writer: Writer,
    /// Told when something may have changed that the engine looks at.
    pub nudge: Arc<Notify>,
    pub directory: PathBuf,
    pub free_room: FreeRoom,
}

pub(crate) struct Engine {
    pub(super) config: Config,
    pub(super) source: ConfigSource,
    pub(super) config_file: Option<PathBuf>,
    pub(super) config_trouble: Option<String>,
    pub(super) clock: Arc<dyn Clock>,
    pub(super) timeline: Timeline,
    pub(super) clock_watch: ClockWatch,
    pub(super) roster: Roster,
    pub(super) pedal: PedalService,
    pub(super) session: Option<Session>,
    /// The cables as configured when the session was opened, and what they measure with.
    pub(super) cables_at_opening: Vec<CableSettings>,
    /// The moment after the last mark. A reading that was taken before it and arrives after it counts as one after it: else it
    /// would be added to what the mark has ended, and the record would differ from the live results.
    pub(super) not_before: Time,
    pub(super) learned: BTreeMap<String, BTreeMap<i64, Learned>>,
    /// The last check of each indicator, by its cable's name.
    pub(super) checked: BTreeMap<String, IndicatorCheck>,
    pub(super) next_session: i64,
    pub(super) next_step: i64,
    /// Presses that have to become marks, with their cable's name.
    pub(super) presses: VecDeque<(Arc<str>, Reading)>,
    pub(super) last_press: Option<(Arc<str>, Reading)>,
    /// The press that the user is asked about.
    pub(super) double_press: Option<DoublePress>,
    /// The mark that waits until the reading rests.
    pub(super) waiting: Option<WaitingMark>,
    pub(super) notice: Option<Notice>,
    /// How many notices there were so far, and how many when the change under way was sent.
    pub(super) notices: (u64, u64),
    /// Something changed that is shown with the next snapshot, or at the next look.
    pub(super) unshown: bool,
    /// Whether the clients know that the store refuses.
    pub(super) store_refuses: bool,
    /// What a damaged log has lost, in words, until the user has settled it.
    pub(super) lost: Option<String>,
    pub(super) room: Room,
    pub(super) looks: Looks,
    pub(super) nudge: Arc<Notify>,
    pub(super) writes: WriteQueue,
    pub(super) feed: Feed,
    pub(super) cable_events: mpsc::Receiver<CableEvent>,
    pub(super) changes: mpsc::Receiver<Change>,
    pub(super) queries: mpsc::Receiver<Query>,
}

impl Engine {
    /// The engine, and the way to ask it. Its cables are served from now on.
    pub fn new(parts: EngineParts) -> (Self, Handle) {
        let (event_to, cable_events) = mpsc::channel(CABLE_EVENTS);
        let (change_to, changes) = mpsc::channel(REQUESTS);
        let (query_to, queries) = mpsc::channel(REQUESTS);
        let Restored {
            last,
            run,
            next_session,
            next_step,
            learned,
            checked,
            open,
            lost,
        } = parts.restored;
        let open_step = open.as_ref().and_then(|open| open.step.as_ref());
        let next_seqs = open_step
            .iter()
            .flat_map(|step| &step.last_seq)
            .map(|(name, last)| (name.clone(), last + 1))
            .collect();
        let failed = Nudge(Arc::clone(&parts.nudge));
        let clock = Arc::clone(&parts.clock);
        let mut roster = Roster::new(parts.serve, clock, event_to, next_seqs, failed.clone());
        roster.configure(&parts.config.cables);
        let cables_at_opening = open.as_ref().map(|open| open.cables.clone());
        let cables_at_opening = cables_at_opening.unwrap_or_default();
        for settings in &cables_at_opening {
            roster.expect(&settings.name, settings.instrument.clone());
        }
        let mut pedal = PedalService::new(parts.serve_pedal, Arc::clone(&parts.clock), failed);
        pedal.configure(parts.config.pedal.as_ref());
        let mut engine = Self {
            clock_watch: ClockWatch::begin(&*parts.clock),
            config: parts.config,
            source: parts.source,
            config_file: parts.config_file,
            config_trouble: None,
            timeline: parts.timeline,
            roster,
            pedal,
            session: open.map(Session::restored),
            cables_at_opening,
            not_before: Time(i64::MIN),
            learned,
            checked,
            next_session,
            next_step,
            presses: VecDeque::new(),
            last_press: None,
            double_press: None,
            waiting: None,
            notice: None,
            notices: (0, 0),
            unshown: false,
            store_refuses: false,
            lost: lost.first().map(Lost::words),
            room: Room::new(parts.directory, parts.free_room),
            looks: Looks::new(),
            nudge: parts.nudge,
            writes: WriteQueue::new(parts.writer),
            feed: Feed::new(),
            cable_events,
            changes,
            queries,
            clock: Arc::clone(&parts.clock),
        };
        if engine.session.is_some() {
            engine.note_restart(last, run.is_some_and(|run| run.ended.is_some()));
        }
        let handle = Handle::new(change_to, query_to, parts.clock);
        (engine, handle)
    }
}
