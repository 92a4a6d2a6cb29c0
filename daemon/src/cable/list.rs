//! The ports of this computer, listed without opening any.

use super::holder::{Holders, may_open};
use crate::plain::plain;
use serde::{Deserialize, Serialize};
use serialport::{SerialPortType, available_ports};
use std::fmt;
use std::path::{Path, PathBuf};

/// A port as `cable list` shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PortInfo {
    /// Its device file.
    pub path: PathBuf,
    /// What it is, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub description: Option<String>,
    /// What its adapter says that it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usb: Option<UsbIdentity>,
    /// Whether we may open it: `ok` or `denied`.
    pub access: String,
    /// Why not, and what to do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub denial: Option<String>,
    /// The processes that have it open, as far as they can be seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held_by: Option<String>,
}

/// What a USB adapter says that it is, as the kernel read it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct UsbIdentity {
    /// Vendor id, four hexadecimal digits.
    pub vendor: String,
    /// Product id, four hexadecimal digits.
    pub product: String,
    /// Serial number; many adapters have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// The interface, where an adapter has several ports.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interface: Option<u8>,
    /// Manufacturer in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub manufacturer: Option<String>,
    /// Product in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product_name: Option<String>,
    /// Where it is plugged: bus and chain of sockets, such as `1-4.2`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub socket: Option<String>,
}

impl UsbIdentity {
    /// The identity as the configuration names it: `0403:6001` or `0403:6001:SERIAL`.
    #[must_use]
    pub fn selector(&self) -> String {
        let Self {
            vendor, product, ..
        } = self;
        match &self.serial {
            Some(serial) => format!("{vendor}:{product}:{serial}"),
            None => format!("{vendor}:{product}"),
        }
    }
}

impl UsbIdentity {
    /// What tells one adapter from another when it comes back under the same name: its serial number wherever it is plugged
    /// in; where it has none, its socket.
    #[must_use]
    pub fn known_as(&self) -> String {
        let interface = self.interface.map(|i| format!(" interface {i}"));
        let socket = match (&self.serial, &self.socket) {
            (None, Some(socket)) => Some(format!(" in socket {socket}, without a serial number")),
            _ => None,
        };
        let parts = [Some(self.selector()), interface, socket];
        parts.into_iter().flatten().collect()
    }
}

impl fmt::Display for UsbIdentity {
    /// Everything that can tell it from others: `0403:6010:SERIAL interface 1 at 1-4.2`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.selector())?;
        self.interface
            .iter()
            .try_for_each(|i| write!(f, " interface {i}"))?;
        self.socket.iter().try_for_each(|s| write!(f, " at {s}"))
    }
}

/// The ports, in order of their names. Ptys are never listed: a virtual cable is named by its path.
#[must_use]
pub fn ports() -> Vec<PortInfo> {
    let holders = Holders::look();
    let mut ports: Vec<PortInfo> = devices()
        .into_iter()
        .map(|(path, usb, description)| {
            let held: Vec<String> = holders.of(&path).iter().map(ToString::to_string).collect();
            let ok = may_open(&path);
            PortInfo {
                description: Some(description),
                usb,
                access: if ok { "ok" } else { "denied" }.to_owned(),
                denial: (!ok).then(|| super::holder::denial(&path)),
                held_by: (!held.is_empty()).then(|| held.join(", ")),
                path,
            }
        })
        .collect();
    ports.sort_by_key(|port| natural(&port.path));
    ports
}

/// The USB adapters alone, for finding one by its identity.
pub(super) fn adapters() -> Vec<(PathBuf, UsbIdentity)> {
    devices()
        .into_iter()
        .filter_map(|(path, usb, _)| Some((path, usb?)))
        .collect()
}

/// What the adapter behind a device file is known as; none where it is no USB adapter. A link is followed.
pub(super) fn instrument_at(path: &Path) -> Option<String> {
    let device = path.canonicalize().ok()?;
    let mut adapters = adapters().into_iter();
    let (_, usb) = adapters.find(|(path, _)| *path == device)?;
    Some(usb.known_as())
}

fn devices() -> Vec<(PathBuf, Option<UsbIdentity>, String)> {
    // The library panics where there is no such directory, as in some containers.
    if !Path::new("/sys/class/tty").is_dir() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for port in available_ports().unwrap_or_default() {
        let path = PathBuf::from(port.port_name);
        let (usb, description) = match port.port_type {
            SerialPortType::UsbPort(mut usb) => {
                for text in [
                    &mut usb.serial_number,
                    &mut usb.manufacturer,
                    &mut usb.product,
                ] {
                    *text = text.as_deref().map(plain);
                }
                let names: Vec<&str> = [&usb.product, &usb.manufacturer]
                    .into_iter()
                    .flatten()
                    .map(String::as_str)
                    .collect();
                let identity = UsbIdentity {
                    vendor: format!("{:04x}", usb.vid),
                    product: format!("{:04x}", usb.pid),
                    serial: usb.serial_number.clone(),
                    interface: usb.interface,
                    manufacturer: usb.manufacturer.clone(),
                    product_name: usb.product.clone(),
                    socket: usb.location.as_ref().map(|l| {
                        let chain: Vec<String> =
                            l.port_chain().iter().map(ToString::to_string).collect();
                        format!("{}-{}", l.bus_id(), chain.join("."))
                    }),
                };
                let words = if names.is_empty() {
                    "USB adapter".to_owned()
                } else {
                    format!("USB adapter: {}", names.join(", "))
                };
                (Some(identity), words)
            }
            SerialPortType::BluetoothPort => (None, "Bluetooth serial link".to_owned()),
            SerialPortType::PciPort => (None, "serial port on a card".to_owned()),
            SerialPortType::Unknown if is_empty_slot(&path) => continue,
            SerialPortType::Unknown => (None, "built-in serial port".to_owned()),
        };
        found.push((path, usb, description));
    }
    found
}

/// The kernel keeps names for serial ports that the computer does not have; their chip is of type 0.
fn is_empty_slot(path: &Path) -> bool {
    let Some(name) = path.file_name() else {
        return false;
    };
    let kind = Path::new("/sys/class/tty").join(name).join("type");
    std::fs::read_to_string(kind).is_ok_and(|text| text.trim() == "0")
}

/// `ttyUSB10` after `ttyUSB9`.
fn natural(path: &Path) -> (String, u32) {
    let text = path.display().to_string();
    let stem = text
        .trim_end_matches(|c: char| c.is_ascii_digit())
        .to_owned();
    let number = text[stem.len()..].parse().unwrap_or(0);
    (stem, number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_is_absent() {
        let port = PortInfo {
            path: PathBuf::from("/dev/ttyUSB0"),
            description: None,
            usb: None,
            access: "ok".to_owned(),
            denial: None,
            held_by: None,
        };
        assert_eq!(
            serde_json::to_string(&port).unwrap(),
            r#"{"path":"/dev/ttyUSB0","access":"ok"}"#
        );
    }

    #[test]
    fn ports_are_in_the_order_people_count() {
        let mut paths = ["/dev/ttyUSB10", "/dev/ttyACM2", "/dev/ttyUSB9"].map(PathBuf::from);
        paths.sort_by_key(|p| natural(p));
        assert_eq!(
            paths,
            ["/dev/ttyACM2", "/dev/ttyUSB9", "/dev/ttyUSB10"].map(PathBuf::from)
        );
    }

    #[test]
    fn listing_works_on_every_computer() {
        for port in ports() {
            assert!(port.path.starts_with("/dev"));
        }
    }
}
