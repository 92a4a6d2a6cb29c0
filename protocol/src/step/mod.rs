//! The kinds of step. Each is one module: its plan, what its marks are about and which is next, what its arithmetic takes
//! from the evidence, its outcome, and what it teaches the steps after it. Everybody else asks [`Step`] through [`Work`],
//! [`StepKind`] or [`Outcome`] and does not tell one kind from another.

/// A kind's options have [`CommonOptions`] among them.
macro_rules! with_common_options {
    ($Options:ty, $Analysis:ty, usual: $usual:expr, limits: $limits:expr) => {
        impl $crate::step::Options for $Options {
            const USUAL: &'static [&'static str] = &$usual;
            const LIMITS: &'static [(&'static str, [f64; 2])] = &$limits;

            type Analysis = $Analysis;

            fn of_analysis(analysis: $Analysis) -> Self {
                Self {
                    analysis,
                    ..Self::default()
                }
            }

            fn state(&self) -> &$crate::step::PartState {
                &self.common.state
            }

            fn cable(&self) -> Option<&str> {
                self.common.cable.as_deref()
            }
        }
    };
}

mod common;
mod cone;
mod contact;
mod dial;
mod error;
mod form;
mod kind;
#[cfg(test)]
mod naming;
mod options;
mod outcome;
mod runout;
mod size;
mod stretches;
mod sweep;
mod told;
mod used;
mod work;
mod zero;

pub use common::{CommonOptions, PartState};
pub use cone::ConeFound;
pub use contact::{ContactAnalysis, ContactOptions, ContactPlan};
pub use dial::{DialAnalysis, DialOptions, DialPlan};
pub use error::NoOutcome;
pub use form::{Field, Takes};
pub use kind::{OfKind, Outcome, Refused, StepKind, StepOptions, Work};
pub use options::only_for;
pub use runout::{AnglesFrom, RunoutAnalysis, RunoutInputs, RunoutOptions, RunoutPlan, Turning};
pub use size::{SizeAnalysis, SizeBy, SizeOptions, SizePlan};
pub use sweep::{SweepAnalysis, SweepInputs, SweepOptions, SweepPlan};
pub use told::{Asked, Next, Recorded, Said, Subject, Taught};
pub use zero::{About, ZeroAnalysis, ZeroOptions, ZeroPlan};

use crate::api::Refusal;
use crate::evidence::{Evidence, Mark, Place};
use clap::Args;
use metrology::setup::Setup;
use metrology::zero::Moved;
use metrology::{Angle, Length};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// The plan of one kind of step, and all that is particular to that kind.
pub trait Step: Default + DeserializeOwned + Into<Work> {
    /// Which kind it is.
    const KIND: StepKind;
    /// Its name in commands and files.
    const NAME: &'static str;
    /// Its name in prose.
    const WORD: &'static str = Self::NAME;
    /// What its outcome is about.
    const SUBJECT: Subject = Subject::Part;
    /// What it is for, in half a line.
    const PURPOSE: &'static str;
    /// What it does, as the list of its command's kinds says it.
    const HELP: &'static str;
    /// Examples of its command, and how it is marked, for the end of its help.
    const EXAMPLES: &'static str;
    /// Where it is marked, for a message: "this step is marked ...".
    const MARKED: &'static str;
    /// What to mark where only the user can say what the mark is about, with the command.
    const HOW_TO_MARK: &'static str;
    /// Whether the user judges by eye: its marks have no readings.
    const BY_EYE: bool = false;
    /// What the user is asked for where it is judged by eye, with an example.
    const JUDGED: &'static str = "";
    /// Whether each of its inputs brings the display's step with it.
    const INPUTS_TELL_RESOLUTION: bool = false;
    /// No reading that is taken in it lies further than this to either side; what does is a slip of the unit.
    const FARTHEST_READING: Length = Length::from_um(1_000_000);
    /// What the machinist does in it, as a line of a check list.
    const TASK: &'static str;
    /// The work that it is, for the cautions that belong to it.
    const OCCASIONS: &'static [Occasion];

    /// Its options, as the user writes them.
    type Options: Options;
    /// What its arithmetic takes.
    type Inputs;
    /// What it computes.
    type Outcome: OfKind;

