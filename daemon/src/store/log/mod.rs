//! The store's log as it lies on the disk, looked at without SQLite and before SQLite may change it.
//!
//! When SQLite opens a log that nobody has open, it uses its frames up to the first one whose checksum is wrong, and takes
//! the rest for the end of a write that a power cut has torn. That is right for what was never synced. But where a part of
//! the log was damaged later, every change behind it was acknowledged, and SQLite leaves all of it out without a word.
//!
//! Two things tell the one from the other:
//!
//! - Every commit is synced before the next change is written. So a frame that goes on from a whole commit (its checksum
//!   continues that of the commit's last frame) proves that the commit was acknowledged. Behind a torn end there is no such frame: what
//!   lies there is at most one change, or the remains of one that was rejected and overwritten.
//! - The index beside the log (`-shm`) has the number of the last frame that was committed. It survives the end of the
//!   process, and may be lost with the computer's power.
//!
//! The layout is published: "Write-Ahead Log Format" and "WAL-Index File Format" at sqlite.org.

mod damage;
mod index;

pub(super) use damage::Damage;
use index::Index;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufReader, ErrorKind, Read, Seek, SeekFrom};
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};

const HEADER: usize = 32;
const FRAME_HEADER: usize = 24;
/// The first word of a log whose checksums read their words with the low byte first; the other order has one more.
const MAGIC: u32 = 0x377f_0682;
/// A daemon may reset its log while it is looked at; then it is looked at once more.
const TRIES: u32 = 5;

/// The running checksum of a log.
type Sum = (u32, u32);

/// A file beside the store with the same name and an ending.
pub(super) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// Looks at the log of a store; none when nothing that was acknowledged is left out.
///
/// # Errors
/// The files cannot be read.
pub(super) fn look(path: &Path) -> io::Result<Option<Damage>> {
    let log = beside(path, "-wal");
    for _ in 0..TRIES {
        let index = Index::read(&beside(path, "-shm"))?;
        let before = header(&log)?;
        let found = scan(path, &log, index)?;
        // Both change when a daemon begins the log anew.
        if header(&log)? == before && Index::read(&beside(path, "-shm"))? == index {
            return Ok(found);
        }
    }
    // A daemon that writes so fast is in order with its log.
    Ok(None)
}

