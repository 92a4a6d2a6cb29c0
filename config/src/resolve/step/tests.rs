//! Options in, a plan or a refusal out.

use super::*;
use crate::resolve::resolve;
use metrology::runout::RunoutOptions;
use metrology::size::{Infeed, Surface};
use metrology::sweep::{PositionsFrom, Subject};
use protocol::api::SetupOptions;
use protocol::plan::{AnglesFrom, SizeBy};

/// Options from `key=value` pairs as the API has them; a list's values stand between blanks.
fn options(pairs: &[(&str, &str)]) -> StepOptions {
    let mut object = serde_json::Map::new();
    for (key, value) in pairs {
        let value = match *key {
            "planes" | "at_planes" | "nominals" => {
                value.split_whitespace().collect::<Vec<_>>().into()
            }
            "reject_outliers" | "reversal" | "square_to_cone" | "bore" | "correct" => true.into(),
            _ => serde_json::Value::from(*value),
        };
        object.insert((*key).to_owned(), value);
    }
    let written = serde_json::Value::Object(object);
    let read: StepOptions = serde_json::from_value(written.clone()).expect("options");
    // A key that is no field would be ignored, and the test with it.
    let again = serde_json::to_value(&read).expect("options");
    for (key, value) in written.as_object().expect("an object") {
        assert_eq!(&again[key], value, "no option {key}");
    }
    read
}

fn config(scale: bool) -> Config {
    let mut text = String::from(
        "[cable.bench]\nport = \"/dev/ttyUSB0\"\ncadence = \"streams\"\nframe = \"text\"\n\
         [cable.lever]\nport = \"/dev/ttyUSB1\"\ncadence = \"streams\"\nframe = \"text\"\n\
         resolution = \"0.2um\"\nlever_angle = \"15deg\"\n",
    );
    if scale {
        text.push_str(
            "[cable.scale]\nport = \"/dev/ttyUSB2\"\ncadence = \"streams\"\nframe = \"text\"\n\
             measures = \"position\"\n",
        );
    }
    Config::parse(&text, "test").unwrap_or_else(|e| panic!("{e}"))
}

fn setup(config: &Config) -> Setup {
    let options = SetupOptions {
        taper: Some("1:12".to_owned()),
        length: Some("30".to_owned()),
        span: Some("80".to_owned()),
        kit: Some("metric-88".to_owned()),
        division: Some("2um".to_owned()),
        ..SetupOptions::default()
    };
    resolve(config, &options).expect("the set-up")
}

fn planned(kind: StepKind, pairs: &[(&str, &str)]) -> Plan {
    let config = config(true);
    resolve_step(&config, &setup(&config), kind, &options(pairs))
        .unwrap_or_else(|e| panic!("{kind:?} {pairs:?}: {e} ({:?})", e.hint))
}

fn mm(text: &str) -> Length {
    text.parse().expect(text)
}

#[test]
fn nothing_stated_is_the_usual_plan() {
    for kind in StepKind::ALL {
        assert_eq!(planned(kind, &[]), Plan::usual(kind));
    }
}

