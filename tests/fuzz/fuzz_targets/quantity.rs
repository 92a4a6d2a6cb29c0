//! Any text as a length, an angle, a tolerance: refused with what was expected, or a value within its domain that is read again
//! from how it is written.

#![no_main]

use conewright_metrology::tolerance::Tolerance;
use conewright_metrology::{Angle, Length, Shown, Unit};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    for unit in [Unit::Mm, Unit::In, Unit::Um] {
        match Shown::parse(text, unit, Some(Length::from_um(2))) {
            Ok(shown) => {
                assert!(shown.value.abs() <= Length::LIMIT, "{shown:?}");
                assert!(shown.resolution >= Length::ZERO, "{shown:?}");
                let again = Length::parse(&shown.value.decimal(Unit::Mm), Unit::Mm);
                assert_eq!(again, Ok(shown.value));
            }
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }
    match text.parse::<Angle>() {
        Ok(angle) => {
            assert!(angle.rad().is_finite(), "{angle:?}");
            assert!(!angle.dms(1).is_empty());
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
    match text.parse::<Tolerance>() {
        Ok(tolerance) => {
            let written = tolerance.to_string();
            assert!(written.parse::<Tolerance>().is_ok(), "{written}");
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
