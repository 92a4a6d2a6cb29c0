//! Options in, a set-up or a refusal out.

mod refused;
mod stated;

use super::*;
use clap::{Args, Command, FromArgMatches};
use metrology::setup::Sense;
use metrology::setup::{BigEnd, IndicatorSide};
use protocol::api::Code;

/// Options from names and values, as a command line would hold them.
fn options(pairs: &[(&str, &str)]) -> SetupOptions {
    let command = SetupOptions::augment_args(Command::new("open").no_binary_name(true));
    let flag = |name: &str| format!("--{}", name.replace('_', "-"));
    let words = pairs
        .iter()
        .flat_map(|(name, value)| [flag(name), (*value).to_owned()]);
    let matches = command.try_get_matches_from(words);
    SetupOptions::from_arg_matches(&matches.unwrap_or_else(|e| panic!("{e}"))).expect("options")
}

fn config() -> Config {
    Config::parse(
        r#"
        [cable.bench]
        port = "/dev/ttyUSB0"
        cadence = "streams"
        frame = "text"
        resolution = "1um"
        error_limit = "2um"
        lever_angle = "15deg"
        [cable.Second]
        port = "/dev/ttyUSB1"
        cadence = "press"
        frame = "text"
        [fixture.plate]
        pivot = "12"
        clamp_shifts = ["-3.1um/80mm"]
        [tolerance]
        default = "AT4"
        [indicator]
        resolution = "0.5um"
        division = "2um"
        [settle]
        hold = "0.3s"
        "#,
        "test",
    )
    .unwrap_or_else(|e| panic!("{e}"))
}

fn resolved(pairs: &[(&str, &str)]) -> Setup {
    resolve(&config(), &options(pairs)).unwrap_or_else(|e| panic!("{pairs:?}: {e} ({:?})", e.hint))
}

fn mm(text: &str) -> Length {
    text.parse().expect(text)
}

#[test]
fn nothing_stated_is_nothing_known() {
    let setup = resolve(&Config::default(), &SetupOptions::default()).unwrap();
    assert_eq!(setup, Setup::default());
}

#[test]
fn a_whole_set_up() {
    let setup = resolved(&[
        ("taper", "1:12"),
        ("length", "30"),
        ("tolerance", "+AT5"),
        ("bar", "100"),
        ("kit", "metric-88"),
        ("span", "80"),
        ("fixture", "PLATE"),
        ("big_end", "B"),
        ("indicator_side", "Wheel"),
        ("straightness", "1um"),
        ("station_error", "0.1"),
        ("settle_band", "1.5um"),
    ]);
    assert_eq!(
        (setup.length, setup.tolerance.unwrap().to_string()),
        (Some(mm("30")), "+AT5".into())
    );
    assert_eq!(
        setup.sense,
        Some(Sense {
            big_end: BigEnd::B,
            indicator: IndicatorSide::Wheel
        })
    );
    let fixture = setup.fixture.unwrap();
    assert_eq!(
        (fixture.name.as_str(), fixture.pivot),
        ("plate", Some(mm("12")))
    );
    assert_eq!(setup.pass.join(" "), "A B A");
    assert_eq!(
        (setup.settle.hold_s, setup.settle.band),
        (0.3, Some(mm("1.5um")))
    );
    let indicator = setup.indicator;
    assert_eq!(indicator.cable.as_deref(), Some("bench"));
    assert_eq!(
        (indicator.resolution, indicator.error_limit),
        (Some(mm("1um")), Some(mm("2um")))
    );
}

/// *Common practice*, no source: a number 2 Morse is set with a stack of about 1.62 mm on 65 mm between
/// rollers, and 2.62 mm for a bar whose constant is 1 mm. What the stack really sets is part of the plan.
#[test]
fn the_stack_is_planned() {
    let plan = |constant| {
        let pairs = [
            ("taper", "morse-2"),
            ("bar", "65"),
            ("bar_constant", constant),
            ("kit", "metric-112"),
        ];
        resolved(&pairs).stack.unwrap()
    };
    let stack = plan("0");
    assert!((stack.height.mm() - 1.62).abs() < 0.005, "{stack:?}");
    let stack = plan("1");
    assert!(
        (stack.height.mm() - 2.62).abs() < 0.005 && stack.within,
        "{stack:?}"
    );
    assert_eq!(stack.blocks.iter().copied().sum::<Length>(), stack.sum);
    // 65 mm of bar: an error of 0.5 µm in the stack is 1.6″.
    assert!(stack.angle_error_arcsec.unwrap().abs() < 1.7);

    // The same with 32 pieces cannot be met to 0.5 µm; the plan says so and is not refused.
    let coarse = resolved(&[
        ("taper", "morse-2"),
        ("bar", "65"),
        ("bar_constant", "1"),
        ("kit", "metric-32"),
    ]);
    let coarse = coarse.stack.unwrap();
    assert!(!coarse.within && coarse.error_um.abs() > 0.5, "{coarse:?}");
    // Without a kit, or without a taper, there is no plan.
    assert_eq!(resolved(&[("taper", "morse-2"), ("bar", "65")]).stack, None);
    assert_eq!(resolved(&[("bar", "65"), ("kit", "metric-88")]).stack, None);
}