#[test]
fn each_kind_with_its_options() {
    let plan = planned(
        StepKind::Zero,
        &[
            ("about", "Level"),
            ("wheel_diameter", "250"),
            ("part_diameter", "0.5in"),
            ("height", "-0.5"),
            ("condition", "found"),
        ],
    );
    assert_eq!(plan.condition, Some(Condition::Found));
    let Work::Zero(zero) = plan.work else {
        panic!()
    };
    assert_eq!(zero.about, About::Level);
    assert_eq!(
        (zero.level.wheel, zero.level.part, zero.level.height),
        (Some(mm("250")), Some(mm("12.7")), Some(mm("-0.5")))
    );

    let plan = planned(
        StepKind::Sweep,
        &[
            ("positions", "cable"),
            ("filter", "0.8"),
            ("reject_outliers", ""),
            ("subject", "part"),
            ("condition", "LEFT"),
        ],
    );
    assert_eq!(plan.condition, Some(Condition::Left));
    let Work::Sweep(sweep) = plan.work else {
        panic!()
    };
    assert_eq!(sweep.position_cable.as_deref(), Some("scale"));
    assert_eq!(
        (
            sweep.sweep.positions,
            sweep.sweep.subject,
            sweep.sweep.filter
        ),
        (PositionsFrom::Cable, Subject::Part, Some(mm("0.8")))
    );
    assert!(sweep.sweep.reject_outliers);
    // The cable alone says where the positions come from.
    let Work::Sweep(named) = planned(StepKind::Sweep, &[("position_cable", "Scale")]).work else {
        panic!()
    };
    assert_eq!(named.position_cable.as_deref(), Some("scale"));
    assert_eq!(named.sweep.positions, PositionsFrom::Cable);

    let Work::Runout(runout) = planned(
        StepKind::Runout,
        &[
            ("per_turn", "8"),
            ("planes", "5 45mm"),
            ("filter", "50"),
            ("square_to_cone", ""),
            ("radius", "20"),
            ("harmonics", "30"),
            ("limit", "2um"),
            ("at_planes", "-10 60"),
        ],
    )
    .work
    else {
        panic!()
    };
    assert_eq!((runout.per_turn, runout.angles), (8, AnglesFrom::Clock));
    assert_eq!(runout.planes, [mm("5"), mm("45")]);
    assert_eq!(
        runout.runout,
        RunoutOptions {
            filter_upr: Some(50),
            square_to_cone: true,
            radius: Some(mm("20")),
            harmonics: Some(30),
            limit: Some(mm("2um")),
            at_planes_mm: vec![-10.0, 60.0],
            ..RunoutOptions::default()
        }
    );
    let Work::Runout(turned) = planned(StepKind::Runout, &[("reversal", "")]).work else {
        panic!()
    };
    assert!(turned.reversal && turned.per_turn == 12);

    let Work::Contact(contact) =
        planned(StepKind::Contact, &[("film", "2um, 5um"), ("bore", "")]).work
    else {
        panic!()
    };
    assert_eq!((contact.film, contact.bore), (Some([2.0, 5.0]), true));

    let Work::Dial(dial) = planned(
        StepKind::Dial,
        &[("nominals", "0 1.005 2"), ("correct", "")],
    )
    .work
    else {
        panic!()
    };
    assert_eq!(dial.nominals, [mm("0"), mm("1.005"), mm("2")]);
    assert!(dial.dial.correct);
}

#[test]
fn a_size_in_each_way() {
    let size = |pairs: &[(&str, &str)]| match planned(StepKind::Size, pairs).work {
        Work::Size(size) => size,
        other => panic!("{other:?}"),
    };
    let plan = size(&[
        ("planes", "0 24"),
        ("bore", ""),
        ("infeed", "cone"),
        ("diameter_u", "1um"),
        ("plane_u", "0.02"),
        ("temperature", "24,5 °C"),
        ("temperature_u", "0.5K"),
        ("pass_depth", "10um"),
        ("allowance", "0"),
    ]);
    assert_eq!(plan.at, [mm("0"), mm("24")]);
    assert_eq!(
        (plan.size.surface, plan.size.infeed),
        (Surface::Bore, Infeed::Cone)
    );
    assert_eq!(
        (plan.size.pass, plan.size.allowance),
        (Some(mm("10um")), Some(Length::ZERO))
    );
    let warm = plan.size.temperature.unwrap();
    assert_eq!(
        (
            warm.part_c,
            warm.instrument_c,
            warm.u_k,
            warm.expansion_um_per_m_k
        ),
        (24.5, 20.0, Some(0.5), 11.5)
    );
    // A tool alone says how it is measured; its diameter is stated, and its radius kept.
    let rollers = size(&[("rollers", "6"), ("planes", "0 24")]);
    assert_eq!(rollers.by, SizeBy::Rollers { radius: mm("3") });
    assert_eq!(rollers.at, [mm("0"), mm("24")]);
    let balls = size(&[("big_ball", "25"), ("small_ball", "0.5in")]);
    assert_eq!(
        balls.by,
        SizeBy::Balls {
            big: mm("12.5"),
            small: mm("6.35")
        }
    );
    assert_eq!(balls.size.surface, Surface::Bore, "balls lie in a bore");
    assert_eq!(size(&[("by", "stand-off")]).by, SizeBy::StandOff);
}

#[test]
fn another_cable_is_another_indicator() {
    let indicator = |name: &str| planned(StepKind::Sweep, &[("cable", name)]).indicator;
    assert_eq!(indicator("bench"), None, "it is the set-up's already");
    let lever = indicator("LEVER").unwrap();
    assert_eq!(lever.cable.as_deref(), Some("lever"));
    assert_eq!(lever.resolution, Some(mm("0.2um")));
    assert!(lever.lever_angle.is_some());
    let typed = indicator("typed").unwrap();
    assert_eq!((typed.cable, typed.division), (None, Some(mm("2um"))));
}

