//! What was found out about a cable, as the lines of the configuration that keep it.

use super::identify::Tried;
use super::list::{UsbIdentity, adapters};
use config::model::PortSelector;
use protocol::frame::{Modbus, Registers, Width, WordOrder};
use protocol::identify::{Candidate, REQUESTS};
use std::path::PathBuf;

/// A stream with pauses as long as this many of its intervals has not stopped.
const INTERVALS: f64 = 4.0;
/// What the configuration has without `stale_after`, s.
const USUAL_STALE_S: f64 = 2.0;
/// So long is waited for an answer, and so often is asked, s. An instrument that answered was asked about as fast.
const POLLED_INTERVAL_S: f64 = 0.2;

/// The lines for a cable that was identified. A port given by its path is named by its adapter's serial number where
/// that tells it from all others, since paths change.
#[must_use]
pub fn proposal(name: &str, port: &PortSelector, found: &Candidate<Tried>) -> String {
    lines(name, &lasting(port, &adapters()), found)
}

/// The selector that stays true when the adapter is plugged elsewhere.
fn lasting(port: &PortSelector, adapters: &[(PathBuf, UsbIdentity)]) -> PortSelector {
    let PortSelector::Path(path) = port else {
        return port.clone();
    };
    let same = |usb: &UsbIdentity, other: &UsbIdentity| usb.selector() == other.selector();
    let own = adapters
        .iter()
        .find(|(other, _)| other == path)
        .map(|(_, usb)| usb)
        .filter(|usb| usb.serial.is_some())
        .filter(|usb| adapters.iter().filter(|(_, o)| same(usb, o)).count() == 1);
    let number = |digits: &str| u16::from_str_radix(digits, 16).ok();
    let usb = own.and_then(|usb| {
        Some(PortSelector::Usb {
            vendor: number(&usb.vendor)?,
            product: number(&usb.product)?,
            serial: usb.serial.clone(),
            interface: None,
            socket: None,
        })
    });
    usb.unwrap_or_else(|| port.clone())
}

fn lines(name: &str, port: &PortSelector, found: &Candidate<Tried>) -> String {
    let mut lines = vec![format!("[cable.{name}]")];
    match port {
        PortSelector::Path(path) => {
            lines.push(format!("port = {}", quoted(&path.to_string_lossy())));
        }
        PortSelector::Usb {
            vendor,
            product,
            serial,
            interface,
            socket,
        } => {
            let serial = serial
                .as_ref()
                .map_or_else(String::new, |s| format!(":{s}"));
            lines.push(format!(
                "usb = {}",
                quoted(&format!("{vendor:04x}:{product:04x}{serial}"))
            ));
            lines.extend(interface.map(|i| format!("interface = {i}")));
            lines.extend(socket.as_ref().map(|s| format!("socket = {}", quoted(s))));
        }
    }
    lines.push(format!(
        "settings = {}",
        quoted(&found.settings.settings.to_string())
    ));
    match found.settings.request {
        Some(number) => {
            lines.push("cadence = \"polled\"".to_owned());
            // A frame with registers knows its own request.
            if found.modbus.is_none()
                && let Some(request) = REQUESTS.get(number)
            {
                lines.push(format!("request = {}", bytes(request.bytes)));
            }
            lines.push(format!("interval = \"{POLLED_INTERVAL_S}s\""));
        }
        None => {
            lines.push("cadence = \"streams\"".to_owned());
            let stale = found.interval_s.map(|s| (INTERVALS * s).ceil());
            if let Some(stale) = stale.filter(|s| *s > USUAL_STALE_S) {
                lines.push(format!("stale_after = \"{stale}s\""));
            }
        }
    }
    match &found.modbus {
        Some(modbus) => lines.push(format!("frame = {}", registers(modbus))),
        None => lines.push(format!("frame = {}", quoted(found.name))),
    }
    if found.unit.is_none() {
        lines.push(
            "unit = \"mm\"   # the frame does not say: compare with the instrument's display"
                .to_owned(),
        );
    }
    lines.push(String::new());
    lines.join("\n")
}

pub(super) fn registers(modbus: &Modbus) -> String {
    let kind = match modbus.registers {
        Registers::Holding => "holding",
        Registers::Input => "input",
    };
    let bits = match modbus.width {
        Width::Bits16 => 16,
        Width::Bits32 => 32,
    };
    let words = match modbus.words {
        WordOrder::High => "high",
        WordOrder::Low => "low",
    };
    format!(
        "{{ form = \"modbus\", address = {}, registers = \"{kind}\", register = {}, bits = {bits}, \
         words = \"{words}\", signed = {}, step = \"{}mm\" }}   # compare step and register with the manual",
        modbus.address,
        modbus.register,
        modbus.signed,
        modbus.step.decimal(metrology::Unit::Mm),
    )
}

