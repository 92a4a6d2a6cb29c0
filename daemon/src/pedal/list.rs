//! The input devices with keys, read from sysfs without opening any.

use crate::cable::{denial, may_open};
use crate::plain::plain;
use config::PedalSelector;
use config::keys::name_of;
use serde::{Deserialize, Serialize};
use std::fs;
use std::path::{Path, PathBuf};

/// Words of a mask: the kernel knows 768 keys.
const MASK_WORDS: usize = 12;
/// Of a device with more keys than this only their number is listed.
const KEYS_NAMED: usize = 12;

/// An input device as `cable pedal list` shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InputDevice {
    /// Its device file.
    pub path: PathBuf,
    /// Its name, as the kernel has it.
    pub name: String,
    /// Vendor and product as the configuration names them, `1a2c:0027`, with the serial number where it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usb: Option<String>,
    /// Its serial number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// The interface, where one device has several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interface: Option<u8>,
    /// Where it is plugged: bus and chain of sockets, such as `1-4.2`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub socket: Option<String>,
    /// Where it is, as the driver says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub phys: Option<String>,
    /// How many keys it says that it has.
    pub keys: usize,
    /// Which, when they are few.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub key_names: Vec<String>,
    /// Whether we may open it: `ok` or `denied`.
    pub access: String,
    /// Why not, and what to do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub denial: Option<String>,
}

impl InputDevice {
    /// Whether everything that a selector says, but a path, fits it.
    #[must_use]
    pub fn is(&self, wanted: &PedalSelector) -> bool {
        let ids = wanted.usb.is_none_or(|(vendor, product)| {
            let ids = format!("{vendor:04x}:{product:04x}");
            let own = self.usb.as_deref().unwrap_or_default();
            own == ids || own.starts_with(&format!("{ids}:"))
        });
        ids && (wanted.serial.is_none() || wanted.serial == self.serial)
            && (wanted.interface.is_none() || wanted.interface == self.interface)
            && (wanted.socket.is_none() || wanted.socket == self.socket)
            && wanted.name.as_ref().is_none_or(|name| *name == self.name)
    }

    /// Everything that can distinguish it from others.
    pub(super) fn identity(&self) -> String {
        let mut words = vec![format!("{} ({:?}", self.path.display(), self.name)];
        words.extend(self.usb.clone());
        words.extend(self.interface.map(|i| format!("interface {i}")));
        words.extend(self.socket.as_ref().map(|s| format!("at {s}")));
        words.join(" ") + ")"
    }
}

/// The input devices that have keys, in the order of their numbers. `root` is `/`, or where a test has its own.
#[must_use]
pub fn devices(root: &Path) -> Vec<InputDevice> {
    let class = root.join("sys/class/input");
    let mut found: Vec<(u32, InputDevice)> = fs::read_dir(class)
        .into_iter()
        .flatten()
        .flatten()
        .filter_map(|entry| {
            let file = entry.file_name().into_string().ok()?;
            let number = file.strip_prefix("event")?.parse().ok()?;
            Some((number, device(root, &entry.path(), &file)?))
        })
        .collect();
    found.sort_by_key(|(number, _)| *number);
    found.into_iter().map(|(_, device)| device).collect()
}

fn device(root: &Path, event: &Path, file: &str) -> Option<InputDevice> {
    let input = event.join("device");
    let text = |file: &str| -> Option<String> {
        let text = fs::read_to_string(input.join(file)).ok()?;
        let text = text.trim();
        (!text.is_empty()).then(|| plain(text))
    };
    let keys = key_codes(&text("capabilities/key").unwrap_or_default());
    if keys.is_empty() {
        return None;
    }
    let usb = Usb::above(&input);
    let id = |file: &str| text(file).filter(|id| id != "0000");
    let ids = id("id/vendor").zip(id("id/product"));
    let serial = usb.serial.or_else(|| text("uniq"));
    let path = root.join("dev/input").join(file);
    let ok = may_open(&path);
    let named = if keys.len() <= KEYS_NAMED {
        keys.len()
    } else {
        0
    };
    Some(InputDevice {
        name: text("name").unwrap_or_default(),
        usb: ids.map(|(vendor, product)| match &serial {
            Some(serial) => format!("{vendor}:{product}:{serial}"),
            None => format!("{vendor}:{product}"),
        }),
        serial,
        interface: usb.interface,
        socket: usb.socket,
        phys: text("phys"),
        keys: keys.len(),
        key_names: keys[..named].iter().map(|&key| name_of(key)).collect(),
        access: if ok { "ok" } else { "denied" }.to_owned(),
        denial: (!ok).then(|| refusal(&path)),
        path,
    })
}

/// Why an input device may not be opened. Membership of its group would let us read every keyboard, so that the rule for the
/// one device comes first.
pub(super) fn refusal(path: &Path) -> String {
    format!(
        "{}; or let `sudo conewright doctor --install` give whoever sits here this one device",
        denial(path)
    )
}

