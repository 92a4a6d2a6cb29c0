//! The commented example is loaded, every table of it, and means what its comments say.

use conewright_config::frame::DESCRIBED;
use conewright_config::model::{Colour, LogLevel};
use conewright_config::{Cadence, Config, PedalAction, PortSelector, resolve};
use metrology::blocks::Grade;
use metrology::setting::BarKind;
use metrology::setup::Setup;
use metrology::{Length, Unit};
use protocol::api::SetupOptions;
use protocol::frame::{Frame, Sniffer};
use protocol::style::{Decimal, Language};
use std::path::Path;

fn example() -> Config {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("conewright.example.toml");
    Config::load(&path).unwrap_or_else(|e| panic!("{e}"))
}

fn length(text: &str) -> Length {
    text.parse().expect(text)
}

#[test]
fn cables_in_the_order_of_the_file() {
    let config = example();
    let names: Vec<_> = config.cables.iter().map(|c| c.name.as_str()).collect();
    assert_eq!(
        names,
        ["bench", "lever", "probe", "column", "transducer", "scale"]
    );
    let [bench, lever, probe, ..] = &config.cables[..] else {
        panic!()
    };
    assert_eq!(bench.port, PortSelector::Path("/dev/ttyUSB0".into()));
    assert_eq!(bench.settings.to_string(), "9600 8N1");
    assert_eq!(bench.cadence, Cadence::Streams { stale_after_s: 1.5 });
    assert_eq!(
        (bench.unit, bench.resolution, bench.scale),
        (Unit::Mm, Some(length("1um")), 1.0)
    );
    assert_eq!(lever.port.to_string(), "0403:6001:BENCH02");
    assert_eq!(lever.settings.to_string(), "4800 7E2");
    assert_eq!(
        (lever.settings.dtr, lever.settings.rts),
        (Some(true), Some(false))
    );
    assert_eq!((lever.cadence.name(), lever.invert), ("press", true));
    assert!((lever.lever_angle.unwrap().deg() - 15.0).abs() < 1e-12);
    assert_eq!(
        probe.cadence,
        Cadence::Polled {
            request: b"?\r".to_vec(),
            interval_s: 0.1,
            timeout_s: 0.5
        }
    );
    assert_eq!(probe.unit, Unit::In);
    assert_eq!(config.indicator_cable(), Some(bench));
    assert_eq!(config.position_cable().unwrap().name, "scale");
}

/// A described frame reads what its description says, and a record can tell how.
#[test]
fn frames_by_description() {
    let config = example();
    let [.., column, transducer, _] = &config.cables[..] else {
        panic!()
    };
    let mut values = Vec::new();
    let mut sniffer = Sniffer::new(column.decoder().unwrap(), column.unit);
    sniffer.push(b"2:+9,999 MM\r\n1:-0,012 MM\r\n1:+0.013 MM\r\n", &mut |d| {
        values.push(d.value)
    });
    assert_eq!(values, [length("-0.012")]);
    assert_eq!(column.frame, DESCRIBED);
    let told = column.described.as_ref().unwrap().to_string();
    assert!(
        told.contains("point = \"comma\"") && !told.contains('\n'),
        "{told}"
    );

    // Function 04, registers 4 and 5 of address 2; the CRC is checked by the frame's own tests.
    let Cadence::Polled { request, .. } = &transducer.cadence else {
        panic!()
    };
    assert_eq!(request[..6], [2, 4, 0, 4, 0, 2]);
    let told = transducer.described.as_ref().unwrap().to_string();
    assert!(
        told.contains("words = \"low\"") && told.contains("step_mm = 0.0001"),
        "{told}"
    );
    assert_eq!(config.cables[0].decoder(), Frame::shipped("text"));
}

