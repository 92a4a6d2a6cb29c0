//! Small lengths and readings in the divisions of a dial, as its reader says them.

use super::Style;
use crate::said;
use metrology::Length;

/// The parts of a division that are read where a step of the display is so many of it: a pointer between two lines is read to
/// the half (common practice), what is read finer to the quarter or to the tenth.
const fn parts(steps: i64) -> i64 {
    match steps {
        ..=2 => 2,
        3 | 4 => 4,
        _ => 10,
    }
}

/// No dial indicator has so many: what lies further is a diameter, or another instrument's.
const MOST: f64 = 2_000.0;

impl Style {
    /// The size of a small length in divisions: `1½ div`. None where no division is known, or no dial goes so far. `step` is one step of the dial as
    /// it is read.
    #[must_use]
    pub fn divisions(self, um: f64, step: Option<Length>) -> Option<String> {
        let count = self.count_of_divisions(um, step)?;
        Some(said!(self, "divisions", count = count))
    }

    /// The same with its sign, as the dial shows a reading.
    #[must_use]
    pub fn on_the_dial(self, mm: f64, step: Option<Length>) -> Option<String> {
        let count = self.count_of_divisions(mm * 1e3, step)?;
        let sign = match count.as_str() {
            "0" => "",
            _ if mm < 0.0 => "-",
            _ => "+",
        };
        Some(said!(self, "divisions", count = format!("{sign}{count}")))
    }

    fn count_of_divisions(self, um: f64, step: Option<Length>) -> Option<String> {
        let division = self.division.filter(|division| division.pm() > 0)?;
        if um.abs() > MOST * division.um() {
            return None;
        }
        let steps = step.filter(|step| step.pm() > 0);
        let steps = steps.map_or(1, |step| (division.pm() + step.pm() / 2) / step.pm());
        let parts = parts(steps);
        let count = (um.abs() / division.um() * parts as f64).round() as i64;
        let (whole, part) = (count / parts, count % parts);
        let fraction = match part * 4 / parts {
            _ if parts == 10 => {
                let places = usize::from(part > 0);
                return Some(self.number(count as f64 / 10.0, places));
            }
            1 => "\u{bc}",
            2 => "\u{bd}",
            3 => "\u{be}",
            _ => return Some(whole.to_string()),
        };
        Some(match whole {
            0 => fraction.to_owned(),
            whole => format!("{whole}{fraction}"),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::style::{Decimal, Language};
    use metrology::Unit;

    fn dial(division_um: i64) -> Style {
        Style {
            division: Some(Length::from_um(division_um)),
            ..Style::default()
        }
    }

    #[test]
    fn a_dial_is_told_as_its_reader_says_it() {
        let (half, fifth) = (Length::from_um(1), Length::from_pm(400_000));
        let quarter = Length::from_pm(500_000);
        for (um, step, expected) in [
            (3.0, None, "1\u{bd} div"),
            (3.0, Some(Length::from_um(2)), "1\u{bd} div"),
            (0.9, Some(half), "\u{bd} div"),
            (-4.1, Some(half), "2 div"),
            (3.4, Some(quarter), "1\u{be} div"),
            (0.6, Some(quarter), "\u{bc} div"),
            (3.0, Some(fifth), "1.5 div"),
            (24.0, Some(fifth), "12 div"),
            (0.3, None, "0 div"),
        ] {
            let said = dial(2).divisions(um, step).unwrap();
            assert_eq!(said, expected, "{um} {step:?}");
        }
        assert_eq!(Style::default().divisions(3.0, None), None);
        // A diameter is read from another instrument.
        assert_eq!(dial(2).on_the_dial(40.06, None), None);
        assert!(dial(2).on_the_dial(-4.0, None).is_some());
    }

    #[test]
    fn a_reading_on_it_has_its_sign_and_the_readers_language() {
        let read = |mm| dial(2).on_the_dial(mm, None).unwrap();
        assert_eq!(read(0.024), "+12 div");
        assert_eq!(read(-0.001), "-\u{bd} div");
        assert_eq!(read(-0.0001), "0 div");
        let german = Style {
            decimal: Decimal::Comma,
            language: Language::De,
            ..dial(2)
        };
        let fine = Some(Length::from_pm(200_000));
        assert_eq!(german.divisions(3.0, fine).unwrap(), "1,5 Skt");
        // A division of an inch dial is one of the dial, whatever else is told in.
        let inch = Style {
            unit: Unit::In,
            division: "0.0005in".parse().ok(),
            ..Style::default()
        };
        assert_eq!(inch.divisions(19.05, None).unwrap(), "1\u{bd} div");
    }
}
