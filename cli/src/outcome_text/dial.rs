//! A check of the indicator in words.

use super::{plain, verdict};
use crate::layout::{Pairs, Table, um};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use metrology::dial::{DialOutcome, IndicatorCheck};

pub(super) fn text(dial: &DialOutcome) -> String {
    let mut pairs = Pairs::default();
    pairs.add(
        "error of indication",
        format!("{} over the range", plain(dial.error_span_um)),
    );
    pairs.add_some("hysteresis", dial.hysteresis_um.map(um));
    pairs.add_some(
        "repeatability",
        dial.repeatability_um.map(|range| {
            let sd = dial.repeatability_sd_um.map_or(String::new(), |sd| {
                format!(", standard deviation {}", plain(sd))
            });
            format!("{} largest range{sd}", plain(range))
        }),
    );
    pairs.add_some("verdict", dial.verdict.map(|v| verdict(v).to_owned()));
    pairs.add(
        "a later reading",
        format!("± {} (95 %), either way", plain(dial.expanded_um)),
    );
    pairs.add("later steps use", used(&dial.check));
    let mut text = pairs.text();
    let mut table = Table::new(&["known step", "up", "down"]);
    for step in &dial.steps {
        table.row([
            format!("{} mm", step.nominal_mm),
            step.up_um.map_or(String::new(), um),
            step.down_um.map_or(String::new(), um),
        ]);
    }
    text.push_str(&table.text());
    if !dial.check.correction.is_empty() {
        let mut table = Table::new(&["shown", "add"]);
        for row in &dial.check.correction {
            table.row([format!("{:.4} mm", row.reading_mm), um(row.add_um)]);
        }
        text.push_str(&table.text());
    }
    text
}

fn used(check: &IndicatorCheck) -> String {
    let how = if check.correction.is_empty() {
        "without a correction"
    } else {
        "with the correction below"
    };
    let date = check
        .checked_utc_ns
        .and_then(|ns| Timestamp::from_nanosecond(i128::from(ns)).ok())
        .map_or(String::new(), |at| {
            let day = at.to_zoned_datetime(TimeZone::system());
            format!(", checked {}", day.strftime("%Y-%m-%d"))
        });
    format!("u {} {how}{date}", plain(check.u_um))
}
