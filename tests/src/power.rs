//! A power cut, simulated: from the journal of what a program did to its files (`shim/disk.c`), a state of the disk that
//! could have been left behind at any moment.
//!
//! The rules are those that POSIX gives, and no file system keeps less: what was written to a file is on the disk for
//! certain when the file was synced, a name when its directory was. Of all else any part may be there: in order up to
//! some point, or scattered, in pieces of 512 bytes as a disk writes them, or torn within one. Names come and go in
//! order, or not.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::chance::Chance;
use std::collections::{BTreeMap, HashMap};
use std::path::Path;

/// What a disk writes whole.
const SECTOR: usize = 512;

/// What becomes of that which was not synced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unsynced {
    /// All of it is there: the process alone was killed.
    Kept,
    /// None of it.
    Dropped,
    /// What came first is there, and the last piece is torn.
    Prefix,
    /// Each sector is there or not, for itself, and so is each name.
    Scattered,
}

impl Unsynced {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Kept, Self::Dropped, Self::Prefix, Self::Scattered];
}

#[derive(Debug, Clone)]
enum Change {
    Write { at: usize, bytes: Vec<u8> },
    Length(usize),
}

#[derive(Debug, Clone, Default)]
struct Contents {
    synced: Vec<u8>,
    since: Vec<Change>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Named {
    File(usize),
    Directory,
}

/// Names that change together.
type Naming = Vec<(String, Option<Named>)>;

/// A disk as a journal has left it.
#[derive(Debug, Clone, Default)]
pub struct Power {
    contents: Vec<Contents>,
    by_inode: HashMap<u64, usize>,
    names: BTreeMap<String, Named>,
    synced_names: BTreeMap<String, Named>,
    since: Vec<Naming>,
}

/// The journal's entries, with where each ends.
#[must_use]
pub fn entries(journal: &[u8]) -> Vec<(u64, Entry<'_>)> {
    let mut all = Vec::new();
    let mut at = 0;
    while at < journal.len() {
        let word =
            |n: usize| u64::from_ne_bytes(journal[at + n * 8..at + n * 8 + 8].try_into().unwrap());
        let (a, b) = (word(3) as usize, word(4) as usize);
        let first = &journal[at + 40..at + 40 + a];
        let second = &journal[at + 40 + a..at + 40 + a + b];
        let entry = Entry {
            what: word(0),
            inode: word(1),
            at: word(2) as usize,
            first,
            second,
        };
        at += 40 + a + b;
        all.push((at as u64, entry));
    }
    all
}

/// One call that changed something.
#[derive(Debug, Clone, Copy)]
pub struct Entry<'a> {
    what: u64,
    inode: u64,
    at: usize,
    first: &'a [u8],
    second: &'a [u8],
}

impl Power {
    /// The disk that holds these files, all of it synced.
    #[must_use]
    pub fn holding(directory: &Path) -> Self {
        use std::os::unix::fs::MetadataExt;
        let mut power = Self::default();
        for entry in std::fs::read_dir(directory).unwrap() {
            let entry = entry.unwrap();
            let meta = entry.metadata().unwrap();
            let name = entry.file_name().into_string().unwrap();
            if meta.is_dir() {
                let inner = Self::holding(&entry.path());
                let shift = power.contents.len();
                power.names.insert(name.clone(), Named::Directory);
                for (inner_name, named) in inner.names {
                    let named = match named {
                        Named::File(file) => Named::File(file + shift),
                        Named::Directory => Named::Directory,
                    };
                    power.names.insert(format!("{name}/{inner_name}"), named);
                }
                let moved = inner.by_inode.into_iter().map(|(k, v)| (k, v + shift));
                power.by_inode.extend(moved);
                power.contents.extend(inner.contents);
            } else if meta.is_file() && !name.ends_with("-shm") {
                power.by_inode.insert(meta.ino(), power.contents.len());
                power.names.insert(name, Named::File(power.contents.len()));
                power.contents.push(Contents {
                    synced: std::fs::read(entry.path()).unwrap(),
                    since: Vec::new(),
                });
            }
        }
        power.synced_names = power.names.clone();
        power
    }

