//! Listens to cables and writes what happens on each, one line per event: what the tests with real USB drivers run
//! in their guest.
//!
//! `cable_log [SPEED FORMAT] [dtr=LEVEL] [rts=LEVEL] PORT...`, each level 0 or 1, each port a path or `VENDOR:PRODUCT[:SERIAL][@SOCKET]`; a line starts with the port's
//! place among them: `0 state live`, `0 value 0.012 mm`, `1 skipped 17 \xff`.

use conewright_daemon::cable::{CableEventKind, run};
use conewright_daemon::clock::SystemClock;
use config::model::{Cable, Cadence, Parity, PortSelector, SerialSettings};
use std::io;
use std::sync::Arc;
use tokio::sync::{mpsc, watch};

fn main() -> io::Result<()> {
    let mut arguments: Vec<String> = std::env::args().skip(1).collect();
    let mut settings = SerialSettings::default();
    if let Some(baud) = arguments.first().and_then(|first| first.parse().ok()) {
        settings.baud = baud;
        let format = arguments.get(1).map(String::as_bytes);
        let Some(&[data, parity, stop]) = format else {
            return Err(io::Error::other("after a speed comes a format such as 8N1"));
        };
        settings.data_bits = data - b'0';
        settings.stop_bits = stop - b'0';
        settings.parity = match parity {
            b'E' => Parity::Even,
            b'O' => Parity::Odd,
            _ => Parity::None,
        };
        arguments.drain(..2);
    }
    let mut line = |name: &str| {
        let place = arguments.iter().position(|word| word.starts_with(name))?;
        Some(arguments.remove(place).ends_with('1'))
    };
    settings.dtr = line("dtr=");
    settings.rts = line("rts=");
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let (events, mut arriving) = mpsc::channel(64);
        // Kept, for its end would be the tasks' end.
        let (_stop, stopped) = watch::channel(false);
        for (index, port) in arguments.iter().enumerate() {
            let streams = Cadence::Streams { stale_after_s: 2.0 };
            let cable = Cable {
                settings: settings.clone(),
                ..Cable::new(port, selector(port), streams, "text")
            };
            let clock = Arc::new(SystemClock);
            tokio::spawn(run(cable, index, clock, events.clone(), stopped.clone()));
        }
        drop(events);
        while let Some(event) = arriving.recv().await {
            let place = event.cable;
            match event.kind {
                CableEventKind::Reading { value, .. } => println!("{place} value {value}"),
                CableEventKind::State { state, detail } => {
                    let state = format!("{state:?}").to_lowercase();
                    println!("{place} state {state} {}", detail.unwrap_or_default());
                }
                CableEventKind::Instrument { known_as } => {
                    println!("{place} instrument {}", known_as.unwrap_or_default());
                }
                CableEventKind::Skipped { total, last } => {
                    println!("{place} skipped {total} {last}");
                }
            }
        }
    });
    Ok(())
}

fn selector(port: &str) -> PortSelector {
    let (identity, socket) = match port.split_once('@') {
        Some((identity, socket)) => (identity, Some(socket.to_owned())),
        None => (port, None),
    };
    let mut parts = identity.splitn(3, ':');
    let mut id = || u16::from_str_radix(parts.next()?, 16).ok();
    match (id(), id()) {
        (Some(vendor), Some(product)) => PortSelector::Usb {
            vendor,
            product,
            serial: parts.next().map(str::to_owned),
            interface: None,
            socket,
        },
        _ => PortSelector::Path(port.into()),
    }
}