#[test]
fn what_the_bench_has() {
    let config = example();
    let drawer = config.kit("drawer").unwrap();
    assert_eq!((drawer.blocks.len(), drawer.grade), (86, Some(Grade::One)));
    let block = |nominal: &str| {
        drawer
            .blocks
            .iter()
            .find(|b| b.nominal == length(nominal))
            .copied()
    };
    assert_eq!(block("1.005").unwrap().deviation, Some(length("0.06um")));
    assert_eq!(block("10").unwrap().u, Some(length("0.03um")));
    assert_eq!((block("1.49"), block("100")), (None, None));
    let small = config.kit("small").unwrap();
    assert_eq!(small.blocks.len(), 14);
    assert!(small.blocks.iter().any(|b| b.nominal == length("0.1001in")));

    let hinged = config.bar("hinged", None, None).unwrap();
    assert_eq!(
        (hinged.kind, hinged.centre_distance),
        (BarKind::Hinged, Some(length("127")))
    );
    assert_eq!(hinged.constant, length("1"));
    assert_eq!(
        config.bar("sine", None, Some("2")).unwrap().constant,
        length("2")
    );
    assert!(
        config.bar("sine", Some("hinged"), None).is_err(),
        "the kind is another"
    );
    let tangent = config.bar("tangent", None, None).unwrap();
    assert_eq!(tangent.disc_radii, Some([length("10"), length("25")]));

    let in_plate = SetupOptions::of([("taper", "1:12"), ("fixture", "plate"), ("span", "60")]);
    let setup = resolve(&config, &in_plate).unwrap();
    assert_eq!(setup.bar, Some(config.bar("sine", None, None).unwrap()));
    assert_eq!(setup.kit.unwrap().name, "drawer");
    assert_eq!(
        setup.stations[1].position,
        length("60"),
        "what is stated wins"
    );
    assert_eq!(setup.indicator.cable.as_deref(), Some("bench"));
    assert_eq!(setup.station_error, Some(length("0.1")));
    let plate = config.fixture("plate").unwrap();
    assert_eq!(plate.pivot, Some(length("12")));
    assert_eq!(plate.clamp_shifts.len(), 2);
    assert!((plate.clamp_shifts[0] - -3.1e-3 / 80.0).abs() < 1e-18);

    let seat = config.taper("spindle-seat").unwrap();
    assert!((seat.half_angle.ratio_n() - 12.0).abs() < 1e-12);
    assert_eq!(
        (seat.gauge_diameter, seat.length),
        (Some(length("40")), Some(length("30")))
    );
}

#[test]
fn habits() {
    let config = example();
    assert_eq!((config.settle.hold_s, config.settle.longest_s), (0.5, 2.0));
    assert_eq!(config.settle.band, Some(length("1um")));
    assert_eq!(config.tolerance.unwrap().to_string(), "AT4");
    assert_eq!(config.indicator.division, Some(length("2um")));
    let pedal = config.pedal.as_ref().unwrap();
    assert_eq!(pedal.device.to_string(), "1a2c:0027");
    // The kernel's codes of the keypad's enter, plus and asterisk, and of a key that was not named.
    let actions = [96, 78, 55, 30].map(|key| pedal.action(key));
    assert_eq!(
        actions,
        [
            Some(PedalAction::Mark),
            Some(PedalAction::NewRound),
            Some(PedalAction::Clamp),
            None
        ]
    );
    assert_eq!(config.screen.colour, Colour::Auto);
    assert_eq!(config.screen.unit, Some(Unit::Mm));
    let document = config.document_style(&Setup::default());
    assert_eq!(document.language, Language::De);
    assert_eq!(
        (document.unit, document.decimal),
        (Unit::Mm, Decimal::Comma)
    );
    assert_eq!((config.log.level, config.log.keep), (LogLevel::Info, 7));
}

/// A file of comments, and none at all, are the configuration that runs without a file.
#[test]
fn nothing_is_the_default() {
    for text in ["", "# nothing\n", "\u{feff}"] {
        assert_eq!(Config::parse(text, "f").unwrap(), Config::default());
    }
}