    /// Goes on by one call.
    pub fn apply(&mut self, entry: &Entry<'_>) {
        let name = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
        let file = self.by_inode.get(&entry.inode).copied();
        match entry.what {
            1 => {
                let file = self.contents.len();
                self.contents.push(Contents::default());
                self.by_inode.insert(entry.inode, file);
                self.rename(vec![(name(entry.first), Some(Named::File(file)))]);
            }
            2 => self.contents[file.unwrap()].since.push(Change::Write {
                at: entry.at,
                bytes: entry.second.to_vec(),
            }),
            3 => self.contents[file.unwrap()]
                .since
                .push(Change::Length(entry.at)),
            4 => {
                let contents = &mut self.contents[file.unwrap()];
                for change in std::mem::take(&mut contents.since) {
                    make(&mut contents.synced, &change);
                }
            }
            5 => {
                let directory = name(entry.first);
                let lies_in =
                    |path: &str| path.rsplit_once('/').map_or("", |(dir, _)| dir) == directory;
                let (now, later) = std::mem::take(&mut self.since)
                    .into_iter()
                    .partition(|naming: &Naming| naming.iter().all(|(path, _)| lies_in(path)));
                self.since = later;
                for naming in now {
                    put(&mut self.synced_names, &naming);
                }
            }
            6 => {
                let (from, to) = (name(entry.first), name(entry.second));
                let named = self.names.get(&from).copied();
                self.rename(vec![(from, None), (to, named)]);
            }
            7 => self.rename(vec![(name(entry.first), None)]),
            8 => {
                let named = self.names.get(&name(entry.first)).copied();
                self.rename(vec![(name(entry.second), named)]);
            }
            9 => self.rename(vec![(name(entry.first), Some(Named::Directory))]),
            other => panic!("an unknown entry {other}"),
        }
    }

    fn rename(&mut self, naming: Naming) {
        put(&mut self.names, &naming);
        self.since.push(naming);
    }

    /// Whether everything is on the disk.
    #[must_use]
    pub fn is_synced(&self) -> bool {
        self.since.is_empty() && self.contents.iter().all(|file| file.since.is_empty())
    }

    /// Makes what a cut now leaves behind.
    pub fn cut(&self, unsynced: Unsynced, chance: &mut Chance, into: &Path) {
        let mut names = self.synced_names.clone();
        for naming in kept(&self.since, unsynced, chance) {
            put(&mut names, naming);
        }
        for (name, named) in &names {
            let path = into.join(name);
            match named {
                Named::Directory => std::fs::create_dir_all(path).unwrap(),
                // A file whose directory was not synced is lost with it.
                Named::File(_) if !path.parent().unwrap().is_dir() => {}
                Named::File(file) => {
                    std::fs::write(path, self.contents[*file].left(unsynced, chance)).unwrap();
                }
            }
        }
    }
}

impl Contents {
    fn left(&self, unsynced: Unsynced, chance: &mut Chance) -> Vec<u8> {
        let mut left = self.synced.clone();
        let pieces: Vec<Change> = match unsynced {
            Unsynced::Scattered => self.since.iter().flat_map(in_sectors).collect(),
            _ => self.since.clone(),
        };
        let survived = kept(&pieces, unsynced, chance);
        let next = pieces.get(survived.len());
        for change in &survived {
            make(&mut left, change);
        }
        if let (Unsynced::Prefix, Some(Change::Write { at, bytes })) = (unsynced, next) {
            let torn = chance.below(bytes.len());
            let bytes = bytes[..torn].to_vec();
            make(&mut left, &Change::Write { at: *at, bytes });
        }
        left
    }
}

/// Which of several changes are there, in their order.
fn kept<'a, T>(all: &'a [T], unsynced: Unsynced, chance: &mut Chance) -> Vec<&'a T> {
    match unsynced {
        Unsynced::Kept => all.iter().collect(),
        Unsynced::Dropped => Vec::new(),
        Unsynced::Prefix => all.iter().take(chance.below(all.len() + 1)).collect(),
        Unsynced::Scattered => {
            // Few, half or nearly all: a lone survivor and a lone loss are the hard ones.
            let percent = [5, 50, 95][chance.below(3)];
            all.iter().filter(|_| chance.below(100) < percent).collect()
        }
    }
}

fn in_sectors(change: &Change) -> Vec<Change> {
    let Change::Write { at, bytes } = change else {
        return vec![change.clone()];
    };
    let mut pieces = Vec::new();
    let (mut at, mut rest) = (*at, &bytes[..]);
    while !rest.is_empty() {
        let n = (SECTOR - at % SECTOR).min(rest.len());
        pieces.push(Change::Write {
            at,
            bytes: rest[..n].to_vec(),
        });
        (at, rest) = (at + n, &rest[n..]);
    }
    pieces
}

fn make(file: &mut Vec<u8>, change: &Change) {
    match change {
        Change::Length(length) => file.resize(*length, 0),
        Change::Write { at, bytes } => {
            let end = at + bytes.len();
            if file.len() < end {
                file.resize(end, 0);
            }
            file[*at..end].copy_from_slice(bytes);
        }
    }
}

fn put(names: &mut BTreeMap<String, Named>, naming: &Naming) {
    for (name, named) in naming {
        match named {
            Some(named) => drop(names.insert(name.clone(), *named)),
            None => drop(names.remove(name)),
        }
    }
}
