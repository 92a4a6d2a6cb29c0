//! Who has a port: held by another, ours alone, not permitted, named twice, no port at all, and free again.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

mod listener;

use conewright_daemon::bench::{Speech, VirtualCable};
use listener::{Listener, STREAMS, bench, cable, frame};
use protocol::api::CableState;
use rustix::fs::{FlockOperation, Mode, OFlags, flock, open};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;
use tokio::time::timeout;

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

/// Two names of one port: the configuration cannot see that, the port's lock does, and the second one says who has it.
#[tokio::test]
async fn two_cables_on_one_port_by_two_names() {
    let dir = tempfile::tempdir().unwrap();
    let speech = Speech {
        link: Some(dir.path().join("indicator")),
        ..Speech::streams(frame(), 100.0)
    };
    let far = VirtualCable::speaking(bench(3), speech).unwrap();
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
