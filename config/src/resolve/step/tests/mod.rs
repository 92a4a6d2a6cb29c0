//! Options in, a plan or a refusal out.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

mod form;
mod refused;

use super::*;
use crate::resolve::resolve;
use metrology::Length;
use metrology::runout::RunoutOptions;
use metrology::size::{Infeed, Surface};
use metrology::sweep::{PositionsFrom, Subject};
use protocol::api::SetupOptions;
use protocol::plan::{About, AnglesFrom, SizeBy, StepKind, Work};

/// Options from `key=value` pairs as the API has them; a list's values stand between blanks.
fn options(kind: StepKind, pairs: &[(&str, &str)]) -> StepOptions {
    let mut request = serde_json::Map::new();
    request.insert("kind".to_owned(), kind.name().into());
    for (key, value) in pairs {
        let value = match *key {
            "planes" | "stacks" | "at_planes" | "nominals" => {
                value.split_whitespace().collect::<Vec<_>>().into()
            }
            "reject_outliers" | "reversal" | "square_to_cone" | "bore" | "correct" => true.into(),
            _ => serde_json::Value::from(*value),
        };
        request.insert((*key).to_owned(), value);
    }
    StepOptions::try_from(request).unwrap_or_else(|e| panic!("{kind:?} {pairs:?}: {e}"))
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
    resolve_step(&config, &setup(&config), &options(kind, pairs))
        .unwrap_or_else(|e| panic!("{kind:?} {pairs:?}: {e} ({:?})", e.hint))
}

fn mm(text: &str) -> Length {
    text.parse().expect(text)
}

#[test]
fn nothing_stated_is_the_usual_plan() {
    for kind in StepKind::ALL {
        let mut usual = Plan::usual(kind);
        if let Work::Size(size) = &mut usual.work {
            // Records of before lack it, and keep their results.
            size.pooled = true;
        }
        assert_eq!(planned(kind, &[]), usual);
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
    assert_eq!(plan.size.within, Some(mm("2um")), "the usual");
    let within = size(&[("pass_depth", "10um"), ("within", "5um")]);
    assert_eq!(within.size.within, Some(mm("5um")));
    assert_eq!(size(&[("planes", "0 24")]).size.within, None);
    let wheel = size(&[
        ("wheel_width", "20"),
        ("overlap", "0.9"),
        ("lead_out", "0"),
        ("blend_radius", "0.5"),
    ]);
    assert_eq!(
        (wheel.size.wheel_width, wheel.size.overlap),
        (Some(mm("20")), Some(0.9))
    );
    assert_eq!(
        (wheel.size.lead_out, wheel.size.blend_radius),
        (Some(Length::ZERO), Some(mm("0.5")))
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
    let rollers = size(&[("rollers", "6"), ("stacks", "0 24")]);
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
