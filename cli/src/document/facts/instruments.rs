//! The instruments that were used, each with its last check.

use super::moment;
use metrology::Length;
use metrology::dial::IndicatorCheck;
use metrology::setting::{Bar, BarKind};
use metrology::setup::Indicator;
use protocol::evidence::Time;
use protocol::record::Record;
use protocol::said;
use protocol::sheet::{Column, Table};
use protocol::style::Style;

/// An indicator's check in words.
pub fn check_words(check: &IndicatorCheck, style: Style) -> String {
    let corrected = match check.correction.len() {
        0 => String::new(),
        rows => said!(style, "check-corrected", rows = rows),
    };
    let when = check.checked_utc_ns.map_or_else(
        || said!(style, "checked-undated"),
        |ns| said!(style, "checked-at", moment = moment(Time(ns), style)),
    );
    said!(
        style,
        "check-words",
        when = when,
        u = style.micro(check.u_um),
        corrected = corrected
    )
}

/// The check of a step's own indicator, in a sentence.
pub fn of_step(check: &IndicatorCheck, style: Style) -> String {
    said!(style, "its-indicator", check = check_words(check, style))
}

/// The setting instrument in words.
pub fn bar_words(bar: &Bar, style: Style) -> String {
    let kind = match bar.kind {
        BarKind::Sine => said!(style, "bar-sine"),
        BarKind::Hinged => said!(style, "bar-hinged"),
        BarKind::Tangent => said!(style, "bar-tangent"),
    };
    let size = match (bar.centre_distance, bar.disc_radii) {
        (Some(centre), _) => said!(style, "bar-centres", length = style.length(centre)),
        (None, Some([small, large])) => said!(
            style,
            "bar-discs",
            small = style.length(small),
            large = style.length(large)
        ),
        (None, None) => String::new(),
    };
    let constant = if bar.constant == Length::ZERO {
        String::new()
    } else {
        said!(style, "bar-constant", length = style.length(bar.constant))
    };
    format!("{kind}{size}{constant}")
}

/// What an indicator is known by, in words.
fn indicator_words(indicator: &Indicator, style: Style) -> String {
    let cable = match &indicator.cable {
        Some(cable) => said!(style, "on-cable", cable = cable.as_str()),
        None => said!(style, "readings-typed"),
    };
    let resolution = indicator.resolution;
    let error = indicator.error_limit;
    let more = [
        resolution.map(|step| said!(style, "resolution-of", step = style.fine(step))),
        error.map(|limit| said!(style, "error-within", limit = style.fine(limit))),
    ];
    let words: Vec<String> = [Some(cable)].into_iter().chain(more).flatten().collect();
    words.join(", ")
}

/// The instruments of a session; those of a step where it used others.
pub fn instruments(record: &Record, style: Style) -> Table {
    let setup = &record.setup;
    let none = || said!(style, "none-recorded");
    let of_indicator = |name: String, indicator: &Indicator| {
        let check = indicator.check.as_ref();
        let check = check.map_or_else(none, |check| check_words(check, style));
        vec![name, indicator_words(indicator, style), check]
    };
    let bar = setup.bar.as_ref();
    let kit = setup.kit.as_ref();
    let of_setup = [
        bar.map(|bar| {
            let name = said!(style, "setting-instrument");
            vec![name, bar_words(bar, style), none()]
        }),
        kit.map(|kit| vec![said!(style, "gauge-blocks"), kit.name.clone(), none()]),
        Some(of_indicator(said!(style, "indicator"), &setup.indicator)),
    ];
    // Steps that used one indicator share its row.
    let mut of_steps: Vec<(String, &Indicator)> = Vec::new();
    for step in &record.steps {
        let Some(used) = &step.plan.indicator else {
            continue;
        };
        match of_steps.iter_mut().find(|(_, other)| *other == used) {
            Some((steps, _)) => steps.push_str(&format!(", {}", step.number)),
            None => of_steps.push((step.number.to_string(), used)),
        }
    }
    let of_steps = of_steps.into_iter().map(|(steps, indicator)| {
        let name = if steps.contains(',') {
            said!(style, "indicator-of-steps", steps = steps)
        } else {
            said!(style, "indicator-of-step", step = steps)
        };
        of_indicator(name, indicator)
    });
    let columns = [
        Column::text(said!(style, "column-instrument")),
        Column::text(said!(style, "column-what-it-is")),
        Column::text(said!(style, "column-last-check")),
    ];
    Table::new(columns, of_setup.into_iter().flatten().chain(of_steps))
}
