//! Verifying a record: every result is computed again from its readings and compared.

use super::text::{ReadError, seal_holds};
use super::{Record, SignatureError, Signed, StepRecord};
use crate::evidence::CableReadings;
use crate::fold;
use serde_json::Value;
use std::fmt;

/// What verifying found.
#[derive(Debug, Clone, PartialEq)]
pub enum Verified {
    /// Every result is what its readings give, and the seal holds.
    Agrees {
        /// How many steps were computed again.
        steps: usize,
        /// From how many marks.
        marks: usize,
        /// And how many readings.
        readings: usize,
        /// Who signed it, when somebody did. Whether the key is known is not known here.
        signed: Option<Signed>,
    },
    /// Every result is what its readings give, and the seal holds; the signature over it does not.
    NotSigned {
        /// Who is said to have signed.
        by: String,
        /// What is wrong with it.
        why: SignatureError,
    },
    /// The first difference.
    Differs(Difference),
}

/// Where a record and its readings disagree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Where in the record: `steps[0].outcome.rounds[1].slope`.
    pub place: String,
    /// What the record says.
    pub recorded: String,
    /// What its readings give.
    pub computed: String,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: the record says {}, its readings give {}",
            self.place, self.recorded, self.computed
        )
    }
}

/// Results agree within this share of the larger: another machine's sine may differ in its last bits.
const AGREES: f64 = 1e-9;
/// And results smaller than this are nothing in any unit used here.
const NOTHING: f64 = 1e-12;

/// Computes every result of a record again and compares, then checks the seal over the whole text, and who signed it.
///
/// # Errors
/// [`ReadError`] when the text is not a record that this program can read.
pub fn verify(text: &str) -> Result<Verified, ReadError> {
    let record = Record::read(text)?;
    for (index, step) in record.steps.iter().enumerate() {
        if let Some(difference) = check_step(&record, step, &format!("steps[{index}]")) {
            return Ok(Verified::Differs(difference));
        }
    }
    if !seal_holds(text, &record) {
        return Ok(Verified::Differs(Difference {
            place: "digest".into(),
            recorded: record.digest,
            computed: "another digest: something that no result depends on was changed".into(),
        }));
    }
    let signature = record.signature.as_ref();
    let signed = match signature.map(|signature| (signature, signature.check(&record.digest))) {
        None => None,
        Some((_, Ok(signed))) => Some(signed),
        Some((signature, Err(why))) => {
            return Ok(Verified::NotSigned {
                by: signature.by.clone(),
                why,
            });
        }
    };
    Ok(Verified::Agrees {
        signed,
        steps: record.steps.len(),
        marks: record
            .steps
            .iter()
            .map(|step| step.evidence.marks.len())
            .sum(),
        readings: record
            .steps
            .iter()
            .flat_map(|step| step.evidence.readings.values())
            .map(CableReadings::len)
            .sum(),
    })
}

fn check_step(record: &Record, step: &StepRecord, place: &str) -> Option<Difference> {
    let differs = |at: &str, recorded: String, computed: String| {
        Some(Difference {
            place: format!("{place}.{at}"),
            recorded,
            computed,
        })
    };
    let again = StepRecord::computed(
        step.number,
        step.plan.clone(),
        (step.opened, step.closed),
        &record.setup,
        step.evidence.clone(),
    );
    let json = |step: &StepRecord| {
        (
            serde_json::to_value(&step.values),
            serde_json::to_value(&step.outcome),
        )
    };
    match (json(step), json(&again)) {
        ((Ok(values), Ok(outcome)), (Ok(values_again), Ok(outcome_again))) => {
            first_difference(&values, &values_again, &format!("{place}.values"))
                .or_else(|| first_difference(&outcome, &outcome_again, &format!("{place}.outcome")))
        }
        _ => differs(
            "outcome",
            "a result".into(),
            "one that is not a number".into(),
        ),
    }
}

/// The first place where two values differ, depth first.
fn first_difference(recorded: &Value, computed: &Value, place: &str) -> Option<Difference> {
    let here = || Difference {
        place: place.to_owned(),
        recorded: recorded.to_string(),
        computed: computed.to_string(),
    };
    match (recorded, computed) {
        (Value::Number(a), Value::Number(b)) => match (a.as_f64(), b.as_f64()) {
            (Some(a), Some(b)) if (a - b).abs() <= AGREES * a.abs().max(b.abs()) + NOTHING => None,
            _ => Some(here()),
        },
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => a
            .iter()
            .zip(b)
            .enumerate()
            .find_map(|(i, (a, b))| first_difference(a, b, &format!("{place}[{i}]"))),
        (Value::Object(a), Value::Object(b)) => {
            let missing = b.keys().find(|key| !a.contains_key(*key));
            if let Some(key) = missing {
                return Some(Difference {
                    place: format!("{place}.{key}"),
                    recorded: "nothing".into(),
                    computed: b[key].to_string(),
                });
            }
            a.iter().find_map(|(key, value)| {
                let other = b.get(key).unwrap_or(&Value::Null);
                first_difference(value, other, &format!("{place}.{key}"))
            })
        }
        _ if recorded == computed => None,
        _ => Some(here()),
    }
}

impl StepRecord {
    /// A step with everything computed from its evidence.
    #[must_use]
    pub fn computed(
        number: u32,
        plan: crate::plan::Plan,
        (opened, closed): (crate::evidence::Time, Option<crate::evidence::Time>),
        setup: &metrology::setup::Setup,
        evidence: crate::evidence::Evidence,
    ) -> Self {
        let values = evidence.lines();
        let (outcome, no_outcome) = match fold::outcome(&plan, setup, &evidence) {
            Ok(outcome) => (Some(outcome), None),
            Err(why) => (None, Some(why.to_string())),
        };
        Self {
            number,
            plan,
            opened,
            closed,
            evidence,
            values,
            outcome,
            no_outcome,
        }
    }
}
