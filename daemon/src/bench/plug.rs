//! The pty of a plugged virtual cable.

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fd::OwnedFd;
use rustix::fs::{OFlags, fcntl_getfl, fcntl_setfl};
use rustix::pty::{OpenptFlags, grantpt, ioctl_tiocgptpeer, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
use std::io;
use std::os::unix::ffi::OsStringExt;
use std::path::{Path, PathBuf};

/// The pty. Dropping it closes the master, as unplugging a cable removes its device node.
#[derive(Debug)]
pub(super) struct Plug {
    pub master: OwnedFd,
    pub path: PathBuf,
}

impl Plug {
    /// Opens a new pty, as a plug makes a new device node. `link` points at it from now on.
    pub fn open(link: Option<&Path>) -> io::Result<Self> {
        // Without close-on-exec a child would hold the far end open, and nobody would see the hang-up.
        let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)?;
        grantpt(&master)?;
        unlockpt(&master)?;
        fcntl_setfl(&master, fcntl_getfl(&master)? | OFlags::NONBLOCK)?;
        {
            // Opened and closed once, the near end makes the master report a hang-up until somebody listens:
            // before that the kernel would keep what is written, and echo it.
            let flags = OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC;
            let near = ioctl_tiocgptpeer(&master, flags)?;
            let mut termios = tcgetattr(&near)?;
            termios.make_raw();
            tcsetattr(&near, OptionalActions::Now, &termios)?;
        }
        let name = ptsname(&master, Vec::new())?.into_bytes();
        let path = PathBuf::from(std::ffi::OsString::from_vec(name));
        if let Some(link) = link {
            replace_link(&path, link)?;
        }
        Ok(Self { master, path })
    }

    /// The speed that the port's side has set.
    pub fn speed(&self) -> Option<u32> {
        Some(tcgetattr(&self.master).ok()?.output_speed())
    }

    /// Whether somebody has the port open.
    pub fn is_open_elsewhere(&self) -> bool {
        let mut fds = [PollFd::new(&self.master, PollFlags::OUT)];
        let now = Timespec {
            tv_sec: 0,
            tv_nsec: 0,
        };
        poll(&mut fds, Some(&now)).is_ok() && !fds[0].revents().contains(PollFlags::HUP)
    }
}

/// Points the link at the pty in one step, so that nobody meets a name that is half there.
fn replace_link(target: &Path, link: &Path) -> io::Result<()> {
    let mut aside = link.as_os_str().to_owned();
    aside.push(".new");
    let _ = std::fs::remove_file(&aside);
    std::os::unix::fs::symlink(target, &aside)?;
    std::fs::rename(&aside, link)
}
