//! Who has a port open, and who may: facts from the system, for the words of a refusal.

use crate::plain::plain;
use rustix::fs::{Access, AtFlags, CWD, accessat};
use rustix::process::{getegid, geteuid, getgroups};
use std::fmt;
use std::fs;
use std::os::unix::fs::{FileTypeExt, MetadataExt, PermissionsExt};
use std::path::Path;

/// A process that has a device open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// The device's number.
    device: u64,
    /// The process.
    pub pid: u32,
    /// The name it runs under.
    pub command: String,
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.pid == std::process::id() {
            write!(f, "this program itself (pid {})", self.pid)
        } else {
            write!(f, "{} (pid {})", self.command, self.pid)
        }
    }
}

/// Every open device file that can be seen: those of our own processes, and all for root.
#[derive(Debug, Default)]
pub struct Holders(Vec<Holder>);

impl Holders {
    /// Looks through the processes. What may not be looked into is left out.
    #[must_use]
    pub fn look() -> Self {
        let mut found = Vec::new();
        for process in fs::read_dir("/proc").into_iter().flatten().flatten() {
            let Some(pid) = process.file_name().to_str().and_then(|n| n.parse().ok()) else {
                continue;
            };
            let open = fs::read_dir(process.path().join("fd"));
            for file in open.into_iter().flatten().flatten() {
                // The name is looked at first: most descriptors are sockets and files, and need no second call.
                let is_device = fs::read_link(file.path()).is_ok_and(|to| to.starts_with("/dev"));
                let Some(device) = is_device.then(|| device_number(&file.path())).flatten() else {
                    continue;
                };
                if !found
                    .iter()
                    .any(|h: &Holder| h.device == device && h.pid == pid)
                {
                    found.push(Holder {
                        device,
                        pid,
                        command: command_of(pid),
                    });
                }
            }
        }
        Self(found)
    }

    /// Those that have this device open.
    #[must_use]
    pub fn of(&self, path: &Path) -> Vec<&Holder> {
        let device = device_number(path);
        self.0.iter().filter(|h| Some(h.device) == device).collect()
    }
}

/// The process that holds a lock on the file of this port, so that it need not be opened to find out.
///
/// Opening and failing would not be harmless: for root the second open succeeds, and giving it up again takes
/// the first holder's exclusive use away.
#[must_use]
pub fn locked_by(path: &Path) -> Option<Holder> {
    let meta = fs::metadata(path).ok()?;
    let locks = fs::read_to_string("/proc/locks").ok()?;
    let pid = lock_holder(&locks, meta.dev(), meta.ino())?;
    Some(Holder {
        device: meta.rdev(),
        pid,
        command: command_of(pid),
    })
}

/// A line reads `1: FLOCK  ADVISORY  WRITE 123 00:05:678 0 EOF`: process, then device and inode of the file.
fn lock_holder(locks: &str, dev: u64, inode: u64) -> Option<u32> {
    let (major, minor) = (rustix::fs::major(dev), rustix::fs::minor(dev));
    let file = format!("{major:02x}:{minor:02x}:{inode}");
    locks.lines().find_map(|line| {
        let mut words = line.split_whitespace().skip(1);
        // A waiting lock has an arrow before its kind, and holds nothing.
        (words.next()? == "FLOCK").then_some(())?;
        let pid = words.nth(2)?.parse().ok()?;
        (words.next()? == file).then_some(pid)
    })
}

fn device_number(path: &Path) -> Option<u64> {
    let meta = fs::metadata(path).ok()?;
    meta.file_type().is_char_device().then(|| meta.rdev())
}

fn command_of(pid: u32) -> String {
    fs::read_to_string(format!("/proc/{pid}/comm"))
        .map_or_else(|_| "a process".to_owned(), |name| plain(name.trim()))
}

/// Whether we may open it for reading and writing.
#[must_use]
pub fn may_open(path: &Path) -> bool {
    let both = Access::READ_OK | Access::WRITE_OK;
    accessat(CWD, path, both, AtFlags::EACCESS).is_ok()
}

