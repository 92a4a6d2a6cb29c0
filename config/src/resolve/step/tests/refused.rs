//! What is refused, with its exact words and a hint.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

use super::*;
use metrology::setup::Indicator;

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
            "--as: `lost` is not one of found, left",
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
            "--about: `size` is not one of angle, level",
        ),
        (
            Zero,
            &[("wheel_diameter", "250")],
            "`--wheel` applies only to zero steps about level",
        ),
        (
            Zero,
            &[("about", "level"), ("wheel_diameter", "0")],
            "--wheel: `0` is not above zero",
        ),
        (
            Zero,
            &[("about", "level"), ("wheel_diameter", "2000.001")],
            "--wheel: 2000.001 mm is out of range: above 0 mm, to 2000 mm",
        ),
        (
            Zero,
            &[("about", "level"), ("part_diameter", "-1")],
            "--part: `-1` is not above zero",
        ),
        (
            Zero,
            &[("about", "level"), ("height", "high")],
            "--height: `high` cannot be read",
        ),
        (
            Sweep,
            &[("positions", "stage")],
            "--positions: `stage` is not one of stations, cable, feed",
        ),
        (
            Sweep,
            &[("positions", "feed"), ("position_cable", "scale")],
            "`--position-cable` applies only to positions by cable",
        ),
        (
            Sweep,
            &[("position_cable", "skale")],
            "--position-cable: there is no cable `skale`",
        ),
        (
            Sweep,
            &[("position_cable", "lever")],
            "--position-cable: the cable `lever` measures the part, not the table's position",
        ),
        (
            Sweep,
            &[("positions", "feed"), ("cable", "typed")],
            "--positions: this records every reading of a stretch of time, and the readings are typed",
        ),
        (Sweep, &[("filter", "0")], "--filter: `0` is not above zero"),
        (Sweep, &[("filter", "50upr")], "unknown unit `upr`"),
        (
            Sweep,
            &[("subject", "table")],
            "--subject: `table` is not one of setup, part",
        ),
        (
            Runout,
            &[("angles", "clocks")],
            "--angles: `clocks` is not one of clock, turns, steady",
        ),
        (
            Runout,
            &[("angles", "steady"), ("cable", "typed")],
            "--angles: this records every reading of a stretch of time, and the readings are typed",
        ),
        (
            Runout,
            &[("per_turn", "2")],
            "--per-turn: `2` is out of range: a whole number from 3 to 360",
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
            "`--per-turn` applies only to angles by the clock",
        ),
        (
            Runout,
            &[("angles", "steady"), ("reversal", "")],
            "`--reversal` applies only to angles by the clock",
        ),
        (
            Runout,
            &[("planes", "5 45"), ("reversal", "")],
            "--planes: a reversal is of one plane, and 2 planes are stated",
        ),
        (
            Runout,
            &[("planes", "5 5.000")],
            "--planes: 5 mm is stated twice",
        ),
        (
            Runout,
            &[("planes", beyond.as_str())],
            "--planes: 101 lengths are stated, and 100 is the most",
        ),
        (
            Runout,
            &[("planes", "5 45"), ("angles", "turns")],
            "--planes: turn marks are of one plane, and 2 planes are stated",
        ),
        (
            Runout,
            &[("at_planes", "60"), ("planes", "5")],
            "--at-planes: the run-out elsewhere follows from the axis",
        ),
        (
            Runout,
            &[
                ("at_planes", "60"),
                ("planes", "5 45"),
                ("angles", "steady"),
            ],
            "--at-planes: the run-out elsewhere follows from the axis",
        ),
        (
            Runout,
            &[("at_planes", "60 60"), ("planes", "5 45")],
            "--at-planes: 60 mm is stated twice",
        ),
        (
            Runout,
            &[("filter", "1")],
            "--filter: `1` is out of range: a whole number from 2 to 5000",
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
        (
            Runout,
            &[("radius", "0")],
            "--radius: `0` is not above zero",
        ),
        (
            Runout,
            &[("harmonics", "1")],
            "--harmonics: `1` is out of range: a whole number from 2 to 500",
        ),
        (
            Runout,
            &[("harmonics", "501")],
            "a whole number from 2 to 500",
        ),
        (
            Runout,
            &[("limit", "-2um")],
            "--limit: `-2um` is not above zero",
        ),
        (
            Size,
            &[("by", "roller")],
            "--by: `roller` is not one of sections, stand-off, rollers, balls",
        ),
        (
            Size,
            &[("by", "rollers")],
            "--rollers: the diameter is not stated",
        ),
        (
            Size,
            &[("by", "sections"), ("rollers", "6")],
            "`--rollers` applies only to a size by rollers",
        ),
        (
            Size,
            &[("rollers", "6"), ("planes", "0 24")],
            "`--planes` does not apply over rollers",
        ),
        (
            Size,
            &[("stacks", "0 24")],
            "`--stacks` applies only to a size by rollers, and no rollers are stated",
        ),
        (
            Size,
            &[("rollers", "6"), ("plane_u", "0.02")],
            "--plane-u: `0.02` is stated, and over rollers nothing is measured at planes",
        ),
        (
            Size,
            &[
                ("big_ball", "25"),
                ("small_ball", "20"),
                ("plane_u", "0.02"),
            ],
            "--plane-u: `0.02` is stated, and with two balls nothing is measured at planes",
        ),
        (
            Size,
            &[("rollers", "0")],
            "--rollers: `0` is not above zero",
        ),
        (
            Size,
            &[("rollers", "6"), ("bore", "")],
            "--bore: rollers lie against an outside taper",
        ),
        (
            Size,
            &[("rollers", "6"), ("stacks", "-1")],
            "--stacks: `-1` is below zero",
        ),
        (
            Size,
            &[("rollers", "6"), ("stacks", "0 0")],
            "--stacks: 0 mm is stated twice",
        ),
        (
            Size,
            &[("big_ball", "25")],
            "--small-ball: the diameter is not stated",
        ),
        (
            Size,
            &[("small_ball", "25")],
            "--big-ball: the diameter is not stated",
        ),
        (
            Size,
            &[("big_ball", "20"), ("small_ball", "20")],
            "--big-ball: its radius of 10 mm is not above the small ball's of 10 mm",
        ),
        (
            Size,
            &[("by", "stand-off"), ("planes", "0")],
            "`--planes` does not apply to a stand-off or to balls",
        ),
        (
            Size,
            &[("planes", "0 24 0.0")],
            "--planes: 0 mm is stated twice",
        ),
        (
            Size,
            &[("infeed", "wheel")],
            "--infeed: `wheel` is not one of axis, cone",
        ),
        (
            Size,
            &[("diameter_u", "0")],
            "--diameter-u: `0` is not above zero",
        ),
        (Size, &[("plane_u", "x")], "--plane-u: `x` cannot be read"),
        (
            Size,
            &[("temperature", "-20.1")],
            "--temperature: `-20.1` is out of range: a number from -20 to 80 °C",
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
            "--instrument-temperature: `81` is out of range",
        ),
        (
            Size,
            &[("temperature", "24"), ("expansion", "100.1")],
            "--expansion: `100.1` is out of range: a number from 0 to 100",
        ),
        (
            Size,
            &[("temperature", "24"), ("temperature_u", "-1")],
            "--temperature-u: `-1` is out of range",
        ),
        (
            Size,
            &[("expansion", "11")],
            "`--expansion` applies only with the temperature of the part",
        ),
        (
            Size,
            &[("pass_depth", "0")],
            "--pass-depth: `0` is not above zero",
        ),
        (
            Size,
            &[("pass_depth", "10um"), ("allowance", "-1um")],
            "--allowance: `-1um` is below zero",
        ),
        (
            Size,
            &[("allowance", "5um")],
            "--allowance: the passes leave it for finishing, and no depth of a pass is stated",
        ),
        (
            Size,
            &[("pass_depth", "10um"), ("within", "0")],
            "--within: `0` is not above zero",
        ),
        (
            Size,
            &[("within", "2um")],
            "--within: it ends the passes, and no depth of a pass is stated",
        ),
        (
            Size,
            &[("overlap", "0.5")],
            "`--overlap` applies only with the width of the wheel",
        ),
        (
            Size,
            &[("lead_out", "2")],
            "`--lead-out` applies only with the width of the wheel",
        ),
        (
            Size,
            &[("blend_radius", "1")],
            "`--blend-radius` applies only with the width of the wheel",
        ),
        (
            Size,
            &[("wheel_width", "0")],
            "--wheel-width: `0` is not above zero",
        ),
        (
            Size,
            &[("wheel_width", "20"), ("overlap", "0.91")],
            "--overlap: `0.91` is out of range",
        ),
        (
            Size,
            &[("wheel_width", "20"), ("lead_out", "-1")],
            "--lead-out: `-1` is below zero",
        ),
        (
            Size,
            &[("wheel_width", "20"), ("blend_radius", "-1")],
            "--blend-radius: `-1` is below zero",
        ),
        (
            Contact,
            &[("film", "3")],
            "--film: 3 mm is out of range: above 0 µm, to 100 µm",
        ),
        (
            Contact,
            &[("film", "0um")],
            "--film: `0um` is not above zero",
        ),
        (
            Contact,
            &[("film", "5um,2um")],
            "--film: `5um,2um` has the thickest first",
        ),
        (
            Contact,
            &[("film", "1um,2um,3um")],
            "--film: `1um,2um,3um` has 3 thicknesses",
        ),
        (
            Dial,
            &[("nominals", "1")],
            "--nominals: 1 mm alone is not a range",
        ),
        (
            Dial,
            &[("nominals", "0 2 1.5")],
            "--nominals: 1.5 mm does not lie above 2 mm",
        ),
        (
            Dial,
            &[("nominals", "0 1 1")],
            "--nominals: 1 mm is stated twice",
        ),
        (
            Dial,
            &[("nominals", "0 1.0003")],
            "--nominals: no block or stack of the kit metric-88 makes 1.0003 mm; the nearest that it makes is 1.0005 mm",
        ),
        (
            Dial,
            &[("nominals", "-1 0")],
            "--nominals: no block or stack of the kit metric-88 makes -1 mm; the nearest that it makes is",
        ),
        (
            Dial,
            &[("nominals", "0 1000000")],
            "--nominals: no block or stack of the kit metric-88 makes 1000000 mm; the nearest that it makes is",
        ),
    ] {
        let config = config(true);
        let refusal = match resolve_step(&config, &setup(&config), &options(kind, pairs)) {
            Ok(plan) => panic!("{kind:?} {pairs:?} was taken: {plan:?}"),
            Err(refusal) => refusal,
        };
        assert!(
            refusal.message.contains(message),
            "{kind:?} {pairs:?}: {refusal}"
        );
        // The flag that the message names is one that the user can type.
        let flag = refusal.message.trim_start_matches('`').strip_prefix("--");
        if let Some(flag) = flag.and_then(|rest| rest.split([':', '`', ' ']).next()) {
            let mut options = kind.options().into_iter();
            let declared = options.any(|option| option.get_long() == Some(flag));
            assert!(declared, "{kind:?} has no --{flag}: {refusal}");
        }
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
            "--positions cable: no cable of the configuration reports the table's position",
            "write `measures = \"position\"` in the table of that cable, or name it: `--position-cable NAME`",
        ),
        (
            Sweep,
            &[("positions", "feed")],
            "--positions feed: a steady feed goes from one station to another, and the set-up states none",
            "state the distance from A to B with the set-up: `--span 80`",
        ),
        (
            Runout,
            &[("square_to_cone", "")],
            "--square-to-cone: the correction needs the taper's half angle, and no taper is stated",
            "state it with the set-up: `--taper 1:12`; or leave `--square-to-cone` out",
        ),
        (
            Size,
            &[("rollers", "6")],
            "--rollers: this needs the taper's half angle, and no taper is stated",
            "state it with the set-up: `--taper 1:12`",
        ),
        (
            Contact,
            &[],
            "a contact print needs the length of the taper, and none is stated",
            "state it with the set-up: `--length 30`",
        ),
    ] {
        let refusal =
            resolve_step(&config(false), &Setup::default(), &options(kind, pairs)).unwrap_err();
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
        &options(Sweep, &[("positions", "cable")]),
    );
    let Work::Sweep(sweep) = plan.unwrap().work else {
        panic!()
    };
    assert_eq!(sweep.position_cable.as_deref(), Some("gone"));
}
