//! `cable pedal`: the input devices of this computer.

use crate::layout::Table;
use crate::{Answer, Failure};
use daemon::pedal::{InputDevice, devices};
use serde_json::json;
use std::path::Path;

/// Lists the input devices that have keys, without opening any.
pub(super) fn list() -> Result<Answer, Failure> {
    let found = devices(Path::new("/"));
    Answer::new(lines(&found), &json!({ "devices": found }))
}

fn lines(devices: &[InputDevice]) -> String {
    if devices.is_empty() {
        return "no input device with keys on this computer\n".to_owned();
    }
    let mut table = Table::new(&["device", "access", "usb", "name", "keys", "where", ""]);
    for device in devices {
        let mut place: Vec<String> = Vec::new();
        place.extend(device.interface.map(|i| format!("interface {i}")));
        place.extend(device.socket.as_ref().map(|s| format!("at {s}")));
        if place.is_empty() {
            place.extend(device.phys.clone());
        }
        let keys = if device.key_names.is_empty() {
            format!("{} keys", device.keys)
        } else {
            device.key_names.join(" ")
        };
        table.row([
            device.path.display().to_string(),
            device.access.clone(),
            device.usb.clone().unwrap_or_default(),
            device.name.clone(),
            keys,
            place.join(" "),
            device.denial.clone().unwrap_or_default(),
        ]);
    }
    table.text()
}