fn open(path: &Path) -> io::Result<Option<File>> {
    match File::open(path) {
        Ok(file) => Ok(Some(file)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

/// The head of the log; none when there is no log, or not even a whole head.
fn header(log: &Path) -> io::Result<Option<[u8; HEADER]>> {
    let Some(mut log) = open(log)? else {
        return Ok(None);
    };
    let mut head = [0; HEADER];
    match log.read_exact(&mut head) {
        Ok(()) => Ok(Some(head)),
        Err(error) if error.kind() == ErrorKind::UnexpectedEof => Ok(None),
        Err(error) => Err(error),
    }
}

/// How the frames of a log are to be read.
#[derive(Debug, Clone, Copy)]
struct Reading {
    page_size: u32,
    big_endian: bool,
    /// What distinguishes the frames of this log from older ones that lie behind them.
    salt: [u8; 8],
    /// The checksum that the first frame goes on from; none when the head is damaged.
    start: Option<Sum>,
}

fn word(bytes: &[u8], at: usize) -> u32 {
    let mut word = [0; 4];
    word.copy_from_slice(&bytes[at..at + 4]);
    u32::from_be_bytes(word)
}

fn salt(bytes: &[u8], at: usize) -> [u8; 8] {
    let mut salt = [0; 8];
    salt.copy_from_slice(&bytes[at..at + 8]);
    salt
}

/// The checksum after these bytes.
fn sum(mut sum: Sum, bytes: &[u8], big_endian: bool) -> Sum {
    let value = |at: usize| {
        let word = word(bytes, at);
        if big_endian { word } else { word.swap_bytes() }
    };
    for at in (0..bytes.len()).step_by(8) {
        sum.0 = sum.0.wrapping_add(value(at)).wrapping_add(sum.1);
        sum.1 = sum.1.wrapping_add(value(at + 4)).wrapping_add(sum.0);
    }
    sum
}

impl Reading {
    /// As the log's own head says; none when that is damaged.
    fn of(head: &[u8; HEADER]) -> Option<Self> {
        let magic = word(head, 0);
        let page_size = word(head, 8);
        if magic & !1 != MAGIC
            || !page_size.is_power_of_two()
            || !(512..=65_536).contains(&page_size)
        {
            return None;
        }
        let big_endian = magic & 1 == 1;
        let start = sum((0, 0), &head[..24], big_endian);
        (start == (word(head, 24), word(head, 28))).then(|| Self {
            page_size,
            big_endian,
            salt: salt(head, 16),
            start: Some(start),
        })
    }

    /// Without the log's own head: by the index, or else by the first two frames that belong together.
    fn guessed(path: &Path, log: &File, index: Option<Index>) -> io::Result<Option<Self>> {
        let mut page_size = [0; 2];
        File::open(path)?.read_exact_at(&mut page_size, 16)?;
        // One stands for 65 536, which has no room there.
        let page_size = match u16::from_be_bytes(page_size) {
            1 => 65_536,
            size => u32::from(size),
        };
        if !page_size.is_power_of_two() || page_size < 512 {
            return Ok(None);
        }
        let of_salt = |salt, big_endian| Self {
            page_size,
            big_endian,
            salt,
            start: None,
        };
        if let Some(index) = index {
            return Ok(Some(of_salt(index.salt, index.big_endian)));
        }
        let size = u64::from(page_size) + FRAME_HEADER as u64;
        let frames = log.metadata()?.len().saturating_sub(HEADER as u64) / size;
        let mut last = None;
        for frame in 0..frames {
            let mut head = [0; FRAME_HEADER];
            log.read_exact_at(&mut head, HEADER as u64 + frame * size)?;
            let salt = salt(&head, 8);
            if last == Some(salt) && salt != [0; 8] {
                // SQLite writes the order of the machine's own words.
                return Ok(Some(of_salt(salt, cfg!(target_endian = "big"))));
            }
            last = Some(salt);
        }
        Ok(None)
    }
}

/// What one frame says of itself.
#[derive(Debug, Clone, Copy)]
struct Frame {
    page: u32,
    /// Pages of the file after it, when it ends a change.
    commits: Option<u32>,
    /// Whether it belongs to this log: its head is whole.
    ours: bool,
    /// Whether its checksum goes on from that of the frame before.
    goes_on: bool,
}

/// Reads the frames one after the other, and hands them on with their number.
fn frames(log: &File, reading: &Reading, mut each: impl FnMut(u32, Frame)) -> io::Result<()> {
    let mut log = BufReader::with_capacity(1 << 16, log);
    log.seek(SeekFrom::Start(HEADER as u64))?;
    let mut frame = vec![0; FRAME_HEADER + reading.page_size as usize];
    let mut before = reading.start;
    for number in 1.. {
        match log.read_exact(&mut frame) {
            Ok(()) => {}
            Err(error) if error.kind() == ErrorKind::UnexpectedEof => break,
            Err(error) => return Err(error),
        }
        let (head, page) = frame.split_at(FRAME_HEADER);
        let ours = salt(head, 8) == reading.salt && word(head, 0) > 0;
        let stored = (word(head, 16), word(head, 20));
        let goes_on = ours
            && before.is_some_and(|before| {
                let after = sum(before, &head[..8], reading.big_endian);
                sum(after, page, reading.big_endian) == stored
            });
        let commits = Some(word(head, 4)).filter(|pages| ours && *pages > 0);
        each(
            number,
            Frame {
                page: word(head, 0),
                commits,
                ours,
                goes_on,
            },
        );
        before = ours.then_some(stored);
    }
    Ok(())
}

/// How far a log goes.
#[derive(Debug, Default)]
struct Extent {
    /// The last frame that SQLite uses.
    used: u32,
    /// The last frame of a commit that is proved to have been acknowledged.
    proved: u32,
}

fn extent(log: &File, reading: &Reading) -> io::Result<Extent> {
    let mut extent = Extent::default();
    // Whether every frame so far goes on from the one before; whether those since the last break are proved.
    let (mut whole, mut proved) = (true, false);
    let mut last = None::<Frame>;
    frames(log, reading, |number, frame| {
        whole &= frame.goes_on;
        if !frame.goes_on {
            proved = false;
        }
        // A head that was torn as it was written over an older one has the new commit with the old checksum, from which what
        // lies behind goes on. So the commit's own frame has to be whole.
        let after_commit = last.is_some_and(|last| last.commits.is_some() && last.goes_on);
        if frame.goes_on && after_commit && !whole {
            proved = true;
            extent.proved = extent.proved.max(number - 1);
        }
        if frame.commits.is_some() {
            if whole {
                extent.used = number;
            } else if proved {
                extent.proved = number;
            }
        }
        last = Some(frame);
    })?;
    Ok(extent)
}

fn scan(path: &Path, log: &Path, index: Option<Index>) -> io::Result<Option<Damage>> {
    let head = header(log)?;
    let file = open(log)?;
    let by_head = head.as_ref().and_then(Reading::of);
    // An index of another log than this says nothing about this one.
    let index = index.filter(|index| by_head.is_none_or(|reading| reading.salt == index.salt));
    let reading = match (&by_head, &file) {
        (Some(reading), _) => *reading,
        (None, Some(file)) => match Reading::guessed(path, file, index)? {
            Some(reading) => reading,
            None => return Ok(None),
        },
        (None, None) => match index {
            // The log is gone.
            Some(index) => Reading {
                page_size: index.page_size,
                big_endian: index.big_endian,
                salt: index.salt,
                start: None,
            },
            None => return Ok(None),
        },
    };
    let extent = match &file {
        Some(file) => extent(file, &reading)?,
        None => Extent::default(),
    };
    let committed = index.map_or(0, |index| index.committed);
    let last_committed = extent.proved.max(committed);
    if last_committed <= extent.used {
        return Ok(None);
    }
    let damage = readable(file.as_ref(), &reading, extent.used, last_committed)?;
    // A new head is written over an old log only when all of that is in the file. Where the power is cut just then, the head
    // may be torn, and nothing is lost.
    let all_in_file = index.is_some_and(|index| index.in_file >= last_committed);
    if by_head.is_none() && (all_in_file || is_in_file(path, file.as_ref(), &damage)?) {
        return Ok(None);
    }
    Ok(Some(damage))
}

/// Finds what can be read of the frames up to `last_committed`.
fn readable(
    log: Option<&File>,
    reading: &Reading,
    used: u32,
    last_committed: u32,
) -> io::Result<Damage> {
    let mut damage = Damage {
        first_lost: used + 1,
        last_committed,
        commits: 0,
        page_size: reading.page_size,
        pages: 0,
        images: BTreeMap::new(),
    };
    let Some(log) = log else { return Ok(damage) };
    let size = u64::from(reading.page_size) + FRAME_HEADER as u64;
    let mut last_is_ours = reading.start.is_some();
    frames(log, reading, |number, frame| {
        // Behind a damaged head there is nothing to compare a frame's checksum with, but its own head is whole.
        let good = frame.goes_on || (frame.ours && !last_is_ours);
        last_is_ours = frame.ours;
        if !good || number > last_committed {
            return;
        }
        let at = HEADER as u64 + u64::from(number - 1) * size + FRAME_HEADER as u64;
        damage.images.insert(frame.page, at);
        if let Some(pages) = frame.commits {
            damage.pages = pages;
            damage.commits += u32::from(number > used);
        }
    })?;
    let highest = damage.images.last_key_value().map_or(0, |(page, _)| *page);
    if damage.pages > 0 {
        damage.pages = damage.pages.max(highest);
    }
    Ok(damage)
}

/// Whether the store's file has all that can be read of the log already.
fn is_in_file(path: &Path, log: Option<&File>, damage: &Damage) -> io::Result<bool> {
    let Some(log) = log.filter(|_| !damage.images.is_empty()) else {
        return Ok(false);
    };
    let file = File::open(path)?;
    let size = damage.page_size as usize;
    let (mut here, mut there) = (vec![0; size], vec![0; size]);
    for (number, at) in &damage.images {
        log.read_exact_at(&mut here, *at)?;
        match file.read_exact_at(&mut there, (u64::from(*number) - 1) * size as u64) {
            Ok(()) if here == there => {}
            Ok(()) => return Ok(false),
            Err(error) if error.kind() == ErrorKind::UnexpectedEof => return Ok(false),
            Err(error) => return Err(error),
        }
    }
    Ok(true)
}
