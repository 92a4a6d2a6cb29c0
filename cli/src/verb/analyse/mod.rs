//! `analyse`: a step's outcome from a table of readings, by the same code that computes it live.

mod contact;
mod dial;
mod runout;
mod size;
mod sweep;
mod table;
mod zero;

use super::written::Written;
use crate::args::{Analysis, TableHelp};
use crate::{Answer, Failure, outcome_text};
use config::Config;
use metrology::Length;
use metrology::setup::Setup;
use protocol::api::SetupOptions;
use protocol::fold::setup_for;
use protocol::for_kind;
use protocol::plan::Plan;
use protocol::step::{Outcome, Refused, StepKind, StepOptions, Work};
use protocol::style::Style;
use serde_json::json;
use table::{Column, Table};

/// What a kind of step takes from a table in place of evidence.
trait FromTable: TableHelp {
    /// The columns that its table may have.
    const COLUMNS: &'static [Column];
    /// Whether columns state options of the step, so that these are not whole before the table is read.
    const COLUMNS_STATE_OPTIONS: bool = false;

    /// Adds what the columns state to the options.
    ///
    /// # Errors
    /// Columns that do not go together, or that say otherwise than an option.
    fn state(_table: &Table, _options: &mut Self::Options) -> Result<(), Failure> {
        Ok(())
    }

    /// What its arithmetic takes, and one step of the display as the cells show it.
    ///
    /// # Errors
    /// The cell that cannot be used.
    fn read(&self, table: &Table, setup: &Setup)
    -> Result<(Self::Inputs, Option<Length>), Failure>;

    /// What the user has to know of the outcome, as it is from a table.
    ///
    /// # Errors
    /// An outcome that says nothing.
    fn warnings(_table: &Table, _outcome: &Self::Outcome) -> Result<Vec<String>, Failure> {
        Ok(Vec::new())
    }
}

/// Computes a step from its table. Nothing is stored, and no daemon is asked.
pub(super) fn run(
    config: &Config,
    analysis: &Analysis,
    written: Written,
) -> Result<Answer, Failure> {
    let setup = setup(config, &analysis.setup)?;
    let kind = analysis.step.kind();
    let mut options = analysis.step.clone();
    let planned = |options: &StepOptions| config::resolve_step(config, &setup, options);
    // What is wrong with an option is told before a long table is read.
    if !for_kind!(kind, StepKind => S, S::COLUMNS_STATE_OPTIONS) {
        planned(&options)?;
    }
    let columns = for_kind!(kind, StepKind => S, S::COLUMNS);
    let table = Table::read(&analysis.file, columns)?;
    table.check_readings(kind, setup.indicator.resolution.is_some())?;
    for_kind!(&mut options, StepOptions(options) => S, S::state(&table, options))?;
    let plan = planned(&options)?;
    let style = written.style(Some(&setup));
    for_kind!(&plan.work, Work(step) => S, answer::<S>(&table, &setup, &plan, step, style))
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

fn answer<S: FromTable>(
    table: &Table,
    setup: &Setup,
    plan: &Plan,
    step: &S,
    style: Style,
) -> Result<Answer, Failure> {
    let (inputs, shown) = step.read(table, setup)?;
    let computed = step.compute(&setup_for(plan, setup, shown), &inputs);
    let computed = computed.map_err(|why| refused(table, &why))?;
    let warnings = S::warnings(table, &computed)?;
    let outcome: Outcome = computed.into();
    let text = outcome_text::outcome(&outcome, setup, style);
    let mut answer = Answer::new(text, &outcome)?.judged(outcome.verdict());
    if !warnings.is_empty() {
        answer = answer.talk(warnings.join("\n"));
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
fn refused(table: &Table, why: &Refused) -> Failure {
    match why.row().and_then(|row| table.line_of(row)) {
        Some(line) => {
            let message = format!("{}, line {line}: {why}", table.name());
            Failure::new("no_outcome", message)
        }
        None => no_outcome(table, &why.to_string()),
    }
}

/// The finest step that cells show: trailing zeros get lost on the way through a spreadsheet, so that the finest cell
/// shows the display.
fn finer(shown: &mut Option<Length>, resolution: Length) {
    *shown = Some(shown.map_or(resolution, |finest| finest.min(resolution)));
}
