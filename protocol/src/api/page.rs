//! The live page: how its owner opens it, and what is said of it.

use metrology::setup::Setup;
use metrology::zero::Capability;
use serde::{Deserialize, Serialize};

/// The port of the page unless another is asked for.
pub const PAGE_PORT: u16 = 8714;

/// Opens the page. When it is open already, its links become invalid and it opens with new ones.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct PageRequest {
    /// Other computers in the local network may reach it.
    pub lan: bool,
    /// The port; [`PAGE_PORT`] unless stated, and any that is free for 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub port: Option<u16>,
    /// No link is made that may mark.
    pub view_only: bool,
}

/// The page as it is now.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PageState {
    /// Whether it is open.
    pub open: bool,
    /// Whether other computers in the local network may reach it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub lan: bool,
    /// The links that may mark, one for each address.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mark_links: Vec<String>,
    /// The links that may only look.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub view_links: Vec<String>,
    /// How many screens show it.
    #[serde(default)]
    pub viewers: usize,
}

/// What a session would be, when it was opened with these options; nothing is stored.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetupPlan {
    /// The resolved set-up with the plan: half angle, stack, what it really sets.
    pub setup: Setup,
    /// The plan in words.
    pub words: Vec<String>,
    /// Whether it can prove its tolerance; absent where tolerance, span or display are not stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capability: Option<Capability>,
    /// The same in words, or what is missing to say it.
    pub can_prove: String,
}
