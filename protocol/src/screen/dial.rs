//! The indicator's check on known steps: the next one and how to come to it, and the error there now.

use super::parts::{Advice, Column, Listing, Meaning, Screen, Table, Value};
use super::plot::{Line, Plot};
use super::shown::{Open, Shown};
use super::value::reading;
use super::verdict;
use crate::api::Status;
use crate::evidence::Place;
use crate::sheet::words::NO_LIMIT;
use crate::step::DialPlan;
use metrology::dial::{Direction, Step};
use metrology::{Counted, Length};

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
            ("from below", errors(|step| step.up_um)),
            ("from above", errors(|step| step.down_um)),
        ];
        Some(Plot::Line(Line {
            title: "Errors of the indicator".to_owned(),
            x_label: format!("known step, {}", units.long_sign()),
            y_label: format!("error, {}", units.small_sign()),
            series: series
                .into_iter()
                .filter(|(_, points)| !points.is_empty())
                .map(|(name, points)| (name.to_owned(), points))
                .collect(),
            ..Line::default()
        }))
    }

    const PLACE: &'static str = "known step under the indicator, as 1.2mm";

    fn is_under_way(status: &Status) -> bool {
        status.next_place.is_some()
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        if let Some((nominal, direction)) = next(open) {
            let from = match direction {
                Direction::Up => "from below",
                Direction::Down => "from above",
            };
            let nominal = open.seen.units.length(nominal.to_owned());
            return Advice::say(format!(
                "Bring {nominal} under the indicator, coming to it {from}; let it settle, mark."
            ));
        }
        match open.seen.next() {
            Some(next) => Advice::say(format!("Bring {next} under the indicator, and mark.")),
            None if open.found.is_some() => {
                Advice::say("Every step is read. Go round again for repeatability, or key s.")
            }
            None => Advice::say(
                "Key p names the step under the indicator, as `1.2mm`; the way follows from the last one.",
            ),
        }
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let units = open.seen.units;
        screen.must = vec![reading(open.seen)];
        screen.must.extend(next_step(open));
        if let (Some(error_um), Some(next)) = (error_now(open), open.seen.next()) {
            let shown = units.small_signed(error_um);
            screen.may = Some(
                Value::of("ERROR now", shown, units.small_sign())
                    .widest("+99.9")
                    .meaning(Meaning::Counting),
            );
            let error = units.signed_um(error_um);
            screen.fact("HERE", vec![format!("error {error} at {next}")]);
        }
        let Some(dial) = open.found else { return };
        let span = units.um(dial.error_span_um);
        if screen.must.len() == 1 {
            let large = units.small_plain(dial.error_span_um);
            let value = Value::of("SPAN of the errors", large, units.small_sign());
            screen.must.push(value);
        }
        NO_LIMIT.clone_into(&mut screen.undecided);
        screen.sign = dial.verdict.map(|found| {
            let parts = vec![format!("errors span {span}")];
            verdict::sign(found, dial.undecided_because, parts)
        });
        let named = |um: Option<f64>, what: &str| um.map(|um| format!("{} {what}", units.um(um)));
        let mut errors = vec![format!("{span} span")];
        errors.extend(named(dial.hysteresis_um, "hysteresis"));
        errors.extend(named(dial.repeatability_um, "repeatability"));
        errors.push(Counted(dial.points, "reading").to_string());
        screen.fact("ERRORS", errors);
        let mut later = vec![dial.expanded_um.map_or_else(
            || "repeatability unknown: go through the steps again".to_owned(),
            |expanded| format!("a later reading is good to ± {} (95 %)", units.um(expanded)),
        )];
        if !dial.check.correction.is_empty() {
            later.push("with its correction".to_owned());
        }
        screen.fact("LATER", later);
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
            Column::right(format!("up {small}"), 9),
            Column::right(format!("down {small}"), 9),
            Column::right(format!("up-down {small}"), 11),
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
    if let Some(chosen) = open.seen.user.place {
        return Some(Value::of("NEXT", "mark", chosen));
    }
    let (nominal, direction) = next(open)?;
    let way = match direction {
        Direction::Up => "UP",
        Direction::Down => "DOWN",
    };
    let units = open.seen.units;
    let nominal = units.length_number(nominal);
    let under = format!("{} nominal", units.long_sign());
    Some(Value::of(format!("NEXT, {way}"), nominal, under))
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
