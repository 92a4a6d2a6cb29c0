//! What is said before all is measured, and of what is allowed.

use super::kinds::Opened;
use super::{kind, mm, of, seen};
use crate::step::SizePlan;
use metrology::Length;
use metrology::size::{Measured, SectionReading, SizeOptions};
use metrology::taper::Taper;

/// A seat with stock at the first of two planes: the second is measured before anything is ground.
#[test]
fn nothing_is_ground_before_the_second_plane_is_measured() {
    let sections = [(0.0, 40.04), (24.0, 38.04)].map(|(plane_mm, diameter_mm)| SectionReading {
        plane_mm,
        diameter_mm,
    });
    for (measured, first_word) in [(1, "Before grinding, measure"), (2, "Grind, press o")] {
        let step = SizePlan {
            size: SizeOptions {
                diameter_u: Some(mm("0.0001")),
                ..SizeOptions::default()
            },
            at: vec![Length::ZERO, mm("24")],
            ..SizePlan::default()
        };
        let of_these = Measured::Sections(sections[..measured].to_vec());
        let status = Opened::of(step).marked(Vec::new(), None).found(&of_these);
        let screen = of(&seen(&status, "0.013", 0.1));
        assert!(
            screen.advice.text.starts_with(first_word),
            "{}",
            screen.advice.text
        );
    }
}

#[test]
fn a_grade_is_told_with_what_it_allows_of_the_half_angle() {
    let mut status = kind("zero");
    for (tolerance, text) in [
        ("5arcsec", "5arcsec"),
        ("2um", "2um: ± 6.9 arcsec of half angle"),
    ] {
        let setup = status.setup.as_mut().unwrap();
        setup.taper =
            Some(Taper::from_half_angle("seat", "1:12".parse().unwrap(), "invented").unwrap());
        setup.length = Some(mm("30"));
        setup.tolerance = Some(tolerance.parse().unwrap());
        let screen = of(&seen(&status, "0.013", 0.1));
        let allowed = screen
            .details
            .iter()
            .find(|entry| entry.label == "ALLOWED")
            .unwrap();
        assert_eq!(allowed.text, text);
    }
}
