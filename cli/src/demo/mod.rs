//! A whole set-up on a virtual bench.

use crate::{DemoOptions, Exit, Failure};

/// Runs the demo.
///
/// # Errors
/// When the bench, the daemon or the record cannot be used.
pub fn run(options: &DemoOptions) -> Result<Exit, Failure> {
    let _ = options;
    Err(Failure::usage("the demo is not there yet"))
}
