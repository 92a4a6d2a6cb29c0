//! The indicator's check on known steps: the next one and how to come to it, and the error there now.

use super::value::reading;
use super::{Face, Table, Value, signed_um, um, verdict};
use crate::watch::advice::{Advice, next};
use crate::watch::figures::Units;
use crate::watch::state::Watch;
use metrology::Counted;
use metrology::Unit;
use metrology::dial::{DialOutcome, Direction};
use protocol::api::Status;
use protocol::evidence::Place;
use protocol::fold::Outcome;
use protocol::plan::Plan;
use ratatui::style::Color;

fn dial(status: &Status) -> Option<&DialOutcome> {
    let Outcome::Dial(dial) = status.outcome.as_ref()? else {
        return None;
    };
    Some(dial)
}

const fn way(direction: Direction) -> &'static str {
    match direction {
        Direction::Up => "UP",
        Direction::Down => "DOWN",
    }
}

pub fn face(watch: &Watch, status: &Status, plan: &Plan, now_s: f64) -> Face {
    let units = watch.look.units;
    let mut face = Face {
        must: vec![reading(watch, now_s)],
        ..Face::idle(watch, now_s)
    };
    face.must.extend(next_step(watch, status));
    let error_um = error_now(watch, status, plan, now_s);
    face.may = error_um.map(|um| error(watch, um));
    if let (Some(um), Some(next)) = (error_um, next(watch, status)) {
        face.fact(
            "HERE",
            vec![format!("error {} at {next}", signed_um(um, units))],
        );
    }
    let Some(dial) = dial(status) else {
        return face;
    };
    if face.must.len() == 1 {
        let span = Value::of(
            watch.look,
            "SPAN of the errors",
            super::unsigned(dial.error_span_um, units),
            units.small_sign(),
        );
        face.must.push(span);
    }
    "no error was stated for this indicator, so there is no verdict"
        .clone_into(&mut face.undecided);
    face.sign = dial.verdict.map(|found| {
        verdict(
            found,
            dial.undecided_because,
            vec![format!("errors span {}", um(dial.error_span_um, units))],
        )
    });
    let mut found = vec![format!("{} span", um(dial.error_span_um, units))];
    found.extend(
        dial.hysteresis_um
            .map(|h| format!("{} hysteresis", um(h, units))),
    );
    found.extend(
        dial.repeatability_um
            .map(|r| format!("{} repeatability", um(r, units))),
    );
    found.push(Counted(dial.points, "reading").to_string());
    face.fact("ERRORS", found);
    let mut later = vec![dial.expanded_um.map_or_else(
        || "repeatability unknown: go through the steps again".to_owned(),
        |expanded| {
            format!(
                "a later reading is good to ± {} (95 %)",
                um(expanded, units)
            )
        },
    )];
    if !dial.check.correction.is_empty() {
        later.push("with its correction".to_owned());
    }
    face.fact("LATER", later);
    face
}

/// The next known step, large, and how it is to be come to.
fn next_step(watch: &Watch, status: &Status) -> Option<Value> {
    let look = watch.look;
    let mut value = match (&status.next_place, &watch.place) {
        (Some(Place::Nominal { nominal, direction }), None) => Value::of(
            look,
            format!("NEXT, {}", way(*direction)),
            nominal.decimal(Unit::Mm),
            "mm nominal",
        ),
        (_, Some(chosen)) => Value::of(look, "NEXT", "mark", chosen.clone()),
        _ => return None,
    };
    value.widest = value.value.clone();
    Some(value)
}

/// What the indicator shows now less what stands under it, µm, when that is known and the reading is that of now.
fn error_now(watch: &Watch, status: &Status, plan: &Plan, now_s: f64) -> Option<f64> {
    let Some(Place::Nominal { nominal, .. }) = &status.next_place else {
        return None;
    };
    if watch.place.is_some() {
        return None;
    }
    let (value, _) = watch.indicator(now_s).filter(|i| i.current)?.value?;
    let setup = status.setup.as_ref().map(|setup| plan.setup(setup));
    let lever = setup.map_or(1.0, |setup| setup.indicator.lever_factor());
    let error_um = value.um() * lever - nominal.um();
    // Far from the step it is on its way, and no error yet.
    (error_um.abs() < 100.0).then_some(error_um)
}

fn error(watch: &Watch, error_um: f64) -> Value {
    let units = watch.look.units;
    let shown = units.small_signed(error_um);
    let mut value = Value::of(watch.look, "ERROR now", shown, units.small_sign());
    "+99.9".clone_into(&mut value.widest);
    value.style = watch.look.ink(Color::Cyan).patch(watch.look.strong());
    value
}

pub fn advice(watch: &Watch, status: &Status) -> Advice {
    match (&status.next_place, next(watch, status)) {
        (Some(Place::Nominal { nominal, direction }), _) if watch.place.is_none() => {
            let from = match direction {
                Direction::Up => "from below",
                Direction::Down => "from above",
            };
            Advice::say(format!(
                "Bring {nominal} under the indicator, coming to it {from}; let it settle, mark."
            ))
        }
        (_, Some(next)) => Advice::say(format!("Bring {next} under the indicator, and mark.")),
        (_, None) if status.outcome.is_some() => {
            Advice::say("Every step is read. Go round again for repeatability, or key s.")
        }
        _ => Advice::say(
            "Key p names the step under the indicator, as `1.2mm`; the way follows from the last one.",
        ),
    }
}

/// The errors at the known steps, rising.
pub fn table(status: &Status, units: Units) -> Option<Table> {
    let dial = dial(status)?;
    let shown = |um: Option<f64>| um.map(|um| units.small_signed(um)).unwrap_or_default();
    let small = units.small_sign();
    let row = |step: &metrology::dial::Step| {
        let both = step.up_um.zip(step.down_um).map(|(up, down)| up - down);
        format!(
            "{:>10} {:>9} {:>9} {:>11}",
            format!("{:.3}", step.nominal_mm),
            shown(step.up_um),
            shown(step.down_um),
            shown(both)
        )
    };
    Some(Table {
        head: format!(
            "{:>10} {:>9} {:>9} {:>11}",
            "mm",
            format!("up {small}"),
            format!("down {small}"),
            format!("up-down {small}")
        ),
        rows: dial.steps.iter().map(row).collect(),
        newest_last: true,
    })
}
