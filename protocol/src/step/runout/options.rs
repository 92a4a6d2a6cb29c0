//! The options of a run-out step.

use crate::step::CommonOptions;
use crate::step::form::Words;
use clap::Args;
use serde::{Deserialize, Serialize};

/// The options of `step runout`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct RunoutOptions {
    /// Of every kind that reads an indicator.
    #[command(flatten)]
    #[serde(flatten)]
    pub common: CommonOptions,
    /// Where angles come from: `clock`, `turns` (a mark for each turn) or `steady` (found from the readings)
    #[arg(long, value_name = "FROM", hide_possible_values = true, value_parser = Words(&["clock", "turns", "steady"]))]
    pub angles: Option<String>,
    /// Positions of the clock in a turn, 3 to 360; 12 unless stated
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub per_turn: Option<String>,
    /// Planes across the axis, in the order in which they are read: 5,45
    #[arg(
        long,
        value_name = "PLANES",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub planes: Vec<String>,
    /// Read twice, the second time with the part turned half a turn and the indicator moved across
    #[arg(long)]
    pub reversal: bool,
    /// Those that `analyse runout` takes too.
    #[command(flatten)]
    #[serde(flatten)]
    pub analysis: RunoutAnalysis,
}

/// The options of `analyse runout`: what the step computes.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct RunoutAnalysis {
    /// Filter of roundness, undulations per turn: usually 15, 50, 150 or 500; no filter unless stated
    #[arg(long, value_name = "UPR", allow_hyphen_values = true)]
    pub filter: Option<String>,
    /// Leave flagged outliers out; they are only counted unless asked for
    #[arg(long)]
    pub reject_outliers: bool,
    /// The indicator stands square to the cone's surface: readings are divided by the cosine of the half angle
    #[arg(long)]
    pub square_to_cone: bool,
    /// The part's radius there: then the circle itself is fitted, for a part far off centre
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub radius: Option<String>,
    /// The highest harmonic in the answer; 15 unless stated
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub harmonics: Option<String>,
    /// The largest run-out allowed, for a verdict
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub limit: Option<String>,
    /// Planes at which the run-out of the axis is computed: 0,60
    #[arg(
        long,
        value_name = "PLANES",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub at_planes: Vec<String>,
}

impl RunoutOptions {
    /// A circle needs three places, and a whole degree is as fine as a hand sets one.
    pub const PER_TURN: [u32; 2] = [3, 360];
    /// ISO 12181-2 names 15, 50, 150, 500 and 1500; a filter of one undulation would leave nothing but the eccentricity.
    pub const FILTER_UPR: [u32; 2] = [2, 5000];
    /// Order 1 is the eccentricity.
    pub const HARMONICS: [u32; 2] = [2, 500];
}

const fn wide([least, most]: [u32; 2]) -> [f64; 2] {
    [least as f64, most as f64]
}

with_common_options!(
    RunoutOptions,
    RunoutAnalysis,
    usual: ["angles", "per_turn", "planes", "limit", "condition"],
    limits: [
        ("per_turn", wide(Self::PER_TURN)),
        ("filter", wide(Self::FILTER_UPR)),
        ("harmonics", wide(Self::HARMONICS)),
    ]
);
