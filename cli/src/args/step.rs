//! `step`: each kind, and how its step is opened.

use super::options::{
    ContactArgs, DialArgs, DialSteps, RunoutAngles, RunoutArgs, SizeArgs, SizeTools, State,
    SweepArgs, SweepPlaces, Taking, ZeroArgs,
};
use clap::Subcommand;
use protocol::api::{OpenStep, StepOptions};
use protocol::plan::StepKind;

/// What `step` does.
#[derive(Debug, Clone, Subcommand)]
pub enum StepVerb {
    /// Make the reference edge lie along the travel, or the axis level
    #[command(after_help = "\
Examples:
  conewright step zero
  conewright step zero --about level --wheel 250 --part 40 --height 0.5

Mark the stations of each round: conewright mark, conewright mark A, conewright mark 42.5")]
    Zero {
        #[command(flatten)]
        taking: Taking,
        #[command(flatten)]
        zero: ZeroArgs,
    },
    /// Sweep a cone or an edge: its line, and how straight it is
    #[command(after_help = "\
Examples:
  conewright step sweep                        station by station
  conewright step sweep --positions cable      a second cable reports the table's position
  conewright step sweep --positions feed       a steady feed from A to B, marked at both ends
  conewright step sweep --subject part --filter 0.8 --as left

By cable or by feed, the first mark begins the recording and the second ends it.")]
    Sweep {
        #[command(flatten)]
        taking: Taking,
        #[command(flatten)]
        places: SweepPlaces,
        #[command(flatten)]
        sweep: SweepArgs,
    },
    /// Read round a turn: run-out, eccentricity and high spot, roundness, the axis
    #[command(after_help = "\
Examples:
  conewright step runout                       twelve positions of the clock
  conewright step runout --planes 5,45 --limit 2um
  conewright step runout --angles turns        mark each time that a line on the part comes by
  conewright step runout --angles steady --filter 50
  conewright step runout --reversal            part and spindle apart, in two set-ups

By the clock: conewright mark 4h, conewright mark 120deg. Turn the part by hand, with the wheel stopped.")]
    Runout {
        #[command(flatten)]
        taking: Taking,
        #[command(flatten)]
        angles: RunoutAngles,
        #[command(flatten)]
        runout: RunoutArgs,
    },
    /// Measure the size: what is left to grind
    #[command(after_help = "\
Examples:
  conewright step size --planes 0,24 --pass-depth 10um --allowance 5um
  conewright step size --by stand-off
  conewright step size --rollers 6 --stacks 0,24
  conewright step size --big-ball 25 --small-ball 20
  conewright step size --planes 0 --temperature 24

Mark by plane or stack: conewright mark 24 --value 38.012; balls: conewright mark big --value 3.105")]
    Size {
        #[command(flatten)]
        taking: Taking,
        #[command(flatten)]
        tools: SizeTools,
        #[command(flatten)]
        size: SizeArgs,
    },
    /// Judge a print of marking dye: where it bears, and what that proves of the angles
    #[command(after_help = "\
Example:
  conewright step contact --film 2um,5um

Mark how much of each third printed, per cent: conewright mark 90,40,0 (big end, middle, small end)")]
    Contact {
        #[command(flatten)]
        state: State,
        #[command(flatten)]
        contact: ContactArgs,
    },
    /// Check the indicator itself on gauge blocks
    #[command(after_help = "\
Examples:
  conewright step dial --nominals 0,0.5,1,1.5,2
  conewright step dial --nominals 0,1,2 --correct

Mark each step, going up and then down again: conewright mark")]
    Dial {
        #[command(flatten)]
        taking: Taking,
        #[command(flatten)]
        steps: DialSteps,
        #[command(flatten)]
        dial: DialArgs,
    },
    /// Close the open step
    Close,
}

impl StepVerb {
    /// What is to be opened; none to close.
    pub fn opening(self) -> Option<OpenStep> {
        let mut options = StepOptions::default();
        let kind = match self {
            Self::Zero { taking, zero } => {
                taking.state(&mut options);
                zero.state(&mut options);
                StepKind::Zero
            }
            Self::Sweep {
                taking,
                places,
                sweep,
            } => {
                taking.state(&mut options);
                options.positions = places.positions;
                options.position_cable = places.position_cable;
                sweep.state(&mut options);
                StepKind::Sweep
            }
            Self::Runout {
                taking,
                angles,
                runout,
            } => {
                taking.state(&mut options);
                options.angles = angles.angles;
                options.per_turn = angles.per_turn;
                options.planes = angles.planes;
                options.reversal = angles.reversal;
                runout.state(&mut options);
                StepKind::Runout
            }
            Self::Size {
                taking,
                tools,
                size,
            } => {
                taking.state(&mut options);
                options.planes = tools.planes;
                options.stacks = tools.stacks;
                options.big_ball = tools.big_ball;
                options.small_ball = tools.small_ball;
                size.state(&mut options);
                StepKind::Size
            }
            Self::Contact { state, contact } => {
                options.condition = state.condition;
                contact.state(&mut options);
                StepKind::Contact
            }
            Self::Dial {
                taking,
                steps,
                dial,
            } => {
                taking.state(&mut options);
                options.nominals = steps.nominals;
                dial.state(&mut options);
                StepKind::Dial
            }
            Self::Close => return None,
        };
        Some(OpenStep { kind, options })
    }
}
