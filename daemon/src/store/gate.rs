//! The seam at which a test makes the store fail: the store asks it before every call.

/// The steps of the store's work that can fail on their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Call {
    /// The file is opened.
    Open,
    /// Its settings are made, or its version is asked.
    Prepare,
    /// Its tables are brought up to date.
    Migrate,
    /// Something is read.
    Read,
    /// A transaction begins.
    Begin,
    /// A row is written.
    Write,
    /// A transaction is committed: what follows is on the disk.
    Commit,
    /// What is in the log goes into the file.
    Checkpoint,
}

/// What a test can let happen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// No room is left.
    Full,
    /// The disk does not do what was asked.
    Io,
    /// The file system has become read-only.
    ReadOnly,
}

/// Asked before each [`Call`].
pub trait Gate: Send + 'static {
    /// The fault to meet in place of the call; none lets it go on.
    fn fault(&mut self, call: Call) -> Option<Fault>;
}

/// Lets everything pass.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoFault;

impl Gate for NoFault {
    fn fault(&mut self, _: Call) -> Option<Fault> {
        None
    }
}

impl Fault {
    pub(super) fn error(self) -> rusqlite::Error {
        use rusqlite::ffi;
        let code = match self {
            Self::Full => ffi::SQLITE_FULL,
            Self::Io => ffi::SQLITE_IOERR,
            Self::ReadOnly => ffi::SQLITE_READONLY,
        };
        rusqlite::Error::SqliteFailure(ffi::Error::new(code), None)
    }
}

/// Fails when the seam says so.
pub(super) fn ask(gate: &mut Box<dyn Gate>, call: Call) -> Result<(), rusqlite::Error> {
    match gate.fault(call) {
        Some(fault) => Err(fault.error()),
        None => Ok(()),
    }
}
