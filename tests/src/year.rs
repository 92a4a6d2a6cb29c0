//! A year of use, written into a store by the store's own code: many sessions, one of them large.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]
#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use daemon::store::{
    Anchor, Learned, NoFault, ReadingRow, Row, SessionRow, StepRow, Store, StoreError, Write,
};
use metrology::Length;
use metrology::setup::{LearnedPivot, Setup, Station};
use protocol::api::SetupOptions;
use protocol::evidence::{Mark, MarkSource, Place, Reading, Time};
use protocol::fold::{StepKind, outcome};
use protocol::plan::Plan;
use protocol::record::{Event, EventKind};
use std::path::Path;
use std::sync::Arc;

const S: i64 = 1_000_000_000;
const DAY: i64 = 86_400 * S;
/// Between two readings: a hundred a second, as a fast cable streams.
const APART: i64 = S / 100;
/// Rounds of a step, each A, B and A again.
const ROUNDS: u32 = 3;
/// Readings that a mark is made of.
const DWELL: usize = 25;
/// Readings of one transaction; the daemon's own are smaller.
const GROUP: usize = 20_000;

/// How much.
#[derive(Debug, Clone, Copy)]
pub struct Year {
    /// Sessions, the large one among them.
    pub sessions: usize,
    /// Readings in all.
    pub readings: usize,
    /// Readings of the large session, which is the one in the middle.
    pub large: usize,
}

impl Year {
    /// The number of the large session.
    #[must_use]
    pub fn large_session(self) -> i64 {
        i64::try_from(self.sessions / 2).unwrap() + 1
    }

    /// Writes the year into the store of a data directory, so that it ended at `now` (UTC, ns). All its sessions are closed.
    ///
    /// # Errors
    /// The store's own.
    ///
    /// # Panics
    /// When the sessions would lie over each other.
    pub fn write(self, directory: &Path, now: i64) -> Result<(), StoreError> {
        let mut store = Store::open(directory, Box::new(NoFault))?;
        let setup = setup();
        let each = (self.readings - self.large) / (self.sessions - 1).max(1);
        let between = 365 * DAY / i64::try_from(self.sessions).unwrap();
        assert!(between > APART * i64::try_from(self.large.max(each)).unwrap());
        for n in 0..self.sessions {
            let begin = now - 366 * DAY + between * i64::try_from(n).unwrap();
            store.begin_run("0.0.0", &anchor(begin))?;
            let id = i64::try_from(n).unwrap() + 1;
            let large = id == self.large_session();
            let readings = if large { self.large } else { each };
            let end = session(&mut store, &setup, id, begin, readings)?;
            store.end_run(end)?;
        }
        store.close()
    }
}

pub(crate) fn setup() -> Setup {
    let options = SetupOptions {
        taper: Some("1:12".to_owned()),
        length: Some("80".to_owned()),
        tolerance: Some("AT4".to_owned()),
        span: Some("80".to_owned()),
        ..SetupOptions::default()
    };
    config::resolve(&config::Config::default(), &options).unwrap()
}

pub(crate) fn anchor(begin: i64) -> Anchor {
    Anchor {
        boot_id: format!("start {begin}"),
        steady_ns: S,
        utc_ns: begin,
        t: Time(begin),
    }
}

/// The rows that open a session and its one step.
pub(crate) fn opening(setup: &Setup, id: i64, begin: i64) -> Write {
    let rows = vec![
        Row::Session(Box::new(SessionRow {
            id,
            name: format!("spindle seat {id}"),
            opened: Time(begin),
            opened_utc: Time(begin),
            setup: setup.clone(),
            cables: Vec::new(),
        })),
        Row::Step(Box::new(StepRow {
            id,
            session: id,
            number: 1,
            plan: Plan::usual(StepKind::Zero),
            opened: Time(begin),
        })),
    ];
    Write {
        rows,
        ..Write::default()
    }
}

