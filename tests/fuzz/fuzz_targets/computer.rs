//! A computer whose files say anything at all, to the doctor and to the list of pedals: what USB devices, drivers, processes and
//! udev write there comes from outside. Nothing panics, every trouble has its remedy, and a device is found by what it says of itself.
//!
//! The input is the files' contents in the order of [`FILES`], with a zero byte between them; an empty one is not there.

#![no_main]

use conewright_config::PedalSelector;
use conewright_daemon::doctor::{Asked, gather, judge};
use conewright_daemon::pedal::devices;
use libfuzzer_sys::fuzz_target;
use std::cell::RefCell;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::PathBuf;

const FILES: [&str; 20] = [
    "sys/devices/usb1/1-2/idVendor",
    "sys/devices/usb1/1-2/idProduct",
    "sys/devices/usb1/1-2/power/control",
    "sys/devices/usb1/1-2/port/latency_timer",
    "sys/devices/usb1/1-2/port/tty/ttyUSB0/dev",
    "sys/devices/usb1/1-2/port/tty/ttyUSB0/type",
    "run/udev/data/c188:0",
    "proc/41/comm",
    "etc/udev/rules.d/90-brltty.rules",
    "etc/udev/rules.d/70-conewright.rules",
    "sys/devices/usb1/1-3/idVendor",
    "sys/devices/usb1/1-3/serial",
    "sys/devices/usb1/1-3/1-3:1.0/bInterfaceNumber",
    "sys/devices/usb1/1-3/1-3:1.0/input/input7/name",
    "sys/devices/usb1/1-3/1-3:1.0/input/input7/phys",
    "sys/devices/usb1/1-3/1-3:1.0/input/input7/uniq",
    "sys/devices/usb1/1-3/1-3:1.0/input/input7/id/vendor",
    "sys/devices/usb1/1-3/1-3:1.0/input/input7/id/product",
    "sys/devices/usb1/1-3/1-3:1.0/input/input7/capabilities/key",
    "dev/ttyUSB0",
];

/// The computer, and what its files say now.
struct Computer {
    root: PathBuf,
    said: Vec<Vec<u8>>,
}

impl Computer {
    fn new() -> Self {
        let root = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir());
        // It stays until the driver ends.
        let root = root.expect("a directory").keep();
        for folder in [
            "sys/class/tty",
            "sys/class/input",
            "proc/41/fd",
            "dev/input",
            "data",
            "run/user",
        ] {
            fs::create_dir_all(root.join(folder)).expect("a folder");
        }
        for file in FILES {
            let folder = root.join(file);
            fs::create_dir_all(folder.parent().expect("a folder")).expect("a folder");
        }
        let link = |from: &str, to: &str| symlink(root.join(to), root.join(from)).expect("a link");
        link(
            "sys/devices/usb1/1-2/port/tty/ttyUSB0/device",
            "sys/devices/usb1/1-2/port",
        );
        link(
            "sys/class/tty/ttyUSB0",
            "sys/devices/usb1/1-2/port/tty/ttyUSB0",
        );
        let input = "sys/devices/usb1/1-3/1-3:1.0/input/input7";
        let event = format!("{input}/event7");
        fs::create_dir_all(root.join(&event)).expect("a folder");
        link(&format!("{event}/device"), input);
        link("sys/class/input/event7", &event);
        link("proc/41/fd/3", "dev/ttyUSB0");
        fs::write(root.join("dev/input/event7"), "").expect("a file");
        Self {
            root,
            said: vec![Vec::new(); FILES.len()],
        }
    }

    /// Writes the files that say something else than before.
    fn say(&mut self, data: &[u8]) {
        let mut given = data.split(|byte| *byte == 0);
        for (file, said) in FILES.iter().zip(&mut self.said) {
            let now = given.next().unwrap_or_default();
            if now == &**said {
                continue;
            }
            let path = self.root.join(file);
            if now.is_empty() {
                fs::remove_file(path).expect("it is there");
            } else {
                fs::write(path, now).expect("a file");
            }
            *said = now.to_owned();
        }
    }
}

thread_local! {
    static COMPUTER: RefCell<Computer> = RefCell::new(Computer::new());
}

fuzz_target!(|data: &[u8]| {
    COMPUTER.with_borrow_mut(|computer| {
        computer.say(data);
        let devices = devices(&computer.root);
        // A device file has at most the kernel's 768 keys.
        assert!(
            devices.len() <= 1
                && devices
                    .iter()
                    .all(|device| (1..=768).contains(&device.keys))
        );
        let mut pedal = None;
        for device in &devices {
            assert_eq!(device.key_names.is_empty(), device.keys > 12);
            let own = PedalSelector {
                name: Some(device.name.clone()),
                serial: device.serial.clone(),
                interface: device.interface,
                socket: device.socket.clone(),
                ..PedalSelector::default()
            };
            assert!(device.is(&own), "{device:?}");
            let shown = [
                Some(&device.name),
                device.usb.as_ref(),
                device.phys.as_ref(),
            ];
            let steers = shown
                .into_iter()
                .flatten()
                .any(|text| text.contains(char::is_control));
            assert!(!steers, "a name steers the terminal: {device:?}");
            pedal = Some(own);
        }
        let asked = Asked {
            data: computer.root.join("data"),
            runtime: Some(computer.root.join("run/user")),
            pedal,
            rules: "wanted\n".to_owned(),
        };
        for finding in judge(&gather(&computer.root, &asked)) {
            assert!(!finding.evidence.is_empty(), "{finding:?}");
            assert!(!finding.evidence.contains('\u{1b}'), "{finding:?}");
            assert!(finding.well || finding.remedy.is_some(), "{finding:?}");
        }
    });
});
