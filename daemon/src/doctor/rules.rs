//! The udev rules that the program ships: made for the cables that the configuration names by what they are, else for every
//! serial port on USB.

use config::{Config, PedalSelector, PortSelector};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The file, below the number of the rules that act on the tag it sets.
pub const RULES_FILE: &str = "70-conewright.rules";

const GENERIC: &str = include_str!("../../../config/udev/70-conewright.rules");
const BEGIN: &str = "ACTION==\"remove\", GOTO=\"conewright_end\"\n";
const END: &str = "LABEL=\"conewright_end\"\n";

/// The rules for a configuration.
#[must_use]
pub fn rules(config: &Config) -> String {
    let mut text = String::new();
    for cable in &config.cables {
        if let PortSelector::Usb {
            vendor,
            product,
            serial,
            ..
        } = &cable.port
        {
            let told = format!("The cable `{}`", cable.name);
            text.push_str(&of_cable(&told, *vendor, *product, serial.as_deref()));
        }
    }
    let pedal = config.pedal.as_ref().map(|pedal| of_pedal(&pedal.device));
    let pedal = pedal.unwrap_or_default();
    if text.is_empty() {
        return GENERIC.replace(END, &format!("{pedal}{END}"));
    }
    format!(
        "# Cables of Conewright's configuration; `conewright doctor --rules` prints them, `sudo conewright doctor --install` puts\n\
         # them in place again when the configuration has changed.\n{BEGIN}\n{text}{pedal}{END}"
    )
}

fn of_cable(told: &str, vendor: u16, product: u16, serial: Option<&str>) -> String {
    let key = |level: &str| {
        let mut keys = format!(
            "{level}{{idVendor}}==\"{vendor:04x}\", {level}{{idProduct}}==\"{product:04x}\""
        );
        if let Some(serial) = serial {
            keys.push_str(&format!(", {level}{{serial}}==\"{}\"", literal(serial)));
        }
        keys
    };
    let (own, above) = (key("ATTR"), key("ATTRS"));
    format!(
        "# {}: not put to sleep, left alone by a modem manager, open to whoever sits here, bytes handed on after 1 ms.\n\
         SUBSYSTEM==\"usb\", ENV{{DEVTYPE}}==\"usb_device\", {own}, ENV{{ID_MM_DEVICE_IGNORE}}=\"1\", \
         ATTR{{power/control}}=\"on\"\n\
         SUBSYSTEM==\"tty\", {above}, TAG+=\"uaccess\", ENV{{ID_MM_PORT_IGNORE}}=\"1\"\n\
         SUBSYSTEM==\"tty\", {above}, TEST==\"device/latency_timer\", ATTR{{device/latency_timer}}=\"1\"\n\
         SUBSYSTEM==\"usb-serial\", {above}, TEST==\"latency_timer\", ATTR{{latency_timer}}=\"1\"\n\n",
        commented(told)
    )
}

/// The one device, where it is known by its identity: its group would open every keyboard.
fn of_pedal(device: &PedalSelector) -> String {
    let mut keys = Vec::new();
    if let Some((vendor, product)) = device.usb {
        keys.push(format!(
            "ATTRS{{id/vendor}}==\"{vendor:04x}\", ATTRS{{id/product}}==\"{product:04x}\""
        ));
    }
    if let Some(name) = &device.name {
        keys.push(format!("ATTRS{{name}}==\"{}\"", literal(name)));
    }
    if keys.is_empty() {
        return String::new();
    }
    format!(
        "# The pedal: open to whoever sits here.\nSUBSYSTEM==\"input\", KERNEL==\"event*\", {}, TAG+=\"uaccess\"\n\n",
        keys.join(", ")
    )
}

/// A text as a pattern that matches it: what would end the pattern or mean something in it stands for any character.
fn literal(text: &str) -> String {
    let wild = |c: char| c.is_control() || matches!(c, '"' | '\\' | '*' | '?' | '[' | ']' | '|');
    text.chars()
        .map(|c| if wild(c) { '?' } else { c })
        .collect()
}

/// A name in a comment must not end it.
fn commented(text: &str) -> String {
    text.replace(char::is_control, " ")
}

/// What was put in place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Installed {
    /// The file.
    pub path: PathBuf,
    /// Why udev was not told, where it was not.
    pub not_told: Option<String>,
}

/// Why the rules could not be put in place.
#[derive(Debug, thiserror::Error)]
#[error("{} cannot be written: {source}", path.display())]
pub struct InstallFault {
    /// The file.
    pub path: PathBuf,
    /// Why.
    pub source: io::Error,
}

impl InstallFault {
    /// Whether it would be permitted to root.
    #[must_use]
    pub fn is_denied(&self) -> bool {
        self.source.kind() == io::ErrorKind::PermissionDenied
    }
}

/// Puts rules in place below `root`, and has udev read them when `root` is the computer's own.
///
/// They are written beside their place and renamed, so that udev never reads half of them.
///
/// # Errors
/// They cannot be written.
pub fn install(root: &Path, text: &str) -> Result<Installed, InstallFault> {
    let folder = root.join("etc/udev/rules.d");
    let path = folder.join(RULES_FILE);
    let fault = |source| InstallFault {
        path: path.clone(),
        source,
    };
    fs::create_dir_all(&folder).map_err(fault)?;
    // udev reads files that end with `.rules`, and this one does not.
    let aside = folder.join(format!("{RULES_FILE}.new"));
    let written = fs::write(&aside, text).and_then(|()| fs::rename(&aside, &path));
    if let Err(error) = written {
        // What is half there is of no use to anybody.
        let _ = fs::remove_file(&aside);
        return Err(fault(error));
    }
    let not_told = if root == Path::new("/") {
        reload()
    } else {
        Some("it is not this computer's own folder".to_owned())
    };
    Ok(Installed { path, not_told })
}

fn reload() -> Option<String> {
    match Command::new("udevadm")
        .args(["control", "--reload"])
        .output()
    {
        Ok(output) if output.status.success() => None,
        Ok(output) => Some(String::from_utf8_lossy(&output.stderr).trim().to_owned()),
        Err(error) => Some(format!("udevadm: {error}")),
    }
}