    /// What it is for, to stand behind its name; empty where that is the usual.
    fn qualifier(&self) -> &'static str {
        ""
    }

    /// What is recorded, where every reading of a stretch of time counts and not dwells at marks.
    fn recorded(&self) -> Option<Recorded<'_>> {
        None
    }

    /// Whether a mark of it may name an angle.
    fn takes_angles(&self) -> bool {
        false
    }

    /// What a pass begins with; none when only the user can say.
    fn first(&self, setup: &Setup) -> Option<Place>;

    /// The mark after `last`, the last of those that are `counting`; none when the pass is complete with it.
    fn next(&self, setup: &Setup, counting: &[&Mark], last: &Mark) -> Option<Next>;

    /// The place that the user named.
    ///
    /// # Errors
    /// What cannot be read or does not belong to the step, and what to write.
    fn named(&self, asked: &Asked<'_>) -> Result<Place, Refusal>;

    /// What to do for the mark at `next`.
    fn instruction(&self, next: &str) -> String;

    /// What to write when a mark needs a place and none follows from the plan.
    fn place_wanted(&self) -> Refusal;

    /// What the evidence gives.
    ///
    /// # Errors
    /// A mark that does not fit the step, or whose readings are missing; nothing marked yet.
    fn inputs(&self, evidence: &Evidence) -> Result<Self::Inputs, NoOutcome>;

    /// One step of the display, as the evidence tells it. `cable` is the indicator's.
    fn resolution(&self, evidence: &Evidence, cable: Option<&str>) -> Option<Length> {
        evidence.coarsest(cable)
    }

    /// What the inputs come to.
    ///
    /// # Errors
    /// What cannot be used.
    fn compute(&self, setup: &Setup, inputs: &Self::Inputs) -> Result<Self::Outcome, Refused>;

    /// Adds what the states of the part before its last one tell.
    fn look_back(&self, _setup: &Setup, _evidence: &Evidence, _outcome: &mut Self::Outcome) {}

    /// What the last mark shows, when the set-up was moved before it within its round: it opens the next one.
    fn moved(&self, _setup: &Setup, _evidence: &Evidence) -> Option<Moved> {
        None
    }

    /// What an outcome says, as those of every kind do.
    fn said(outcome: &Self::Outcome) -> Said<'_>;

    /// Its remarks, to be added to.
    fn remarks_mut(outcome: &mut Self::Outcome) -> &mut Vec<String>;

    /// The half angle's error that it found, arc-seconds, steeper positive, with its expanded uncertainty.
    fn half_angle_found(_outcome: &Self::Outcome) -> Option<[f64; 2]> {
        None
    }

    /// The half angle of the part as it was measured, with its expanded uncertainty in arc-seconds.
    fn half_angle_measured(outcome: &Self::Outcome, setup: &Setup) -> Option<(Angle, f64)> {
        let [error, expanded] = Self::half_angle_found(outcome)?;
        let wanted = setup.taper.as_ref()?.half_angle;
        Some((wanted + Angle::from_arcsec(error), expanded))
    }

    /// What an outcome tells of the part's own cone; none where it is of something else.
    fn cone_found(&self, _setup: &Setup, _outcome: &Self::Outcome) -> Option<ConeFound> {
        None
    }

    /// What an outcome teaches the steps after it: the half angle that it found, and of some kinds more.
    fn teaches(&self, outcome: &Self::Outcome) -> Taught {
        Taught {
            half_angle_arcsec: Self::half_angle_found(outcome),
            ..Taught::default()
        }
    }

    /// Takes over what steps before it taught, where its own options do not say it. The half angle's error is in
    /// arc-seconds, with its expanded uncertainty.
    fn learn_half_angle(&mut self, _found_arcsec: Option<[f64; 2]>) {}
}

/// The options of one kind of step.
pub trait Options: Args + Default + Serialize + DeserializeOwned + Into<StepOptions> {
    /// Those that a form asks for first, by the names of their fields.
    const USUAL: &'static [&'static str];
    /// The least and the most of each number that has both, by the name of its field.
    const LIMITS: &'static [(&'static str, [f64; 2])] = &[];

    /// Those of them that `analyse` takes as well: what the step computes.
    type Analysis: Args;

    /// The options of a step that is not marked but read from a table.
    fn of_analysis(analysis: Self::Analysis) -> Self;

    /// In which state the part is.
    fn state(&self) -> &PartState;

    /// The cable that gives the step's readings, where one is stated.
    fn cable(&self) -> Option<&str>;
}

/// The work that a caution belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Occasion {
    /// Any work at the machine.
    Always,
    /// Zeroing: the set-up is tapped.
    Zero,
    /// Grinding, and choosing a wheel's speed.
    Grind,
    /// Measuring a size.
    Measure,
    /// Checking contact with marking dye.
    Contact,
    /// Turning the part against an indicator.
    RunOut,
}

/// The one list of the kinds, in the order of the work: what each is for, its name, its plan, its options, and of its arithmetic
/// the outcome and the error. It hands the list to a macro, behind what that macro is given besides.
#[doc(hidden)]
#[macro_export]
macro_rules! kinds {
    ([$($make:tt)+] $($with:tt)*) => {
        $($make)+! {
            $($with)*
            /// The reference edge is made to lie along the travel, or the axis level.
            Zero: ZeroPlan, ZeroOptions, zero::{ZeroOutcome, ZeroError};
            /// A cone or an edge is swept: its line, and how straight it is.
            Sweep: SweepPlan, SweepOptions, sweep::{SweepOutcome, SweepError};
            /// Readings round a turn.
            Runout: RunoutPlan, RunoutOptions, runout::{RunoutOutcome, RunoutError};
            /// What is left to grind.
            Size: SizePlan, SizeOptions, size::{SizeOutcome, SizeError};
            /// A print of marking dye is judged.
            Contact: ContactPlan, ContactOptions, contact::{ContactOutcome, ContactError};
            /// The indicator itself is checked on gauge blocks.
            Dial: DialPlan, DialOptions, dial::{DialOutcome, DialError};
        }
    };
}

/// The one place where kinds of step are told apart: it does the same for each, with `$Step` as the type of its plan. `$of` is
/// a value of `$Enum`, which has a variant for each kind; `$held` is what the variant holds.
///
/// ```
/// use conewright_protocol::for_kind;
/// use conewright_protocol::step::{Step, StepKind};
/// assert_eq!(for_kind!(StepKind::Runout, StepKind => S, S::WORD), "run-out");
/// ```
#[macro_export]
macro_rules! for_kind {
    ($of:expr, $Enum:ident => $Step:ident, $do:expr) => {
        $crate::kinds!([$crate::for_kind] @ $of, $Enum { .. } => $Step, $do;)
    };
    ($of:expr, $Enum:ident($held:pat) => $Step:ident, $do:expr) => {
        $crate::kinds!([$crate::for_kind] @ $of, $Enum($held) => $Step, $do;)
    };
    (@ $of:tt, $Enum:ident $held:tt => $Step:ident, $do:tt;
        $($(#[$doc:meta])* $Kind:ident: $Plan:ident, $Options:ident, $arithmetic:ident::$made:tt;)*
    ) => {
        match $of {
            $($Enum::$Kind $held => {{
                type $Step = $crate::step::$Plan;
                $do
            }})*
        }
    };
}
