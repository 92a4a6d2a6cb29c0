//! A cable's task on real ptys, with the virtual bench at the far end.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

mod listener;

use conewright_daemon::bench::{Bench, Manner, SetUp, Speech, VirtualCable};
use conewright_daemon::cable::{CableEventKind, listen};
use config::model::{Cadence, SerialSettings};
use listener::{Listener, STREAMS, cable};
use metrology::Length;
use protocol::api::CableState;
use protocol::frame::Frame;
use rustix::fs::{FlockOperation, Mode, OFlags, flock, open};
use std::ops::ControlFlow;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};
use tokio::time::timeout;

fn frame() -> Frame {
    Frame::shipped("text").unwrap()
}

/// A micrometre of noise, so that neighbouring readings differ.
fn bench(seed: u64) -> Bench {
    Bench::new(
        seed,
        SetUp {
            noise_um: 40.0,
            ..SetUp::default()
        },
    )
}

/// A stream under a name that stays when the cable is pulled.
fn linked(dir: &Path, manner: Manner) -> VirtualCable {
    let speech = Speech {
        manner,
        link: Some(dir.join("indicator")),
        ..Speech::streams(frame(), 100.0)
    };
    VirtualCable::speaking(bench(3), speech).unwrap()
}

const FAST: Manner = Manner::Streams { rate_hz: 100.0 };

fn expected(seed: u64, rate_hz: f64, n: usize) -> Vec<Length> {
    let mut bench = bench(seed);
    (0..n).map(|_| bench.read(1.0 / rate_hz)).collect()
}

#[tokio::test]
async fn readings_arrive_whole_and_in_order_from_two_dozen_cables() {
    let rate = 200.0;
    let n = 100;
    let cables: Vec<_> = (0..24)
        .map(|seed| {
            let far = VirtualCable::start(bench(seed), frame(), rate).unwrap();
            let listener = Listener::of(cable(&far.path().unwrap(), STREAMS));
            (seed, far, listener)
        })
        .collect();
    for (seed, far, mut listener) in cables {
        let mut got = Vec::new();
        let mut times = Vec::new();
        for _ in 0..n {
            let (value, steady_ns) = listener.reading().await;
            got.push(value);
            times.push(steady_ns);
        }
        // What the opening threw away was sent before the port was ours.
        let all = expected(seed, rate, n + 50);
        let start = all.windows(n).position(|window| window == got);
        assert!(
            start.is_some(),
            "cable {seed}: {got:?} is no run of {all:?}"
        );
        assert!(times.is_sorted(), "cable {seed}: {times:?}");
        listener.stop().await;
        assert_eq!(far.counts().unwrap().1, 0, "readings that found no room");
    }
}

#[tokio::test]
async fn garbage_is_counted_shown_and_never_a_value() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    far.silence(true).unwrap();
    let mut listener = Listener::of(cable(&far.path().unwrap(), STREAMS));
    assert_eq!(listener.state(CableState::Quiet).await, None);
    let garbage = b"\xff\xfe?+0.+0x12 km\r\n";
    assert!(far.send(garbage).unwrap());
    let seen = listener
        .until(|kind| matches!(kind, CableEventKind::Skipped { .. }))
        .await;
    assert!(seen.before.is_empty(), "{:?}", seen.before);
    let CableEventKind::Skipped { total, last } = seen.last else {
        panic!("not skipped");
    };
    assert!(total > 0 && total <= garbage.len() as u64, "{total}");
    assert!(last.contains("0x12"), "{last}");
    far.silence(false).unwrap();
    listener.state(CableState::Live).await;
    let (first, _) = listener.reading().await;
    assert!(expected(1, 100.0, 50).contains(&first));
    // A damaged frame is skipped, and the stream goes on behind it.
    far.garble(1).unwrap();
    listener
        .until(|kind| matches!(kind, CableEventKind::Skipped { total: now, .. } if *now > total))
        .await;
    listener.reading().await;
    listener.stop().await;
}

