//! The pedal: which input device it is, and what its keys do.

use std::fmt;
use std::path::PathBuf;

/// A key, keypad or foot switch of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pedal {
    /// Which device.
    pub device: PedalSelector,
    /// What its keys do, by their codes; without any, every key marks.
    pub keys: Vec<(u16, PedalAction)>,
}

impl Pedal {
    /// What a key does; nothing, when others were named and this one was not.
    #[must_use]
    pub fn action(&self, key: u16) -> Option<PedalAction> {
        if self.keys.is_empty() {
            return Some(PedalAction::Mark);
        }
        let named = self.keys.iter().find(|(code, _)| *code == key);
        named.map(|(_, action)| *action)
    }
}

/// Which input device a pedal is: everything that is said must fit.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PedalSelector {
    /// Its device file, `/dev/input/by-id/…` or `/dev/input/event7`.
    pub path: Option<PathBuf>,
    /// Vendor and product of its USB identity.
    pub usb: Option<(u16, u16)>,
    /// Its serial number.
    pub serial: Option<String>,
    /// The interface, where one device has several.
    pub interface: Option<u8>,
    /// Where it is plugged, as bus and chain of sockets (`1-4.2`).
    pub socket: Option<String>,
    /// Its name, as the kernel has it.
    pub name: Option<String>,
}

impl fmt::Display for PedalSelector {
    /// As `1a2c:0027 interface 0 at 1-4.2`, `"foot switch"` or the path.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut words: Vec<String> = Vec::new();
        words.extend(self.path.iter().map(|path| path.display().to_string()));
        words.extend(self.usb.map(|(vendor, product)| {
            let serial = self
                .serial
                .as_ref()
                .map_or(String::new(), |s| format!(":{s}"));
            format!("{vendor:04x}:{product:04x}{serial}")
        }));
        words.extend(self.name.iter().map(|name| format!("{name:?}")));
        words.extend(self.interface.map(|i| format!("interface {i}")));
        words.extend(self.socket.iter().map(|s| format!("at {s}")));
        f.write_str(&words.join(" "))
    }
}

/// What a key of a pedal does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PedalAction {
    /// Marks the next station.
    Mark,
    /// Marks the first station of a new round, although the last round is not complete.
    NewRound,
    /// Takes the last mark back.
    Undo,
    /// Says that the clamp was tightened, or loosened when it was tight.
    Clamp,
}
