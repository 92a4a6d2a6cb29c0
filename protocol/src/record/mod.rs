//! The record: the document of a session, in which every number can be computed again from its readings.

mod pieces;
mod sign;
mod text;
mod thinned;
mod verify;

pub use pieces::{PieceError, Taker};
pub use sign::{
    KeyError, NameError, PublicKey, SecretKey, Signature, SignatureError, Signed, check_name,
};
pub use text::{ReadError, later, sign_end};
pub use thinned::Thinned;
pub use verify::{Difference, Verified, verify};

use crate::evidence::{Evidence, MarkLine, Time};
use crate::fold::Outcome;
use crate::plan::Plan;
use metrology::setup::Setup;
use serde::{Deserialize, Serialize};

/// The name by which a record knows itself.
pub const FORMAT: &str = "conewright-record";
/// The version written, and the newest that is read. Fields are added within a version, never changed.
pub const VERSION: u32 = 1;

/// The document of a session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// [`FORMAT`].
    pub format: String,
    /// [`VERSION`] at writing.
    pub version: u32,
    /// Version of the program that wrote it.
    pub program: String,
    /// The session.
    pub session: SessionInfo,
    /// Part, taper and set-up.
    pub setup: Setup,
    /// The cables and their settings, as configured.
    pub cables: Vec<CableSettings>,
    /// The steps in order.
    pub steps: Vec<StepRecord>,
    /// Notes, clamp, cables leaving and coming back, clock changes and gaps.
    pub events: Vec<Event>,
    /// What the program cautioned.
    pub cautions: Vec<String>,
    /// The seal: `sha256:` and 64 hex digits over everything above, without the white space between tokens.
    pub digest: String,
    /// Who vouches for the seal; absent unless asked for. It is not sealed itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signature: Option<Signature>,
}

/// Which session, and when.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionInfo {
    /// Its number in the data directory.
    pub id: i64,
    /// The name that the user gave: the part.
    pub name: String,
    /// When it was opened, UTC.
    pub opened_utc_ns: Time,
    /// When it was closed, UTC; absent while it is open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closed_utc_ns: Option<Time>,
}

/// A cable as configured: what is needed to understand its readings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CableSettings {
    /// Its name.
    pub name: String,
    /// Its port or USB identity.
    pub port: String,
    /// Speed and format: `9600 8N1`.
    pub settings: String,
    /// `streams`, `polled`, `press`.
    pub cadence: String,
    /// The frame's name.
    pub frame: String,
    /// What its readings came from, as far as a USB adapter says it; the last one that was accepted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// Anything else that was set, as `key = value`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub other: Vec<String>,
}

/// One step with its evidence and what was computed from it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepRecord {
    /// Its number within the session, from 1.
    pub number: u32,
    /// What it is for, its kind first.
    #[serde(flatten)]
    pub plan: Plan,
    /// When it was opened.
    #[serde(rename = "opened_t_ns")]
    pub opened: Time,
    /// When it was closed; absent while it is open.
    #[serde(
        rename = "closed_t_ns",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub closed: Option<Time>,
    /// What it was computed from.
    #[serde(flatten)]
    pub evidence: Evidence,
    /// The values of the marks that count, from their readings.
    #[serde(default)]
    pub values: Vec<MarkLine>,
    /// What was computed; absent when nothing could be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Outcome>,
    /// Why nothing could be computed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_outcome: Option<String>,
}

/// Something that happened in a session beside readings and marks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// When, on the daemon's timeline.
    #[serde(rename = "t_ns")]
    pub t: Time,
    /// When, by the system's clock; the difference to `t_ns` shows when that clock was set.
    pub utc_ns: Time,
    /// What.
    pub what: EventKind,
    /// In words.
    pub text: String,
}

/// The kinds of [`Event`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum EventKind {
    /// The user's words.
    Note,
    /// The clamp was tightened or loosened.
    Clamp,
    /// The part was ground, or it was not and that was taken back.
    Ground,
    /// A cable left or came back.
    Cable,
    /// The system's clock was set.
    Clock,
    /// No readings could arrive for a while: the computer slept or the daemon was not running.
    Gap,
    /// The daemon started or went on.
    Daemon,
}

/// The JSON schema of [`VERSION`], as it is published with the program.
pub const SCHEMA: &str = include_str!("../../schema/record-1.json");
