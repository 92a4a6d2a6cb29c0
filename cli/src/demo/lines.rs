//! The demo's lines: plan, rounds and taps, each in one.

use metrology::Length;
use metrology::setup::Setup;
use metrology::uncertainty::Verdict;
use metrology::zero::{Tap, ZeroOutcome};
use protocol::api::Status;
use protocol::screen::verdict::{of_zero, plate};
use protocol::screen::{Target, arcsec, words};
use protocol::style::Style;

/// The plan in a line.
pub fn plan(setup: &Setup) -> String {
    words::plan(setup, Style::default()).join(", ")
}

/// The last round in a line: its marks, the residual, and what was decided.
pub fn round(zero: &ZeroOutcome, status: &Status) -> String {
    let round = zero.rounds.last().map(|round| round.round);
    let marks: Vec<_> = status
        .marks
        .iter()
        .filter(|mark| Some(mark.round) == round)
        .filter_map(|mark| {
            let value = mark.value?;
            let shown = Style::default().reading(value.value_mm, Some(value.resolution), 1);
            Some(format!("{} {shown}", mark.place))
        })
        .collect();
    let style = Style::default();
    let residual = zero
        .residual_arcsec
        .map(|residual| arcsec(residual, style))
        .unwrap_or_default();
    let decided = match zero.verdict.map(|verdict| plate(verdict, style)) {
        Some(word) => format!("{word}, {}", of_zero(zero, style).join(", ")),
        None => "no tolerance stated".to_owned(),
    };
    format!(
        "{}; residual {residual} arcsec; {decided}",
        marks.join(", ")
    )
}

/// A verdict in a word.
pub fn decided(verdict: Verdict) -> String {
    plate(verdict, Style::default())
}

/// The advice in a line.
pub fn tap(tap: &Tap) -> String {
    // The bench's indicator shows micrometres.
    let tap = Target::tap(tap, Style::default());
    let mut text = tap.sentence(Some(Length::from_um(1)), Style::default());
    if tap.trial {
        text.push_str(", a trial");
    }
    if let Some(aim) = &tap.aim {
        text.push_str(&format!(". {aim}"));
    }
    text
}

/// What the grind came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sized {
    /// What is left on diameter.
    pub left_um: f64,
    /// In how many passes.
    pub passes: u32,
}