/// When a device's node was made. Its name alone says little: another test may have got the same the moment it was free.
fn made(device: &Path) -> Option<(i64, i64)> {
    use std::os::unix::fs::MetadataExt;
    let node = std::fs::metadata(device).ok()?;
    Some((node.ctime(), node.ctime_nsec()))
}

#[tokio::test]
async fn pulled_and_put_back_under_the_same_name() {
    let dir = tempfile::tempdir().unwrap();
    let far = linked(dir.path(), FAST);
    let mut listener = Listener::of(cable(&far.path().unwrap(), STREAMS));
    for _ in 0..3 {
        listener.state(CableState::Live).await;
        listener.reading().await;
        let device = std::fs::canonicalize(far.path().unwrap()).unwrap();
        let held = made(&device);
        assert!(held.is_some());
        // Half a frame at the hang-up is never a value.
        assert!(far.send(b"+77.7").unwrap());
        far.unplug().unwrap();
        let detail = listener.state(CableState::Gone).await.unwrap();
        assert!(detail.contains("put the cable back"), "{detail}");
        assert_ne!(made(&device), held, "the port is still held open");
        let put_back = Instant::now();
        far.plug().unwrap();
        listener.state(CableState::Live).await;
        let took = put_back.elapsed();
        println!("back after {took:?}");
        assert!(took < Duration::from_secs(2), "{took:?}");
        let (value, _) = listener.reading().await;
        assert!(value < Length::from_um(1_000), "{value}: from half a frame");
        far.unplug().unwrap();
        listener.state(CableState::Gone).await;
        far.plug().unwrap();
    }
    listener.stop().await;
}

#[tokio::test]
async fn a_cable_that_is_not_there_is_waited_for() {
    let dir = tempfile::tempdir().unwrap();
    let mut listener = Listener::of(cable(&dir.path().join("indicator"), STREAMS));
    let detail = listener.state(CableState::Gone).await.unwrap();
    assert!(detail.contains("indicator: plug the cable in"), "{detail}");
    let far = linked(dir.path(), FAST);
    listener.state(CableState::Live).await;
    drop(far);
    listener.state(CableState::Gone).await;
    listener.stop().await;
}

#[tokio::test]
async fn a_held_port_is_busy_and_names_the_holder() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    let path = far.path().unwrap();
    let held = open(
        &path,
        OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC,
        Mode::empty(),
    )
    .unwrap();
    flock(&held, FlockOperation::NonBlockingLockExclusive).unwrap();
    rustix::termios::ioctl_tiocexcl(&held).unwrap();
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o666)).unwrap();
    let mut listener = Listener::of(cable(&path, STREAMS));
    let detail = listener.state(CableState::Busy).await.unwrap();
    // Finding out took nothing from the holder: it still has the port for itself.
    held_for_itself(&path);
    let own = format!("this program itself (pid {})", std::process::id());
    assert!(detail.contains(&own), "{detail}");
    drop(held);
    listener.state(CableState::Live).await;
    listener.stop().await;
}

/// Runs a shell command as a user without rights, or says why that cannot be done here.
fn as_nobody(script: &str, arguments: &[&Path]) -> Result<std::process::Output, String> {
    let mut command = if rustix::process::geteuid().is_root() {
        let mut command = Command::new("setpriv");
        command.args([
            "--reuid",
            "65534",
            "--regid",
            "65534",
            "--clear-groups",
            "sh",
        ]);
        command
    } else {
        Command::new("sh")
    };
    command
        .args(["-c", script, "sh"])
        .args(arguments)
        .output()
        .map_err(|error| format!("not checked: no command as another user ({error})"))
}

fn held_for_itself(path: &Path) {
    match as_nobody("exec 3<>\"$1\"", &[path]) {
        Ok(output) => {
            let words = String::from_utf8_lossy(&output.stderr);
            assert!(
                !output.status.success() && words.contains("busy"),
                "another user could open it: {words}"
            );
        }
        Err(why) => println!("{why}"),
    }
}