/// What each kind refuses: the option, what is wrong, and a hint.
#[test]
fn bad_input_is_refused() {
    use StepKind::{Contact, Dial, Runout, Size, Sweep, Zero};
    let beyond = (0..101)
        .map(|i| i.to_string())
        .collect::<Vec<_>>()
        .join(" ");
    for (kind, pairs, message) in [
        (
            Zero,
            &[("condition", "lost")][..],
            "condition: `lost` is none of found, left",
        ),
        (Zero, &[("cable", "bensh")], "there is no cable `bensh`"),
        (
            Zero,
            &[("cable", "scale")],
            "the cable `scale` measures the table's position, not the part",
        ),
        (
            Zero,
            &[("about", "size")],
            "about: `size` is none of angle, level",
        ),
        (
            Zero,
            &[("wheel_diameter", "250")],
            "wheel diameter: it tells what a level axis is worth, and this step is about the angle",
        ),
        (
            Zero,
            &[("about", "level"), ("wheel_diameter", "0")],
            "wheel diameter: `0` is not above zero",
        ),
        (
            Zero,
            &[("about", "level"), ("wheel_diameter", "2000.001")],
            "wheel diameter: 2000.001 mm is out of its domain: above 0 mm, to 2000 mm",
        ),
        (
            Zero,
            &[("about", "level"), ("part_diameter", "-1")],
            "part diameter: `-1` is not above zero",
        ),
        (
            Zero,
            &[("about", "level"), ("height", "high")],
            "height: `high` cannot be read",
        ),
        (
            Zero,
            &[("film", "3um")],
            "a film: options of that name belong to a contact step, and this is a zero step",
        ),
        (
            Sweep,
            &[("positions", "stage")],
            "positions: `stage` is none of stations, cable, feed",
        ),
        (
            Sweep,
            &[("positions", "feed"), ("position_cable", "scale")],
            "position cable: it is named, and the positions come from elsewhere",
        ),
        (
            Sweep,
            &[("position_cable", "skale")],
            "position cable: there is no cable `skale`",
        ),
        (
            Sweep,
            &[("position_cable", "lever")],
            "position cable: the cable `lever` measures the part, not the table's position",
        ),
        (
            Sweep,
            &[("positions", "feed"), ("cable", "typed")],
            "positions: every reading of a stretch of time is wanted, and readings are typed",
        ),
        (Sweep, &[("filter", "0")], "filter: `0` is not above zero"),
        (Sweep, &[("filter", "50upr")], "unknown unit `upr`"),
        (
            Sweep,
            &[("subject", "table")],
            "subject: `table` is none of setup, part",
        ),
        (
            Sweep,
            &[("nominals", "0 1")],
            "nominals: options of that name belong to a dial step, and this is a sweep step",
        ),
        (
            Runout,
            &[("angles", "clocks")],
            "angles: `clocks` is none of clock, turns, steady",
        ),
        (
            Runout,
            &[("angles", "steady"), ("cable", "typed")],
            "angles: every reading of a stretch of time is wanted, and readings are typed",
        ),
        (
            Runout,
            &[("per_turn", "2")],
            "positions in a turn: `2` is out of its domain: a whole number from 3 to 360",
        ),
        (
            Runout,
            &[("per_turn", "361")],
            "a whole number from 3 to 360",
        ),
        (
            Runout,
            &[("per_turn", "8.5")],
            "a whole number from 3 to 360",
        ),
        (
            Runout,
            &[("angles", "turns"), ("per_turn", "8")],
            "positions in a turn: they belong to angles by the clock",
        ),
        (
            Runout,
            &[("angles", "steady"), ("reversal", "")],
            "reversal: both set-ups are read at the same marked angles",
        ),
        (
            Runout,
            &[("planes", "5 45"), ("reversal", "")],
            "planes: a reversal tells part and spindle apart in one plane, and 2 are stated",
        ),
        (
            Runout,
            &[("planes", "5 5.000")],
            "planes: 5 mm is there twice",
        ),
        (
            Runout,
            &[("planes", beyond.as_str())],
            "planes: 101 are too many",
        ),
        (
            Runout,
            &[("planes", "5 45"), ("angles", "turns")],
            "planes: the turn marks of one step belong to one plane, and 2 are stated",
        ),
        (
            Runout,
            &[("at_planes", "60"), ("planes", "5")],
            "at planes: the run-out elsewhere follows from the axis",
        ),
        (
            Runout,
            &[
                ("at_planes", "60"),
                ("planes", "5 45"),
                ("angles", "steady"),
            ],
            "at planes: the run-out elsewhere follows from the axis",
        ),
        (
            Runout,
            &[("at_planes", "60 60"), ("planes", "5 45")],
            "at planes: 60 mm is there twice",
        ),
        (
            Runout,
            &[("filter", "1")],
            "filter: `1` is out of its domain: a whole number from 2 to 5000",
        ),
        (
            Runout,
            &[("filter", "5001")],
            "a whole number from 2 to 5000",
        ),
        (
            Runout,
            &[("filter", "2.5mm")],
            "a whole number from 2 to 5000",
        ),
        (Runout, &[("radius", "0")], "radius: `0` is not above zero"),
        (
            Runout,
            &[("harmonics", "1")],
            "harmonics: `1` is out of its domain: a whole number from 2 to 500",
        ),
        (
            Runout,
            &[("harmonics", "501")],
            "a whole number from 2 to 500",
        ),
        (
            Runout,
            &[("limit", "-2um")],
            "limit: `-2um` is not above zero",
        ),
        (
            Runout,
            &[("by", "rollers")],
            "by: options of that name belong to a size step, and this is a run-out step",
        ),
        (
            Size,
            &[("by", "roller")],
            "by: `roller` is none of sections, stand-off, rollers, balls",
        ),
        (
            Size,
            &[("by", "rollers")],
            "rollers: the diameter is not stated",
        ),
        (
            Size,
            &[("by", "sections"), ("rollers", "6")],
            "rollers: it is stated, and the size is measured in another way",
        ),
        (Size, &[("rollers", "0")], "rollers: `0` is not above zero"),
        (
            Size,
            &[("rollers", "6"), ("bore", "")],
            "bore: rollers lie against an outside taper",
        ),
        (
            Size,
            &[("rollers", "6"), ("planes", "-1")],
            "stacks: `-1` is below zero",
        ),
        (
            Size,
            &[("rollers", "6"), ("planes", "0 0")],
            "stacks: 0 mm is there twice",
        ),
        (
            Size,
            &[("big_ball", "25")],
            "small ball: the diameter is not stated",
        ),
        (
            Size,
            &[("small_ball", "25")],
            "big ball: the diameter is not stated",
        ),
        (
            Size,
            &[("big_ball", "20"), ("small_ball", "20")],
            "big ball: its radius of 10 mm is not above the small ball's of 10 mm",
        ),
        (
            Size,
            &[("by", "stand-off"), ("planes", "0")],
            "planes: a stand-off or two balls are not measured at planes",
        ),
        (
            Size,
            &[("planes", "0 24 0.0")],
            "planes: 0 mm is there twice",
        ),
        (
            Size,
            &[("infeed", "wheel")],
            "infeed: `wheel` is none of axis, cone",
        ),
        (
            Size,
            &[("diameter_u", "0")],
            "uncertainty of a diameter: `0` is not above zero",
        ),
        (
            Size,
            &[("plane_u", "x")],
            "uncertainty of a plane: `x` cannot be read",
        ),
        (
            Size,
            &[("temperature", "-20.1")],
            "temperature: `-20.1` is out of its domain: a number from -20 to 80 °C",
        ),
        (
            Size,
            &[("temperature", "80.1")],
            "a number from -20 to 80 °C",
        ),
        (
            Size,
            &[("temperature", "NaN")],
            "a number from -20 to 80 °C",
        ),
        (
            Size,
            &[("temperature", "24"), ("instrument_temperature", "81")],
            "temperature of the instrument: `81` is out of its domain",
        ),
        (
            Size,
            &[("temperature", "24"), ("expansion", "100.1")],
            "expansion: `100.1` is out of its domain: a number from 0 to 100",
        ),
        (
            Size,
            &[("temperature", "24"), ("temperature_u", "-1")],
            "uncertainty of temperature: `-1` is out of its domain",
        ),
        (
            Size,
            &[("expansion", "11")],
            "expansion: it says nothing without the temperature of the part",
        ),
        (
            Size,
            &[("pass_depth", "0")],
            "depth of a pass: `0` is not above zero",
        ),
        (
            Size,
            &[("pass_depth", "10um"), ("allowance", "-1um")],
            "allowance: `-1um` is below zero",
        ),
        (
            Size,
            &[("allowance", "5um")],
            "allowance: it is what the passes leave for finishing, and no depth of a pass is stated",
        ),
        (
            Contact,
            &[("film", "3")],
            "film: 3 mm is out of its domain: above 0 µm, to 100 µm",
        ),
        (Contact, &[("film", "0um")], "film: `0um` is not above zero"),
        (
            Contact,
            &[("film", "5um,2um")],
            "film: `5um,2um` has the thickest first",
        ),
        (
            Contact,
            &[("film", "1um,2um,3um")],
            "film: `1um,2um,3um` has 3 thicknesses",
        ),
        (
            Contact,
            &[("cable", "bench")],
            "a cable: options of that name belong to a zero or sweep",
        ),
        (
            Dial,
            &[("nominals", "1")],
            "nominals: 1 mm alone is no range",
        ),
        (
            Dial,
            &[("nominals", "0 2 1.5")],
            "nominals: 1.5 mm does not lie above 2 mm",
        ),
        (
            Dial,
            &[("nominals", "0 1 1")],
            "nominals: 1 mm is there twice",
        ),
        (
            Dial,
            &[("nominals", "0 1.0003")],
            "nominals: no block or stack of the kit metric-88 makes 1.0003 mm; the nearest that it makes is 1.0005 mm",
        ),
        (
            Dial,
            &[("nominals", "-1 0")],
            "nominals: no block or stack of the kit metric-88 makes -1 mm; the nearest that it makes is",
        ),
        (
            Dial,
            &[("nominals", "0 1000000")],
            "nominals: no block or stack of the kit metric-88 makes 1000000 mm; the nearest that it makes is",
        ),
        (
            Dial,
            &[("reversal", "")],
            "reversal: options of that name belong to a run-out step, and this is a dial step",
        ),
    ] {
        let config = config(true);
        let refusal = match resolve_step(&config, &setup(&config), kind, &options(pairs)) {
            Ok(plan) => panic!("{kind:?} {pairs:?} was taken: {plan:?}"),
            Err(refusal) => refusal,
        };
        assert!(
            refusal.message.contains(message),
            "{kind:?} {pairs:?}: {refusal}"
        );
        assert!(
            refusal.hint.as_ref().is_some_and(|hint| !hint.is_empty()),
            "{kind:?} {pairs:?} has no hint"
        );
    }
}

