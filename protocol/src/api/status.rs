//! What is live: the status as a snapshot, and the events that follow it.

use crate::evidence::{MarkLine, Place, Time};
use crate::fold::Outcome;
use crate::plan::{Plan, StepKind};
use metrology::Length;
use metrology::setup::Setup;
use serde::{Deserialize, Serialize};

/// Whether a cable's value can be trusted to be current.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum CableState {
    /// A reading within the cable's declared cadence.
    Live,
    /// A press-to-send cable with nothing to say, or a cable just opened: no error.
    Quiet,
    /// A streaming or polled cable that stopped.
    Stale,
    /// No such device now; waiting for it.
    Gone,
    /// The port is held by another program.
    Busy,
    /// The port is not permitted.
    Denied,
}

/// One cable as it is now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CableStatus {
    /// Its name.
    pub name: String,
    /// Its state.
    pub state: CableState,
    /// Why it is not live, and what to do, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// What its readings come from, as far as a USB adapter says it: vendor, product and serial number, or the socket where
    /// it has no serial number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// What has taken its place under the same name. Its readings are not used until [`super::path::CABLE_ACCEPT`], and
    /// the state is denied.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub other_instrument: Option<String>,
    /// The last value; with a state that is not live it is old.
    #[serde(
        rename = "reading_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub reading: Option<Length>,
    /// One step of its display.
    #[serde(
        rename = "resolution_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub resolution: Option<Length>,
    /// Age of the last value, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age_s: Option<f64>,
    /// Readings received since the daemon started.
    pub readings: u64,
    /// Bytes that were part of no frame.
    pub skipped_bytes: u64,
    /// The last skipped bytes, escaped, when there were any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_skipped: Option<String>,
}

/// The pedal as it is now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PedalStatus {
    /// Which device it is, as the configuration names it.
    pub device: String,
    /// Its state: live when its keys are heard, else gone, busy or denied; quiet before it was looked for.
    pub state: CableState,
    /// Why it is not live, and what to do, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
}

/// The configuration that the daemon works with.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ConfigStatus {
    /// Its file, whether it is there or not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Why the file as it is now was rejected. What the daemon read before stays in use.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trouble: Option<String>,
}

/// Which session is current.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SessionLabel {
    /// Its number.
    pub id: i64,
    /// Its name.
    pub name: String,
}

/// Which step is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepLabel {
    /// Its kind.
    pub kind: StepKind,
    /// Its number within the session.
    pub number: u32,
}

/// What the readings of a stretch that is being recorded tell so far.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum SoFar {
    /// Of a sweep.
    Sweep {
        /// How many readings have a place.
        points: usize,
        /// Largest minus smallest reading.
        range_um: f64,
        /// Rise of the reading per length of travel, where places are known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        slope: Option<f64>,
        /// Signed sagitta of the quadratic part.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bow_um: Option<f64>,
    },
    /// Of a run-out.
    Runout {
        /// How many readings.
        points: usize,
        /// Total indicator reading.
        tir_um: f64,
        /// How many turns were marked.
        turns: u32,
    },
}

/// A press of an instrument's key that came too soon after the one before to be meant for sure. It is no mark until
/// the user says so; its reading is stored either way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DoublePress {
    /// The cable.
    pub cable: String,
    /// How many presses came, each within 0.3 s of the one before; the first of them is a mark.
    pub presses: u32,
    /// What the last of them read.
    #[serde(rename = "reading_mm")]
    pub reading: Length,
    /// One step of its display.
    #[serde(rename = "resolution_mm")]
    pub resolution: Length,
}

/// A mark that was asked for while the reading moved. It is made when the reading rests; [`super::path::LEAVE_PRESS`], another
/// mark, clamping and the end of the step drop it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WaitingMark {
    /// Where, when the request says so; else it is the next one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// It is refused when it has waited for this much longer, s.
    pub left_s: f64,
}

/// Everything that a screen needs; replaced as a whole whenever anything but a reading changes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Status {
    /// The current session.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub session: Option<SessionLabel>,
    /// The open step.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<StepLabel>,
    /// What the open step is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<Plan>,
    /// The cables, in the order of the configuration.
    pub cables: Vec<CableStatus>,
    /// The configuration; absent from a daemon that does not tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub config: Option<ConfigStatus>,
    /// The pedal, where one is configured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pedal: Option<PedalStatus>,
    /// The cable whose readings are marked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub indicator: Option<String>,
    /// The session's set-up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setup: Option<Setup>,
    /// The open step's outcome.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Outcome>,
    /// Why there is no outcome, when there are marks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_outcome: Option<String>,
    /// The open step's marks that count, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<MarkLine>,
    /// The station that the next mark is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_station: Option<String>,
    /// What the next mark is about, in words: a station, an angle, a plane, a beginning.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_mark: Option<String>,
    /// The same as it is going to be stored.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_place: Option<Place>,
    /// Whether every reading is being recorded, from a beginning that has no end yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub recording: bool,
    /// What the recorded readings tell so far.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub so_far: Option<SoFar>,
    /// The round that the next mark belongs to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_round: Option<u32>,
    /// A press that the user is asked about: a mark without a value makes it one, [`super::path::LEAVE_PRESS`] does
    /// not, and the next press, mark, clamping or end of the step leaves it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub double_press: Option<DoublePress>,
    /// A mark that waits until the reading rests.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub waiting: Option<WaitingMark>,
    /// Whether the clamp is tight.
    pub clamped: bool,
    /// Whether the part was ground, and nothing was marked since.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub ground: bool,
    /// Something that the user should know now: the store refuses, the clock was set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notice: Option<String>,
}

/// One reading as it arrived.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LiveReading {
    /// The cable.
    pub cable: String,
    /// Its count on that cable.
    pub seq: u64,
    /// When, on the daemon's timeline.
    #[serde(rename = "t_ns")]
    pub t: Time,
    /// The value.
    #[serde(rename = "value_mm")]
    pub value: Length,
    /// One step of the display.
    #[serde(rename = "resolution_mm")]
    pub resolution: Length,
    /// Whether a mark made now would be accepted.
    pub settled: bool,
    /// What the recorded readings tell so far, this one with them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub so_far: Option<SoFar>,
}

/// An event of the stream.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "lowercase")]
pub enum Live {
    /// The state of everything, at first and whenever anything but a reading changed.
    Snapshot(Box<Status>),
    /// A reading.
    Reading(LiveReading),
}
