//! A step's outcome in words: what `status`, `analyse` and `session show` print of it. The number that matters in that
//! step stands first.

mod contact;
mod dial;
#[cfg(test)]
mod golden;
mod runout;
mod size;
mod sweep;
mod zero;

use crate::layout::{Pairs, Table, arcsec, reading, um};
use metrology::setup::Setup;
use metrology::uncertainty::{Component, Verdict};
use metrology::zero::Tap;
use protocol::fold::Outcome;

/// The outcome in whole lines.
#[must_use]
pub fn outcome(outcome: &Outcome, setup: &Setup) -> String {
    let mut text = match outcome {
        Outcome::Zero(zero) => zero::text(zero, setup),
        Outcome::Sweep(sweep) => sweep::text(sweep, setup),
        Outcome::Runout(runout) => runout::text(runout, setup),
        Outcome::Size(size) => size::text(size),
        Outcome::Contact(contact) => contact::text(contact),
        Outcome::Dial(dial) => dial::text(dial),
    };
    let mut remarks = Pairs::default();
    for sentence in outcome.sentences() {
        remarks.add("remark", sentence);
    }
    text.push_str(&remarks.text());
    text.push_str(&budget(outcome.budget()));
    text
}

/// The verdict in words: what was decided, and of what.
#[must_use]
pub const fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::In => "in tolerance",
        Verdict::Out => "out of tolerance",
        Verdict::Undecided => "undecided: the limit lies within the uncertainty",
    }
}

/// A length without sign: `4.20 µm`.
fn plain(um: f64) -> String {
    format!("{um:.2} µm")
}

/// The limits that hold the truth: ` (3.80 to 4.60 µm, 95 %)`; nothing where they are not known.
fn between(limits_um: Option<[f64; 2]>) -> String {
    limits_um.map_or(String::new(), |[low, high]| {
        format!(" ({low:.2} to {high:.2} µm, 95 %)")
    })
}

/// An expanded uncertainty: ` ± 0.21 µm (95 %)`.
fn within_um(expanded: Option<f64>) -> String {
    expanded.map_or(String::new(), |u| format!(" ± {u:.2} µm (95 %)"))
}

/// An expanded uncertainty: ` ± 0.21" (95 %)`.
fn within_arcsec(expanded: Option<f64>) -> String {
    expanded.map_or(String::new(), |u| format!(" ± {u:.2}\" (95 %)"))
}

/// What an error is worth on the part.
fn over_taper(worth_um: f64, setup: &Setup) -> String {
    let length = setup.length.or(setup.taper.as_ref().and_then(|t| t.length));
    let over = length.map_or(String::new(), |l| format!(" over {l}"));
    format!("{} on diameter{over}", um(worth_um))
}

fn allowed([low, high]: [f64; 2]) -> String {
    format!("{} to {} of the half angle", arcsec(low), arcsec(high))
}

/// How many readings lie apart, and what was done about it.
fn outliers(count: usize, rejected: usize) -> Option<String> {
    match (count, rejected) {
        (0, 0) => None,
        (found, 0) => Some(format!("{found} far from the rest, and counted in")),
        (_, left_out) => Some(format!(
            "{left_out} far from the rest, and left out as asked"
        )),
    }
}

/// The tap as a sentence.
fn tap(tap: &Tap, setup: &Setup) -> String {
    let way = if tap.toward {
        "toward the indicator"
    } else {
        "away from the indicator"
    };
    let mut text = format!(
        "at {}, {way}, to {} ({})",
        tap.station,
        reading(tap.target_mm, setup.indicator.resolution),
        um(tap.move_um)
    );
    if tap.trial {
        text.push_str("\na trial: where the set-up turns is not known yet");
    }
    if let Some(aim) = tap.aim_arcsec {
        text.push_str(&format!("\naims off by {} for the clamp", arcsec(aim)));
    }
    text
}

fn budget(budget: &[Component]) -> String {
    if budget.is_empty() {
        return String::new();
    }
    let mut table = Table::new(&["budget", "u", "", "degrees of freedom"]);
    for line in budget {
        table.row([
            line.component.clone(),
            format!("{:.4}", line.u),
            line.unit.clone(),
            line.degrees_of_freedom
                .map_or("infinite".to_owned(), |v| format!("{v:.0}")),
        ]);
    }
    table.text()
}
