//! What clients ask, and the replies that are not the status.

use super::SetupOptions;
use crate::evidence::{MarkValue, Place, Time};
use crate::fold::Outcome;
use crate::plan::{Plan, StepKind};
use metrology::setup::Setup;
use metrology::uncertainty::Verdict;
use metrology::zero::Capability;
use serde::{Deserialize, Serialize};

/// Opens a session.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenSession {
    /// The part's name.
    pub name: String,
    /// What is stated about it.
    #[serde(flatten)]
    pub options: SetupOptions,
}

/// A session was opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionOpened {
    /// Its number.
    pub session: i64,
    /// Its name.
    pub name: String,
    /// The resolved set-up with the plan: half angle, stack, what it really sets.
    pub setup: Setup,
    /// Whether it can prove its tolerance; absent where tolerance, span or display are not stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capability: Option<Capability>,
}

/// Which sessions are listed, as the query of the request: every one that meets all that is stated.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct SessionFilter {
    /// The part's name contains this, capitals or not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The taper's name is this, capitals or not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taper: Option<String>,
    /// The fixture's name is this, capitals or not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fixture: Option<String>,
    /// Opened at this moment or later, UTC, ns.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub since: Option<i64>,
    /// Opened at this moment or earlier, UTC, ns.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub until: Option<i64>,
    /// The last verdict is this.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
}

/// One line of the list of sessions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionLine {
    /// Its number.
    pub session: i64,
    /// Its name.
    pub name: String,
    /// When it was opened.
    pub opened_utc_ns: Time,
    /// When it was closed; absent while open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closed_utc_ns: Option<Time>,
    /// Its taper's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taper: Option<String>,
    /// Its fixture's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixture: Option<String>,
    /// How many steps.
    pub steps: u32,
    /// Of which kinds, each once, in the order in which they were first taken.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub kinds: Vec<StepKind>,
    /// The last verdict.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
}

/// The sessions, newest first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionList {
    /// One line each.
    pub sessions: Vec<SessionLine>,
}

/// A step was opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepOpened {
    /// What it is for, its kind first.
    #[serde(flatten)]
    pub plan: Plan,
    /// Its number within the session.
    pub number: u32,
}

/// Accepts what a cable's readings come from now.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct AcceptRequest {
    /// The cable's name; the indicator's unless stated.
    pub cable: Option<String>,
}

/// What a cable's readings come from was accepted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Accepted {
    /// The cable.
    pub cable: String,
    /// The instrument, as far as a USB adapter says it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// Whether the next mark begins a new round, because a step has marks from before.
    pub new_round: bool,
}

/// Marks.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct MarkRequest {
    /// Where: a station's name or a distance from A; in run-out an angle or an hour of the clock (`4h`), in size a plane or
    /// the height of stacks, in dial a known step, in contact three percentages (`90,40,0`). The next unless stated.
    pub station: Option<String>,
    /// A typed reading: a length or divisions.
    pub value: Option<String>,
    /// The part's angle, in run-out.
    pub angle: Option<String>,
    /// Begins a new round even when the last one is not complete.
    pub new_round: bool,
    /// While the readings move, the mark waits for rest for so long, s: 5 unless stated, at most 20; 0 refuses it at once. The
    /// answer comes when it was made or refused.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wait_s: Option<u32>,
}

/// A mark was made, and is on the disk.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Marked {
    /// Its number within the step.
    pub number: u32,
    /// The station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
    /// Where or what it is about, in words.
    #[serde(default)]
    pub place: String,
    /// The same as it is stored, so that it can be told in another unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Place>,
    /// Its round.
    pub round: u32,
    /// Its value; absent for a moment or a print.
    #[serde(flatten)]
    pub value: Option<MarkValue>,
    /// What the user should know of it, in a sentence.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// A mark was taken back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Undone {
    /// Its number.
    pub number: u32,
    /// Its station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
    /// Where or what it was about, in words.
    #[serde(default)]
    pub place: String,
    /// The same as it is stored.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Place>,
}

/// A session was closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SessionClosed {
    /// Its number.
    pub session: i64,
    /// Its name.
    pub name: String,
}

/// A step was closed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepClosed {
    /// Its kind.
    pub kind: StepKind,
    /// Its number within the session.
    pub number: u32,
    /// What it came to, when there was enough to compute it from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Outcome>,
}

/// Done, and there is nothing more to say.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Done {}

/// The clamp was tightened, or loosened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClampRequest {
    /// Whether it is tight now.
    pub tight: bool,
}

/// The part was ground: what is marked from now on is of a new state of it. Where the rounds disagree and nobody has said so
/// yet, it is of the change between them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct GroundRequest {
    /// It was not: what was said last is taken back.
    #[serde(default)]
    pub not: bool,
}

/// What was noted of the grinding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ground {
    /// The mark before which it was, or was not.
    pub before_mark: u32,
    /// Whether that mark is still to be made.
    pub next: bool,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NoteRequest {
    /// The user's words, at most 2 000 characters.
    pub text: String,
}
