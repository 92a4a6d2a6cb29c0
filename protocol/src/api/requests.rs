//! What clients ask, and the replies that are not the status.

use crate::evidence::{MarkValue, Time};
use crate::fold::Outcome;
use crate::plan::{Plan, StepKind};
use metrology::setup::Setup;
use metrology::uncertainty::Verdict;
use metrology::zero::Capability;
use serde::{Deserialize, Serialize};

/// The options of `session open` and `analyse`, as the user wrote them. The daemon resolves them against its
/// configuration; a bare length is in millimetres.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct SetupOptions {
    /// A taper by name, ratio, angle or the user's own name.
    pub taper: Option<String>,
    /// The length over which an error is worth something on the part.
    pub length: Option<String>,
    /// What is allowed: `AT4`, `5arcsec`, `2um`, `1um/60mm`.
    pub tolerance: Option<String>,
    /// A bar by the user's own name, or its centre distance.
    pub bar: Option<String>,
    /// `sine`, `hinged` or `tangent`.
    pub bar_kind: Option<String>,
    /// The constant that the stack must have added.
    pub bar_constant: Option<String>,
    /// A kit by name.
    pub kit: Option<String>,
    /// Distance between stations A and B.
    pub span: Option<String>,
    /// Further stations, each `NAME=POSITION`.
    pub stations: Vec<String>,
    /// The order of one round: `ABA`, or names with blanks between.
    pub pass: Option<String>,
    /// A fixture by name; a new name starts a new one.
    pub fixture: Option<String>,
    /// Where the set-up turns, when it is known.
    pub pivot: Option<String>,
    /// Which station is nearer the big end: `A` or `B`.
    pub big_end: Option<String>,
    /// `wheel` or `opposite`.
    pub indicator_side: Option<String>,
    /// The cable of the indicator; the first configured unless stated.
    pub cable: Option<String>,
    /// One step of the indicator's display.
    pub resolution: Option<String>,
    /// The indicator's largest error, to either side.
    pub indicator_error: Option<String>,
    /// Standard deviation of a single reading that is come to anew.
    pub repeatability: Option<String>,
    /// One division, for readings in divisions.
    pub division: Option<String>,
    /// Peak-to-valley straightness of the travel.
    pub straightness: Option<String>,
    /// Largest error of a station's place, to either side.
    pub station_error: Option<String>,
    /// The band within which a dwell counts as settled.
    pub settle_band: Option<String>,
}

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

/// The options of `step KIND` and `analyse KIND`, as the user wrote them. Which belong to which kind, and what they may
/// be, the configuration's resolver knows; a bare length is in millimetres.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct StepOptions {
    /// The cable that gives this step's readings; the session's indicator unless stated.
    pub cable: Option<String>,
    /// `found` or `left`.
    pub condition: Option<String>,
    /// Zero: `angle` or `level`.
    pub about: Option<String>,
    /// Zero about level: the wheel's diameter.
    pub wheel_diameter: Option<String>,
    /// Zero about level: the part's diameter where it is ground; the taper's gauge diameter unless stated.
    pub part_diameter: Option<String>,
    /// Zero about level: how far the axis lies above the wheel's centre at A; 0 unless stated.
    pub height: Option<String>,
    /// Sweep: where positions come from: `stations`, `cable` or `feed`.
    pub positions: Option<String>,
    /// Sweep: the cable that reports the table's position.
    pub position_cable: Option<String>,
    /// Sweep: cut-off of the profile filter, a length. Run-out: undulations per turn.
    pub filter: Option<String>,
    /// Sweep, run-out: leave flagged outliers out.
    pub reject_outliers: bool,
    /// Sweep: what the slope judges, `setup` or `part`.
    pub subject: Option<String>,
    /// Run-out: where angles come from: `clock`, `turns` or `steady`.
    pub angles: Option<String>,
    /// Run-out: positions of the clock in a turn.
    pub per_turn: Option<String>,
    /// Run-out: planes across the axis. Size: planes of the diameters.
    pub planes: Vec<String>,
    /// Size: heights of the stacks that rollers lie on.
    pub stacks: Vec<String>,
    /// Run-out: part and spindle are told apart by a second set-up with the part turned.
    pub reversal: bool,
    /// Run-out: the indicator stands square to the cone's surface.
    pub square_to_cone: bool,
    /// Run-out: the part's radius there.
    pub radius: Option<String>,
    /// Run-out: the highest harmonic told.
    pub harmonics: Option<String>,
    /// Run-out: what it may be.
    pub limit: Option<String>,
    /// Run-out: planes at which the run-out of the axis is wanted.
    pub at_planes: Vec<String>,
    /// Size: `sections`, `stand-off`, `rollers` or `balls`.
    pub by: Option<String>,
    /// Size: diameter of the rollers.
    pub rollers: Option<String>,
    /// Size: diameter of the big ball.
    pub big_ball: Option<String>,
    /// Size: diameter of the small ball.
    pub small_ball: Option<String>,
    /// Size, contact: the cone is a bore.
    pub bore: bool,
    /// Size: the infeed told, `axis` or `cone`.
    pub infeed: Option<String>,
    /// Size: standard uncertainty of a measured length.
    pub diameter_u: Option<String>,
    /// Size: standard uncertainty of a plane's place.
    pub plane_u: Option<String>,
    /// Size: the part's temperature, degrees Celsius.
    pub temperature: Option<String>,
    /// Size: the instrument's, 20 unless stated.
    pub instrument_temperature: Option<String>,
    /// Size: standard uncertainty of their difference, kelvin.
    pub temperature_u: Option<String>,
    /// Size: linear expansion, µm per metre and kelvin; steel's 11.5 unless stated.
    pub expansion: Option<String>,
    /// Size: infeed of one pass.
    pub pass_depth: Option<String>,
    /// Size: infeed that is left for finishing.
    pub allowance: Option<String>,
    /// Contact: thickness of the film of dye, one length or two.
    pub film: Option<String>,
    /// Dial: the known steps.
    pub nominals: Vec<String>,
    /// Dial: make a correction that later steps apply.
    pub correct: bool,
}

/// Opens a step of the current session.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenStep {
    /// Its kind.
    pub kind: StepKind,
    /// What is stated about it.
    #[serde(flatten)]
    pub options: StepOptions,
}

impl From<StepKind> for OpenStep {
    /// With the usual options.
    fn from(kind: StepKind) -> Self {
        Self {
            kind,
            options: StepOptions::default(),
        }
    }
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
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Undone {
    /// Its number.
    pub number: u32,
    /// Its station.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
    /// Where or what it was about, in words.
    #[serde(default)]
    pub place: String,
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
