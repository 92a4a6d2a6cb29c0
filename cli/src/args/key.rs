//! `key`.

use clap::Subcommand;
use std::path::PathBuf;

/// What `key` does.
#[derive(Debug, Subcommand)]
pub enum KeyVerb {
    /// Make the shop's key: a private file that signs, and a public one to hand out
    #[command(after_help = "\
The files lie in `keys` beside the configuration. Keep a copy of the private one in a safe place, and hand it to nobody.

Example:
  conewright key make --name \"Toolroom\"")]
    Make {
        /// The name under which records are signed
        #[arg(long)]
        name: String,
    },
    /// Know another shop's key from now on, by the public file that it handed out
    #[command(after_help = "\
Before that, compare the fingerprint with the shop, by telephone or on paper: the file alone proves nothing.

Example:
  conewright key trust toolroom.json")]
    Trust {
        /// The public file
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
    /// List the keys that are known, with their fingerprints
    List,
}
