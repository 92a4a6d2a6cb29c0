//! The facts of this computer, as its files tell them.

use super::rules::RULES_FILE;
use crate::cable::{denial, may_open};
use crate::pedal::devices;
use crate::plain::plain;
use config::PedalSelector;
use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};

/// What is to be looked at beside the computer itself.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// The data directory.
    pub data: PathBuf,
    /// The user's runtime directory, where the environment names one.
    pub runtime: Option<PathBuf>,
    /// The pedal, where one is configured.
    pub pedal: Option<PedalSelector>,
    /// The udev rules that fit the configuration.
    pub rules: String,
}

/// Everything that is judged.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Facts {
    /// The serial ports that are there.
    pub ports: Vec<PortFacts>,
    /// Programs at work that take serial ports.
    pub takers: Vec<Taker>,
    /// Rules of such a program for an adapter that is plugged in.
    pub taker_rules: Vec<TakerRule>,
    /// The input devices that the configured pedal can be.
    pub pedal: Option<InputFacts>,
    /// The runtime directory.
    pub runtime: RuntimeFacts,
    /// The data directory.
    pub data: DataFacts,
    /// The program's own rules.
    pub rules: RulesFacts,
}

/// A serial port.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PortFacts {
    /// Its device file.
    pub path: PathBuf,
    /// The kernel's driver.
    pub driver: Option<String>,
    /// Vendor and product.
    pub usb: Option<(String, String)>,
    /// Why it may not be opened, and what to do; absent when it may.
    pub denial: Option<String>,
    /// How long the adapter gathers bytes, ms.
    pub latency_ms: Option<u32>,
    /// The power control of its USB device: `on`, or `auto` when it may be put to sleep.
    pub power: Option<String>,
    /// Where that is set.
    pub power_file: Option<PathBuf>,
    /// Whether a modem manager is told to leave it alone.
    pub ignored_by_modem_manager: bool,
    /// The processes that have it open, as far as they can be seen.
    pub held_by: Vec<String>,
}

/// A program that takes serial ports, at work.
#[derive(Debug, Clone, PartialEq)]
pub struct Taker {
    /// What it is: `modem manager` or `braille driver`.
    pub what: &'static str,
    /// The name that it runs under.
    pub command: String,
    /// Its process.
    pub pid: u32,
}

/// A rule that hands an adapter to such a program.
#[derive(Debug, Clone, PartialEq)]
pub struct TakerRule {
    /// The file.
    pub file: PathBuf,
    /// The line, from 1.
    pub line: usize,
    /// The port that it is about.
    pub port: PathBuf,
}

/// The configured pedal.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct InputFacts {
    /// As the configuration names it.
    pub named: String,
    /// The device files that fit, each with why it may not be opened.
    pub fitting: Vec<(PathBuf, Option<String>)>,
}

/// The runtime directory.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RuntimeFacts {
    /// Its path, where the environment names one.
    pub path: Option<PathBuf>,
    /// Whether it is there.
    pub exists: bool,
    /// Whether we may write there.
    pub writable: bool,
    /// Whether others may look into it.
    pub open_to_others: bool,
}

/// The data directory.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DataFacts {
    /// Its path.
    pub path: PathBuf,
    /// Whether we may write there, or make it.
    pub writable: bool,
    /// Room on its disk, bytes.
    pub free_bytes: Option<u64>,
}

/// The program's own udev rules.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RulesFacts {
    /// Where they belong.
    pub path: PathBuf,
    /// Whether there are any.
    pub installed: bool,
    /// Whether they are those that the configuration needs.
    pub current: bool,
}

/// The processes that take ports, by the name that they run under, and a word in their rules.
const TAKERS: [(&str, &str); 2] = [
    ("ModemManager", "modem manager"),
    ("brltty", "braille driver"),
];

/// Reads the facts below `root`.
#[must_use]
pub fn gather(root: &Path, asked: &Asked) -> Facts {
    let mut ports = ports(root);
    hold(root, &mut ports);
    let taker_rules = taker_rules(root, &ports);
    Facts {
        taker_rules,
        takers: takers(root),
        pedal: asked.pedal.as_ref().map(|wanted| input(root, wanted)),
        runtime: runtime(asked.runtime.as_deref()),
        data: data(&asked.data),
        rules: own_rules(root, &asked.rules),
        ports,
    }
}