#[tokio::test]
async fn an_open_port_is_ours_alone() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    let path = far.path().unwrap();
    let mut listener = Listener::of(cable(&path, STREAMS));
    listener.state(CableState::Live).await;
    // For whoever asks for the lock, root included.
    let second = open(
        &path,
        OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC,
        Mode::empty(),
    );
    match second {
        Ok(second) => {
            assert!(rustix::process::geteuid().is_root(), "only root gets past");
            assert!(flock(&second, FlockOperation::NonBlockingLockExclusive).is_err());
        }
        Err(error) => assert_eq!(error, rustix::io::Errno::BUSY),
    }
    // For whoever does not ask, except root.
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o666)).unwrap();
    held_for_itself(&path);
    listener.stop().await;
}

/// The name under which the test below runs itself as another user.
const DENIED_PORT: &str = "CONEWRIGHT_TEST_DENIED_PORT";

#[tokio::test]
async fn a_port_that_is_not_permitted_says_why() {
    if let Some(port) = std::env::var_os(DENIED_PORT) {
        return denied(&PathBuf::from(port)).await;
    }
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    let path = far.path().unwrap();
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
    if !rustix::process::geteuid().is_root() {
        return denied(&path).await;
    }
    // Root may open everything, so the test runs once more as somebody who may not.
    let own = std::env::current_exe().unwrap();
    let script = format!(
        "test -x \"$1\" || exit 99; {DENIED_PORT}=\"$2\" \"$1\" --exact a_port_that_is_not_permitted_says_why"
    );
    match as_nobody(&script, &[&own, &path]) {
        Ok(output) if output.status.code() == Some(99) => {
            println!("not checked: another user cannot reach the tests' directory");
        }
        Ok(output) => {
            let words = String::from_utf8_lossy(&output.stdout);
            assert!(
                output.status.success() && words.contains("1 passed"),
                "{words}"
            );
        }
        Err(why) => println!("{why}"),
    }
}

async fn denied(path: &Path) {
    let mut listener = Listener::of(cable(path, STREAMS));
    let detail = listener.state(CableState::Denied).await.unwrap();
    assert!(detail.contains("belongs to"), "{detail}");
    assert!(detail.contains("mode 0000"), "{detail}");
    assert!(detail.contains("we are"), "{detail}");
    listener.stop().await;
}

#[tokio::test]
async fn what_is_no_port_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("readings.txt");
    std::fs::write(&file, "+0.001\n").unwrap();
    for path in [file.as_path(), Path::new("/dev/null")] {
        let mut listener = Listener::of(cable(path, STREAMS));
        let detail = listener.state(CableState::Denied).await.unwrap();
        assert!(detail.contains("no serial port"), "{detail}");
        listener.stop().await;
    }
}

#[tokio::test]
async fn a_difference_in_the_settings_is_told() {
    // A pty takes 7 bits and even parity without an error, and keeps 8 bits and none.
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    let mut seven = cable(&far.path().unwrap(), STREAMS);
    seven.settings.data_bits = 7;
    seven.settings.parity = config::model::Parity::Even;
    seven.settings.rts = Some(true);
    let mut listener = Listener::of(seven);
    let detail = listener.state(CableState::Live).await.unwrap();
    assert!(
        detail.contains("told 9600 7E1 and keeps 9600 8N1"),
        "{detail}"
    );
    assert!(detail.contains("no RTS line"), "{detail}");
    assert_eq!(far.speed().unwrap(), Some(9600));
    listener.stop().await;
}

/// Two names of one port: the configuration cannot see that, the port's lock does, and the second one says who has it.
#[tokio::test]
async fn two_cables_on_one_port_by_two_names() {
    let dir = tempfile::tempdir().unwrap();
    let far = linked(dir.path(), Manner::Streams { rate_hz: 100.0 });
    let link = far.path().unwrap();
    let itself = std::fs::read_link(&link).unwrap();
    let mut first = Listener::of(cable(&link, STREAMS));
    first.state(CableState::Live).await;
    let mut second = Listener::of(cable(&itself, STREAMS));
    let detail = second.state(CableState::Busy).await.unwrap();
    assert!(
        detail.contains(&format!("this program itself (pid {})", std::process::id())),
        "{detail}"
    );
    for _ in 0..10 {
        first.reading().await;
    }
    // The port is the second one's as soon as the first lets go.
    first.stop().await;
    second.state(CableState::Live).await;
    second.reading().await;
    second.stop().await;
}

