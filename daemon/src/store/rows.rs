//! What is written into the store, in the words of the engine.

use metrology::dial::IndicatorCheck;
use metrology::setup::{IndicatorSide, LearnedPivot, Setup};
use metrology::uncertainty::Verdict;
use protocol::evidence::{Mark, Reading, Time};
use protocol::plan::Plan;
use protocol::record::{CableSettings, Event};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// A reading of the open step.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRow {
    /// The step's key.
    pub step: i64,
    /// The cable's name.
    pub cable: Arc<str>,
    /// The reading.
    pub reading: Reading,
}

/// A session as it is opened.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionRow {
    /// Its key, which the engine counts.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// When, on the timeline.
    pub opened: Time,
    /// When, by the system's clock.
    pub opened_utc: Time,
    /// Its set-up.
    pub setup: Setup,
    /// The cables as configured then.
    pub cables: Vec<CableSettings>,
}

/// A step as it is opened.
#[derive(Debug, Clone, PartialEq)]
pub struct StepRow {
    /// Its key, which the engine counts.
    pub id: i64,
    /// The session's key.
    pub session: i64,
    /// Its number within the session.
    pub number: u32,
    /// What it is for.
    pub plan: Plan,
    /// When.
    pub opened: Time,
}

/// What a step has taught about its fixture.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Learned {
    /// Where it turns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pivot: Option<LearnedPivot>,
    /// The changes of slope on tightening the clamp, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub clamp_shifts: Vec<f64>,
    /// Where the indicator stood that read them, if it was stated: on the other side the same turn reads the other way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<IndicatorSide>,
}

/// What the closed steps of a session found, for those after them.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Found {
    /// The half angle's error, arc-seconds, steeper positive, with its expanded uncertainty: of the last zero step or
    /// sweep that told it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_arcsec: Option<[f64; 2]>,
    /// The last check of an indicator that has no cable, and so no name that another session would know it by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check: Option<IndicatorCheck>,
    /// The last verdict.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
}

/// One change, beside readings.
#[derive(Debug, Clone, PartialEq)]
pub enum Row {
    /// A session is opened.
    Session(Box<SessionRow>),
    /// A session is closed.
    SessionClosed {
        /// Its key.
        id: i64,
        /// When, by the system's clock.
        closed_utc: Time,
    },
    /// The last verdict of a session, for the list of sessions.
    Verdict {
        /// The session's key.
        session: i64,
        /// The verdict.
        verdict: Option<Verdict>,
    },
    /// The cables of a session, with what they measure with.
    Cables {
        /// The session's key.
        session: i64,
        /// All of them.
        cables: Vec<CableSettings>,
    },
    /// What the closed steps of a session found.
    Found {
        /// The session's key.
        session: i64,
        /// All of it.
        found: Found,
    },
    /// An indicator was checked.
    Checked {
        /// Its cable's name.
        cable: String,
        /// The dial step's key.
        step: i64,
        /// What was found.
        check: IndicatorCheck,
    },
    /// The clamp of a session.
    Clamp {
        /// The session's key.
        session: i64,
        /// Whether it is tight.
        clamped: bool,
        /// How often clamp or part were changed.
        setting: u32,
    },
    /// The part was ground, or that was taken back.
    Ground {
        /// The step's key.
        step: i64,
        /// Every mark before which it was.
        before: Vec<u32>,
    },
    /// A step is opened.
    Step(Box<StepRow>),
    /// A step is closed.
    StepClosed {
        /// Its key.
        id: i64,
        /// When.
        closed: Time,
    },
    /// A mark is made.
    Mark {
        /// The step's key.
        step: i64,
        /// The mark.
        mark: Mark,
    },
    /// A mark is taken back.
    TakenBack {
        /// The step's key.
        step: i64,
        /// The mark's number.
        number: u32,
    },
    /// Something happened.
    Event {
        /// The session's key.
        session: i64,
        /// What.
        event: Event,
    },
    /// What the step teaches about its fixture, in place of what it taught before.
    Learned {
        /// The fixture's name.
        fixture: String,
        /// The step's key.
        step: i64,
        /// What; nothing when all of it was taken back.
        what: Option<Learned>,
    },
}

/// One transaction: all of it is on the disk, or nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Write {
    /// Readings; one that is stored already is left as it is.
    pub readings: Vec<ReadingRow>,
    /// Changes.
    pub rows: Vec<Row>,
}
