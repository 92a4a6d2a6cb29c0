//! The instruments that were used, each with its last check.

use super::{mm, utc};
use metrology::Length;
use metrology::dial::IndicatorCheck;
use metrology::setting::{Bar, BarKind};
use metrology::setup::Indicator;
use protocol::evidence::Time;
use protocol::record::Record;
use protocol::sheet::Table;
use protocol::sheet::words::plain_um;

/// An indicator's check in words.
pub fn check_words(check: &IndicatorCheck) -> String {
    let corrected = match check.correction.len() {
        0 => String::new(),
        rows => format!(", corrected by a table of {rows} rows"),
    };
    let when = check.checked_utc_ns.map_or_else(
        || "checked, without a date".to_owned(),
        |ns| format!("checked {} UTC", utc(Time(ns))),
    );
    format!("{when}, u = {}{corrected}", plain_um(check.u_um))
}

/// The setting instrument in words.
pub fn bar_words(bar: &Bar) -> String {
    let kind = match bar.kind {
        BarKind::Sine => "sine bar",
        BarKind::Hinged => "hinged bar",
        BarKind::Tangent => "tangent bar",
    };
    let size = match (bar.centre_distance, bar.disc_radii) {
        (Some(centre), _) => format!(", {} between centres", mm(centre)),
        (None, Some([small, large])) => {
            format!(", discs of radius {} and {}", mm(small), mm(large))
        }
        (None, None) => String::new(),
    };
    let constant = if bar.constant == Length::ZERO {
        String::new()
    } else {
        format!(", constant {}", mm(bar.constant))
    };
    format!("{kind}{size}{constant}")
}

/// What an indicator is known by, in words.
fn indicator_words(indicator: &Indicator) -> String {
    let cable = match &indicator.cable {
        Some(cable) => format!("on cable {cable}"),
        None => "readings typed".to_owned(),
    };
    let resolution = indicator.resolution;
    let error = indicator.error_limit;
    let more = [
        resolution.map(|r| format!("resolution {}", mm(r))),
        error.map(|e| format!("error within ± {}", mm(e))),
    ];
    let words: Vec<String> = [Some(cable)].into_iter().chain(more).flatten().collect();
    words.join(", ")
}

/// The instruments of a session; those of a step where it used others.
pub fn instruments(record: &Record) -> Table {
    const NONE: &str = "none is recorded";
    let setup = &record.setup;
    let row = |name: &str, data: String, check: &str| vec![name.to_owned(), data, check.to_owned()];
    let of_indicator = |name: &str, indicator: &Indicator| {
        let check = indicator.check.as_ref().map(check_words);
        let check = check.as_deref().unwrap_or(NONE);
        row(name, indicator_words(indicator), check)
    };
    let bar = setup.bar.as_ref();
    let kit = setup.kit.as_ref();
    let of_setup = [
        bar.map(|bar| row("Setting instrument", bar_words(bar), NONE)),
        kit.map(|kit| row("Gauge blocks", kit.name.clone(), NONE)),
        Some(of_indicator("Indicator", &setup.indicator)),
    ];
    let of_steps = record.steps.iter().filter_map(|step| {
        let name = format!("Indicator of step {}", step.number);
        Some(of_indicator(&name, step.plan.indicator.as_ref()?))
    });
    Table::new(
        &["Instrument", "What it is", "Last check"],
        of_setup.into_iter().flatten().chain(of_steps),
    )
}
