//! What to do now, as a sentence and as the count of a tap that is under way.

use super::figures::{Units, arcsec};
use super::state::Watch;
use super::words::{tap, zero};
use metrology::Length;
use metrology::setup::Setup;
use metrology::uncertainty::Verdict;
use metrology::zero::Tap;
use protocol::api::Status;

/// Where a tap has come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// Before the target.
    Before,
    /// At it, within what the display can show.
    There,
    /// Past it.
    Past,
}

/// How far a tap has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    /// Where that is.
    pub reached: Reached,
    /// What is left, µm: positive before the target, negative past it.
    pub to_go_um: f64,
    /// The whole of the tap, µm.
    pub full_um: f64,
    /// One step of the display.
    pub resolution: Option<Length>,
}

/// What to do now: a sentence, and the count of a tap that is under way.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// Whether it is about a tap.
    pub is_tap: bool,
    /// The sentence.
    pub text: String,
    /// The count.
    pub count: Option<Count>,
}

impl Advice {
    fn say(text: impl Into<String>) -> Self {
        Self {
            is_tap: false,
            text: text.into(),
            count: None,
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
    if status.step.is_none() {
        return Advice::say("No step is open: key s opens a zero step.");
    }
    if let Some(why) = &status.no_outcome {
        return Advice::say(format!("Nothing can be computed yet: {why}"));
    }
    let next = status.next_station.as_deref().unwrap_or("A");
    let under_way = match (status.marks.last(), status.next_round) {
        (Some(mark), Some(next_round)) => mark.round == next_round,
        _ => false,
    };
    if under_way {
        return Advice::say(format!("Round under way: go to {next} and mark it."));
    }
    let rounds = zero(status).is_some_and(|zero| !zero.rounds.is_empty());
    if !rounds {
        let pass = pass(status.setup.as_ref());
        return Advice::say(format!(
            "First round: go to {next}, let it settle, mark. The pass is {pass}."
        ));
    }
    between_rounds(watch, status, next, now_s)
}

fn pass(setup: Option<&Setup>) -> String {
    let names = setup.map(|setup| setup.pass.join(" ")).unwrap_or_default();
    if names.is_empty() {
        "A B A".to_owned()
    } else {
        names
    }
}

/// Between two rounds is the time to tap, to tighten, or to stop.
fn between_rounds(watch: &Watch, status: &Status, next: &str, now_s: f64) -> Advice {
    let zero = zero(status);
    let verdict = zero.and_then(|zero| zero.verdict);
    let round_clamped = zero
        .and_then(|zero| zero.rounds.last())
        .is_some_and(|round| round.clamped);
    if status.clamped != round_clamped {
        let what = if status.clamped {
            "Clamp tight: a round from"
        } else {
            "Clamp loose: a round from"
        };
        let loosened = !status.clamped;
        // Loosened, the last round tells of another setting, and so does its tap.
        return Advice::say(if loosened {
            format!("{what} {next} shows where it stands now.")
        } else {
            format!("{what} {next} shows what tightening did.")
        });
    }
    let aims_off = tap(status).and_then(|tap| tap.aim_arcsec);
    if verdict == Some(Verdict::In) && status.clamped {
        return Advice::say("In tolerance with the clamp tight: nothing more to tap.");
    }
    if status.clamped {
        return Advice::say("Loosen the clamp (key c) before the next tap.");
    }
    if verdict == Some(Verdict::In) && aims_off.is_none() {
        return Advice::say(
            "In tolerance while loose: tighten the clamp, key c, then mark a round.",
        );
    }
    let Some(tap) = tap(status) else {
        return Advice::say(format!("Mark the next round, from {next}."));
    };
    tapping(watch, tap, aims_off, next, now_s)
}

/// The tap as a sentence, its target as a display with this step would show it.
#[must_use]
pub fn sentence(tap: &Tap, resolution: Option<Length>, units: Units) -> String {
    format!(
        "{} end {} the indicator, to {}",
        tap.station,
        way(tap.toward),
        units.reading(tap.target_mm, resolution, 0)
    )
}

const fn way(toward: bool) -> &'static str {
    if toward { "toward" } else { "away from" }
}

fn tapping(watch: &Watch, tap: &Tap, aims_off: Option<f64>, next: &str, now_s: f64) -> Advice {
    let indicator = watch.indicator(now_s);
    let resolution = indicator.as_ref().and_then(|i| i.value).map(|(_, r)| r);
    let last = watch.last_mark().and_then(|mark| mark.value);
    let resolution = resolution.or(last.map(|value| value.resolution));
    let units = watch.look.units;
    let target = units.reading(tap.target_mm, resolution, 0);
    let station = &tap.station;
    let mut text = sentence(tap, resolution, units);
    let mut count = None;
    if watch.stands_at() != Some(station) {
        text = format!("{text}. Go to {station} first, then key g");
    } else if let Some((value, resolution)) = indicator.filter(|i| i.current).and_then(|i| i.value)
    {
        let sense = if tap.move_um < 0.0 { -1.0 } else { 1.0 };
        let remaining_um = tap.target_mm.mul_add(1e3, -value.um());
        let to_go_um = remaining_um * sense;
        let there = resolution.um().max(0.5);
        let reached = match to_go_um {
            left if left.abs() <= there => Reached::There,
            left if left > 0.0 => Reached::Before,
            _ => Reached::Past,
        };
        count = Some(Count {
            reached,
            to_go_um,
            full_um: tap.move_um.abs(),
            resolution: Some(resolution),
        });
        match reached {
            Reached::Before => {}
            Reached::There => {
                text = format!("{station} end is at {target}: mark a round, from {next}");
            }
            Reached::Past => {
                let back = way(!tap.toward);
                text = format!("TOO FAR: {station} end back, {back} the indicator, to {target}");
            }
        }
    }
    if tap.trial {
        text.push_str(". A trial: it shows where the set-up turns");
    }
    if let Some(aim) = aims_off {
        text.push_str(&format!(
            ". Aims off by {} arcsec, which the clamp takes back",
            arcsec(aim)
        ));
    }
    Advice {
        is_tap: true,
        text: format!("{text}."),
        count,
    }
}

/// What is left of a tap, in words.
#[must_use]
pub fn count(count: Count, units: Units) -> String {
    let size = units.small_size(count.to_go_um, count.resolution);
    let unit = units.small_sign();
    match count.reached {
        Reached::Before => format!("{size} {unit} to go"),
        Reached::There => "at the target".to_owned(),
        Reached::Past => format!("{size} {unit} too far"),
    }
}
