//! Which port a cable is: devices are named by what they are, and nothing is guessed.

use super::fault::Fault;
use super::list::{UsbIdentity, adapters};
use config::model::PortSelector;
use std::path::PathBuf;

/// The device file of a selected port, now.
///
/// # Errors
/// No adapter fits, or several do.
pub(super) fn path_of(selector: &PortSelector) -> Result<PathBuf, Fault> {
    match selector {
        PortSelector::Path(path) => Ok(path.clone()),
        PortSelector::Usb { .. } => choose(&adapters(), selector),
    }
}

/// Whether an adapter is of the kind that is wanted, and whether it is the one.
fn fits(usb: &UsbIdentity, selector: &PortSelector) -> (bool, bool) {
    fn is<T: PartialEq>(wanted: &Option<T>, has: &Option<T>) -> bool {
        wanted.is_none() || wanted == has
    }
    let PortSelector::Usb {
        vendor,
        product,
        serial,
        interface,
        socket,
    } = selector
    else {
        return (false, false);
    };
    let kind = usb.vendor == format!("{vendor:04x}") && usb.product == format!("{product:04x}");
    let one = is(serial, &usb.serial) && is(interface, &usb.interface) && is(socket, &usb.socket);
    (kind, kind && one)
}

fn choose(adapters: &[(PathBuf, UsbIdentity)], wanted: &PortSelector) -> Result<PathBuf, Fault> {
    let same_kind: Vec<_> = adapters
        .iter()
        .filter(|(_, usb)| fits(usb, wanted).0)
        .collect();
    let fitting: Vec<_> = adapters
        .iter()
        .filter(|(_, usb)| fits(usb, wanted).1)
        .collect();
    match fitting.as_slice() {
        [(path, _)] => Ok(path.clone()),
        [] if same_kind.is_empty() => Err(Fault::Gone(format!(
            "no USB adapter {wanted} is plugged in; waiting for it"
        ))),
        [] => Err(Fault::Gone(format!(
            "no USB adapter {wanted} is plugged in; waiting for it. Of its kind there is: {}",
            candidates(&same_kind)
        ))),
        several => Err(Fault::Refused(format!(
            "{} ports are {wanted}, and none is taken by chance: {}. Name the one by its serial number in `usb`, \
             by `interface`, by `socket`, or by its path in `port`",
            several.len(),
            candidates(several)
        ))),
    }
}

fn candidates(adapters: &[&(PathBuf, UsbIdentity)]) -> String {
    let lines: Vec<String> = adapters
        .iter()
        .map(|(path, usb)| format!("{} ({usb})", path.display()))
        .collect();
    lines.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn adapter(path: &str, serial: Option<&str>, socket: &str) -> (PathBuf, UsbIdentity) {
        (
            PathBuf::from(path),
            UsbIdentity {
                vendor: "0403".to_owned(),
                product: "6001".to_owned(),
                serial: serial.map(str::to_owned),
                interface: Some(0),
                manufacturer: None,
                product_name: None,
                socket: Some(socket.to_owned()),
            },
        )
    }

    fn wanted(serial: Option<&str>, interface: Option<u8>, socket: Option<&str>) -> PortSelector {
        PortSelector::Usb {
            vendor: 0x0403,
            product: 0x6001,
            serial: serial.map(str::to_owned),
            interface,
            socket: socket.map(str::to_owned),
        }
    }

    #[test]
    fn one_is_taken_and_several_are_not() {
        let twins = [
            adapter("/dev/ttyUSB1", Some("A B/1,2"), "1-2"),
            adapter("/dev/ttyUSB0", None, "1-3.4"),
        ];
        let path = |text: &str| Ok(PathBuf::from(text));
        // A serial number may hold blanks, slashes and commas; the kernel keeps them as they are.
        for (selector, expected) in [
            (wanted(Some("A B/1,2"), None, None), "/dev/ttyUSB1"),
            (wanted(None, None, Some("1-3.4")), "/dev/ttyUSB0"),
            (wanted(None, Some(0), Some("1-2")), "/dev/ttyUSB1"),
        ] {
            assert_eq!(choose(&twins, &selector), path(expected), "{selector}");
        }
        let Err(Fault::Refused(words)) = choose(&twins, &wanted(None, None, None)) else {
            panic!("two fit");
        };
        assert!(
            words.contains("/dev/ttyUSB0 (0403:6001 interface 0 at 1-3.4)"),
            "{words}"
        );
        assert!(
            words.contains("/dev/ttyUSB1 (0403:6001:A B/1,2 interface 0 at 1-2)"),
            "{words}"
        );
        for absent in [
            wanted(Some("OTHER"), None, None),
            wanted(None, Some(1), None),
            wanted(None, None, Some("1-3")),
        ] {
            let Err(Fault::Gone(words)) = choose(&twins, &absent) else {
                panic!("{absent} is not there");
            };
            assert!(words.contains("Of its kind"), "{words}");
        }
        assert!(matches!(
            choose(&[], &wanted(None, None, None)),
            Err(Fault::Gone(_))
        ));
    }
}