/// What the set-up or the configuration would have to say.
#[test]
fn what_a_step_needs_of_the_set_up() {
    use StepKind::{Contact, Runout, Size, Sweep};
    for (kind, pairs, message, hint) in [
        (
            Sweep,
            &[("positions", "cable")][..],
            "positions: no cable of the configuration reports the table's position",
            "write `measures = \"position\"` in the table of that cable, or name it: `--position-cable NAME`",
        ),
        (
            Sweep,
            &[("positions", "feed")],
            "positions: a steady feed goes from one station to another, and the set-up states none",
            "state the distance from A to B with the set-up: `--span 80`",
        ),
        (
            Runout,
            &[("square_to_cone", "")],
            "square to the cone: the correction needs the taper's half angle, and none is stated",
            "state it with the set-up: `--taper 1:12`; or leave the correction out",
        ),
        (
            Size,
            &[("rollers", "6")],
            "rollers: this needs the taper's half angle, and no taper is stated",
            "state it with the set-up: `--taper 1:12`",
        ),
        (
            Contact,
            &[],
            "a print says nothing of an angle without the length that it is on, and none is stated",
            "state it with the set-up: `--length 30`",
        ),
    ] {
        let refusal =
            resolve_step(&config(false), &Setup::default(), kind, &options(pairs)).unwrap_err();
        assert_eq!(
            (refusal.message.as_str(), refusal.hint.as_deref()),
            (message, Some(hint))
        );
    }
    // The set-up's own position cable holds, whatever the configuration has become.
    let setup = Setup {
        position_cable: Some("gone".to_owned()),
        indicator: Indicator {
            cable: Some("bench".to_owned()),
            ..Indicator::default()
        },
        ..Setup::default()
    };
    let plan = resolve_step(
        &config(true),
        &setup,
        Sweep,
        &options(&[("positions", "cable")]),
    );
    let Work::Sweep(sweep) = plan.unwrap().work else {
        panic!()
    };
    assert_eq!(sweep.position_cable.as_deref(), Some("gone"));
}

/// At the limits themselves.
#[test]
fn limits_are_in() {
    use StepKind::{Contact, Runout, Size, Zero};
    for (kind, pairs) in [
        (Zero, &[("about", "level"), ("wheel_diameter", "2000")][..]),
        (Runout, &[("per_turn", "3")]),
        (Runout, &[("per_turn", "360")]),
        (Runout, &[("filter", "2")]),
        (Runout, &[("filter", "5000")]),
        (Runout, &[("harmonics", "500")]),
        (Size, &[("temperature", "-20")]),
        (Size, &[("temperature", "80C")]),
        (Size, &[("temperature", "24"), ("expansion", "0")]),
        (Contact, &[("film", "100um")]),
    ] {
        planned(kind, pairs);
    }
}
