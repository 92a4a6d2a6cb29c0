//! The enums that have a variant for each kind of step: the kind alone, with its options as the user wrote them, with its plan,
//! with its outcome, and with why its arithmetic refuses.

use crate::{for_kind, kinds};
use serde::{Deserialize, Serialize};

macro_rules! enums {
    ($(
        $(#[$doc:meta])*
        $Kind:ident: $Plan:ident, $Options:ident, $arithmetic:ident::{$Outcome:ident, $Error:ident};
    )*) => {
        /// The purposes that a step can have.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(rename_all = "lowercase")]
        pub enum StepKind {
            $($(#[$doc])* $Kind,)*
        }

        impl StepKind {
            /// Every kind, in the order of the work.
            pub const ALL: [Self; [$(Self::$Kind),*].len()] = [$(Self::$Kind),*];
        }

        /// Opens a step: its kind with its options as the user wrote them. A bare length is in millimetres.
        #[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
        #[serde(
            tag = "kind",
            rename_all = "lowercase",
            try_from = "serde_json::Map<String, serde_json::Value>"
        )]
        #[allow(
            clippy::large_enum_variant,
            reason = "one is held at a time, while a step is opened"
        )]
        pub enum StepOptions {
            $($(#[$doc])* $Kind(crate::step::$Options),)*
        }

        /// A kind of step with its plan.
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(
            tag = "kind",
            content = "options",
            rename_all = "lowercase",
            try_from = "WorkText"
        )]
        pub enum Work {
            $($(#[$doc])* $Kind(crate::step::$Plan),)*
        }

        /// What a step computed.
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(tag = "kind", rename_all = "lowercase")]
        #[allow(
            clippy::large_enum_variant,
            reason = "a session holds one outcome at a time"
        )]
        pub enum Outcome {
            $($(#[$doc])* $Kind(metrology::$arithmetic::$Outcome),)*
        }

        /// Why the arithmetic of a step refuses what was measured.
        #[derive(Debug, Clone, PartialEq, thiserror::Error)]
        pub enum Refused {
            $($(#[$doc])* #[error(transparent)] $Kind(#[from] metrology::$arithmetic::$Error),)*
        }

        impl Refused {
            /// The row of a table that the arithmetic refuses, from 1: for who has the step from a table.
            #[must_use]
            pub const fn row(&self) -> Option<usize> {
                match self {
                    $(Self::$Kind(why) => why.row(),)*
                }
            }
        }

        $(
            impl From<crate::step::$Options> for StepOptions {
                fn from(options: crate::step::$Options) -> Self {
                    Self::$Kind(options)
                }
            }

            impl From<crate::step::$Plan> for Work {
                fn from(plan: crate::step::$Plan) -> Self {
                    Self::$Kind(plan)
                }
            }

            impl From<metrology::$arithmetic::$Outcome> for Outcome {
                fn from(outcome: metrology::$arithmetic::$Outcome) -> Self {
                    Self::$Kind(outcome)
                }
            }

            impl OfKind for metrology::$arithmetic::$Outcome {
                fn of(outcome: &Outcome) -> Option<&Self> {
                    match outcome {
                        Outcome::$Kind(own) => Some(own),
                        _ => None,
                    }
                }
            }
        )*
    };
}

kinds!([enums]);

/// What one kind of step computes.
pub trait OfKind: Into<Outcome> {
    /// An outcome of this kind; none of another.
    fn of(outcome: &Outcome) -> Option<&Self>;
}

/// A kind with its plan as it is written: options may be absent, and are then the usual ones.
#[derive(Deserialize)]
struct WorkText {
    kind: StepKind,
    #[serde(default)]
    options: serde_json::Map<String, serde_json::Value>,
}

impl TryFrom<WorkText> for Work {
    type Error = serde_json::Error;

    fn try_from(text: WorkText) -> Result<Self, Self::Error> {
        let options = serde_json::Value::Object(text.options);
        for_kind!(text.kind, StepKind => S, serde_json::from_value::<S>(options).map(Into::into))
    }
}
