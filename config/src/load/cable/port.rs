//! Which port a cable is.

use crate::load::mistake::Problem;
use crate::load::section::Section;
use crate::load::value::{text, whole};
use crate::model::{Cable, PortSelector};

const USB: &str = "vendor and product in four hexadecimal digits each, and the serial number where there is \
     one: \"0403:6001:SERIAL\"";

/// Reads `port`, or `usb` with what tells adapters apart.
pub(super) fn read(section: &Section<'_>) -> Option<PortSelector> {
    match (section.has("port"), section.has("usb")) {
        (true, true) => {
            section.wrong_key(
                "usb",
                Problem::new("`port` and `usb` both name the port").expected("only one of them"),
            );
            None
        }
        (false, false) => {
            section.wrong(
                Problem::new("neither `port` nor `usb` says which port this is")
                    .expected("port = \"/dev/ttyUSB0\", or usb = \"0403:6001:SERIAL\""),
            );
            None
        }
        (true, false) => section.optional("port", |value| match text(value)? {
            path if path.starts_with('/') && !path.contains('\0') => {
                Ok(PortSelector::Path(path.into()))
            }
            path => Err(Problem::new(format!("`{path}` is no path of a port"))
                .expected("a path from the root such as \"/dev/ttyUSB0\"")),
        }),
        (false, true) => {
            let narrowed = (
                section.optional("interface", |value| {
                    let number = whole(0, 255)(value)?;
                    Ok(u8::try_from(number).unwrap_or(u8::MAX))
                }),
                section.optional("socket", |value| socket(text(value)?)),
            );
            let mut port = section.optional("usb", |value| usb(text(value)?))?;
            if let PortSelector::Usb {
                interface, socket, ..
            } = &mut port
            {
                (*interface, *socket) = narrowed;
            }
            Some(port)
        }
    }
}

/// Keys that tell adapters of one kind apart mean nothing beside a path.
pub(super) fn only_with_usb(section: &Section<'_>) {
    for key in ["interface", "socket"] {
        if section.has(key) && !section.has("usb") {
            section.wrong_key(
                key,
                Problem::new(format!("`{key}` tells adapters apart that `usb` names"))
                    .expected("`usb` beside it, or a port without it"),
            );
        }
    }
}

/// `1-4.2`: the bus, and the chain of sockets from it.
pub(in crate::load) fn socket(place: &str) -> Result<String, Problem> {
    let number = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    match place.split_once('-') {
        Some((bus, chain)) if number(bus) && chain.split('.').all(number) => Ok(place.to_owned()),
        _ => Err(
            Problem::new(format!("`{place}` is no place of a USB socket")).expected(
                "bus and chain of sockets such as \"1-4.2\", as `conewright cable list` shows them",
            ),
        ),
    }
}

/// `0403:6001` or `0403:6001:SERIAL`. A serial number may hold anything, colons too.
pub(in crate::load) fn usb(identity: &str) -> Result<PortSelector, Problem> {
    let wrong = || Problem::new(format!("`{identity}` is no USB identity")).expected(USB);
    let mut parts = identity.splitn(3, ':');
    let mut id = || {
        let digits = parts
            .next()
            .filter(|p| p.len() == 4 && p.bytes().all(|b| b.is_ascii_hexdigit()));
        u16::from_str_radix(digits?, 16).ok()
    };
    let (vendor, product) = (id().ok_or_else(wrong)?, id().ok_or_else(wrong)?);
    match parts.next() {
        Some("") => Err(wrong()),
        serial => Ok(PortSelector::Usb {
            vendor,
            product,
            serial: serial.map(str::to_owned),
            interface: None,
            socket: None,
        }),
    }
}

/// Refuses a cable on the port of another.
pub(in crate::load) fn check_ports(cables: &[(Cable, &Section<'_>)]) {
    for (i, (cable, section)) in cables.iter().enumerate() {
        if let Some((other, _)) = cables[..i]
            .iter()
            .find(|(other, _)| same(&other.port, &cable.port))
        {
            let key = match cable.port {
                PortSelector::Path(_) => "port",
                PortSelector::Usb { .. } => "usb",
            };
            section.wrong_key(
                key,
                Problem::new(format!(
                    "the cable `{}` is on this port already",
                    other.name
                ))
                .expected("a port of its own for each cable"),
            );
        }
    }
}

/// Whether two selectors can mean one port: nothing that both of them say tells them apart.
fn same(a: &PortSelector, b: &PortSelector) -> bool {
    fn alike<T: PartialEq>(a: &Option<T>, b: &Option<T>) -> bool {
        a.is_none() || b.is_none() || a == b
    }
    match (a, b) {
        (PortSelector::Path(a), PortSelector::Path(b)) => a == b,
        (
            PortSelector::Usb {
                vendor: v1,
                product: p1,
                serial: s1,
                interface: i1,
                socket: k1,
            },
            PortSelector::Usb {
                vendor: v2,
                product: p2,
                serial: s2,
                interface: i2,
                socket: k2,
            },
        ) => (v1, p1) == (v2, p2) && alike(s1, s2) && alike(i1, i2) && alike(k1, k2),
        _ => false,
    }
}
