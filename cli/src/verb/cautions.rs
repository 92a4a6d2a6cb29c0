//! `cautions`: all of them; and those that are said when a step begins.

use crate::{Answer, Failure};
use config::shipped::{Caution, Occasion, cautions_for, occasions, shipped_cautions};
use protocol::plan::StepKind;
use serde_json::json;

/// All, with the work that each belongs to.
pub(super) fn run() -> Result<Answer, Failure> {
    let mut text = String::new();
    for caution in shipped_cautions() {
        let work = word(caution);
        text.push_str(&format!("{work:<8} {}\n", caution.text));
    }
    let list: Vec<_> = shipped_cautions()
        .iter()
        .map(|caution| json!({ "work": word(caution), "text": caution.text, "source": caution.source }))
        .collect();
    Answer::new(text, &json!({ "cautions": list }))
}

/// The work that a caution belongs to, as the data names it.
fn word(caution: &Caution) -> String {
    let word = serde_json::to_value(caution.when).unwrap_or_default();
    word.as_str().unwrap_or_default().to_owned()
}

/// Each on a line.
fn lines<'a>(cautions: impl Iterator<Item = &'a Caution>) -> String {
    let lines: Vec<String> = cautions
        .map(|caution| format!("caution: {}", caution.text))
        .collect();
    lines.join("\n")
}

/// Those for any work: where hands go into the machine.
pub(super) fn of_any_work() -> String {
    lines(cautions_for(&[]))
}

/// Those that are said when a step begins in a session that has had steps of these kinds: all the first time, otherwise those
/// that are said each time, those that are new, and how the others are read again.
pub(super) fn at_step(kind: StepKind, earlier: &[StepKind]) -> String {
    let own = occasions(kind);
    if earlier.is_empty() {
        return lines(cautions_for(own));
    }
    let said = |when| earlier.iter().any(|kind| occasions(*kind).contains(&when));
    let new =
        cautions_for(own).filter(|c| c.each_time || c.when != Occasion::Always && !said(c.when));
    let new = lines(new);
    let others = "the cautions of this session hold; to read them again: conewright cautions";
    if new.is_empty() {
        others.to_owned()
    } else {
        format!("{new}\n{others}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cautions_are_said_in_full_once_and_where_they_bite() {
        let full = |kind| lines(cautions_for(occasions(kind)));
        assert_eq!(at_step(StepKind::Zero, &[]), full(StepKind::Zero));
        let again = at_step(StepKind::Zero, &[StepKind::Zero]);
        assert_eq!(again.lines().count(), 1, "{again}");
        assert!(again.contains("conewright cautions"), "{again}");
        let new = at_step(StepKind::Runout, &[StepKind::Zero]);
        assert!(new.contains("Turn the part by hand"), "{new}");
        assert!(!new.contains("Stop the wheel"), "{new}");
        let dye = at_step(StepKind::Contact, &[StepKind::Zero, StepKind::Contact]);
        assert!(dye.contains("marking dye"), "{dye}");
        assert_eq!(dye.lines().count(), 2, "{dye}");
    }
}
