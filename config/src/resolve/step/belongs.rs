//! Which option belongs to which kind of step.

use super::bad;
use protocol::api::{Refusal, StepOptions};
use protocol::plan::StepKind;
use protocol::plan::StepKind::{Contact, Dial, Runout, Size, Sweep, Zero};

/// Refuses an option that says nothing in this kind of step: it would be left unused without a word.
pub(super) fn check(kind: StepKind, options: &StepOptions) -> Result<(), Refusal> {
    // Every field by name, so that a new one cannot be forgotten here.
    let StepOptions {
        cable,
        condition: _,
        about,
        wheel_diameter,
        part_diameter,
        height,
        positions,
        position_cable,
        filter,
        reject_outliers,
        subject,
        angles,
        per_turn,
        planes,
        stacks,
        reversal,
        square_to_cone,
        radius,
        harmonics,
        limit,
        at_planes,
        by,
        rollers,
        big_ball,
        small_ball,
        bore,
        infeed,
        diameter_u,
        plane_u,
        temperature,
        instrument_temperature,
        temperature_u,
        expansion,
        pass_depth,
        allowance,
        film,
        nominals,
        correct,
    } = options;
    let stated: [(&str, bool, &[StepKind]); 37] = [
        (
            "a cable",
            cable.is_some(),
            &[Zero, Sweep, Runout, Size, Dial],
        ),
        ("about", about.is_some(), &[Zero]),
        ("a wheel diameter", wheel_diameter.is_some(), &[Zero]),
        ("a part diameter", part_diameter.is_some(), &[Zero]),
        ("a height", height.is_some(), &[Zero]),
        ("positions", positions.is_some(), &[Sweep]),
        ("a position cable", position_cable.is_some(), &[Sweep]),
        ("a filter", filter.is_some(), &[Sweep, Runout]),
        ("reject outliers", *reject_outliers, &[Sweep, Runout]),
        ("a subject", subject.is_some(), &[Sweep]),
        ("angles", angles.is_some(), &[Runout]),
        ("positions in a turn", per_turn.is_some(), &[Runout]),
        ("planes", !planes.is_empty(), &[Runout, Size]),
        ("stacks", !stacks.is_empty(), &[Size]),
        ("reversal", *reversal, &[Runout]),
        ("square to the cone", *square_to_cone, &[Runout]),
        ("a radius", radius.is_some(), &[Runout]),
        ("harmonics", harmonics.is_some(), &[Runout]),
        ("a limit", limit.is_some(), &[Runout]),
        (
            "planes at which the run-out is wanted",
            !at_planes.is_empty(),
            &[Runout],
        ),
        ("by", by.is_some(), &[Size]),
        ("rollers", rollers.is_some(), &[Size]),
        ("a big ball", big_ball.is_some(), &[Size]),
        ("a small ball", small_ball.is_some(), &[Size]),
        ("a bore", *bore, &[Size, Contact]),
        ("an infeed", infeed.is_some(), &[Size]),
        (
            "an uncertainty of a diameter",
            diameter_u.is_some(),
            &[Size],
        ),
        ("an uncertainty of a plane", plane_u.is_some(), &[Size]),
        ("a temperature", temperature.is_some(), &[Size]),
        (
            "a temperature of the instrument",
            instrument_temperature.is_some(),
            &[Size],
        ),
        (
            "an uncertainty of temperature",
            temperature_u.is_some(),
            &[Size],
        ),
        ("an expansion", expansion.is_some(), &[Size]),
        ("a depth of a pass", pass_depth.is_some(), &[Size]),
        ("an allowance", allowance.is_some(), &[Size]),
        ("a film", film.is_some(), &[Contact]),
        ("nominals", !nominals.is_empty(), &[Dial]),
        ("correct", *correct, &[Dial]),
    ];
    let astray = stated
        .iter()
        .find(|(_, stated, kinds)| *stated && !kinds.contains(&kind));
    let Some((what, _, kinds)) = astray else {
        return Ok(());
    };
    let words: Vec<&str> = kinds.iter().map(|kind| kind.word()).collect();
    Err(bad(
        format!(
            "{what}: options of that name belong to a {} step, and this is a {} step",
            words.join(" or "),
            kind.word()
        ),
        format!("leave it out, or open a {} step", words[0]),
    ))
}
