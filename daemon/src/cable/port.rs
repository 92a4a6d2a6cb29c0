//! Opening a real port: for ourselves alone, set as told, and emptied of what is older than the opening.

use super::fault::Fault;
use super::holder::{Holder, Holders, denial, locked_by, may_open};
use super::list::instrument_at;
use super::select::path_of;
use crate::watched::{Wanted, arrival};
use config::model::{Cable, Flow, Parity, PortSelector, SerialSettings};
use nix::sys::termios::{InputFlags, SetArg, tcgetattr, tcsetattr};
use serialport::{ClearBuffer, DataBits, ErrorKind, FlowControl, SerialPort, StopBits, TTYPort};
use std::fs;
use std::os::fd::AsRawFd;
use std::os::unix::fs::FileTypeExt;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use tokio_serial::SerialStream;

/// A port that was opened.
#[derive(Debug)]
pub struct Opened<P> {
    /// What bytes come from and go to.
    pub port: P,
    /// Its name now.
    pub path: PathBuf,
    /// The settings that the port did not accept, in words.
    pub notes: Vec<String>,
    /// What its USB adapter is known as; none where it is another kind of port.
    pub instrument: Option<String>,
    /// Whether damaged characters are marked among its bytes ([`protocol::marks`]).
    pub marked: bool,
}

/// Where a cable's task gets its port from; the tests give ports of their own.
pub trait Opener: Send {
    /// The port.
    type Port: tokio::io::AsyncRead + tokio::io::AsyncWrite + Unpin + Send;
    /// Tries to open it once.
    fn open(&mut self) -> impl Future<Output = Result<Opened<Self::Port>, Fault>> + Send;

    /// Ready when a port that was not there may have come: after `usually`, where nothing tells it.
    fn arrival(&mut self, usually: Duration) -> impl Future<Output = ()> + Send {
        tokio::time::sleep(usually)
    }
}

/// Opens the port that a cable's configuration names.
#[derive(Debug)]
pub struct SystemOpener {
    cable: Cable,
    /// Who was found to hold the port, and when: looking through all processes is dear.
    holders: Option<(Instant, String)>,
}

/// Who holds a port is looked up again after this.
const HOLDERS_KEPT: Duration = Duration::from_secs(5);

impl SystemOpener {
    /// For this cable.
    #[must_use]
    pub const fn new(cable: Cable) -> Self {
        Self {
            cable,
            holders: None,
        }
    }
}

impl Opener for SystemOpener {
    type Port = SerialStream;

    async fn open(&mut self) -> Result<Opened<SerialStream>, Fault> {
        // A name that is not there needs no thread.
        if let PortSelector::Path(path) = &self.cable.port
            && !path.exists()
        {
            return Err(gone(path));
        }
        let cable = self.cable.clone();
        let known = self
            .holders
            .take()
            .filter(|(when, _)| when.elapsed() < HOLDERS_KEPT);
        // Opening and setting talk to the device, and a bad one answers after seconds; other cables must not wait.
        let work = move || {
            let result = open(&cable);
            match result {
                Err(Fault::Busy(path)) => {
                    let found = known.unwrap_or_else(|| (Instant::now(), busy(Path::new(&path))));
                    (Err(Fault::Busy(found.1.clone())), Some(found))
                }
                other => (other, None),
            }
        };
        let (result, holders) = tokio::task::spawn_blocking(work)
            .await
            .map_err(|fault| Fault::Refused(format!("opening the port failed: {fault}")))?;
        self.holders = holders;
        let opened = result?;
        let port = SerialStream::try_from(opened.port).map_err(|fault| {
            Fault::Gone(format!("{}: {fault}; trying again", opened.path.display()))
        })?;
        Ok(Opened {
            port,
            path: opened.path,
            notes: opened.notes,
            instrument: opened.instrument,
            marked: opened.marked,
        })
    }

    async fn arrival(&mut self, usually: Duration) {
        match &self.cable.port {
            PortSelector::Path(path) => {
                arrival(Wanted::Name(path), || async { path.exists() }, usually).await;
            }
            selector @ PortSelector::Usb { .. } => {
                let is_there = || async {
                    let selector = selector.clone();
                    let look = move || path_of(&selector).is_ok();
                    tokio::task::spawn_blocking(look).await.unwrap_or(true)
                };
                let terminals = Wanted::Beginning(Path::new("/dev"), "tty");
                arrival(terminals, is_there, usually).await;
            }
        }
    }
}

