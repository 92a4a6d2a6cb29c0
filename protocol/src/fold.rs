//! A step's outcome as a pure function of set-up and evidence: the same code live, after a crash, on export
//! and in `verify`.

use crate::evidence::{Evidence, Mark};
use metrology::setup::Setup;
use metrology::zero::{self, ZeroMark, ZeroOutcome};
use serde::{Deserialize, Serialize};

/// The purposes that a step can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StepKind {
    /// The reference edge is made to lie along the travel.
    Zero,
}

impl StepKind {
    /// Every kind, in the order of the work.
    pub const ALL: [Self; 1] = [Self::Zero];

    /// Its name in commands and files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Zero => "zero",
        }
    }
}

/// What a step computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Outcome {
    /// Of a zero step.
    Zero(ZeroOutcome),
}

/// Computes a step's outcome.
///
/// # Errors
/// What in the evidence cannot be used, in a sentence for the user.
pub fn outcome(kind: StepKind, setup: &Setup, evidence: &Evidence) -> Result<Outcome, String> {
    match kind {
        StepKind::Zero => {
            let marks = zero_marks(evidence)?;
            zero::outcome(setup, &marks)
                .map(Outcome::Zero)
                .map_err(|error| error.to_string())
        }
    }
}

/// The marks that count, as the zero step takes them: their values from their readings, times from the first mark.
fn zero_marks(evidence: &Evidence) -> Result<Vec<ZeroMark>, String> {
    let counting: Vec<&Mark> = evidence
        .marks
        .iter()
        .filter(|mark| !mark.taken_back)
        .collect();
    // Marks are made one after the other, so marks that are all of one time are of a table without times.
    let timed = counting.windows(2).any(|pair| pair[0].t != pair[1].t);
    let start = counting.first().map(|mark| mark.t).filter(|_| timed);
    let zero_mark = |mark: &&Mark| -> Result<ZeroMark, String> {
        let value = evidence.value(mark).ok_or_else(|| {
            format!(
                "mark {}: readings that it was made of are missing",
                mark.number
            )
        })?;
        let station = mark
            .station()
            .ok_or_else(|| format!("mark {}: a zero step needs a station", mark.number))?;
        Ok(ZeroMark {
            round: mark.round,
            station: station.name.clone(),
            position_mm: station.position.mm(),
            value_mm: value.value_mm,
            sd_mm: value.sd_um.map(|sd| sd * 1e-3),
            readings: value.readings,
            resolution: value.resolution,
            time_s: start.map(|start| mark.t.since_s(start)),
            clamped: mark.clamped,
            setting: mark.setting,
        })
    };
    counting.iter().map(zero_mark).collect()
}
