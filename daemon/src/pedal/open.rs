//! Opening a real pedal through the kernel's event interface, for ourselves alone.

use super::keys::{Keys, PedalOpener};
use super::list::refusal;
use super::press::KeyChange;
use super::select::path_of;
use crate::cable::{Fault, Holders, may_open};
use crate::watched::{Wanted, arrival};
use config::Pedal;
use evdev::EventType;
use evdev::raw_stream::{EventStream, RawDevice};
use std::io::{self, ErrorKind};
use std::path::Path;
use std::time::Duration;

/// Opens the device that the configuration names.
#[derive(Debug)]
pub struct SystemPedal {
    pedal: Pedal,
}

impl SystemPedal {
    /// For this pedal.
    #[must_use]
    pub const fn new(pedal: Pedal) -> Self {
        Self { pedal }
    }
}

impl PedalOpener for SystemPedal {
    type Keys = SystemKeys;

    async fn open(&mut self) -> Result<SystemKeys, Fault> {
        let wanted = self.pedal.device.clone();
        // Looking through sysfs and opening talk to the system, and readings must not wait for that.
        let device = tokio::task::spawn_blocking(move || {
            let path = path_of(Path::new("/"), &wanted)?;
            open(&path)
        })
        .await
        .map_err(|fault| Fault::Refused(format!("opening the pedal failed: {fault}")))??;
        let events = device
            .into_event_stream()
            .map_err(|error| Fault::Gone(format!("the pedal cannot be read: {error}")))?;
        Ok(SystemKeys { events })
    }

    async fn arrival(&mut self, usually: Duration) {
        let is_there = || async {
            let wanted = self.pedal.device.clone();
            let look = move || path_of(Path::new("/"), &wanted).is_ok_and(|path| path.exists());
            tokio::task::spawn_blocking(look).await.unwrap_or(true)
        };
        let devices = Wanted::Beginning(Path::new("/dev/input"), "event");
        let named = self.pedal.device.path.as_deref().map(Wanted::Name);
        arrival(named.unwrap_or(devices), is_there, usually).await;
    }
}

fn open(path: &Path) -> Result<RawDevice, Fault> {
    let name = path.display();
    let gone = || {
        Fault::Gone(format!(
            "there is no {name}: plug the pedal in; waiting for it"
        ))
    };
    if !path.exists() {
        return Err(gone());
    }
    if !may_open(path) {
        return Err(Fault::Denied(refusal(path)));
    }
    let mut device = RawDevice::open(path).map_err(|error| match error.kind() {
        ErrorKind::NotFound => gone(),
        ErrorKind::PermissionDenied => Fault::Denied(refusal(path)),
        // ENOTTY: a file of another kind does not know what is asked of it.
        _ if error.raw_os_error() == Some(rustix::io::Errno::NOTTY.raw_os_error()) => {
            Fault::Refused(format!(
                "{name} is no input device; `conewright cable pedal list` shows them"
            ))
        }
        _ => Fault::Gone(format!("{name} cannot be opened ({error}): trying again")),
    })?;
    // A key that is down when the device is taken would stay down for everybody else: its release would come to us.
    let held = device
        .get_key_state()
        .map(|keys| keys.iter().next().is_some());
    if held.unwrap_or(false) {
        return Err(Fault::Busy(format!(
            "a key of {name} is held down: let it go"
        )));
    }
    match device.grab() {
        Ok(()) => Ok(device),
        Err(error) if error.raw_os_error() == Some(rustix::io::Errno::BUSY.raw_os_error()) => {
            drop(device);
            let seen = Holders::look();
            let open: Vec<String> = seen.of(path).iter().map(ToString::to_string).collect();
            let who = if open.is_empty() {
                "another user's program".to_owned()
            } else {
                format!("one of {}", open.join(", "))
            };
            Err(Fault::Busy(format!(
                "{name} was taken by {who}: end that; trying again"
            )))
        }
        Err(error) => Err(Fault::Gone(format!(
            "{name} cannot be taken ({error}): trying again"
        ))),
    }
}

/// The keys of an open device.
pub struct SystemKeys {
    events: EventStream,
}

impl std::fmt::Debug for SystemKeys {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SystemKeys").finish_non_exhaustive()
    }
}

impl Keys for SystemKeys {
    async fn next(&mut self) -> io::Result<KeyChange> {
        loop {
            let event = self.events.next_event().await?;
            if event.event_type() == EventType::KEY {
                return Ok(KeyChange {
                    key: event.code(),
                    value: event.value(),
                });
            }
        }
    }
}
