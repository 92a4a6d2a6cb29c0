//! The indicator's check on known steps: the next one and how to come to it, and the error there now.

use crate::api::Status;
use crate::evidence::Place;
use crate::said;
use crate::screen::parts::{Advice, Column, Listing, Meaning, Screen, Table, Value};
use crate::screen::plot::{Line, Plot};
use crate::screen::shown::{Open, Shown};
use crate::screen::value::reading;
use crate::screen::verdict;
use crate::sheet::words::limits_missing;
use crate::step::DialPlan;
use crate::style::Style;
use metrology::Length;
use metrology::dial::{Direction, Step};

impl Shown for DialPlan {
    /// The errors, come to from below and from above.
    fn plot(open: &Open<'_, Self>) -> Option<Plot> {
        let units = open.seen.units;
        let steps = &open.found?.steps;
        let errors = |way: fn(&Step) -> Option<f64>| {
            let steps = steps.iter();
            let points = steps
                .filter_map(|step| Some([units.long(step.nominal_mm), units.small(way(step)?)]));
            points.collect::<Vec<_>>()
        };
        let series = [
            (said!(units, "live-from-below"), errors(|step| step.up_um)),
            (said!(units, "live-from-above"), errors(|step| step.down_um)),
        ];
        Some(Plot::Line(Line {
            title: said!(units, "live-errors-of-indicator"),
            x_label: said!(units, "live-axis-known-step", unit = units.long_sign()),
            y_label: said!(units, "live-axis-error", unit = units.small_sign()),
            series: series
                .into_iter()
                .filter(|(_, points)| !points.is_empty())
                .collect(),
            ..Line::default()
        }))
    }

    fn place_wanted(style: Style) -> String {
        said!(style, "live-place-dial")
    }

    fn is_under_way(status: &Status) -> bool {
        status.next_place.is_some()
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        let style = open.seen.units;
        if let Some((nominal, direction)) = next(open) {
            let nominal = style.length(nominal);
            let text = match direction {
                Direction::Up => said!(style, "live-bring-from-below", nominal = nominal),
                Direction::Down => said!(style, "live-bring-from-above", nominal = nominal),
            };
            return Advice::say(style, text);
        }
        let text = match open.seen.next() {
            Some(next) => said!(style, "live-bring", place = next),
            None if open.found.is_some() => said!(style, "live-every-step-read"),
            None => said!(style, "live-name-the-step"),
        };
        Advice::say(style, text)
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let units = open.seen.units;
        screen.must = vec![reading(open.seen)];
        screen.must.extend(next_step(open));
        if let (Some(error_um), Some(next)) = (error_now(open), open.seen.next()) {
            let shown = units.small_signed(error_um);
            screen.may = Some(
                Value::of(said!(units, "live-label-error"), shown, units.small_sign())
                    .widest(units.written("+99.9".to_owned()))
                    .meaning(Meaning::Counting),
            );
            let error = units.signed_um(error_um);
            let here = said!(units, "live-error-at", error = error, place = next);
            screen.fact(said!(units, "live-label-here"), vec![here]);
        }
        let Some(dial) = open.found else { return };
        let span = units.um(dial.error_span_um);
        if screen.must.len() == 1 {
            let large = units.small_plain(dial.error_span_um);
            let value = Value::of(said!(units, "live-label-span"), large, units.small_sign());
            screen.must.push(value);
        }
        screen.undecided = limits_missing(units);
        screen.sign = dial.verdict.map(|found| {
            let parts = vec![said!(units, "live-errors-span", span = &*span)];
            verdict::sign(found, dial.undecided_because, parts, units)
        });
        let um = |um: f64| units.um(um);
        let mut errors = vec![said!(units, "live-span", by = span)];
        let hysteresis = dial.hysteresis_um.map(um);
        errors.extend(hysteresis.map(|by| said!(units, "live-hysteresis", by = by)));
        let repeatability = dial.repeatability_um.map(um);
        errors.extend(repeatability.map(|by| said!(units, "live-repeatability", by = by)));
        errors.push(said!(units, "readings", count = dial.points));
        screen.fact(said!(units, "live-label-errors"), errors);
        let mut later = vec![match dial.expanded_um.map(um) {
            Some(u) => said!(units, "live-later-within", u = u),
            None => said!(units, "live-later-unknown"),
        }];
        if !dial.check.correction.is_empty() {
            later.push(said!(units, "live-with-correction"));
        }
        screen.fact(said!(units, "live-label-later"), later);
    }

    /// The errors at the known steps, rising.
    fn listing(open: &Open<'_, Self>) -> Option<Listing> {
        let units = open.seen.units;
        let shown = |um: Option<f64>| um.map(|um| units.small_signed(um)).unwrap_or_default();
        let row = |step: &Step| {
            let both = step.up_um.zip(step.down_um).map(|(up, down)| up - down);
            vec![
                units.long_number(step.nominal_mm, 3),
                shown(step.up_um),
                shown(step.down_um),
                shown(both),
            ]
        };
        let small = units.small_sign();
        let columns = [
            Column::right(units.long_sign(), 10),
            Column::right(said!(units, "live-column-up", unit = small), 9),
            Column::right(said!(units, "live-column-down", unit = small), 9),
            Column::right(said!(units, "live-column-up-down", unit = small), 11),
        ];
        let rows = open.found?.steps.iter().map(row);
        Some(Listing::Table(Table::newest_last(columns, rows)))
    }
}

/// The known step that is next, unless the user said that another one is.
fn next(open: &Open<'_, DialPlan>) -> Option<(Length, Direction)> {
    match &open.status.next_place {
        Some(Place::Nominal { nominal, direction }) if open.seen.user.place.is_none() => {
            Some((*nominal, *direction))
        }
        _ => None,
    }
}

/// The next known step, large, and how it is to be come to.
fn next_step(open: &Open<'_, DialPlan>) -> Option<Value> {
    let units = open.seen.units;
    if let Some(chosen) = open.seen.user.place {
        return Some(Value::next_named(chosen, units));
    }
    let (nominal, direction) = next(open)?;
    let label = match direction {
        Direction::Up => said!(units, "live-label-next-up"),
        Direction::Down => said!(units, "live-label-next-down"),
    };
    let nominal = units.length_number(nominal);
    let under = said!(units, "live-nominal", unit = units.long_sign());
    Some(Value::of(label, nominal, under))
}

/// What the indicator shows now less what stands under it, µm, when that is known and the reading is that of now.
fn error_now(open: &Open<'_, DialPlan>) -> Option<f64> {
    let (nominal, _) = next(open)?;
    let now = open.seen.indicator()?.now()?;
    let lever = open
        .setup()
        .map_or(1.0, |setup| setup.indicator.lever_factor());
    let error_um = now.value.um() * lever - nominal.um();
    // Far from the step it is on its way, and no error yet.
    (error_um.abs() < 100.0).then_some(error_um)
}
