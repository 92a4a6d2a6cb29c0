//! The usual cautions, and where each belongs.

use super::rows;
pub use protocol::step::Occasion;
use protocol::step::StepKind;
use serde::Deserialize;
use std::sync::OnceLock;

/// The work that a step of some kind is.
#[must_use]
pub const fn occasions(kind: StepKind) -> &'static [Occasion] {
    kind.occasions()
}

/// One caution: a short sentence.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Caution {
    /// The work it belongs to.
    pub when: Occasion,
    /// Said in full each time that work begins, and not only the first time in a session.
    pub each_time: bool,
    /// The sentence.
    pub text: String,
    /// Where it comes from.
    pub source: String,
}

/// Every caution in the order in which they are printed. The last one says that local rules, the machine's
/// manual and licensed practice come first.
#[must_use]
pub fn shipped_cautions() -> &'static [Caution] {
    static CAUTIONS: OnceLock<Vec<Caution>> = OnceLock::new();
    CAUTIONS.get_or_init(|| rows("cautions.csv", include_str!("../../data/cautions.csv")))
}

/// The cautions for some work: those of that work and those of any, in the order in which they are printed.
pub fn cautions_for(work: &[Occasion]) -> impl Iterator<Item = &'static Caution> {
    shipped_cautions()
        .iter()
        .filter(move |c| c.when == Occasion::Always || work.contains(&c.when))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_is_one_short_sentence_and_the_last_names_what_comes_first() {
        let all = shipped_cautions();
        for caution in all {
            assert!(
                caution.text.ends_with('.') && caution.text.len() < 120,
                "{caution:?}"
            );
            assert!(!caution.source.is_empty(), "{caution:?}");
        }
        let last = &all[all.len() - 1];
        assert_eq!(last.when, Occasion::Always);
        for word in ["Local rules", "manual", "licensed practice", "come first"] {
            assert!(last.text.contains(word), "{last:?} lacks {word}");
        }
    }

    #[test]
    fn what_every_set_up_must_hear_is_there() {
        let text: String = shipped_cautions().iter().map(|c| c.text.as_str()).collect();
        for word in [
            "Stop the wheel",
            "lock the spindle",
            "mechanical clamp",
            "Ring-test",
            "marked speed",
            "guards",
            "eyes",
            "dust",
            "mist",
            "loves",
            "data sheet",
            "turning parts",
            "hardened edge",
            "cool",
        ] {
            assert!(text.contains(word), "no caution says `{word}`");
        }
        let zero: Vec<_> = cautions_for(&[Occasion::Zero]).collect();
        assert!(zero.iter().any(|c| c.text.contains("hardened edge")));
        assert!(!zero.iter().any(|c| c.text.contains("dye")));
    }
}