/// Why we may not open a device, and what to do: owner, group, mode, our groups.
#[must_use]
pub fn denial(path: &Path) -> String {
    let Ok(meta) = fs::metadata(path) else {
        return format!(
            "{} may not be opened, nor looked at; make its directory readable",
            path.display()
        );
    };
    let groups = fs::read_to_string("/etc/group").unwrap_or_default();
    let users = fs::read_to_string("/etc/passwd").unwrap_or_default();
    let mut own: Vec<u32> = getgroups()
        .unwrap_or_default()
        .iter()
        .map(|g| g.as_raw())
        .collect();
    own.push(getegid().as_raw());
    own.sort_unstable();
    own.dedup();
    let facts = Facts {
        path: path.display().to_string(),
        owner: meta.uid(),
        group: meta.gid(),
        mode: meta.permissions().mode() & 0o7777,
        user: geteuid().as_raw(),
        own,
    };
    facts.words(&users, &groups)
}

/// What a refusal is explained with.
struct Facts {
    path: String,
    owner: u32,
    group: u32,
    mode: u32,
    user: u32,
    own: Vec<u32>,
}

impl Facts {
    /// The words; `users` and `groups` are the texts of the system's two lists.
    fn words(&self, users: &str, groups: &str) -> String {
        let name = |list: &str, id: u32| {
            entry(list, id).map_or_else(|| id.to_string(), |fields| fields[0].to_owned())
        };
        let own: Vec<String> = self.own.iter().map(|&id| name(groups, id)).collect();
        let (user, group) = (name(users, self.user), name(groups, self.group));
        let listed = entry(groups, self.group)
            .and_then(|fields| fields.get(3).copied())
            .is_some_and(|members| members.split(',').any(|member| member == user));
        let group_may = self.mode & 0o060 == 0o060;
        let todo = if self.own.contains(&self.group) || !group_may {
            format!(
                "give the group access with a udev rule: MODE=\"0660\", GROUP=\"{group}\", then put the cable in again"
            )
        } else if listed {
            format!("{user} is in the group {group} now, but this login is older: log out and in")
        } else {
            format!("run `sudo usermod -aG {group} {user}`, then log out and in")
        };
        format!(
            "{} belongs to {}, group {group}, mode {:04o}; we are {user} in {}: {todo}",
            self.path,
            name(users, self.owner),
            self.mode,
            own.join(", "),
        )
    }
}

/// The fields of the line whose third field is `id`, in a list such as `/etc/group`.
fn entry(list: &str, id: u32) -> Option<Vec<&str>> {
    list.lines()
        .map(|line| line.split(':').collect::<Vec<_>>())
        .find(|fields| fields.get(2).is_some_and(|f| f.parse() == Ok(id)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const USERS: &str = "root:x:0:0:root:/root:/bin/sh\nanna:x:1000:1000::/home/anna:/bin/sh\n";

    fn facts(mode: u32, own: &[u32]) -> Facts {
        Facts {
            path: "/dev/ttyUSB0".to_owned(),
            owner: 0,
            group: 20,
            mode,
            user: 1000,
            own: own.to_vec(),
        }
    }

    #[test]
    fn the_remedy_fits_the_facts() {
        let outside = "dialout:x:20:\nanna:x:1000:\n";
        let inside = "dialout:x:20:paul,anna\nanna:x:1000:\n";
        assert_eq!(
            facts(0o660, &[1000]).words(USERS, outside),
            "/dev/ttyUSB0 belongs to root, group dialout, mode 0660; we are anna in anna: \
             run `sudo usermod -aG dialout anna`, then log out and in"
        );
        assert!(
            facts(0o660, &[1000])
                .words(USERS, inside)
                .ends_with("this login is older: log out and in")
        );
        assert!(
            facts(0o600, &[20, 1000])
                .words(USERS, inside)
                .contains("udev rule")
        );
        // Without the lists the numbers stand for themselves.
        assert!(
            facts(0o660, &[1000])
                .words("", "")
                .contains("group 20, mode 0660")
        );
    }

    #[test]
    fn a_lock_is_found_by_its_file() {
        let dev = rustix::fs::makedev(0, 5);
        let locks = "1: POSIX  ADVISORY  WRITE 11 00:05:678 0 EOF\n\
                     2: FLOCK  ADVISORY  WRITE 22 00:05:679 0 EOF\n\
                     2: -> FLOCK  ADVISORY  WRITE 44 00:05:678 0 EOF\n\
                     3: FLOCK  ADVISORY  WRITE 33 00:05:678 0 EOF\n";
        assert_eq!(lock_holder(locks, dev, 678), Some(33));
        assert_eq!(lock_holder(locks, dev, 680), None);
        assert_eq!(lock_holder("", dev, 678), None);
    }
}
