//! The options that several kinds of step share.

use super::form::Words;
use clap::Args;
use serde::{Deserialize, Serialize};

/// In which state the part is: an option of every kind.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
pub struct PartState {
    /// The part as it came, `found`, or as it goes back, `left`: the record sets them side by side
    #[arg(long = "as", value_name = "STATE", hide_possible_values = true, value_parser = Words(&["found", "left"]))]
    pub condition: Option<String>,
}

/// The options of every kind that reads an indicator.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
pub struct CommonOptions {
    /// In which state the part is.
    #[command(flatten)]
    #[serde(flatten)]
    pub state: PartState,
    /// The cable that gives this step's readings, or `typed`; the session's indicator unless stated
    #[arg(long, value_name = "NAME")]
    pub cable: Option<String>,
}