fn trimmed(path: PathBuf) -> Option<String> {
    let text = fs::read_to_string(path).ok()?;
    Some(text.trim().to_owned())
}

/// The same where the user is shown it.
fn shown(path: PathBuf) -> Option<String> {
    Some(plain(&trimmed(path)?))
}

fn ports(root: &Path) -> Vec<PortFacts> {
    let class = root.join("sys/class/tty");
    let mut found: Vec<PortFacts> = fs::read_dir(class)
        .into_iter()
        .flatten()
        .flatten()
        .filter_map(|entry| port(root, &entry.path(), &entry.file_name().to_string_lossy()))
        .collect();
    found.sort_by(|a, b| a.path.cmp(&b.path));
    found
}

/// A terminal that has a device behind it, and is no empty slot of the computer's own.
fn port(root: &Path, tty: &Path, name: &str) -> Option<PortFacts> {
    let device = fs::canonicalize(tty.join("device")).ok()?;
    let is_empty_slot = trimmed(tty.join("type")).is_some_and(|kind| kind == "0");
    if is_empty_slot || name.starts_with("hvc") {
        return None;
    }
    let path = root.join("dev").join(name);
    let driver = fs::read_link(device.join("driver")).ok();
    let usb_device = device
        .ancestors()
        .find(|dir| dir.join("idVendor").is_file());
    let power_file = usb_device.map(|dir| dir.join("power/control"));
    let ids =
        usb_device.and_then(|dir| shown(dir.join("idVendor")).zip(shown(dir.join("idProduct"))));
    // What udev has noted of a device stands under its number.
    let noted = trimmed(tty.join("dev"))
        .and_then(|number| trimmed(root.join(format!("run/udev/data/c{number}"))))
        .unwrap_or_default();
    Some(PortFacts {
        driver: driver.and_then(|to| Some(to.file_name()?.to_string_lossy().into_owned())),
        usb: ids,
        denial: (path.exists() && !may_open(&path)).then(|| denial(&path)),
        latency_ms: trimmed(device.join("latency_timer")).and_then(|ms| ms.parse().ok()),
        power: power_file.clone().and_then(shown),
        power_file,
        ignored_by_modem_manager: noted
            .lines()
            .any(|line| line == "E:ID_MM_PORT_IGNORE=1" || line == "E:ID_MM_DEVICE_IGNORE=1"),
        held_by: Vec::new(),
        path,
    })
}

/// The processes with their names.
fn processes(root: &Path) -> impl Iterator<Item = (u32, String, PathBuf)> {
    let all = fs::read_dir(root.join("proc"))
        .into_iter()
        .flatten()
        .flatten();
    all.filter_map(|entry| {
        let pid = entry.file_name().to_str()?.parse().ok()?;
        Some((pid, shown(entry.path().join("comm"))?, entry.path()))
    })
}

fn hold(root: &Path, ports: &mut [PortFacts]) {
    for (pid, command, process) in processes(root) {
        for file in fs::read_dir(process.join("fd"))
            .into_iter()
            .flatten()
            .flatten()
        {
            let Ok(open) = fs::read_link(file.path()) else {
                continue;
            };
            let same = |port: &&mut PortFacts| {
                port.path == open || port.path.strip_prefix(root) == open.strip_prefix("/")
            };
            if let Some(port) = ports.iter_mut().find(same) {
                let holder = format!("{command} (pid {pid})");
                if !port.held_by.contains(&holder) {
                    port.held_by.push(holder);
                }
            }
        }
    }
}

fn takers(root: &Path) -> Vec<Taker> {
    let taker = |(pid, command, _): (u32, String, PathBuf)| {
        let (_, what) = TAKERS.iter().find(|(name, _)| *name == command)?;
        Some(Taker { what, command, pid })
    };
    processes(root).filter_map(taker).collect()
}

