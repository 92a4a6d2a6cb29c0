//! How far the daemon has come in stopping.

/// How far the daemon has come in stopping.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Phase {
    /// The daemon accepts requests.
    Open,
    /// The daemon accepts no more requests, and answers those that have begun.
    Draining,
    /// Live views end.
    Closing,
}
