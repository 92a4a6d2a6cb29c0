//! A disk and a port that fail under the real program: the C library's calls are met by a small library in between
//! (`shim/disk.c`), which the test compiles, loads before the program, and steers while it runs.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use std::fs::File;
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

const SOURCE: &str = include_str!("../shim/disk.c");

/// Which calls are counted, and may fail. The bits of `enum class` in the shim.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Calls(u64);

impl Calls {
    /// Every call that touches a file.
    pub const FILES: Self = Self(0x10ff);
    /// What needs room: new files, writes, lengths.
    pub const NEED_ROOM: Self = Self(2 | 8 | 64);
    /// What a read-only file system refuses.
    pub const NEED_RIGHTS: Self = Self(2 | 8 | 32 | 64 | 128 | 4096);
    /// Writes alone.
    pub const WRITES: Self = Self(8);
    /// Bringing what was written to the disk.
    pub const SYNCS: Self = Self(16);
    /// Every call that touches the port.
    pub const PORT: Self = Self(256 | 512 | 1024 | 2048);
}

/// What goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// The device reports an error.
    Io,
    /// No room is left.
    Full,
    /// The file system is read-only.
    ReadOnly,
    /// Half of a write is done, and said so.
    Short,
    /// The device is gone.
    Gone,
}

impl Trouble {
    /// The errno; the shim's own number for a short write.
    const fn number(self) -> u64 {
        match self {
            Self::Io => 5,
            Self::Full => 28,
            Self::ReadOnly => 30,
            Self::Short => 100_000,
            Self::Gone => 6,
        }
    }

    /// The calls that can meet it.
    #[must_use]
    pub const fn calls(self) -> Calls {
        match self {
            Self::Io => Calls::FILES,
            Self::Full => Calls::NEED_ROOM,
            Self::ReadOnly => Calls::NEED_RIGHTS,
            Self::Short => Calls::WRITES,
            Self::Gone => Calls::PORT,
        }
    }
}

/// The words of the page shared with the shim, in its order.
#[derive(Debug, Clone, Copy)]
enum Word {
    Calls,
    FailAt,
    ForGood,
    Error,
    Classes,
    Met,
    MetClass,
    DieAt,
    All,
    Journal,
    Again,
    AgainForGood,
    AgainError,
}

/// The disk under one program.
#[derive(Debug)]
pub struct Disk {
    control: File,
    at: PathBuf,
    journal: PathBuf,
}

impl Disk {
    /// A disk that works, steered through files in this directory.
    #[must_use]
    pub fn new(beside: &Path) -> Self {
        let at = beside.join("control");
        let control = File::options()
            .read(true)
            .write(true)
            .create_new(true)
            .open(&at)
            .unwrap();
        control.set_len(4096).unwrap();
        Self {
            control,
            at,
            journal: beside.join("journal"),
        }
    }

    /// Puts it under a program that is to be started: under the files below `under`, and the port.
    pub fn load(&self, command: &mut Command, under: &Path, port: Option<&Path>) {
        command
            .env("LD_PRELOAD", library())
            .env("FAULTS_CONTROL", &self.at)
            .env("FAULTS_UNDER", under);
        if let Some(port) = port {
            command.env("FAULTS_PORT", port);
        }
    }

    /// Has every change below `under` written down.
    pub fn keep_journal(&self, command: &mut Command) {
        command.env("FAULTS_JOURNAL", &self.journal);
    }

    fn get(&self, word: Word) -> u64 {
        let mut bytes = [0; 8];
        self.control
            .read_exact_at(&mut bytes, word as u64 * 8)
            .unwrap();
        u64::from_ne_bytes(bytes)
    }

    fn set(&self, word: Word, value: u64) {
        self.control
            .write_all_at(&value.to_ne_bytes(), word as u64 * 8)
            .unwrap();
    }

    /// From now on the `nth` of these calls fails, and all that follow when it is `for_good`.
    pub fn fail(&self, calls: Calls, nth: u64, trouble: Trouble, for_good: bool) {
        self.set(Word::FailAt, 0);
        self.set(Word::Again, 0);
        self.set(Word::Calls, 0);
        self.set(Word::Met, 0);
        self.set(Word::Classes, calls.0);
        self.set(Word::Error, trouble.number());
        self.set(Word::ForGood, u64::from(for_good));
        self.set(Word::FailAt, nth);
    }

    /// The next of these calls fails, and the `nth` after it again, and all that follow when that is `for_good`.
    pub fn fail_twice(
        &self,
        calls: Calls,
        first: Trouble,
        nth: u64,
        again: Trouble,
        for_good: bool,
    ) {
        self.set(Word::FailAt, 0);
        self.set(Word::Calls, 0);
        self.set(Word::Met, 0);
        self.set(Word::Classes, calls.0);
        self.set(Word::Error, first.number());
        self.set(Word::ForGood, 0);
        self.set(Word::AgainError, again.number());
        self.set(Word::AgainForGood, u64::from(for_good));
        self.set(Word::Again, nth);
        self.set(Word::FailAt, 1);
    }

    /// Nothing fails any more.
    pub fn heal(&self) {
        self.set(Word::FailAt, 0);
    }

    /// The process is gone before its `nth` call that touches a file, counted from now.
    pub fn die(&self, nth: u64) {
        self.set(Word::All, 0);
        self.set(Word::DieAt, nth);
    }

    /// How many calls were made to fail since the last [`Disk::fail`].
    #[must_use]
    pub fn met(&self) -> u64 {
        self.get(Word::Met)
    }

    /// The bit of the last call that was made to fail.
    #[must_use]
    pub fn met_class(&self) -> u64 {
        self.get(Word::MetClass)
    }

    /// How many calls touched a file since the last [`Disk::die`], or the beginning.
    #[must_use]
    pub fn calls(&self) -> u64 {
        self.get(Word::All)
    }

    /// How long the journal is.
    #[must_use]
    pub fn written(&self) -> u64 {
        self.get(Word::Journal)
    }

    /// The journal so far.
    #[must_use]
    pub fn journal(&self) -> Vec<u8> {
        std::fs::read(&self.journal).unwrap()
    }
}

/// The compiled shim: made once by each test program.
///
/// # Panics
/// When there is no C compiler, which the project needs for SQLite too.
fn library() -> &'static Path {
    static MADE: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    let (_, library) = MADE.get_or_init(|| {
        let dir = tempfile::tempdir().unwrap();
        let (source, library) = (dir.path().join("disk.c"), dir.path().join("disk.so"));
        std::fs::write(&source, SOURCE).unwrap();
        let done = Command::new(std::env::var_os("CC").unwrap_or("cc".into()))
            .args(["-O1", "-shared", "-fPIC", "-Wall", "-Werror", "-o"])
            .args([&library, &source])
            .args(["-ldl", "-lpthread"])
            .output()
            .expect("a C compiler, which SQLite needs as well");
        let said = String::from_utf8_lossy(&done.stderr);
        assert!(done.status.success(), "the shim does not compile: {said}");
        (dir, library)
    });
    library
}

/// A directory in memory where there is one: thousands of images need no real disk under them.
#[must_use]
pub fn fast_dir() -> tempfile::TempDir {
    tempfile::tempdir_in("/dev/shm").unwrap_or_else(|_| tempfile::tempdir().unwrap())
}
