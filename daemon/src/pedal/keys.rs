//! Where the pedal's task gets its keys from: a device, or a test's own.

use super::press::KeyChange;
use crate::cable::Fault;
use std::io;
use std::time::Duration;

/// Where a pedal's keys come from; the tests give keys of their own.
pub trait Keys: Send {
    /// The next change of a key.
    ///
    /// # Errors
    /// The device left.
    fn next(&mut self) -> impl Future<Output = io::Result<KeyChange>> + Send;
}

/// Where the pedal's task gets its device from.
pub trait PedalOpener: Send {
    /// The open device.
    type Keys: Keys;
    /// Tries once to open it, for ourselves alone.
    fn open(&mut self) -> impl Future<Output = Result<Self::Keys, Fault>> + Send;

    /// Ready when a device that was not there may have come: after `usually`, where nothing tells it.
    fn arrival(&mut self, usually: Duration) -> impl Future<Output = ()> + Send {
        tokio::time::sleep(usually)
    }
}