/// Every speed, format, flow control and treatment of damaged characters that can be asked for, as the kernel has it
/// afterwards. Of the format a pty keeps the stop bits alone, which is told.
#[tokio::test]
async fn what_is_asked_for_is_what_the_port_is_set_to() {
    use config::model::{Flow, Parity};
    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
    use rustix::termios::{ControlModes, InputModes, tcgetattr};
    use std::os::unix::ffi::OsStringExt;
    for (i, speed) in [
        300, 600, 1_200, 2_400, 4_800, 9_600, 14_400, 19_200, 38_400, 57_600, 115_200, 230_400,
        250_000, 460_800, 921_600,
    ]
    .into_iter()
    .enumerate()
    {
        let master =
            openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
        grantpt(&master).unwrap();
        unlockpt(&master).unwrap();
        let name = ptsname(&master, Vec::new()).unwrap().into_bytes();
        let path = PathBuf::from(std::ffi::OsString::from_vec(name));
        let mut wanted = cable(&path, STREAMS);
        let settings = &mut wanted.settings;
        settings.baud = speed;
        settings.flow = Flow::ALL[i % 3];
        settings.stop_bits = 1 + (i % 2) as u8;
        (settings.data_bits, settings.parity) = [
            (8, Parity::None),
            (7, Parity::Even),
            (7, Parity::Odd),
            (7, Parity::None),
        ][i % 4];
        let binary = i % 5 == 0 && settings.data_bits == 8 && settings.flow != Flow::XonXoff;
        if binary {
            wanted.frame = "bcd13".to_owned();
        }
        let settings = wanted.settings.clone();
        let mut listener = Listener::of(wanted);
        let detail = listener.state(CableState::Quiet).await;
        match i % 4 {
            0 => assert_eq!(detail, None, "{settings}"),
            // Without modem lines and with another format than asked for the cable is served all the same.
            _ => assert!(
                detail
                    .unwrap()
                    .contains(&format!("told {settings} and keeps")),
                "{settings}"
            ),
        }
        let kept = tcgetattr(&master).unwrap();
        assert_eq!(kept.output_speed(), speed, "{settings}");
        assert_eq!(kept.input_speed(), speed, "{settings}");
        let has = |flag| kept.control_modes.contains(flag);
        assert_eq!(
            has(ControlModes::CSTOPB),
            settings.stop_bits == 2,
            "{settings}"
        );
        assert_eq!(
            has(ControlModes::CRTSCTS),
            settings.flow == Flow::RtsCts,
            "{settings}"
        );
        let has = |flag| kept.input_modes.contains(flag);
        assert_eq!(
            has(InputModes::IXON),
            settings.flow == Flow::XonXoff,
            "{settings}"
        );
        assert_eq!(
            has(InputModes::IXOFF),
            settings.flow == Flow::XonXoff,
            "{settings}"
        );
        assert!(
            has(InputModes::INPCK) && !has(InputModes::PARMRK),
            "{settings}"
        );
        assert_eq!(has(InputModes::IGNPAR), binary, "{settings}");
        listener.stop().await;
    }
}

#[tokio::test]
async fn a_press_is_a_reading_and_silence_is_quiet() {
    let dir = tempfile::tempdir().unwrap();
    let far = linked(dir.path(), Manner::Press);
    let mut listener = Listener::of(cable(&far.path().unwrap(), Cadence::Press));
    listener.state(CableState::Quiet).await;
    let shown = expected(3, f64::INFINITY, 3);
    for wanted in shown {
        far.press().unwrap();
        let (value, _) = listener.reading().await;
        assert_eq!(value, wanted);
    }
    listener.state(CableState::Quiet).await;
    listener.stop().await;
}

