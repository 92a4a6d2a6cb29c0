//! `analyse`: a table, the options of a set-up, and those of the step.

use clap::{Args, Subcommand};
use protocol::api::SetupOptions;
use protocol::step::{
    ContactAnalysis, ContactOptions, DialAnalysis, DialOptions, RunoutAnalysis, RunoutOptions,
    SizeAnalysis, SizeOptions, StepOptions, SweepAnalysis, SweepOptions, ZeroAnalysis, ZeroOptions,
};
use std::path::PathBuf;

const TABLES: &str = "\
The columns may stand in any order; their names are in the first line. Comma or semicolon between them; with \
semicolons, numbers may have decimal commas. Exit code 3 when the verdict is \"out\".";

/// What `analyse` computes.
#[derive(Debug, Subcommand)]
#[allow(
    clippy::large_enum_variant,
    reason = "one is held at a time, as the command line was read"
)]
pub enum AnalyseVerb {
    /// A zero step: columns round, station_mm, reading_mm, and optionally time_s and clamped
    #[command(after_help = format!("{TABLES}

Examples:
  conewright analyse zero rounds.csv --taper 1:12 --length 30 --tolerance 5arcsec --resolution 0.001
  conewright analyse zero top.csv --taper 1:12 --length 30 --about level --wheel 250 --part 40"))]
    Zero {
        #[command(flatten)]
        table: TableArgs,
        #[command(flatten)]
        analysis: ZeroAnalysis,
    },
    /// A sweep: columns position_mm and reading_mm
    #[command(after_help = format!("{TABLES}

Example:
  conewright analyse sweep edge.csv --taper 1:12 --length 30 --tolerance 5arcsec --filter 0.8"))]
    Sweep {
        #[command(flatten)]
        table: TableArgs,
        #[command(flatten)]
        analysis: SweepAnalysis,
    },
    /// A run-out: columns reading_mm, angle_deg or time_s, and optionally plane_mm, turned and turn_mark
    #[command(after_help = format!("{TABLES}

angle_deg counts from 0 to 360 in each turn. With time_s and turn_mark (1 in the row where a line on the part comes by) \
the angle runs evenly from mark to mark; with time_s alone the time of a turn is found from the readings. turned is 1 in \
the rows that were read with the part turned half a turn and the indicator moved across.

Example:
  conewright analyse runout nose.csv --filter 50 --limit 2um --at-planes 0,60"))]
    Runout {
        #[command(flatten)]
        table: TableArgs,
        #[command(flatten)]
        analysis: RunoutAnalysis,
    },
    /// A size: columns plane_mm and diameter_mm, or those of another way of measuring
    #[command(after_help = format!("{TABLES}

The columns say how it was measured: plane_mm and diameter_mm; stand_off_mm; stacks_mm and over_mm (with --rollers); \
ball_diameter_mm and depth_mm.

Examples:
  conewright analyse size seat.csv --taper 1:12 --pass-depth 10um --allowance 5um
  conewright analyse size rolls.csv --taper 1:12 --rollers 6"))]
    Size {
        #[command(flatten)]
        table: TableArgs,
        #[command(flatten)]
        analysis: SizeAnalysis,
    },
    /// A print of marking dye: columns big_percent, middle_percent and small_percent, one row
    #[command(after_help = format!("{TABLES}

Example:
  conewright analyse contact print.csv --length 30 --film 2um,5um"))]
    Contact {
        #[command(flatten)]
        table: TableArgs,
        #[command(flatten)]
        analysis: ContactAnalysis,
    },
    /// A check of the indicator: columns nominal_mm, reading_mm and direction (up or down)
    #[command(after_help = format!("{TABLES}

Example:
  conewright analyse dial blocks.csv --kit metric-88 --indicator-error 2um --correct"))]
    Dial {
        #[command(flatten)]
        table: TableArgs,
        #[command(flatten)]
        analysis: DialAnalysis,
    },
}

/// A table and the set-up it was taken in.
#[derive(Debug, Args)]
pub struct TableArgs {
    /// The table of readings
    #[arg(value_name = "FILE.csv")]
    pub file: PathBuf,
    #[command(flatten)]
    pub setup: Box<SetupOptions>,
}

/// What is to be analysed.
#[derive(Debug)]
pub struct Analysis {
    /// The table.
    pub file: PathBuf,
    /// What is stated of the set-up.
    pub setup: SetupOptions,
    /// What is stated of the step.
    pub step: StepOptions,
}

impl From<AnalyseVerb> for Analysis {
    fn from(verb: AnalyseVerb) -> Self {
        // What else a step has is said by the table.
        let (table, step) = match verb {
            AnalyseVerb::Zero { table, analysis } => {
                let usual = ZeroOptions::default();
                (table, ZeroOptions { analysis, ..usual }.into())
            }
            AnalyseVerb::Sweep { table, analysis } => {
                let usual = SweepOptions::default();
                (table, SweepOptions { analysis, ..usual }.into())
            }
            AnalyseVerb::Runout { table, analysis } => {
                let usual = RunoutOptions::default();
                (table, RunoutOptions { analysis, ..usual }.into())
            }
            AnalyseVerb::Size { table, analysis } => {
                let usual = SizeOptions::default();
                (table, SizeOptions { analysis, ..usual }.into())
            }
            AnalyseVerb::Contact { table, analysis } => {
                let usual = ContactOptions::default();
                (table, ContactOptions { analysis, ..usual }.into())
            }
            AnalyseVerb::Dial { table, analysis } => {
                let usual = DialOptions::default();
                (table, DialOptions { analysis, ..usual }.into())
            }
        };
        Self {
            file: table.file,
            setup: *table.setup,
            step,
        }
    }
}
