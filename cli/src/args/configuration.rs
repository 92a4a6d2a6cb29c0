//! `config`: the configuration file.

use clap::Subcommand;
use std::path::PathBuf;

/// What `config` does.
#[derive(Debug, Subcommand)]
pub enum ConfigVerb {
    /// Check a configuration file: every mistake with its line; and say whether the running daemon works with it
    #[command(after_help = "Exit code 1 when there is a mistake in it.")]
    Check {
        /// The file; the one in use unless stated
        file: Option<PathBuf>,
    },
    /// Print what holds: each key with its value, and the line that it comes from or that it is built in
    Show,
}
