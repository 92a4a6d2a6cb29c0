//! The options of a size step.

use crate::step::CommonOptions;
use crate::step::form::Words;
use clap::Args;
use metrology::thermal::LARGEST_EXPANSION_UM_PER_M_K;
use serde::{Deserialize, Serialize};

/// The options of `step size`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct SizeOptions {
    /// Of every kind that reads an indicator.
    #[command(flatten)]
    #[serde(flatten)]
    pub common: CommonOptions,
    /// Planes of the diameters, from the gauge plane, positive toward the small end: 0,24
    #[arg(
        long,
        value_name = "PLANES",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub planes: Vec<String>,
    /// Heights of the stacks that the rollers lie on: 0,24
    #[arg(
        long,
        value_name = "HEIGHTS",
        value_delimiter = ',',
        allow_hyphen_values = true
    )]
    pub stacks: Vec<String>,
    /// Diameter of the big ball
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    pub big_ball: Option<String>,
    /// Diameter of the small ball
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    pub small_ball: Option<String>,
    /// Those that `analyse size` takes too.
    #[command(flatten)]
    #[serde(flatten)]
    pub analysis: SizeAnalysis,
}

/// The options of `analyse size`: what the step computes.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct SizeAnalysis {
    /// How it is measured: `sections`, `stand-off`, `rollers` or `balls`
    #[arg(long, value_name = "WAY", hide_possible_values = true, value_parser = Words(&["sections", "stand-off", "rollers", "balls"]))]
    pub by: Option<String>,
    /// Diameter of the two rollers
    #[arg(long, value_name = "DIAMETER", allow_hyphen_values = true)]
    pub rollers: Option<String>,
    /// The cone is a bore
    #[arg(long)]
    pub bore: bool,
    /// The infeed shown first: square to the `axis` or to the `cone`
    #[arg(long, value_name = "WAY", hide_possible_values = true, value_parser = Words(&["axis", "cone"]))]
    pub infeed: Option<String>,
    /// Standard uncertainty of a measured diameter
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub diameter_u: Option<String>,
    /// Standard uncertainty of a plane's place
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub plane_u: Option<String>,
    /// The part's temperature, degrees Celsius: diameters are then brought to 20
    #[arg(long, value_name = "CELSIUS", allow_hyphen_values = true)]
    pub temperature: Option<String>,
    /// The instrument's temperature, degrees Celsius; 20 unless stated
    #[arg(long, value_name = "CELSIUS", allow_hyphen_values = true)]
    pub instrument_temperature: Option<String>,
    /// Standard uncertainty of the difference of the two temperatures, kelvin
    #[arg(long, value_name = "KELVIN", allow_hyphen_values = true)]
    pub temperature_u: Option<String>,
    /// Linear expansion, µm per metre and kelvin; 11.5 (steel) unless stated
    #[arg(long, value_name = "EXPANSION", allow_hyphen_values = true)]
    pub expansion: Option<String>,
    /// Infeed of one pass
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub pass_depth: Option<String>,
    /// Infeed that the passes leave for finishing
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub allowance: Option<String>,
    /// At size when at most this is left on diameter: with the infeed of a pass the next one is told; 2um unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub within: Option<String>,
    /// The wheel's width: the plan then names the roughing plunges
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub wheel_width: Option<String>,
    /// How much of the wheel's width neighbouring plunges overlap, 0 to 0.9; a third unless stated (common practice)
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub overlap: Option<String>,
    /// How far the wheel runs out beyond the small end; not at all unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub lead_out: Option<String>,
    /// The radius of the wheel's corner, where the cone meets a shoulder
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub blend_radius: Option<String>,
}

impl SizeOptions {
    /// Where a part can be measured at all, degrees Celsius.
    pub const WARMTH_C: [f64; 2] = [-20.0, 80.0];
    /// What is not known of a difference of temperatures, kelvin.
    pub const WARMTH_U_K: [f64; 2] = [0.0, 50.0];
    /// The share of the wheel's width that plunges overlap.
    pub const OVERLAP: [f64; 2] = [0.0, 0.9];
    /// Linear expansion, µm per metre and kelvin.
    pub const EXPANSION: [f64; 2] = [0.0, LARGEST_EXPANSION_UM_PER_M_K];
}

with_common_options!(
    SizeOptions,
    SizeAnalysis,
    usual: ["by", "planes", "bore", "pass_depth", "condition"],
    limits: [
        ("temperature", Self::WARMTH_C),
        ("instrument_temperature", Self::WARMTH_C),
        ("temperature_u", Self::WARMTH_U_K),
        ("expansion", Self::EXPANSION),
        ("overlap", Self::OVERLAP),
    ]
);
