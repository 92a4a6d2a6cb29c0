//! `store`.

use clap::Subcommand;
use std::path::PathBuf;

/// What `store` does.
#[derive(Debug, Subcommand)]
pub enum StoreVerb {
    /// Check that everything in the store is whole, and count it; works beside the daemon and without it
    #[command(after_help = "\
Exit code 1 when something is wrong with it.

Examples:
  conewright store check
  conewright store check seats.db     an archive or a copy")]
    Check {
        /// An archive or a copy, in place of the store
        #[arg(value_name = "FILE")]
        file: Option<PathBuf>,
    },
    /// Copy the store into a file, whole at one moment, while the daemon goes on
    #[command(after_help = "\
To use the copy, give it the name conewright.db in a directory of its own, and name that with --data.

Example:
  conewright store backup seats.db")]
    Backup {
        /// The file to write
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// Replace a file that is there
        #[arg(long)]
        force: bool,
    },
    /// Copy closed sessions into a file of their own, while the daemon goes on
    #[command(after_help = "\
The file is a store: check, verify, export --from and restore --from read it. The sessions stay in the store until they are deleted.

Example:
  conewright store archive 12 13 --to seats.db")]
    Archive {
        /// The sessions' numbers
        #[arg(value_name = "SESSION", required = true)]
        sessions: Vec<i64>,
        /// The file to write
        #[arg(long, value_name = "FILE")]
        to: PathBuf,
        /// Replace a file that is there
        #[arg(long)]
        force: bool,
    },
    /// Delete closed sessions with all their marks and readings; the daemon must be stopped
    #[command(after_help = "\
Without --yes it lists what would be deleted, and exits with 1. What the program has learned from these sessions about a fixture or
an indicator is deleted with them. Then `store compact` gives the room back to the disk.

Example:
  conewright store delete 12 13 --yes")]
    Delete {
        /// The sessions' numbers
        #[arg(value_name = "SESSION", required = true)]
        sessions: Vec<i64>,
        /// Delete them
        #[arg(long)]
        yes: bool,
    },
    /// Give the room of deleted sessions back to the disk; the daemon must be stopped
    #[command(after_help = "While it works it needs as much room as the store has.")]
    Compact,
    /// Bring sessions back: from what was kept of a damaged store, from an archive, or from a copy; the daemon must be stopped
    #[command(after_help = "\
Without --yes it lists what can be brought back, and changes nothing. A session in which nothing was marked since is completed in its
place. One that went on stays as it is, and what is brought back gets a number of its own.

Examples:
  conewright store restore                        what was kept of the last damaged store
  conewright store restore --yes
  conewright store restore 12 --from seats.db --yes
  conewright store restore --leave                do without what is missing")]
    Restore {
        /// The sessions' numbers; all unless stated
        #[arg(value_name = "SESSION")]
        sessions: Vec<i64>,
        /// An archive or a copy
        #[arg(long, value_name = "FILE")]
        from: Option<PathBuf>,
        /// Bring them back
        #[arg(long)]
        yes: bool,
        /// Bring nothing back, and report the damage no longer; the kept files stay
        #[arg(long, conflicts_with_all = ["yes", "from", "sessions"])]
        leave: bool,
    },
}
