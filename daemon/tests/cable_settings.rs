//! What a port is set to, and what it makes of that.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

mod listener;

use conewright_daemon::bench::{Speech, VirtualCable};
use conewright_daemon::cable::{CableEventKind, Raw, Received};
use config::model::{Cadence, SerialSettings};
use listener::{Listener, STREAMS, bench, cable, frame};
use protocol::api::CableState;
use protocol::frame::Frame;
use std::path::PathBuf;
use std::time::Duration;
use tokio::time::{Instant, timeout};

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
            has(InputModes::INPCK) && !has(InputModes::IGNPAR),
            "{settings}"
        );
        assert_eq!(has(InputModes::PARMRK), binary, "{settings}");
        listener.stop().await;
    }
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
    let (before, detail) = listener.until_state(CableState::Stale).await;
    let reading = |kind: &CableEventKind| matches!(kind, CableEventKind::Reading { .. });
    assert!(!before.iter().any(reading), "{before:?}");
    let detail = detail.unwrap();
    assert!(detail.contains("9600 8N1"), "{detail}");
    listener.stop().await;
}

/// A port that marks damaged characters doubles every good byte FF, and none of that is seen: `FF FF` begins each frame
/// of 13 digits, and a capture of the same port has the bytes as they were sent.
#[tokio::test]
async fn bytes_that_look_like_marks_come_as_they_were_sent() {
    let far = VirtualCable::start(bench(1), Frame::shipped("bcd13").unwrap(), 100.0).unwrap();
    let mut wanted = cable(&far.path().unwrap(), STREAMS);
    wanted.frame = "bcd13".to_owned();
    let mut listener = Listener::of(wanted.clone());
    let mut instrument = bench(1);
    let sent: Vec<_> = (0..200).map(|_| instrument.read(0.01)).collect();
    let mut got = Vec::new();
    // As a whole: skipped bytes would be events without end.
    let twenty = async {
        for _ in 0..20 {
            got.push(listener.reading().await.0);
        }
    };
    timeout(Duration::from_secs(20), twenty).await.unwrap();
    assert!(sent.windows(20).any(|window| window == got), "{got:?}");
    listener.stop().await;

    let mut raw = Raw::open(&wanted).await.unwrap();
    let deadline = Instant::now() + Duration::from_secs(20);
    let mut bytes = Vec::new();
    while bytes.len() < 70 {
        match raw.next(deadline).await {
            Received::Bytes(chunk) => bytes.extend(chunk.bytes),
            other => panic!("{other:?}"),
        }
    }
    // Seven bytes a frame, two of them FF, and nothing between.
    let starts: Vec<usize> = (1..bytes.len())
        .filter(|at| bytes[at - 1..=*at] == [0xff; 2])
        .collect();
    assert!(
        starts.len() > 5 && starts.windows(2).all(|pair| pair[1] - pair[0] == 7),
        "{bytes:x?}"
    );
}