/// What the USB device above an input device says of itself.
#[derive(Default)]
struct Usb {
    serial: Option<String>,
    interface: Option<u8>,
    socket: Option<String>,
}

impl Usb {
    fn above(input: &Path) -> Self {
        let mut usb = Self::default();
        let Ok(place) = fs::canonicalize(input) else {
            return usb;
        };
        for folder in place.ancestors() {
            let text = |file: &str| {
                let text = fs::read_to_string(folder.join(file)).ok()?;
                Some(plain(text.trim()))
            };
            if let Some(number) = text("bInterfaceNumber") {
                usb.interface = u8::from_str_radix(&number, 16).ok();
            }
            if text("idVendor").is_some() {
                usb.serial = text("serial").filter(|serial| !serial.is_empty());
                let name = folder.file_name().map(|name| name.to_string_lossy());
                usb.socket = name.map(std::borrow::Cow::into_owned);
                break;
            }
        }
        usb
    }
}

/// The codes in a mask as sysfs prints it: words of 64 bits in hexadecimal, the highest first.
fn key_codes(mask: &str) -> Vec<u16> {
    let words = mask.split_whitespace().rev().take(MASK_WORDS);
    words
        .zip(0_u16..)
        .flat_map(|(word, place)| {
            let bits = u64::from_str_radix(word, 16).unwrap_or(0);
            (0..64)
                .filter(move |bit| bits >> bit & 1 == 1)
                .map(move |bit| place * 64 + bit)
        })
        .collect()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    #[test]
    fn a_name_does_not_steer_the_terminal() {
        let root = tempfile::tempdir().unwrap();
        plug(root.path(), 3, "pedal\u{1b}[2J", "3-1", 0, "A\u{7}1");
        let found = devices(root.path());
        assert_eq!(found[0].name, "pedal\u{fffd}[2J");
        assert_eq!(found[0].serial.as_deref(), Some("A\u{fffd}1"));
    }

    /// Writes an input device as sysfs shows it: `place` is its USB device, `3-1`.
    pub fn plug(root: &Path, number: u32, name: &str, place: &str, interface: u8, serial: &str) {
        let usb = root.join("sys/devices/pci0/usb3").join(place);
        let own = format!("{place}:1.{interface}");
        let input = usb.join(&own).join(format!("input/input{number}"));
        let write = |path: PathBuf, text: &str| {
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        };
        write(usb.join("idVendor"), "1a2c\n");
        write(usb.join("idProduct"), "0027\n");
        if !serial.is_empty() {
            write(usb.join("serial"), &format!("{serial}\n"));
        }
        write(
            usb.join(&own).join("bInterfaceNumber"),
            &format!("{interface:02x}\n"),
        );
        write(input.join("name"), &format!("{name}\n"));
        write(
            input.join("phys"),
            &format!("usb-pci0-{place}/input{interface}\n"),
        );
        write(input.join("uniq"), "\n");
        write(input.join("id/vendor"), "1a2c\n");
        write(input.join("id/product"), "0027\n");
        // Keys a, b and c: codes 30, 48 and 46 of the kernel's table.
        write(input.join("capabilities/key"), "1400040000000 \n");
        let event = input.join(format!("event{number}"));
        fs::create_dir_all(&event).unwrap();
        std::os::unix::fs::symlink(&input, event.join("device")).unwrap();
        let class = root.join("sys/class/input");
        fs::create_dir_all(&class).unwrap();
        std::os::unix::fs::symlink(&event, class.join(format!("event{number}"))).unwrap();
        write(root.join(format!("dev/input/event{number}")), "");
    }

    #[test]
    fn a_device_is_told_from_what_the_kernel_says() {
        let root = tempfile::tempdir().unwrap();
        plug(root.path(), 10, "foot switch", "3-1", 0, "A1");
        plug(root.path(), 9, "foot switch", "3-2.4", 1, "");
        let found = devices(root.path());
        let [second, first] = &found[..] else {
            panic!("{found:?}");
        };
        assert_eq!(first.path, root.path().join("dev/input/event10"));
        assert_eq!(first.usb.as_deref(), Some("1a2c:0027:A1"));
        assert_eq!(
            (first.interface, first.socket.as_deref()),
            (Some(0), Some("3-1"))
        );
        assert_eq!(
            (first.keys, first.key_names.join(" ")),
            (3, "a c b".to_owned())
        );
        assert_eq!(first.access, "ok");
        assert_eq!(second.usb.as_deref(), Some("1a2c:0027"));
        assert_eq!(
            (second.interface, second.socket.as_deref()),
            (Some(1), Some("3-2.4"))
        );
        assert!(second.serial.is_none());
    }

    #[test]
    fn a_mask_has_its_highest_word_first() {
        assert_eq!(key_codes("10000 0 40000000"), [30, 144]);
        assert!(key_codes("0").is_empty() && key_codes("").is_empty());
        // More than any key's number can be.
        assert_eq!(key_codes(&format!("1{} 2", " 0".repeat(2_000))), [1]);
    }
}
