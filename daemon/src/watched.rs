//! Tells when a name in the file system may have come, gone or changed, so that nobody has to look again and again.
//!
//! The kernel tells of it (inotify): of device files, of pseudo-terminals, and of links that udev or a user makes. A watch is of
//! directories. So every directory on the way to the name is watched for the one name in it that leads on, as far as the way
//! exists. A change makes the watch ready once; the way may be another one then, so it is watched anew.

use rustix::fs::inotify::{self, CreateFlags, ReadFlags, WatchFlags};
use rustix::io::Errno;
use std::collections::BTreeMap;
use std::ffi::{OsStr, OsString};
use std::io;
use std::os::unix::ffi::OsStrExt;
use std::path::{Component, Path, PathBuf};
use std::time::Duration;
use tokio::io::AsyncReadExt;
use tokio::net::unix::pipe::Receiver;
use tokio::time::sleep;

/// So many links are followed on the way to a name, as by the kernel.
const MOST_LINKS: usize = 40;
/// A name came or went.
const NAMES: WatchFlags = WatchFlags::CREATE
    .union(WatchFlags::DELETE)
    .union(WatchFlags::MOVED_FROM)
    .union(WatchFlags::MOVED_TO);
/// What a name stands for was written to.
const CONTENT: WatchFlags = WatchFlags::ATTRIB
    .union(WatchFlags::CLOSE_WRITE)
    .union(WatchFlags::MODIFY);
/// The kernel has more to tell than it keeps, or a watch has ended with its directory.
const ANYTHING: ReadFlags = ReadFlags::QUEUE_OVERFLOW
    .union(ReadFlags::IGNORED)
    .union(ReadFlags::UNMOUNT);

/// What is watched for.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Wanted<'a> {
    /// A file of this path is there, or is no longer.
    Name(&'a Path),
    /// That, or it has other content.
    Content(&'a Path),
    /// A file whose name begins so is in this directory, or is no longer.
    Beginning(&'a Path, &'static str),
}

/// What a name in a watched directory has to be to matter.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Matching {
    Name(OsString),
    Beginning(&'static str),
    /// The file itself is watched, and its events have no name.
    Itself,
}

impl Matching {
    fn is(&self, name: &OsStr) -> bool {
        match self {
            Self::Name(wanted) => wanted == name,
            Self::Beginning(wanted) => name.as_bytes().starts_with(wanted.as_bytes()),
            Self::Itself => true,
        }
    }
}

/// A device's file, its rights and its links come one after the other, and are looked at together.
const TOGETHER: Duration = Duration::from_millis(10);
/// What the system knows of a device may come later than its file, and nothing tells of that.
const LATER: Duration = Duration::from_millis(50);
/// So many times after a change.
const LOOKS: usize = 20;

/// Ready when it is worth trying again to open a device that was not there: when the system tells that its name has come. After
/// `usually` where the system does not tell, or the name is there and the device is not.
pub(crate) async fn arrival<Looking: Future<Output = bool>>(
    wanted: Wanted<'_>,
    is_there: impl Fn() -> Looking,
    usually: Duration,
) {
    match Watched::of(wanted) {
        Ok(mut watched) if !is_there().await => match watched.changed().await {
            Ok(()) => {
                sleep(TOGETHER).await;
                for _ in 0..LOOKS {
                    if is_there().await {
                        return;
                    }
                    sleep(LATER).await;
                }
            }
            Err(error) => {
                tracing::debug!(%error, "the system no longer tells of new devices");
                sleep(usually).await;
            }
        },
        Ok(_) => sleep(usually).await,
        Err(error) => {
            tracing::debug!(%error, "the system does not tell of new devices");
            sleep(usually).await;
        }
    }
}

/// A watch, from its making until the first change.
#[derive(Debug)]
pub(crate) struct Watched {
    kernel: Receiver,
    /// What matters in each watched directory.
    matter: BTreeMap<i32, Vec<Matching>>,
}

impl Watched {
    /// Watches from now on; look at the name after this, not before. Within a runtime.
    ///
    /// # Errors
    /// The system does not watch: its limit of watches is reached, or a file system has none.
    pub fn of(wanted: Wanted<'_>) -> io::Result<Self> {
        let kernel = inotify::init(CreateFlags::NONBLOCK | CreateFlags::CLOEXEC)?;
        let mut matter = BTreeMap::<i32, Vec<Matching>>::new();
        let (Wanted::Name(path) | Wanted::Content(path) | Wanted::Beginning(path, _)) = wanted;
        let (mut places, end) = way(&std::path::absolute(path)?);
        match wanted {
            Wanted::Name(_) => {}
            // Not all that is written in its directory: a log may lie there.
            Wanted::Content(_) => places.push((end, Matching::Itself)),
            Wanted::Beginning(_, beginning) => places.push((end, Matching::Beginning(beginning))),
        }
        for (number, (place, matching)) in places.into_iter().enumerate() {
            let flags = match matching {
                Matching::Itself => CONTENT,
                _ => NAMES | WatchFlags::ONLYDIR,
            };
            match inotify::add_watch(&kernel, &place, flags | WatchFlags::MASK_ADD) {
                Ok(watch) => matter.entry(watch).or_default().push(matching),
                // The name above it is watched for, and what cannot be entered shows nothing.
                Err(Errno::NOENT | Errno::NOTDIR | Errno::ACCESS) if number > 0 => break,
                Err(error) => return Err(error.into()),
            }
        }
        Ok(Self {
            // It is read as a pipe is; only the check that it is one is left out.
            kernel: Receiver::from_owned_fd_unchecked(kernel)?,
            matter,
        })
    }

    /// Ready when something has changed that may matter.
    ///
    /// # Errors
    /// The watch cannot be read.
    pub async fn changed(&mut self) -> io::Result<()> {
        let mut room = [0; 4096];
        loop {
            let length = self.kernel.read(&mut room).await?;
            let mut told = &room[..length];
            while let Some((event, rest)) = Event::first(told) {
                if event.flags.intersects(ANYTHING) || self.matters(&event) {
                    return Ok(());
                }
                told = rest;
            }
        }
    }

    fn matters(&self, event: &Event<'_>) -> bool {
        let matter = self.matter.get(&event.watch);
        matter.is_some_and(|all| all.iter().any(|of| of.is(event.name)))
    }
}

/// What the kernel tells of one name: `struct inotify_event` of its interface, 16 bytes and the name with NULs behind it.
struct Event<'a> {
    watch: i32,
    flags: ReadFlags,
    name: &'a OsStr,
}

