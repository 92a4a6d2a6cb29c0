//! `mark`: where, and with which value.

use clap::Args;

/// What a mark says.
#[derive(Debug, Clone, Args)]
pub struct MarkArgs {
    /// Where: a station or a distance from A; an hour of the clock or an angle; a plane, a stack or a ball; a known step;
    /// the three shares of a print. The next one unless stated
    #[arg(value_name = "PLACE", allow_negative_numbers = true)]
    pub station: Option<String>,
    /// A typed reading: a length, or divisions as -3.5div
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    pub value: Option<String>,
    /// The part's angle about its axis, in run-out
    #[arg(long, value_name = "A", allow_hyphen_values = true)]
    pub angle: Option<String>,
    /// Begin a new round although the last is not complete
    #[arg(long)]
    pub new_round: bool,
    /// While the reading moves, wait for rest for so long; 0 refuses the mark at once
    #[arg(long, value_name = "SECONDS", value_parser = clap::value_parser!(u32).range(0..=20))]
    pub wait: Option<u32>,
}

/// What is said below the help of `mark`.
pub const HELP: &str = "\
Examples:
  conewright mark                        the next place, whatever the step
  conewright mark A                      zero, sweep: station A
  conewright mark 42.5                   zero, sweep: 42.5 mm from A
  conewright mark B --value -3.5div      a typed reading
  conewright mark 4h                     run-out: four o'clock; 120deg is the same
  conewright mark 24 --value 38.012      size: the diameter at the plane 24 mm, or over rollers on 24 mm
  conewright mark 1.5                    dial: the step of 1.5 mm
  conewright mark 90,40,0                contact: big end, middle and small end, per cent
  conewright mark                        by cable, feed, turns: begins, marks a turn, ends";
