//! The live view.

use crate::client::Client;
use crate::{Exit, Failure, Paths};

/// Shows the live view until the user quits it.
///
/// # Errors
/// When the terminal or the daemon cannot be used.
pub fn run(paths: &Paths, client: Client) -> Result<Exit, Failure> {
    let _ = (paths, client);
    Err(Failure::usage("the live view is not there yet"))
}