impl<'a> Event<'a> {
    /// The first event of some bytes, and what comes after it; none at their end.
    fn first(bytes: &'a [u8]) -> Option<(Self, &'a [u8])> {
        let (watch, rest) = bytes.split_first_chunk()?;
        let (flags, rest) = rest.split_first_chunk()?;
        let (_cookie, rest) = rest.split_first_chunk::<4>()?;
        let (length, rest) = rest.split_first_chunk()?;
        let (name, rest) = rest.split_at_checked(u32::from_ne_bytes(*length) as usize)?;
        let name = name.split(|byte| *byte == 0).next()?;
        let event = Self {
            watch: i32::from_ne_bytes(*watch),
            flags: ReadFlags::from_bits_retain(u32::from_ne_bytes(*flags)),
            name: OsStr::from_bytes(name),
        };
        Some((event, rest))
    }
}

/// The directories on the way to a path with the name in each that leads on, through every link; and where the way ends.
fn way(path: &Path) -> (Vec<(PathBuf, Matching)>, PathBuf) {
    // What is left of the way, the next part last.
    let mut left: Vec<OsString> = Vec::new();
    let put = |path: &Path, left: &mut Vec<OsString>| {
        let parts = path.components().rev().filter_map(|part| match part {
            Component::Normal(name) => Some(name.to_owned()),
            Component::ParentDir => Some(OsString::from("..")),
            _ => None,
        });
        left.extend(parts);
    };
    put(path, &mut left);
    let mut places = Vec::new();
    let mut at = PathBuf::from("/");
    let mut links = 0;
    while let Some(name) = left.pop() {
        if name == ".." {
            at.pop();
            continue;
        }
        let next = at.join(&name);
        places.push((at.clone(), Matching::Name(name)));
        match next.read_link() {
            Ok(target) if links < MOST_LINKS => {
                links += 1;
                if target.is_absolute() {
                    at = PathBuf::from("/");
                }
                put(&target, &mut left);
            }
            _ => at = next,
        }
    }
    (places, at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;
    use std::os::unix::fs::symlink;
    use tokio::time::timeout;

    const LONG: Duration = Duration::from_secs(20);
    const SHORT: Duration = Duration::from_millis(50);

    async fn tells(watched: &mut Watched) -> bool {
        match timeout(LONG, watched.changed()).await {
            Ok(changed) => changed.is_ok(),
            Err(_) => false,
        }
    }

    async fn is_quiet(watched: &mut Watched) -> bool {
        timeout(SHORT, watched.changed()).await.is_err()
    }

    /// The file comes, and what makes it the wanted one only later, as with an adapter whose entries in sysfs follow.
    #[tokio::test]
    async fn a_device_that_is_known_later_than_its_file_is_not_missed() {
        let directory = tempfile::tempdir().unwrap();
        let (file, entry) = (
            directory.path().join("ttyUSB0"),
            directory.path().join("entry"),
        );
        let wanted = Wanted::Beginning(directory.path(), "tty");
        let waited = arrival(wanted, || async { entry.exists() }, LONG);
        let coming = async {
            sleep(SHORT).await;
            fs::write(&file, "").unwrap();
            sleep(4 * LATER).await;
            fs::write(&entry, "").unwrap();
            sleep(LATER * LOOKS as u32).await;
        };
        tokio::select! {
            () = waited => assert!(entry.exists(), "not before it is known"),
            () = coming => panic!("nobody looked again"),
        }
    }

    /// Each way in which a name comes or goes, with what does not matter beside it.
    #[tokio::test]
    async fn a_name_that_comes_or_goes_is_told_and_nothing_else() {
        let directory = tempfile::tempdir().unwrap();
        let root = directory.path();
        let path = root.join("by-id/one");
        let watch = || Watched::of(Wanted::Name(&path)).unwrap();

        let mut watched = watch();
        fs::write(root.join("beside"), "").unwrap();
        assert!(is_quiet(&mut watched).await, "another name");
        fs::create_dir(root.join("by-id")).unwrap();
        assert!(tells(&mut watched).await, "its directory came");

        let mut watched = watch();
        fs::write(root.join("by-id/another"), "").unwrap();
        assert!(is_quiet(&mut watched).await, "another name beside it");
        symlink(root.join("device"), &path).unwrap();
        assert!(tells(&mut watched).await, "a link came");

        // The link is there, and what it leads to is not.
        let mut watched = watch();
        fs::write(root.join("device"), "").unwrap();
        assert!(tells(&mut watched).await, "what the link leads to came");

        let mut watched = watch();
        fs::write(root.join("device"), "more").unwrap();
        assert!(is_quiet(&mut watched).await, "content does not matter");
        fs::rename(root.join("device"), root.join("device-2")).unwrap();
        assert!(tells(&mut watched).await, "it has another name");

        let mut watched = watch();
        fs::remove_dir_all(root.join("by-id")).unwrap();
        assert!(tells(&mut watched).await, "its directory went");
    }

    #[tokio::test]
    async fn other_content_is_told_however_it_is_written() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("conewright.toml");
        fs::write(&path, "one").unwrap();
        let watch = || Watched::of(Wanted::Content(&path)).unwrap();
        fs::write(directory.path().join("log"), "beside it").unwrap();
        let mut watched = watch();
        fs::write(directory.path().join("log"), "more").unwrap();
        assert!(is_quiet(&mut watched).await, "another file's content");
        fs::write(&path, "two").unwrap();
        assert!(tells(&mut watched).await, "written in its place");
        let mut watched = watch();
        let other = directory.path().join("other");
        fs::write(&other, "three").unwrap();
        assert!(is_quiet(&mut watched).await);
        fs::rename(&other, &path).unwrap();
        assert!(tells(&mut watched).await, "another file has its name");
    }

    #[tokio::test]
    async fn files_whose_names_begin_so_are_told() {
        let directory = tempfile::tempdir().unwrap();
        let mut watched = Watched::of(Wanted::Beginning(directory.path(), "tty")).unwrap();
        fs::write(directory.path().join("sda"), "").unwrap();
        assert!(is_quiet(&mut watched).await);
        fs::write(directory.path().join("ttyUSB0"), "").unwrap();
        assert!(tells(&mut watched).await);
    }

    /// The kernel announces a pseudo-terminal as it does a file.
    #[tokio::test]
    async fn a_pseudo_terminal_is_told() {
        let mut watched = Watched::of(Wanted::Beginning(Path::new("/dev/pts"), "")).unwrap();
        let flags = rustix::pty::OpenptFlags::RDWR | rustix::pty::OpenptFlags::NOCTTY;
        let terminal = rustix::pty::openpt(flags).unwrap();
        assert!(tells(&mut watched).await);
        drop(terminal);
    }

    /// A link that leads to itself ends, like one whose way is not there.
    #[tokio::test]
    async fn a_link_in_a_ring_is_no_hang() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("ring");
        symlink(&path, &path).unwrap();
        let mut watched = Watched::of(Wanted::Name(&path)).unwrap();
        fs::remove_file(&path).unwrap();
        assert!(tells(&mut watched).await);
    }
}
