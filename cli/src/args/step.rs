//! `step`: each kind, and how its step is opened.

use clap::Subcommand;
use protocol::step::{
    ContactOptions, DialOptions, RunoutOptions, SizeOptions, StepOptions, SweepOptions, ZeroOptions,
};

/// What `step` does.
#[derive(Debug, Clone, Subcommand)]
#[allow(
    clippy::large_enum_variant,
    reason = "one is held at a time, as the command line was read"
)]
pub enum StepVerb {
    /// Make the reference edge lie along the travel, or the axis level
    #[command(after_help = "\
Examples:
  conewright step zero
  conewright step zero --about level --wheel 250 --part 40 --height 0.5

Mark the stations of each round: conewright mark, conewright mark A, conewright mark 42.5")]
    Zero(ZeroOptions),
    /// Sweep a cone or an edge: its line, and how straight it is
    #[command(after_help = "\
Examples:
  conewright step sweep                        station by station
  conewright step sweep --positions cable      a second cable reports the table's position
  conewright step sweep --positions feed       a steady feed from A to B, marked at both ends
  conewright step sweep --subject part --filter 0.8 --as left

By cable or by feed, the first mark begins the recording and the second ends it.")]
    Sweep(SweepOptions),
    /// Read round a turn: run-out, eccentricity and high spot, roundness, the axis
    #[command(after_help = "\
Examples:
  conewright step runout                       twelve positions of the clock
  conewright step runout --planes 5,45 --limit 2um
  conewright step runout --angles turns        mark each time that a line on the part comes by
  conewright step runout --angles steady --filter 50
  conewright step runout --reversal            part and spindle apart, in two set-ups

By the clock: conewright mark 4h, conewright mark 120deg. Turn the part by hand, with the wheel stopped.")]
    Runout(RunoutOptions),
    /// Measure the size: what is left to grind
    #[command(after_help = "\
Examples:
  conewright step size --planes 0,24 --pass-depth 10um --allowance 5um
  conewright step size --by stand-off
  conewright step size --rollers 6 --stacks 0,24
  conewright step size --big-ball 25 --small-ball 20
  conewright step size --planes 0 --temperature 24

Mark by plane or stack: conewright mark 24 --value 38.012; balls: conewright mark big --value 3.105")]
    Size(SizeOptions),
    /// Judge a print of marking dye: where it bears, and what that proves of the angles
    #[command(after_help = "\
Example:
  conewright step contact --film 2um,5um

Mark how much of each third printed, per cent: conewright mark 90,40,0 (big end, middle, small end)")]
    Contact(ContactOptions),
    /// Check the indicator itself on gauge blocks
    #[command(after_help = "\
Examples:
  conewright step dial --nominals 0,0.5,1,1.5,2
  conewright step dial --nominals 0,1,2 --correct

Mark each step, going up and then down again: conewright mark")]
    Dial(DialOptions),
    /// Close the open step
    Close,
}

impl StepVerb {
    /// What is to be opened; none to close.
    pub fn opening(self) -> Option<StepOptions> {
        Some(match self {
            Self::Zero(options) => options.into(),
            Self::Sweep(options) => options.into(),
            Self::Runout(options) => options.into(),
            Self::Size(options) => options.into(),
            Self::Contact(options) => options.into(),
            Self::Dial(options) => options.into(),
            Self::Close => return None,
        })
    }
}
