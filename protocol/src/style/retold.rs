//! Sentences that are stored in millimetres and English, told again in another style.
//!
//! An outcome holds its remarks as sentences, and so they come over the wire and stand in a record, also in one that an older
//! program wrote. The table has the same sentences with places for what varies: a sentence that fits one of them is told by
//! that entry of the style's language, with its quantities in the style's unit. One that fits none stays English.

use super::{Language, Style};
use crate::said;
use metrology::Unit;
use std::sync::LazyLock;

/// What varies, in the order in which it stands in the English sentence.
const PLACES: [&str; 5] = ["a", "b", "c", "d", "e"];
/// What stands within a range, as it is stored.
const TO: &str = " to ";
/// Stands around the name of a place. No sentence has it.
const MARK: char = '\u{1}';

/// A sentence with places.
struct Template {
    key: &'static str,
    /// What stands before the first place, and behind each.
    fixed: Vec<String>,
    /// The places, by their index in [`PLACES`].
    places: Vec<usize>,
}

static SENTENCES: LazyLock<Vec<Template>> = LazyLock::new(|| Template::all("remark-"));
/// What may stand in a place and is words itself.
static PHRASES: LazyLock<Vec<Template>> = LazyLock::new(|| Template::all("phrase-"));

impl Template {
    /// Those whose keys begin so, in the order of the table.
    fn all(beginning: &str) -> Vec<Self> {
        let lines = Language::En.table().lines();
        let keys = lines.filter_map(|line| line.split_once(" = ").map(|(key, _)| key));
        let keys = keys.filter(|key| key.starts_with(beginning));
        keys.map(Self::of).collect()
    }

    fn of(key: &'static str) -> Self {
        let marked = PLACES.map(|name| (name, format!("{MARK}{name}{MARK}").into()));
        let told = Style::default().say(key, &marked);
        let (mut fixed, mut places) = (Vec::new(), Vec::new());
        for (index, piece) in told.split(MARK).enumerate() {
            match PLACES.iter().position(|name| *name == piece) {
                Some(place) if index % 2 == 1 => places.push(place),
                _ => fixed.push(piece.to_owned()),
            }
        }
        Self { key, fixed, places }
    }

    /// What stands in the places of a sentence; none where it is another sentence.
    fn fits<'a>(&self, sentence: &'a str) -> Option<Vec<&'a str>> {
        let (first, behind) = self.fixed.split_first()?;
        let mut rest = sentence.strip_prefix(first.as_str())?;
        let mut found = Vec::new();
        for (index, fixed) in behind.iter().enumerate() {
            let last = index + 1 == behind.len();
            let at = match (last, fixed.is_empty()) {
                (true, true) => rest.len(),
                (true, false) => rest.strip_suffix(fixed.as_str())?.len(),
                (false, _) => rest.find(fixed.as_str())?,
            };
            found.push(&rest[..at]);
            rest = &rest[at + fixed.len()..];
        }
        rest.is_empty().then_some(found)
    }
}

impl Style {
    /// A stored sentence in this style.
    #[must_use]
    pub fn retold(self, sentence: &str) -> String {
        // The divisions of a dial are of no stored sentence.
        let told = Self {
            division: None,
            ..self
        };
        if told == Self::default() {
            return sentence.to_owned();
        }
        if self.language == Language::En {
            return self.requantified(sentence);
        }
        let told = self.translated(&SENTENCES, sentence);
        told.unwrap_or_else(|| self.requantified(sentence))
    }

    /// Whether a sentence stays English in this style, so that a page says so.
    #[must_use]
    pub fn stays_english(self, sentence: &str) -> bool {
        self.language != Language::En && self.translated(&SENTENCES, sentence).is_none()
    }

    fn translated(self, templates: &[Template], sentence: &str) -> Option<String> {
        let mut fitting = templates.iter().filter_map(|template| {
            let found = template.fits(sentence)?;
            Some((template, found))
        });
        let (template, found) = fitting.next()?;
        let places = template.places.iter().zip(found);
        let values: Vec<_> = places
            .map(|(place, text)| (PLACES[*place], self.phrase(text).into()))
            .collect();
        Some(self.say(template.key, &values))
    }

    /// What stands in a place: a phrase, a component of a budget, or a quantity.
    fn phrase(self, text: &str) -> String {
        if let Some(told) = self.translated(&PHRASES, text) {
            return told;
        }
        let term = self.term("component", text);
        if term == text {
            self.requantified(text)
        } else {
            term
        }
    }

