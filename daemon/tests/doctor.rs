//! The doctor against a computer made of files: facts are read from it, and judged.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_daemon::doctor::{Asked, Facts, Finding, gather, install, judge, rules};
use config::Config;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};

/// A computer below a directory of its own.
struct Computer(tempfile::TempDir);

impl Computer {
    /// One adapter at /dev/ttyUSB0, with everything about it as it should be, and nothing that takes it.
    fn well() -> Self {
        let computer = Self(tempfile::tempdir().unwrap());
        let usb = "sys/devices/pci0/usb1/1-2";
        computer.write(&format!("{usb}/idVendor"), "0403\n");
        computer.write(&format!("{usb}/idProduct"), "6001\n");
        computer.write(&format!("{usb}/power/control"), "on\n");
        let port = format!("{usb}/1-2:1.0/ttyUSB0");
        computer.write(&format!("{port}/latency_timer"), "1\n");
        computer.link(
            &format!("{port}/driver"),
            "sys/bus/usb-serial/drivers/ftdi_sio",
        );
        computer.write("dev/ttyUSB0", "");
        let tty = format!("{port}/tty/ttyUSB0");
        computer.write(&format!("{tty}/dev"), "188:0\n");
        computer.link(&format!("{tty}/device"), &port);
        computer.link("sys/class/tty/ttyUSB0", &tty);
        // Terminals without a device, and the slots of ports that the computer has not, are no ports.
        computer.write("sys/class/tty/tty1/dev", "4:1\n");
        computer.write("sys/class/tty/ttyS3/type", "0\n");
        computer.link(
            "sys/class/tty/ttyS3/device",
            "sys/devices/platform/serial8250",
        );
        computer.write("run/udev/data/c188:0", "E:ID_MM_PORT_IGNORE=1\n");
        computer.write("proc/41/comm", "init\n");
        fs::create_dir_all(computer.path("home/data")).unwrap();
        fs::create_dir_all(computer.path("run/user/7")).unwrap();
        computer
    }

