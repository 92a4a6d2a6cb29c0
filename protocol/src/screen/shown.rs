//! What each kind of step gives for its screen.

use super::parts::{Advice, Listing, Screen};
use super::plot::Plot;
use super::seen::Seen;
use super::target::Target;
use super::words;
use crate::api::Status;
use crate::said;
use crate::step::Step;
use crate::style::Style;
use metrology::setup::Setup;
use std::borrow::Cow;

/// What closing a step while it records would lose.
pub(crate) fn no_end(style: Style) -> String {
    said!(style, "live-no-end")
}

/// What the user types to name a place on the travel.
pub(crate) fn on_travel(style: Style) -> String {
    said!(style, "live-place-travel")
}

/// What ends a recording.
pub(crate) fn ends(style: Style) -> String {
    said!(style, "live-ends")
}

/// An open step as it is seen.
#[derive(Debug)]
pub(crate) struct Open<'a, S: Step> {
    /// What the view knows.
    pub seen: &'a Seen<'a>,
    /// The snapshot in it.
    pub status: &'a Status,
    /// The step's options.
    pub step: &'a S,
    /// Its outcome, once there is one.
    pub found: Option<&'a S::Outcome>,
}

impl<S: Step> Open<'_, S> {
    /// The set-up as it holds for this step.
    pub fn setup(&self) -> Option<Cow<'_, Setup>> {
        let setup = self.status.setup.as_ref()?;
        Some(match &self.status.plan {
            Some(plan) => plan.setup(setup),
            None => Cow::Borrowed(setup),
        })
    }
}

/// A kind of step with a screen.
pub(crate) trait Shown: Step {
    /// What the user types to name the place of a mark.
    fn place_wanted(style: Style) -> String {
        on_travel(style)
    }

    /// What the next mark is about where the plan does not say it.
    fn unplanned(style: Style) -> String {
        said!(style, "live-unplanned")
    }

    /// The reading to come to, where the outcome gives one.
    fn target(_found: &Self::Outcome, _style: Style) -> Option<Target> {
        None
    }

    /// Whether there is no outcome only because there are more marks to come: no wonder, and no trouble.
    fn is_under_way(status: &Status) -> bool {
        words::round_under_way(status)
    }

    /// What closing the step now would lose, in words.
    fn loses(&self, status: &Status, style: Style) -> Option<String> {
        status.recording.then(|| no_end(style))
    }

    /// What the user does when what is being recorded is complete.
    fn ends_recording(&self, style: Style) -> String {
        ends(style)
    }

    /// What to do now, while nothing stands in the way of an outcome.
    fn advice(open: &Open<'_, Self>) -> Advice;

    /// Large values, what was decided, and facts. The screen has its advice.
    fn show(open: &Open<'_, Self>, screen: &mut Screen);

    /// What was marked or found, row by row.
    fn listing(open: &Open<'_, Self>) -> Option<Listing>;

    /// What was marked so far, as a plot.
    fn plot(_open: &Open<'_, Self>) -> Option<Plot> {
        None
    }

    /// The last marks in a line, where the listing does not have them.
    fn marks(_open: &Open<'_, Self>) -> Option<String> {
        None
    }
}
