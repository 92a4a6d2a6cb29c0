//! The store: one SQLite file, in which every acknowledged mark is found again whatever happened since.
//!
//! One connection writes, on a thread of its own ([`writer`]); readers open their own, read-only. The file is
//! in WAL mode with `synchronous=FULL`: a commit that returned is on the disk.

mod backup;
mod beginning;
mod bring;
mod chain;
mod check;
mod copy;
mod damage;
mod decode;
mod error;
mod file;
mod gate;
mod keep;
mod log;
mod opened;
mod private;
mod read;
mod restore;
mod rows;
mod runs;
mod schema;
mod write;
mod writer;

pub use crate::files::FILE_NAME;
pub use backup::backup;
pub use bring::{How, Offer, Offers, bring_back, check_one, leave, offers};
pub use check::{Counts, Soundness, check};
pub use copy::SessionCounts;
pub use damage::Lost;
pub use error::StoreError;
pub(crate) use error::file as file_error;
pub use file::Store;
pub use gate::{Call, Fault, Gate, NoFault};
pub use keep::{archive, compact, delete, to_delete};
pub use read::{Reader, Which};
pub use restore::{LastRun, MOST_HELD, OpenSession, OpenStep, Restored};
pub use rows::{Found, Learned, ReadingRow, Row, SessionRow, StepRow, Write};
pub use runs::Anchor;
#[cfg(test)]
pub(crate) use writer::ByHand;
pub use writer::{Writer, Written};

#[cfg(test)]
mod tests;