/// The folders of udev's rules, the strongest first.
const RULES: [&str; 4] = [
    "etc/udev/rules.d",
    "run/udev/rules.d",
    "usr/lib/udev/rules.d",
    "lib/udev/rules.d",
];

/// Lines of a braille driver's rules with the ids of a port that is there. They start the driver when the adapter is
/// plugged in, whatever is connected to it.
fn taker_rules(root: &Path, ports: &[PortFacts]) -> Vec<TakerRule> {
    let mut found = Vec::new();
    let mut seen = Vec::new();
    for folder in RULES {
        for entry in fs::read_dir(root.join(folder))
            .into_iter()
            .flatten()
            .flatten()
        {
            let name = entry.file_name();
            // A file of the same name in a stronger folder replaces it, and `/lib` may be `/usr/lib`.
            if seen.contains(&name) || !name.to_string_lossy().contains("brltty") {
                continue;
            }
            let text = fs::read_to_string(entry.path()).unwrap_or_default();
            seen.push(name);
            for port in ports {
                let about = |line: &&str| port.usb.as_ref().is_some_and(|ids| names(line, ids));
                let lines = text.lines().enumerate();
                let mut lines = lines.filter(|(_, line)| !line.trim_start().starts_with('#'));
                if let Some((number, _)) = lines.find(|(_, line)| about(line)) {
                    found.push(TakerRule {
                        file: entry.path(),
                        line: number + 1,
                        port: port.path.clone(),
                    });
                }
            }
        }
    }
    found
}

/// Whether a rule names these ids: as two attributes, or as the kernel's `PRODUCT`, which has no leading zeros.
fn names(line: &str, (vendor, product): &(String, String)) -> bool {
    let short = |id: &str| id.trim_start_matches('0').to_owned();
    let attributes =
        line.contains(&format!("\"{vendor}\"")) && line.contains(&format!("\"{product}\""));
    attributes || line.contains(&format!("\"{}/{}/", short(vendor), short(product)))
}

fn input(root: &Path, wanted: &PedalSelector) -> InputFacts {
    let fitting = match &wanted.path {
        Some(path) if path.exists() => {
            vec![(path.clone(), (!may_open(path)).then(|| denial(path)))]
        }
        Some(_) => Vec::new(),
        None => devices(root)
            .into_iter()
            .filter(|device| device.is(wanted))
            .map(|device| (device.path, device.denial))
            .collect(),
    };
    InputFacts {
        named: wanted.to_string(),
        fitting,
    }
}

fn may_write(directory: &Path) -> bool {
    let both = rustix::fs::Access::WRITE_OK | rustix::fs::Access::EXEC_OK;
    let flags = rustix::fs::AtFlags::EACCESS;
    rustix::fs::accessat(rustix::fs::CWD, directory, both, flags).is_ok()
}

fn runtime(path: Option<&Path>) -> RuntimeFacts {
    let meta = path
        .and_then(|path| fs::metadata(path).ok())
        .filter(fs::Metadata::is_dir);
    RuntimeFacts {
        path: path.map(Path::to_owned),
        exists: meta.is_some(),
        writable: meta.is_some() && path.is_some_and(may_write),
        open_to_others: meta
            .is_some_and(|meta| meta.permissions().mode() & 0o077 != 0 && meta.uid() != 0),
    }
}

fn data(path: &Path) -> DataFacts {
    // One that is not there yet will be made where its nearest ancestor is.
    let there = path.ancestors().find(|dir| dir.exists()).unwrap_or(path);
    let room = rustix::fs::statvfs(there).ok();
    DataFacts {
        path: path.to_owned(),
        writable: there.is_dir() && may_write(there),
        free_bytes: room.map(|room| room.f_bavail.saturating_mul(room.f_frsize)),
    }
}

fn own_rules(root: &Path, wanted: &str) -> RulesFacts {
    let path = root.join(RULES[0]).join(RULES_FILE);
    let text = fs::read_to_string(&path).ok();
    RulesFacts {
        installed: text.is_some(),
        current: text.is_some_and(|text| text == wanted),
        path,
    }
}