/// A request as a text where it is one, and as numbers where it is not.
fn bytes(request: &[u8]) -> String {
    match std::str::from_utf8(request) {
        Ok(text)
            if request
                .iter()
                .all(|b| matches!(b, b' '..=b'~' | b'\r' | b'\n')) =>
        {
            quoted(text)
        }
        _ => format!("{request:?}"),
    }
}

/// A basic string of TOML.
pub(super) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            '\r' => out.push_str("\\r"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use config::Config;
    use config::model::{Cable, Cadence, SerialSettings};
    use metrology::{Length, Unit};
    use protocol::frame::Frame;
    use protocol::identify::Sureness;

    fn found(name: &'static str, request: Option<usize>) -> Candidate<Tried> {
        Candidate {
            settings: Tried {
                settings: SerialSettings {
                    baud: 4_800,
                    ..SerialSettings::default()
                },
                request,
            },
            frame: Frame::shipped("text").unwrap(),
            name,
            modbus: None,
            sureness: Sureness::Certain,
            readings: 20,
            distinct: 3,
            bytes: 200,
            skipped_bytes: 0,
            unit: Some(Unit::Mm),
            resolution: Length::from_um(1),
            interval_s: Some(0.05),
        }
    }

    /// The lines as the program's own loader reads them.
    fn loaded(port: &PortSelector, found: &Candidate<Tried>) -> Cable {
        let text = lines("new", port, found);
        let config = Config::parse(&text, "proposal").unwrap_or_else(|e| panic!("{text}\n{e:?}"));
        config.cables[0].clone()
    }

    #[test]
    fn the_loader_reads_what_is_proposed() {
        let path = PortSelector::Path("/dev/tty \"odd\\name\"".into());
        let cable = loaded(&path, &found("text", None));
        assert_eq!(cable.port, path);
        assert_eq!(cable.settings.to_string(), "4800 8N1");
        assert_eq!(cable.cadence, Cadence::Streams { stale_after_s: 2.0 });

        let slow = Candidate {
            interval_s: Some(1.7),
            unit: None,
            ..found("bcd13", None)
        };
        let cable = loaded(&path, &slow);
        assert_eq!(cable.cadence, Cadence::Streams { stale_after_s: 7.0 });
        assert_eq!((cable.frame.as_str(), cable.unit), ("bcd13", Unit::Mm));

        let usb = PortSelector::Usb {
            vendor: 0x0403,
            product: 0x6010,
            serial: Some("A B:1".to_owned()),
            interface: Some(1),
            socket: Some("1-4.2".to_owned()),
        };
        for (number, request) in REQUESTS.iter().enumerate() {
            let cable = loaded(&usb, &found("text", Some(number)));
            assert_eq!(cable.port, usb);
            assert!(
                matches!(&cable.cadence, Cadence::Polled { request: r, .. } if r == request.bytes),
                "{cable:?}"
            );
        }
        let modbus = Modbus {
            address: 7,
            registers: Registers::Input,
            register: 40,
            width: Width::Bits16,
            words: WordOrder::Low,
            ..Modbus::default()
        };
        let by_registers = Candidate {
            modbus: Some(modbus),
            ..found("modbus", Some(3))
        };
        let cable = loaded(&usb, &by_registers);
        assert_eq!(cable.decoder(), Frame::from_modbus(modbus).ok());
    }

    #[test]
    fn a_path_becomes_the_adapter_that_it_is() {
        let adapter = |path: &str, serial: Option<&str>| {
            let usb = UsbIdentity {
                vendor: "0403".to_owned(),
                product: "6001".to_owned(),
                serial: serial.map(str::to_owned),
                interface: None,
                manufacturer: None,
                product_name: None,
                socket: None,
            };
            (PathBuf::from(path), usb)
        };
        let plugged = [
            adapter("/dev/ttyUSB0", Some("B1")),
            adapter("/dev/ttyUSB1", Some("B2")),
            adapter("/dev/ttyUSB2", Some("B2")),
            adapter("/dev/ttyUSB3", None),
        ];
        let named = |path: &str| lasting(&PortSelector::Path(path.into()), &plugged).to_string();
        assert_eq!(named("/dev/ttyUSB0"), "0403:6001:B1");
        // Serial numbers that repeat or are missing tell nothing.
        for path in ["/dev/ttyUSB1", "/dev/ttyUSB3", "/dev/pts/4"] {
            assert_eq!(named(path), path);
        }
    }
}