    fn path(&self, path: &str) -> PathBuf {
        self.0.path().join(path)
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.path(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn link(&self, path: &str, to: &str) {
        let (path, to) = (self.path(path), self.path(to));
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::create_dir_all(&to).unwrap();
        symlink(to, path).unwrap();
    }

    fn facts(&self) -> Facts {
        let asked = Asked {
            data: self.path("home/data"),
            runtime: Some(self.path("run/user/7")),
            pedal: None,
            rules: "wanted\n".to_owned(),
        };
        gather(self.0.path(), &asked)
    }

    fn findings(&self) -> Vec<Finding> {
        judge(&self.facts())
    }

    /// What is wrong, which must be this one check.
    fn wrong(&self, check: &str) -> Finding {
        let findings = self.findings();
        let wrong: Vec<&Finding> = findings.iter().filter(|f| !f.well).collect();
        let [finding] = wrong[..] else {
            panic!("one finding should be of {check}: {findings:#?}");
        };
        assert_eq!(finding.check, check, "{finding:?}");
        assert!(
            finding.remedy.as_ref().is_some_and(|r| !r.is_empty()),
            "{finding:?}"
        );
        finding.clone()
    }
}

#[test]
fn a_computer_as_it_should_be() {
    let computer = Computer::well();
    let facts = computer.facts();
    let [port] = &facts.ports[..] else {
        panic!("{facts:#?}");
    };
    assert_eq!(port.path, computer.path("dev/ttyUSB0"));
    assert_eq!(port.driver.as_deref(), Some("ftdi_sio"));
    assert_eq!(port.usb, Some(("0403".to_owned(), "6001".to_owned())));
    let findings = computer.findings();
    assert!(findings.iter().all(|f| f.well), "{findings:#?}");
    let checks = [
        "access",
        "latency",
        "autosuspend",
        "modem-manager",
        "braille-driver",
        "runtime",
        "data",
        "room",
        "rules",
    ];
    assert_eq!(
        findings.iter().map(|f| &*f.check).collect::<Vec<_>>(),
        checks
    );
}

#[test]
fn each_fact_that_spoils_readings_is_found() {
    let computer = Computer::well();
    let usb = "sys/devices/pci0/usb1/1-2";
    computer.write(&format!("{usb}/1-2:1.0/ttyUSB0/latency_timer"), "16\n");
    let found = computer.wrong("latency");
    assert!(
        found.evidence.contains("16 ms") && found.evidence.contains("ttyUSB0"),
        "{found:?}"
    );
    // On both sides of the limit.
    computer.write(&format!("{usb}/1-2:1.0/ttyUSB0/latency_timer"), "3\n");
    computer.wrong("latency");
    computer.write(&format!("{usb}/1-2:1.0/ttyUSB0/latency_timer"), "2\n");
    assert!(computer.findings().iter().all(|f| f.well));

    computer.write(&format!("{usb}/power/control"), "auto\n");
    let found = computer.wrong("autosuspend");
    assert!(found.evidence.contains("1-2/power/control"), "{found:?}");
    computer.write(&format!("{usb}/power/control"), "on\n");

    computer.write("proc/77/comm", "ModemManager\n");
    assert!(
        computer.findings().iter().all(|f| f.well),
        "it is told to leave the port alone"
    );
    computer.write("run/udev/data/c188:0", "E:ID_BUS=usb\n");
    let found = computer.wrong("modem-manager");
    assert!(
        found.evidence.contains("pid 77") && found.evidence.contains("ttyUSB0"),
        "{found:?}"
    );
    fs::remove_dir_all(computer.path("proc/77")).unwrap();

    computer.write("proc/78/comm", "brltty\n");
    let found = computer.wrong("braille-driver");
    assert!(found.evidence.contains("pid 78"), "{found:?}");
    fs::remove_dir_all(computer.path("proc/78")).unwrap();
    // The rule alone will do: it starts the driver when the cable is plugged in. The kernel writes ids without zeros.
    let rule = "# ENV{PRODUCT}==\"403/6001/*\"\nENV{PRODUCT}==\"403/6001/*\", ENV{BRLTTY_BRAILLE_DRIVER}=\"al\"\n";
    computer.write("usr/lib/udev/rules.d/90-brltty-device.rules", rule);
    let found = computer.wrong("braille-driver");
    assert!(
        found.evidence.contains("90-brltty-device.rules:2"),
        "{found:?}"
    );
    // An empty file of the same name in /etc switches it off.
    computer.write("etc/udev/rules.d/90-brltty-device.rules", "");
    assert!(computer.findings().iter().all(|f| f.well));

    computer.write("proc/79/comm", "terminal\n");
    fs::create_dir_all(computer.path("proc/79/fd")).unwrap();
    symlink("/dev/ttyUSB0", computer.path("proc/79/fd/3")).unwrap();
    let found = computer.wrong("holder");
    assert!(found.evidence.contains("terminal (pid 79)"), "{found:?}");
    // The daemon should have it.
    computer.write("proc/79/comm", "conewright\n");
    assert!(computer.findings().iter().all(|f| f.well));

    fs::remove_dir_all(computer.path("run/user/7")).unwrap();
    let found = computer.wrong("runtime");
    assert!(found.evidence.contains("not there"), "{found:?}");
    fs::create_dir_all(computer.path("run/user/7")).unwrap();

    fs::remove_dir(computer.path("home/data")).unwrap();
    assert!(computer.findings().iter().all(|f| f.well), "it can be made");
    computer.write("home/data", "a file in its place");
    computer.wrong("data");
}

#[test]
fn what_files_cannot_show_is_judged_all_the_same() {
    let facts = Computer::well().facts();
    let only = |facts: &Facts| -> Vec<String> {
        let wrong = judge(facts).into_iter().filter(|f| !f.well);
        wrong.map(|f| f.check).collect()
    };
    // The tests may run as root, to whom nothing is denied.
    let mut denied = facts.clone();
    denied.ports[0].denial = Some("/dev/ttyUSB0 belongs to root, group dialout".to_owned());
    assert_eq!(only(&denied), ["access"]);
    let mib = 1024 * 1024;
    let room = |free_bytes: u64| {
        let mut facts = facts.clone();
        facts.data.free_bytes = Some(free_bytes);
        only(&facts)
    };
    assert_eq!(room(200 * mib - 1), ["room"]);
    assert!(room(200 * mib).is_empty());
    let mut no_login = facts.clone();
    no_login.runtime.path = None;
    assert_eq!(only(&no_login), ["runtime"]);
    let mut no_port = facts;
    no_port.ports.clear();
    assert!(only(&no_port).is_empty());
}

#[test]
fn rules_are_installed_whole_and_known_again() {
    let computer = Computer::well();
    let root = computer.0.path();
    let installed = install(root, "old\n").unwrap();
    assert_eq!(
        installed.path,
        computer.path("etc/udev/rules.d/70-conewright.rules")
    );
    let found = computer.wrong("rules");
    assert!(
        found.evidence.contains("not what the configuration needs"),
        "{found:?}"
    );
    install(root, "wanted\n").unwrap();
    assert!(computer.findings().iter().all(|f| f.well));
    let left: Vec<_> = fs::read_dir(computer.path("etc/udev/rules.d"))
        .unwrap()
        .collect();
    assert_eq!(left.len(), 1, "nothing is left beside it");
    // A folder that cannot be made is a fault, and leaves nothing behind.
    computer.write("other/etc", "a file in its place");
    let fault = install(&root.join("other"), "x").unwrap_err();
    assert!(fault.to_string().contains("70-conewright.rules"), "{fault}");
}

#[test]
fn the_rules_are_made_for_what_the_configuration_names() {
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("../config/udev/70-conewright.rules");
    assert_eq!(
        rules(&Config::default()),
        fs::read_to_string(shipped).unwrap()
    );
    let text = "[cable.bench]\nusb = \"0403:6001:A \\\"1*\"\ncadence = \"press\"\nframe = \"text\"\n\
                [cable.other]\nport = \"/dev/ttyS0\"\ncadence = \"press\"\nframe = \"text\"\n\
                [pedal]\nusb = \"1a2c:0027\"\n";
    let made = rules(&Config::parse(text, "test").unwrap());
    for part in [
        "ATTRS{idVendor}==\"0403\", ATTRS{idProduct}==\"6001\", ATTRS{serial}==\"A ?1?\"",
        "ID_MM_DEVICE_IGNORE",
        "ATTR{power/control}=\"on\"",
        "ATTR{latency_timer}=\"1\"",
        "ATTRS{id/vendor}==\"1a2c\", ATTRS{id/product}==\"0027\", TAG+=\"uaccess\"",
    ] {
        assert!(made.contains(part), "{part} is not in\n{made}");
    }
    assert!(!made.contains("ttyS0"));
    // Whatever is written in the configuration, each line is a comment, a rule, or empty.
    for line in made.lines() {
        let quotes = line.matches('"').count();
        assert!(
            line.is_empty() || line.starts_with('#') || quotes % 2 == 0,
            "{line}"
        );
    }
}
