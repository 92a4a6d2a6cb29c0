//! `analyse`: a step's outcome from a table of readings, by the same code that computes it live.

mod contact;
mod dial;
mod runout;
mod size;
mod sweep;
mod table;
mod zero;

use crate::args::Analysis;
use crate::{Answer, Failure, outcome_text};
use config::Config;
use metrology::Length;
use metrology::setup::Setup;
use protocol::api::{SetupOptions, StepOptions};
use protocol::fold::{self, Inputs, Outcome};
use protocol::plan::{Plan, StepKind};
use serde_json::json;
use table::{Column, Table};

/// What a table comes to, before it is computed.
struct Tabled {
    plan: Plan,
    inputs: Inputs,
    /// One step of the display, as the cells show it.
    shown: Option<Length>,
}

/// Computes a step from its table. Nothing is stored, and no daemon is asked.
pub(super) fn run(config: &Config, analysis: &Analysis) -> Result<Answer, Failure> {
    let setup = setup(config, &analysis.setup)?;
    let columns = match analysis.kind {
        StepKind::Zero => zero::COLUMNS,
        StepKind::Sweep => sweep::COLUMNS,
        StepKind::Runout => runout::COLUMNS,
        StepKind::Size => size::COLUMNS,
        StepKind::Contact => contact::COLUMNS,
        StepKind::Dial => dial::COLUMNS,
    };
    let planned = |options: &StepOptions| -> Result<Plan, Failure> {
        Ok(config::resolve_step(
            config,
            &setup,
            analysis.kind,
            options,
        )?)
    };
    // What is wrong with an option is told before a long table is read.
    let mut options = analysis.step.clone();
    if !matches!(analysis.kind, StepKind::Size | StepKind::Runout) {
        planned(&options)?;
    }
    let table = Table::read(&analysis.file, columns)?;
    table.check_readings(analysis.kind, setup.indicator.resolution.is_some())?;
    let tabled = match analysis.kind {
        StepKind::Zero => {
            let plan = planned(&options)?;
            let inputs = zero::inputs(&table, &plan, &setup)?;
            // Its marks bring their own.
            let shown = None;
            Tabled {
                plan,
                inputs,
                shown,
            }
        }
        StepKind::Sweep => {
            let (inputs, shown) = sweep::inputs(&table)?;
            let plan = planned(&options)?;
            Tabled {
                plan,
                inputs,
                shown,
            }
        }
        StepKind::Runout => {
            runout::state(&table, &mut options)?;
            let plan = planned(&options)?;
            let (inputs, shown) = runout::inputs(&table)?;
            Tabled {
                plan,
                inputs,
                shown,
            }
        }
        StepKind::Size => {
            size::state(&table, &mut options)?;
            let plan = planned(&options)?;
            let (inputs, shown) = size::inputs(&table, &plan)?;
            Tabled {
                plan,
                inputs,
                shown,
            }
        }
        StepKind::Contact => Tabled {
            plan: planned(&options)?,
            inputs: contact::inputs(&table)?,
            shown: None,
        },
        StepKind::Dial => {
            let (inputs, shown) = dial::inputs(&table)?;
            let plan = planned(&options)?;
            Tabled {
                plan,
                inputs,
                shown,
            }
        }
    };
    answer(&table, &setup, &tabled)
}

/// The set-up that the options state.
///
/// A table may be of any instrument: what the configuration says of its cables is none of its matter, and its own
/// decimals say what the display showed.
fn setup(config: &Config, options: &SetupOptions) -> Result<Setup, Failure> {
    let options = SetupOptions {
        cable: options.cable.clone().or(Some("typed".to_owned())),
        ..options.clone()
    };
    let mut setup = config::resolve(config, &options)?;
    if options.resolution.is_none() {
        setup.indicator.resolution = None;
    }
    Ok(setup)
}

fn answer(table: &Table, setup: &Setup, tabled: &Tabled) -> Result<Answer, Failure> {
    let Tabled {
        plan,
        inputs,
        shown,
    } = tabled;
    let outcome = fold::compute(plan, setup, inputs, *shown).map_err(|why| placed(table, &why))?;
    let alone = match &outcome {
        Outcome::Zero(_) => zero::of_one_station(table),
        _ => Vec::new(),
    };
    if let Outcome::Zero(zero) = &outcome
        && zero.rounds.is_empty()
    {
        return Err(no_outcome(
            table,
            &format!(
                "no round has two stations, so there is no slope{}",
                alone.first().map_or(String::new(), |(round, line)| format!(
                    ": round {round} (from line {line}) has one station only"
                ))
            ),
        )
        .hint("a round needs readings at two different values of station_mm at least"));
    }
    let text = outcome_text::outcome(&outcome, setup);
    let mut answer = Answer::new(text, &outcome)?.judged(outcome.verdict());
    if !alone.is_empty() {
        let told = alone.iter().map(|(round, line)| {
            format!(
                "warning: {}: round {round} (from line {line}) has one station only, so it has no slope and is left out",
                table.name()
            )
        });
        answer = answer.talk(told.collect::<Vec<_>>().join("\n"));
    }
    if outcome.budget().is_empty() {
        // A judgement by eye has no components; every analysis has the list.
        answer.json["budget"] = json!([]);
    }
    Ok(answer)
}

/// What cannot be computed, of all the rows together.
fn no_outcome(table: &Table, why: &str) -> Failure {
    let lines = match (table.line_of(1), table.line_of(table.len())) {
        (Some(first), Some(last)) if first != last => format!(", lines {first} to {last}"),
        (Some(only), _) => format!(", line {only}"),
        _ => String::new(),
    };
    Failure::new("no_outcome", format!("{}{lines}: {why}", table.name()))
}

/// What the arithmetic refuses. It counts rows; the user's editor counts lines.
fn placed(table: &Table, why: &str) -> Failure {
    let numbered = why.strip_prefix("row ").and_then(|rest| {
        let (row, what) = rest.split_once(": ")?;
        let line = table.line_of(row.parse().ok()?)?;
        Some(Failure::new(
            "no_outcome",
            format!("{}, line {line}: {what}", table.name()),
        ))
    });
    numbered.unwrap_or_else(|| no_outcome(table, why))
}

/// The finest step that cells show: trailing zeros get lost on the way through a spreadsheet, so that the finest cell
/// shows the display.
fn finer(shown: &mut Option<Length>, resolution: Length) {
    *shown = Some(shown.map_or(resolution, |finest| finest.min(resolution)));
}
