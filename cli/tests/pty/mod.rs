//! A verb on a pty, as a user has it in a terminal.

#![allow(dead_code, unreachable_pub, reason = "each test uses its part of it")]

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// Longer than anything here takes on a busy machine.
pub const DEADLINE: Duration = Duration::from_secs(60);

/// How soon a closed end is let go.
const LOOK: Timespec = Timespec {
    tv_sec: 0,
    tv_nsec: 50_000_000,
};

/// A process on a pty; it is killed at the end.
pub struct Pty {
    pub child: Child,
    /// Our end: keys go in here.
    master: Arc<File>,
    pub slave: File,
    /// What it wrote, as it comes.
    output: Receiver<Vec<u8>>,
    /// What of it was taken in.
    pub said: Vec<u8>,
}

impl Pty {
    /// Starts a command in a terminal of this size. `prepare` sees the terminal first.
    pub fn start<T>(
        command: &mut Command,
        [rows, columns]: [u16; 2],
        prepare: impl FnOnce(&File) -> T,
    ) -> (Self, T) {
        let master =
            openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
        let slave = OpenOptions::new()
            .read(true)
            .write(true)
            .open(name)
            .unwrap();
        let size = Winsize {
            ws_row: rows,
            ws_col: columns,
            ws_xpixel: 0,
            ws_ypixel: 0,
        };
        tcsetwinsize(&slave, size).unwrap();
        let prepared = prepare(&slave);
        let end = || Stdio::from(slave.try_clone().unwrap());
        let child = command
            .env("TERM", "xterm")
            .env("LANG", "C.UTF-8")
            .stdin(end())
            .stdout(end())
            .stderr(end())
            .spawn()
            .unwrap();
        let master = Arc::new(File::from(master));
        let reader = Arc::downgrade(&master);
        let (sender, output) = channel();
        std::thread::spawn(move || {
            let mut chunk = [0; 4096];
            // Our end is held only while something is looked for, so that a test can close it.
            while let Some(master) = reader.upgrade() {
                let mut here = [PollFd::new(&*master, PollFlags::IN)];
                if poll(&mut here, Some(&LOOK)).unwrap() == 0 {
                    continue;
                }
                match (&*master).read(&mut chunk) {
                    Ok(n @ 1..) if sender.send(chunk[..n].to_vec()).is_ok() => {}
                    _ => return,
                }
            }
        });
        let pty = Self {
            child,
            master,
            slave,
            output,
            said: Vec::new(),
        };
        (pty, prepared)
    }

    /// Takes in what it writes until `holds` gives something; `shown` tells what there is when it does not.
    pub fn until<T>(
        &mut self,
        what: &str,
        shown: impl Fn(&[u8]) -> String,
        mut holds: impl FnMut(&[u8]) -> Option<T>,
    ) -> T {
        let until = Instant::now() + DEADLINE;
        loop {
            if let Some(found) = holds(&self.said) {
                return found;
            }
            let left = until.saturating_duration_since(Instant::now());
            let Ok(chunk) = self.output.recv_timeout(left) else {
                panic!("no {what} in\n{}", shown(&self.said));
            };
            self.said.extend(chunk);
        }
    }

    /// Takes in what the process, which has ended, wrote last: it is there already.
    pub fn take_the_rest(&mut self) {
        while let Ok(chunk) = self
            .output
            .recv_timeout(4 * Duration::try_from(LOOK).unwrap())
        {
            self.said.extend(chunk);
        }
    }

    /// Closes our end, as a window that is closed does.
    pub fn close(&mut self) {
        self.master = Arc::new(File::open("/dev/null").unwrap());
    }

    pub fn types(&self, keys: &[u8]) {
        (&*self.master).write_all(keys).unwrap();
    }
}

impl Drop for Pty {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What a terminal of this many rows and columns shows after these bytes: as far as the live view uses one.
pub fn screen(bytes: &[u8], [height, width]: [usize; 2]) -> String {
    let mut rows = vec![vec![' '; width]; height];
    let (mut row, mut column) = (0_usize, 0_usize);
    let text = String::from_utf8_lossy(bytes);
    let mut rest = text.chars();
    while let Some(c) = rest.next() {
        if c != '\x1b' {
            if !c.is_control() && row < height && column < width {
                rows[row][column] = c;
                column += 1;
            }
            continue;
        }
        if rest.next() != Some('[') {
            continue;
        }
        let mut numbers = String::new();
        let order = rest.by_ref().find(|c| {
            if !c.is_ascii_alphabetic() {
                numbers.push(*c);
            }
            c.is_ascii_alphabetic()
        });
        match order {
            // From the first row and column, 1; 1 where nothing is said.
            Some('H') => {
                let mut given = numbers.split(';').map(|n| n.parse().unwrap_or(1_usize) - 1);
                row = given.next().unwrap_or(0);
                column = given.next().unwrap_or(0);
            }
            Some('J') => rows = vec![vec![' '; width]; height],
            _ => {}
        }
    }
    let lines: Vec<String> = rows
        .into_iter()
        .map(|row| row.into_iter().collect())
        .collect();
    lines.join("\n")
}