fn gone(path: &Path) -> Fault {
    Fault::Gone(format!(
        "there is no {}: plug the cable in; waiting for it",
        path.display()
    ))
}

/// Opens the port; a busy one is told by its path alone, the words come later.
fn open(cable: &Cable) -> Result<Opened<TTYPort>, Fault> {
    let path = path_of(&cable.port)?;
    let Ok(meta) = fs::metadata(&path) else {
        return Err(if path.symlink_metadata().is_ok() || may_reach(&path) {
            gone(&path)
        } else {
            Fault::Denied(denial(&path))
        });
    };
    if !meta.file_type().is_char_device() {
        return Err(Fault::Refused(format!(
            "{} is no serial port but a file of another kind; name the port's device file",
            path.display()
        )));
    }
    if !may_open(&path) {
        return Err(Fault::Denied(denial(&path)));
    }
    let is_busy = || Fault::Busy(path.display().to_string());
    if locked_by(&path).is_some() {
        return Err(is_busy());
    }
    let settings = &cable.settings;
    let mut port =
        TTYPort::open(&builder(&path, settings)).map_err(|error| match error.kind() {
            // The library has this one kind for a port that is held, by whatever lock.
            ErrorKind::NoDevice => is_busy(),
            ErrorKind::Io(std::io::ErrorKind::NotFound) => gone(&path),
            ErrorKind::Io(std::io::ErrorKind::PermissionDenied) => Fault::Denied(denial(&path)),
            ErrorKind::InvalidInput => Fault::Refused(format!(
                "{} cannot be set to {}: {error}; check `settings`",
                path.display(),
                settings
            )),
            // ENOTTY, in the words of the library below.
            _ if error.description.contains("typewriter") => Fault::Refused(format!(
                "{} is no serial port; name the port's device file",
                path.display()
            )),
            // Straight after an unplug the name is still there, and the open says so only by its text.
            _ => Fault::Gone(format!(
                "{} cannot be opened ({error}): trying again",
                path.display()
            )),
        })?;
    let damaged = match cable.decoder() {
        Some(frame) if frame.has_any_byte() => Damaged::Marked,
        _ => Damaged::Nul,
    };
    let notes = outfit(&mut port, &path, settings, damaged)?;
    Ok(Opened {
        port,
        instrument: instrument_at(&path),
        path,
        notes,
        marked: damaged == Damaged::Marked,
    })
}

/// Sets an open port otherwise, and empties it; what it did not take is returned in words.
pub(super) fn fit_out<P: SerialPort + AsRawFd>(
    port: &mut P,
    path: &Path,
    settings: &SerialSettings,
    damaged: Damaged,
) -> Result<Vec<String>, Fault> {
    let set = port
        .set_baud_rate(settings.baud)
        .and_then(|()| port.set_data_bits(data_bits(settings)))
        .and_then(|()| port.set_parity(parity(settings)))
        .and_then(|()| port.set_stop_bits(stop_bits(settings)))
        .and_then(|()| port.set_flow_control(flow_control(settings)));
    set.map_err(|error| {
        Fault::Refused(format!(
            "{} cannot be set to {settings}: {error}",
            path.display()
        ))
    })?;
    outfit(port, path, settings, damaged)
}

/// What is left to do when the settings are made: read them back, set the lines, throw old bytes away.
fn outfit<P: SerialPort + AsRawFd>(
    port: &mut P,
    path: &Path,
    settings: &SerialSettings,
    damaged: Damaged,
) -> Result<Vec<String>, Fault> {
    let mut notes = differences(port, settings);
    if treat_damaged(port, damaged).is_err() {
        notes.push("the port cannot be told what to do with damaged characters".to_owned());
    }
    if let Some(level) = settings.dtr
        && port.write_data_terminal_ready(level).is_err()
    {
        notes.push("the port has no DTR line to set".to_owned());
    }
    if let Some(level) = settings.rts
        && port.write_request_to_send(level).is_err()
    {
        notes.push("the port has no RTS line to set".to_owned());
    }
    // What came before the settings were right is garbage, or older than the opening.
    match port.clear(ClearBuffer::All) {
        Ok(()) => Ok(notes),
        Err(error) => Err(Fault::Gone(format!(
            "{} left while it was opened ({error}); trying again",
            path.display()
        ))),
    }
}

