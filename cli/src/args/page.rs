//! `page`: the live page.

use clap::{Args, Subcommand};

/// What stands below its help.
pub(super) const HELP: &str = "\
Without on or off it prints the links again.

Examples:
  conewright page on
  conewright page on --lan
  conewright page on --lan --view-only
  conewright page off";

/// What `page` does.
#[derive(Debug, Clone, Subcommand)]
pub enum PageVerb {
    /// Open it, with new links; those from before become invalid
    On(PageOnArgs),
    /// Close it at once
    Off,
}

/// For whom the page is opened.
#[derive(Debug, Clone, Args)]
pub struct PageOnArgs {
    /// For other computers in the shop's network too; the link is shown as a code for a telephone
    #[arg(long)]
    pub lan: bool,
    /// The port: 8714 unless stated, and any that is free for 0
    #[arg(long, value_name = "N")]
    pub port: Option<u16>,
    /// Make no link that may mark
    #[arg(long)]
    pub view_only: bool,
}
