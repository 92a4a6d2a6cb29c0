//! The store: one SQLite file, in which every acknowledged mark is found again whatever happened since.
//!
//! One connection writes, on a thread of its own ([`writer`]); readers open their own, read-only. The file is
//! in WAL mode with `synchronous=FULL`: a commit that returned is on the disk.

mod backup;
mod beginning;
mod check;
mod decode;
mod error;
mod file;
mod gate;
mod private;
mod read;
mod restore;
mod rows;
mod schema;
mod write;
mod writer;

pub use crate::files::FILE_NAME;
pub use backup::backup;
pub use check::{Counts, Soundness, check};
pub use error::StoreError;
pub use file::Store;
pub use gate::{Call, Fault, Gate, NoFault};
pub use read::{Reader, Which};
pub use restore::{Anchor, LastRun, MOST_HELD, OpenSession, OpenStep, Restored};
pub use rows::{Found, Learned, ReadingRow, Row, SessionRow, StepRow, Write};
pub use writer::{Writer, Written};

#[cfg(test)]
mod tests;
