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
        PortSelector::Usb {
            vendor,
            product,
            serial,
        } => choose(&adapters(), *vendor, *product, serial.as_deref()),
    }
}

fn choose(
    adapters: &[(PathBuf, UsbIdentity)],
    vendor: u16,
    product: u16,
    serial: Option<&str>,
) -> Result<PathBuf, Fault> {
    let (vendor, product) = (format!("{vendor:04x}"), format!("{product:04x}"));
    let same_kind: Vec<_> = adapters
        .iter()
        .filter(|(_, usb)| usb.vendor == vendor && usb.product == product)
        .collect();
    let fitting: Vec<_> = same_kind
        .iter()
        .filter(|(_, usb)| serial.is_none() || usb.serial.as_deref() == serial)
        .collect();
    let wanted = match serial {
        Some(serial) => format!("{vendor}:{product}:{serial}"),
        None => format!("{vendor}:{product}"),
    };
    match fitting.as_slice() {
        [(path, _)] => Ok(path.clone()),
        [] if same_kind.is_empty() => Err(Fault::Gone(format!(
            "no USB adapter {wanted} is plugged in; waiting for it"
        ))),
        [] => Err(Fault::Gone(format!(
            "no USB adapter {wanted} is plugged in; waiting for it. Of its kind there is: {}",
            candidates(&same_kind)
        ))),
        several => {
            let several: Vec<_> = several.iter().map(|&&one| one).collect();
            Err(Fault::Refused(format!(
                "{} USB adapters are {wanted}, and none is taken by chance: {}. Name the one by its serial number or by its path",
                several.len(),
                candidates(&several)
            )))
        }
    }
}

fn candidates(adapters: &[&(PathBuf, UsbIdentity)]) -> String {
    let lines: Vec<String> = adapters
        .iter()
        .map(|(path, usb)| {
            let place = usb
                .topology
                .as_ref()
                .map_or_else(String::new, |t| format!(" at {t}"));
            format!("{} ({}{place})", path.display(), usb.selector())
        })
        .collect();
    lines.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn adapter(path: &str, serial: Option<&str>) -> (PathBuf, UsbIdentity) {
        (
            PathBuf::from(path),
            UsbIdentity {
                vendor: "0403".to_owned(),
                product: "6001".to_owned(),
                serial: serial.map(str::to_owned),
                interface: None,
                manufacturer: None,
                product_name: None,
                topology: Some(format!("1-{}", path.len())),
            },
        )
    }

    #[test]
    fn one_is_taken_and_several_are_not() {
        let twins = [
            adapter("/dev/ttyUSB1", Some("A B/1,2")),
            adapter("/dev/ttyUSB0", None),
        ];
        // A serial number may hold blanks, slashes and commas; the kernel keeps them as they are.
        assert_eq!(
            choose(&twins, 0x0403, 0x6001, Some("A B/1,2")),
            Ok(PathBuf::from("/dev/ttyUSB1"))
        );
        let Err(Fault::Refused(words)) = choose(&twins, 0x0403, 0x6001, None) else {
            panic!("two fit");
        };
        assert!(words.contains("/dev/ttyUSB0 (0403:6001"), "{words}");
        assert!(words.contains("/dev/ttyUSB1 (0403:6001:A B/1,2"), "{words}");
        let Err(Fault::Gone(words)) = choose(&twins, 0x0403, 0x6001, Some("OTHER")) else {
            panic!("a third one is not there");
        };
        assert!(words.contains("Of its kind"), "{words}");
        assert!(matches!(choose(&[], 1, 2, None), Err(Fault::Gone(_))));
    }
}