/// The indicator: option before cable before habit.
#[test]
fn what_is_known_of_the_indicator() {
    let of = |pairs: &[(&str, &str)]| resolved(pairs).indicator;
    assert_eq!(of(&[("resolution", "0.2um")]).resolution, Some(mm("0.2um")));
    // The second cable says nothing: the habit holds, and the first cable's lever is not its lever.
    let second = of(&[("cable", "second")]);
    assert_eq!(second.cable.as_deref(), Some("Second"));
    assert_eq!(
        (second.resolution, second.lever_angle),
        (Some(mm("0.5um")), None)
    );
    let typed = of(&[
        ("cable", "typed"),
        ("division", "5um"),
        ("indicator_error", "0.5div"),
    ]);
    assert_eq!((typed.cable, typed.division), (None, Some(mm("5um"))));
    assert_eq!(typed.error_limit, Some(mm("2.5um")));
}

/// A habit is dropped where this part cannot be judged by it; a stated tolerance is not.
#[test]
fn the_usual_tolerance() {
    assert_eq!(
        resolved(&[("taper", "morse-2")])
            .tolerance
            .unwrap()
            .to_string(),
        "AT4"
    );
    assert_eq!(resolved(&[("taper", "1:12")]).tolerance, None);
    assert_eq!(
        resolved(&[("taper", "1:12"), ("tolerance", "5arcsec")])
            .tolerance
            .unwrap()
            .to_string(),
        "5arcsec"
    );
    assert_eq!(
        resolved(&[("tolerance", "1um/60mm")])
            .tolerance
            .unwrap()
            .to_string(),
        "1um/60mm"
    );
}

#[test]
fn stations_in_the_order_of_the_travel() {
    let setup = resolved(&[
        ("span", "80"),
        ("station", "far=60"),
        ("station", "C=0.5in"),
    ]);
    let places: Vec<_> = setup
        .stations
        .iter()
        .map(|s| format!("{}={}", s.name, s.position))
        .collect();
    assert_eq!(places, ["A=0 mm", "C=12.7 mm", "far=60 mm", "B=80 mm"]);
    assert_eq!(setup.pass.join(" "), "A C far B A");
    for (pass, expected) in [
        ("ABA", "A B A"),
        ("aba", "A B A"),
        ("A,B", "A B"),
        ("A far B A", "A far B A"),
        ("ACBCA", "A C B C A"),
    ] {
        let setup = resolved(&[
            ("span", "80"),
            ("station", "far=60"),
            ("station", "C=12"),
            ("pass", pass),
        ]);
        assert_eq!(setup.pass.join(" "), expected, "{pass}");
    }
}

#[test]
fn a_pivot_without_a_fixture_belongs_to_the_set_up_alone() {
    let fixture = resolved(&[("pivot", "-5")]).fixture.unwrap();
    assert_eq!((fixture.name.as_str(), fixture.pivot), ("", Some(mm("-5"))));
    let fixture = resolved(&[("fixture", "plate"), ("pivot", "0")])
        .fixture
        .unwrap();
    assert_eq!(
        (fixture.name.as_str(), fixture.pivot),
        ("plate", Some(mm("0")))
    );
    assert_eq!(fixture.clamp_shifts.len(), 1);
    assert_eq!(
        resolved(&[("fixture", "new one")]).fixture.unwrap().name,
        "new one"
    );
}

/// The table's position is never the indicator: the first cable of the part is, wherever it stands in the file.
#[test]
fn the_position_cable_is_not_the_indicator() {
    let cables = |first: &str, second: &str| {
        let text = format!(
            "[cable.scale]\nport = \"/dev/ttyUSB0\"\n{first}cadence = \"streams\"\nframe = \"text\"\n\
             [cable.bench]\nport = \"/dev/ttyUSB1\"\n{second}cadence = \"streams\"\nframe = \"text\"\n"
        );
        Config::parse(&text, "test").unwrap_or_else(|e| panic!("{e}"))
    };
    let of = |config: &Config, pairs: &[(&str, &str)]| {
        resolve(config, &options(pairs)).map(|s| (s.indicator.cable, s.position_cable))
    };
    let named = |name: &str| Some(name.to_owned());
    let position = "measures = \"position\"\n";
    let config = cables(position, "");
    assert_eq!(of(&config, &[]).unwrap(), (named("bench"), named("scale")));
    assert_eq!(
        of(&config, &[("cable", "typed")]).unwrap(),
        (None, named("scale"))
    );
    let refusal = of(&config, &[("cable", "Scale")]).unwrap_err();
    assert_eq!(refusal.code, Code::BadValue);
    assert_eq!(
        refusal.message,
        "--cable: the cable `scale` measures the table's position, not the part"
    );
    let config = cables("", "measures = \"part\"\n");
    assert_eq!(of(&config, &[]).unwrap(), (named("scale"), None));
    // A position alone leaves the indicator to the keyboard.
    let config = Config::parse(
        &format!("[cable.scale]\nport = \"/dev/ttyUSB0\"\n{position}cadence = \"streams\"\nframe = \"text\"\n"),
        "test",
    )
    .unwrap();
    assert_eq!(of(&config, &[]).unwrap(), (None, named("scale")));
}
