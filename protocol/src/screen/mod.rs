//! The description of a live screen: what the view of an open step shows, as words and numbers with their meaning.
//!
//! [`of`] makes a [`Screen`] from what a view knows, [`Seen`]. A terminal and a page draw it and compute nothing, so that both
//! show the same. Layout, colours and keys are theirs. It can be written as JSON.

mod around;
pub(crate) mod clock;
mod heard;
mod known;
pub(crate) mod parts;
pub mod plot;
mod seen;
pub(crate) mod shown;
pub mod sound;
pub(crate) mod target;
#[cfg(test)]
mod tests;
mod trace;
pub(crate) mod units;
pub(crate) mod value;
pub mod verdict;
pub mod words;

pub use heard::Heard;
pub use known::Known;
pub use parts::{
    Advice, Column, Count, Entry, Fact, Listing, Meaning, NextMark, Reached, Screen, Sign, Source,
    Strip, Table, Value,
};
pub use seen::{Indicator, LastReading, Seen, User};
pub use target::{Target, What};
pub use trace::{Marked, Minute, TRACE_S, Trace, TracePoint};
pub use units::{age, arcsec};

use crate::api::Status;
use crate::for_kind;
use crate::plan::Plan;
use crate::said;
use crate::step::{OfKind, Outcome, StepKind, Work};
use crate::style::Style;
use shown::{Open, Shown};

/// What the screen shows.
#[must_use]
pub fn of(seen: &Seen<'_>) -> Screen {
    let mut screen = idle(seen);
    let Some(status) = seen.status else {
        return screen;
    };
    if let Some(setup) = &status.setup {
        screen.plan = words::plan(setup, seen.units);
        screen.details = around::set_up(setup, seen.units);
    }
    if let Some(outcome) = &status.outcome {
        let remarks = outcome.sentences();
        screen.remarks = remarks.map(|said| seen.units.retold(said)).collect();
        screen.budget = outcome
            .budget()
            .iter()
            .map(|component| around::component(component, seen.units))
            .collect();
    }
    screen.last = around::last(seen);
    if let Some(plan) = plan(status) {
        for_kind!(&plan.work, Work(step) => S, show(&opened::<S>(seen, status, step), &mut screen));
    }
    if let Some(left_s) = seen.waits_s {
        screen.banner = Some(around::waiting(left_s, seen.units));
    }
    around::cables(seen, status, &mut screen);
    screen
}

/// The reading to come to, where the open step has one.
#[must_use]
pub fn target(status: &Status, style: Style) -> Option<Target> {
    for_kind!(status.outcome.as_ref()?, Outcome(found) => S, S::target(found, style))
}

/// The plot of the open step; none before there is something to draw.
#[must_use]
pub fn plot(seen: &Seen<'_>) -> Option<plot::Plot> {
    let status = seen.status?;
    let plan = plan(status)?;
    for_kind!(&plan.work, Work(step) => S, S::plot(&opened::<S>(seen, status, step)))
}

/// What the user types to name the place of a mark, in the open step.
#[must_use]
pub fn place_wanted(status: &Status, style: Style) -> String {
    status.step.map_or_else(
        || shown::on_travel(style),
        |step| for_kind!(step.kind, StepKind => S, S::place_wanted(style)),
    )
}

/// What closing the open step now would lose, in words.
#[must_use]
pub fn loses(status: &Status, style: Style) -> Option<String> {
    let plan = plan(status)?;
    let own = for_kind!(&plan.work, Work(step) => S, S::loses(step, status, style));
    own.or_else(|| {
        let marks = status.marks.len();
        (marks > 0 && status.outcome.is_none())
            .then(|| said!(style, "live-loses-marks", marks = marks))
    })
}

/// That of no step: the reading alone.
fn idle(seen: &Seen<'_>) -> Screen {
    let style = seen.units;
    let advice = match seen.status {
        None => said!(style, "live-waiting-for-daemon"),
        Some(status) if status.session.is_none() => said!(style, "live-no-session"),
        Some(_) => said!(style, "live-no-step"),
    };
    Screen {
        title: around::title(seen.status, style),
        source: around::source(seen),
        banner: None,
        notices: around::notices(seen),
        must: vec![value::reading(seen)],
        may: None,
        advice: Advice::say(style, advice),
        strip: Strip::None,
        sign: None,
        undecided: String::new(),
        facts: Vec::new(),
        rounds: false,
        next: None,
        last: Vec::new(),
        remarks: Vec::new(),
        plan: Vec::new(),
        listing: None,
        details: Vec::new(),
        budget: Vec::new(),
    }
}

/// What the open step is for; where nobody says, the usual of its kind.
fn plan(status: &Status) -> Option<Plan> {
    let step = status.step?;
    let plan = status.plan.clone();
    Some(plan.unwrap_or_else(|| Plan::usual(step.kind)))
}

fn opened<'a, S: Shown>(seen: &'a Seen<'a>, status: &'a Status, step: &'a S) -> Open<'a, S> {
    Open {
        seen,
        status,
        step,
        found: status.outcome.as_ref().and_then(S::Outcome::of),
    }
}

/// An open step's own part of the screen.
fn show<S: Shown>(open: &Open<'_, S>, screen: &mut Screen) {
    let status = open.status;
    let style = open.seen.units;
    let under_way = status.recording || S::is_under_way(status);
    screen.advice = match &status.no_outcome {
        Some(why) if !under_way => {
            let why = words::told(why, style);
            Advice::say(style, said!(style, "live-not-computed", why = why))
        }
        _ => S::advice(open),
    };
    S::show(open, screen);
    // Where it is a trouble the advice says so.
    let ends = status.marks.len() > 1 || !status.recording;
    if screen.sign.is_some() {
        screen.undecided.clear();
    } else if let Some(why) = &status.no_outcome
        && under_way
        && ends
    {
        screen.undecided = said!(style, "live-not-yet", why = words::told(why, style));
    }
    if status.recording {
        let ends = S::ends_recording(open.step, style);
        screen.banner = Some(around::recording(open.seen.so_far, ends, style));
    }
    let unplanned = S::unplanned(style);
    screen.next = Some(around::next(open.seen, status, unplanned, screen.rounds));
    screen.listing = S::listing(open).filter(|listing| !listing.is_empty());
    if let Some(marks) = S::marks(open) {
        screen.detail(said!(style, "live-label-marks"), marks);
    }
}