#[tokio::test]
async fn a_polled_cable_is_asked() {
    let dir = tempfile::tempdir().unwrap();
    let request = b"?\r".to_vec();
    let far = linked(
        dir.path(),
        Manner::Polled {
            request: request.clone(),
        },
    );
    let polled = Cadence::Polled {
        request,
        interval_s: 0.02,
        timeout_s: 0.3,
    };
    let mut listener = Listener::of(cable(&far.path().unwrap(), polled));
    for wanted in expected(3, f64::INFINITY, 5) {
        assert_eq!(listener.reading().await.0, wanted);
    }
    far.silence(true).unwrap();
    let detail = listener.state(CableState::Stale).await.unwrap();
    assert!(detail.contains("3 requests without an answer"), "{detail}");
    far.silence(false).unwrap();
    listener.state(CableState::Live).await;
    listener.stop().await;
}

#[tokio::test]
async fn at_another_speed_there_is_no_value() {
    let speech = Speech {
        line: Some(SerialSettings {
            baud: 4800,
            ..SerialSettings::default()
        }),
        ..Speech::streams(frame(), 100.0)
    };
    let far = VirtualCable::speaking(bench(1), speech).unwrap();
    let mut listener = Listener::of(cable(
        &far.path().unwrap(),
        Cadence::Streams { stale_after_s: 0.5 },
    ));
    let seen = listener
        .until(|kind| {
            matches!(
                kind,
                CableEventKind::State {
                    state: CableState::Stale,
                    ..
                }
            )
        })
        .await;
    assert!(
        !seen
            .before
            .iter()
            .any(|kind| matches!(kind, CableEventKind::Reading { .. })),
        "{:?}",
        seen.before
    );
    let CableEventKind::State { detail, .. } = seen.last else {
        panic!("no state");
    };
    let detail = detail.unwrap();
    assert!(detail.contains("9600 8N1"), "{detail}");
    listener.stop().await;
}

#[tokio::test]
async fn from_the_write_to_the_event() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    far.silence(true).unwrap();
    let mut listener = Listener::of(cable(&far.path().unwrap(), STREAMS));
    listener.state(CableState::Quiet).await;
    let mut took = Vec::new();
    for i in 0..200 {
        let bytes = format!("+0.{i:03} mm\r\n");
        let sent = Instant::now();
        assert!(far.send(bytes.as_bytes()).unwrap());
        let (value, _) = listener.reading().await;
        took.push(sent.elapsed());
        assert_eq!(value, Length::from_um(i));
    }
    took.sort();
    // Printed, not judged: a timing is judged on a quiet machine.
    println!(
        "write to event, a thread's wake included: median {:?}, 99th of 100 {:?}",
        took[100], took[198]
    );
    listener.stop().await;
    drop(far);
}

#[tokio::test]
async fn stopping_frees_the_port() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    let path = far.path().unwrap();
    for _ in 0..3 {
        let mut listener = Listener::of(cable(&path, STREAMS));
        listener.state(CableState::Live).await;
        timeout(Duration::from_secs(5), listener.stop())
            .await
            .unwrap();
    }
}

#[test]
fn listening_without_a_daemon() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    let path = far.path().unwrap();
    let mut got = Vec::new();
    listen(cable(&path, STREAMS), |kind| {
        if let CableEventKind::Reading { value, .. } = kind {
            got.push(value);
        }
        if got.len() < 20 {
            ControlFlow::Continue(())
        } else {
            ControlFlow::Break(())
        }
    })
    .unwrap();
    let all = expected(1, 100.0, 70);
    assert!(all.windows(20).any(|window| window == got), "{got:?}");
    // The port is free again: whoever asks for its lock gets it.
    let next = open(
        &path,
        OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC,
        Mode::empty(),
    )
    .unwrap();
    flock(&next, FlockOperation::NonBlockingLockExclusive).unwrap();
}
