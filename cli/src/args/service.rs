//! The options of `service`.

use clap::Subcommand;

pub const HELP: &str = "\
The service is one of your user, run by systemd. It starts the daemon when you log in, and whenever a verb asks for it.

Examples:
  conewright service install
  conewright service status
  conewright service remove     the data stays";

/// What `service` does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Subcommand)]
pub enum ServiceVerb {
    /// Write the service's files for this executable, and start the service; again after the executable was moved
    Install,
    /// Stop the service and remove its files; the data stays
    Remove,
    /// Whether the service is installed, which executable it starts, and whether it runs
    Status,
}