/// One session with one step: readings all the time, marks evenly in them. Returns when it ended.
fn session(
    store: &mut Store,
    setup: &Setup,
    id: i64,
    begin: i64,
    readings: usize,
) -> Result<Time, StoreError> {
    store.write(&opening(setup, id, begin))?;
    let cable: Arc<str> = "bench".into();
    let marks = usize::try_from(ROUNDS).unwrap() * 3;
    let stretch = (readings / marks).max(1);
    let mut evidence = protocol::evidence::Evidence::default();
    let mut group = Vec::with_capacity(GROUP);
    for n in 0..readings {
        let place = (n / stretch).min(marks - 1);
        let reading = reading(n, begin, place);
        group.push(ReadingRow {
            step: id,
            cable: Arc::clone(&cable),
            reading,
        });
        let mut rows = Vec::new();
        if (n + 1) % stretch == 0 && n / stretch < marks {
            let used = n + 1 - DWELL.min(stretch)..n + 1;
            let kept = evidence.readings.entry(cable.to_string()).or_default();
            kept.extend(used.clone().map(|n| self::reading(n, begin, place)));
            let mark = mark(place, &cable, used, reading.t);
            evidence.marks.push(mark.clone());
            rows.push(Row::Mark { step: id, mark });
        }
        if group.len() == GROUP || !rows.is_empty() || n + 1 == readings {
            let readings = std::mem::replace(&mut group, Vec::with_capacity(GROUP));
            store.write(&Write { readings, rows })?;
        }
    }
    let end = Time(begin + APART * i64::try_from(readings).unwrap() + S);
    let computed = outcome(&Plan::usual(StepKind::Zero), setup, &evidence).unwrap();
    let event = |what, text: &str| Row::Event {
        session: id,
        event: Event {
            t: end,
            utc_ns: end,
            what,
            text: text.to_owned(),
        },
    };
    let rows = vec![
        event(EventKind::Note, "wheel dressed"),
        event(EventKind::Gap, "no readings for 60.0 s: the computer slept"),
        Row::Learned {
            fixture: format!("fixture {}", id % 5),
            step: id,
            what: Some(Learned {
                side: None,
                pivot: Some(LearnedPivot {
                    position_mm: -12.0,
                    u_mm: 2.0,
                }),
                clamp_shifts: vec![1e-5],
            }),
        },
        Row::StepClosed { id, closed: end },
        Row::Verdict {
            session: id,
            verdict: computed.verdict(),
        },
        Row::SessionClosed {
            id,
            closed_utc: end,
        },
    ];
    store.write(&Write {
        rows,
        ..Write::default()
    })?;
    Ok(end)
}

/// Micrometres at a station and a little noise that is the same every time.
pub(crate) fn reading(n: usize, begin: i64, place: usize) -> Reading {
    let noise = i64::try_from(n.wrapping_mul(2_654_435_761) >> 16 & 1).unwrap();
    let at_b = i64::from(place % 3 == 1) * (3 + i64::try_from(place / 3).unwrap());
    Reading {
        seq: n as u64 + 1,
        t: Time(begin + APART * i64::try_from(n).unwrap()),
        value: Length::from_um(120 + at_b + noise),
        resolution: Length::from_um(1),
    }
}

pub(crate) fn mark(place: usize, cable: &str, used: std::ops::Range<usize>, t: Time) -> Mark {
    let (name, position) = if place % 3 == 1 { ("B", 80) } else { ("A", 0) };
    Mark {
        number: u32::try_from(place).unwrap() + 1,
        t,
        place: Place::Station(Station {
            name: name.to_owned(),
            position: Length::from_um(position * 1_000),
        }),
        round: u32::try_from(place / 3).unwrap() + 1,
        clamped: false,
        setting: 0,
        source: MarkSource::Dwell {
            cable: cable.to_owned(),
            first_seq: used.start as u64 + 1,
            last_seq: used.end as u64,
        },
        taken_back: false,
    }
}
