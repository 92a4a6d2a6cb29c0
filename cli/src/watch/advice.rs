//! What to do now, as a sentence and as the count of a tap that is under way.

use super::face;
use super::state::Watch;
use super::target::{Count, Target, What};
use super::words;
use protocol::api::Status;
use protocol::plan::StepKind;

/// What to do now: a sentence, and the count of a tap that is under way.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// What it is about, in a word.
    pub label: &'static str,
    /// The sentence.
    pub text: String,
    /// The count.
    pub count: Option<Count>,
}

impl Advice {
    /// A sentence.
    pub fn say(text: impl Into<String>) -> Self {
        Self {
            label: "NOW",
            text: text.into(),
            count: None,
        }
    }

    /// A reading to come to, and what then.
    pub fn toward(target: &Target, watch: &Watch, then: &str, now_s: f64) -> Self {
        let (text, count) = target.now(watch, then, now_s);
        Self {
            label: match target.what {
                What::End => "TAP",
                What::Part => "NOW",
            },
            text,
            count,
        }
    }
}

/// What to do now.
#[must_use]
pub fn advice(watch: &Watch, now_s: f64) -> Advice {
    let Some(status) = &watch.status else {
        return Advice::say("Waiting for the background process.");
    };
    if status.session.is_none() {
        return Advice::say("No session is open: `conewright session open NAME` opens one.");
    }
    let Some(plan) = face::plan(status) else {
        return Advice::say("No step is open: key s opens one.");
    };
    if let Some(why) = status.no_outcome.as_ref().filter(|_| !under_way(status)) {
        return Advice::say(format!("Nothing can be computed yet: {why}"));
    }
    face::advice(watch, status, &plan, now_s)
}

/// Whether there is no outcome only because there are more marks to come: no wonder, and no trouble.
#[must_use]
pub fn under_way(status: &Status) -> bool {
    let kind = status.step.map(|step| step.kind);
    status.recording
        || (kind == Some(StepKind::Dial) && status.next_place.is_some())
        || (kind != Some(StepKind::Zero) && words::round_under_way(status))
}

/// What the next mark is about, in words, for sentences.
#[must_use]
pub fn next(watch: &Watch, status: &Status) -> Option<String> {
    if let Some(place) = &watch.place {
        return Some(place.clone());
    }
    let place = status.next_place.as_ref().map(words::place);
    place
        .or_else(|| status.next_mark.clone())
        .or_else(|| status.next_station.clone())
}