/// What becomes of a character whose parity or stop bit is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Damaged {
    /// It comes as NUL, which is part of no text. Left out it could be missed: `12.345` without its first character is
    /// the good line `2.345`. Without parity the library asks the system for just that.
    Nul,
    /// It is marked, and with it every good `FF`: where NUL is a byte like any other. Left out it would be missed as well,
    /// since three good characters of seven are a frame of three bytes.
    Marked,
}

fn treat_damaged(port: &impl AsRawFd, how: Damaged) -> nix::Result<()> {
    let fd = port.as_raw_fd();
    let mut termios = tcgetattr(fd)?;
    let flags = &mut termios.input_flags;
    flags.remove(InputFlags::IGNPAR | InputFlags::IGNBRK | InputFlags::BRKINT);
    flags.insert(InputFlags::INPCK);
    flags.set(InputFlags::PARMRK, how == Damaged::Marked);
    tcsetattr(fd, SetArg::TCSANOW, &termios)
}

/// Whether the directory of a path can be searched, so that "not found" is the truth.
fn may_reach(path: &Path) -> bool {
    path.parent().is_some_and(|dir| {
        let search = rustix::fs::Access::EXEC_OK;
        !dir.exists()
            || rustix::fs::accessat(rustix::fs::CWD, dir, search, rustix::fs::AtFlags::EACCESS)
                .is_ok()
    })
}

/// The words for a busy port, with the holders as far as they can be seen.
fn busy(path: &Path) -> String {
    let seen = Holders::look();
    let mut holders: Vec<String> = seen.of(path).iter().map(ToString::to_string).collect();
    if let Some(holder) = locked_by(path).as_ref().map(Holder::to_string)
        && !holders.contains(&holder)
    {
        holders.push(holder);
    }
    let who = if holders.is_empty() {
        "another user's program".to_owned()
    } else {
        holders.join(" and ")
    };
    format!(
        "{} is held by {who}: close it there; trying again",
        path.display()
    )
}

fn builder(path: &Path, settings: &SerialSettings) -> serialport::SerialPortBuilder {
    serialport::new(path.to_string_lossy(), settings.baud)
        .data_bits(data_bits(settings))
        .parity(parity(settings))
        .stop_bits(stop_bits(settings))
        .flow_control(flow_control(settings))
        .exclusive(true)
}

const fn data_bits(settings: &SerialSettings) -> DataBits {
    match settings.data_bits {
        7 => DataBits::Seven,
        _ => DataBits::Eight,
    }
}

const fn parity(settings: &SerialSettings) -> serialport::Parity {
    match settings.parity {
        Parity::None => serialport::Parity::None,
        Parity::Even => serialport::Parity::Even,
        Parity::Odd => serialport::Parity::Odd,
    }
}

const fn flow_control(settings: &SerialSettings) -> FlowControl {
    match settings.flow {
        Flow::None => FlowControl::None,
        Flow::XonXoff => FlowControl::Software,
        Flow::RtsCts => FlowControl::Hardware,
    }
}

const fn stop_bits(settings: &SerialSettings) -> StopBits {
    match settings.stop_bits {
        2 => StopBits::Two,
        _ => StopBits::One,
    }
}

/// Reads the settings back: a port may keep others without an error, as a pty does with 7 bits and parity.
fn differences<P: SerialPort>(port: &P, wanted: &SerialSettings) -> Vec<String> {
    let got = (|| {
        let bits = match port.data_bits().ok()? {
            DataBits::Five => 5,
            DataBits::Six => 6,
            DataBits::Seven => 7,
            DataBits::Eight => 8,
        };
        Some(SerialSettings {
            baud: port.baud_rate().ok()?,
            data_bits: bits,
            parity: match port.parity().ok()? {
                serialport::Parity::None => Parity::None,
                serialport::Parity::Even => Parity::Even,
                serialport::Parity::Odd => Parity::Odd,
            },
            stop_bits: match port.stop_bits().ok()? {
                StopBits::One => 1,
                StopBits::Two => 2,
            },
            flow: match port.flow_control().ok()? {
                FlowControl::None => Flow::None,
                FlowControl::Software => Flow::XonXoff,
                FlowControl::Hardware => Flow::RtsCts,
            },
            ..wanted.clone()
        })
    })();
    match got {
        Some(got) if got == *wanted => Vec::new(),
        Some(got) => vec![format!("the port was told {} and keeps {}", wanted, got)],
        None => vec!["the port does not say how it is set".to_owned()],
    }
}
