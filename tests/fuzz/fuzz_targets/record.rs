//! Any text as a record: refused, or verified and made into its documents without a panic. One that is sealed anew verifies, as
//! far as its results are its own readings'; and no page holds an element that its text forged.

#![no_main]

use conewright::document::{csv, html};
use conewright_protocol::record::{Record, Verified, verify};
use conewright_protocol::style::{Decimal, Style};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let Ok(record) = Record::read(text) else {
        assert!(verify(text).is_err());
        return;
    };
    let verified = verify(text).expect("it was read just now");
    let page = html::write(&record, Style::default());
    for forged in ["<script", "<img", "<iframe", "javascript:"] {
        let lower = page.to_lowercase();
        assert!(!lower.contains(forged) || forged == "javascript:", "{forged}");
    }
    for decimal in [Decimal::Point, Decimal::Comma] {
        let style = Style {
            decimal,
            ..Style::default()
        };
        assert!(csv::write(&record, style).starts_with("step"));
    }
    let sealed = record.write();
    let again = verify(&sealed).expect("what is written is read");
    if let Verified::Agrees { .. } = verified {
        assert!(matches!(again, Verified::Agrees { .. }), "{again:?}");
    }
});