    /// A text with its lengths in this style's unit, and its decimal sign. What stands between backticks is to be typed and
    /// stays as it is.
    fn requantified(self, text: &str) -> String {
        let mut told = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(c) = rest.chars().next() {
            // A number within a name, as in ISO 14253-1, is none; a sign stands behind a blank.
            let mut before = told.chars().rev();
            let whole = match before.next() {
                Some('-') => !before.next().is_some_and(char::is_alphanumeric),
                Some(before) => !(before.is_alphanumeric() || matches!(before, '.' | ':' | '_')),
                None => true,
            };
            if c == '`' {
                let end = rest[1..].find('`').map_or(rest.len(), |end| end + 2);
                told.push_str(&rest[..end]);
                rest = &rest[end..];
            } else if c.is_ascii_digit() && whole {
                let (number, behind) = number(rest);
                let (written, after) = self.quantity(number, behind);
                told.push_str(&written);
                rest = after;
            } else {
                told.push(c);
                rest = &rest[c.len_utf8()..];
            }
        }
        told
    }

    /// A number with what stands behind it: as a length where that begins with a unit.
    fn quantity<'a>(self, number: &str, behind: &'a str) -> (String, &'a str) {
        let places = number.split_once('.').map_or(0, |(_, places)| places.len());
        let value: f64 = number.parse().unwrap_or(f64::NAN);
        let told = |unit| match unit {
            Unit::Um => self.micro_number(value, places.max(usize::from(self.inches()))),
            _ => self.long_number(value, places),
        };
        match unit(behind) {
            Some((unit @ Unit::Um, after)) => {
                (format!("{} {}", told(unit), self.small_sign()), after)
            }
            Some((unit, after)) => (format!("{} {}", told(unit), self.long_sign()), after),
            // `2 to 5 µm` has one unit for both.
            None => match range(behind) {
                Some(unit) => {
                    let to = said!(self, "from-to", low = "", high = "");
                    (told(unit) + &to, &behind[TO.len()..])
                }
                None => (self.written(number.to_owned()), behind),
            },
        }
    }
}

/// The number that a text begins with, and what stands behind it. A point that ends a sentence is none of its own.
fn number(text: &str) -> (&str, &str) {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let whole = digits(text);
    let places = text[whole..].strip_prefix('.').map_or(0, digits);
    let end = if places > 0 {
        whole + 1 + places
    } else {
        whole
    };
    text.split_at(end)
}

/// The unit of length that a text begins with, and what stands behind it.
fn unit(text: &str) -> Option<(Unit, &str)> {
    let units = [(" µm", Unit::Um), (" mm", Unit::Mm)];
    units.into_iter().find_map(|(sign, unit)| {
        let after = text.strip_prefix(sign)?;
        let ends = !after.starts_with(char::is_alphanumeric);
        ends.then_some((unit, after))
    })
}

/// The unit of the number that ends a range, where a text goes on with one.
fn range(text: &str) -> Option<Unit> {
    let behind = text.strip_prefix(TO)?;
    let (end, behind) = number(behind);
    let (unit, _) = unit(behind)?;
    (!end.is_empty()).then_some(unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::style::Decimal;

    const GERMAN: Style = Style {
        unit: Unit::Mm,
        decimal: Decimal::Comma,
        language: Language::De,
        division: None,
    };

    /// 2.54 µm are a tenth, 25.4 mm are an inch.
    #[test]
    fn lengths_in_a_sentence_are_told_in_inches() {
        let inch = Style::of(Unit::In);
        for (stored, told) in [
            (
                "off by +2.54 µm over 25.4 mm.",
                "off by +1.00 tenths over 1.000 in.",
            ),
            ("a film of 2 to 5 µm", "a film of 0.8 to 2.0 tenths"),
            (
                "a span of 127 mm (`--span 127`)",
                "a span of 5.00 in (`--span 127`)",
            ),
            (
                "± 1.50 arcsec of ± 5.00, ISO 14253-1",
                "± 1.50 arcsec of ± 5.00, ISO 14253-1",
            ),
            ("1:12 in 3 rounds of 3 mmx", "1:12 in 3 rounds of 3 mmx"),
            ("found off by -2.54 µm", "found off by -1.00 tenths"),
        ] {
            assert_eq!(inch.retold(stored), told);
            assert_eq!(Style::default().retold(stored), stored);
        }
    }

    #[test]
    fn a_sentence_that_fits_is_told_in_the_language_and_another_stays_english() {
        let stored = "B reads +3.2 µm from the mark before it: the set-up was moved, so this mark opens round 2";
        assert_eq!(
            GERMAN.retold(stored),
            "B zeigt +3,2 µm gegen die Marke davor: der Aufbau wurde verstellt, diese Marke beginnt Durchgang 2"
        );
        assert!(!GERMAN.stays_english(stored));
        assert_eq!(
            GERMAN.retold("a print is judged by eye, with a film of 2 to 5 µm"),
            "Ein Tragbild wird nach Augenmaß beurteilt, mit einer Farbschicht von 2 bis 5 µm"
        );
        let other = "what nobody has said before, 1.5 of it";
        assert!(GERMAN.stays_english(other));
        assert_eq!(
            GERMAN.retold(other),
            "what nobody has said before, 1,5 of it"
        );
    }
}
