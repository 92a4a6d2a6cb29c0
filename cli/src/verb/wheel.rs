//! `wheel`: surface speed against the marked limit, as an aid with cautions.

use crate::args::WheelArgs;
use crate::layout::Pairs;
use crate::{Answer, Exit, Failure};
use config::shipped::{Occasion, cautions_for};
use metrology::wheel::{PREVAILS, SpeedCheck};
use metrology::{Shown, Unit};
use serde_json::json;

pub(super) fn run(args: &WheelArgs) -> Result<Answer, Failure> {
    let diameter = Shown::parse(&args.diameter, Unit::Mm, None)
        .map_err(|e| {
            Failure::bad_value(format!("diameter: {e}"))
                .hint("write it like `--diameter 250`; a bare number is in mm")
        })?
        .value;
    let check = SpeedCheck::new(diameter, args.speed, args.marked).map_err(|e| {
        Failure::bad_value(e.to_string()).hint(
            "diameter in mm, speed in turns a minute, marking in m/s: `--diameter 250 --speed 2600 --marked 35`",
        )
    })?;
    let mut pairs = Pairs::default();
    pairs.add("surface speed", format!("{:.1} m/s", check.speed_m_per_s));
    pairs.add("marked", format!("{} m/s", check.marked_m_per_s));
    // The turns at which the marked speed is reached; shown rounded down, never above it.
    let most = args.speed * check.marked_m_per_s / check.speed_m_per_s;
    pairs.add("reached at", format!("{:.0} turns a minute", most.floor()));
    let text = if check.too_fast() {
        format!("too fast: do not run it\n{}{PREVAILS}\n", pairs.text())
    } else {
        format!(
            "not above the marked speed; this is no permission\n{}{PREVAILS}\n",
            pairs.text()
        )
    };
    let cautions: Vec<String> = cautions_for(&[Occasion::Grind])
        .map(|caution| caution.text.clone())
        .collect();
    let talk: Vec<String> = cautions.iter().map(|c| format!("caution: {c}")).collect();
    let content = json!({
        "diameter_mm": diameter.mm(),
        "speed_per_min": args.speed,
        "surface_speed_m_per_s": check.speed_m_per_s,
        "marked_m_per_s": check.marked_m_per_s,
        "marked_reached_per_min": most,
        "too_fast": check.too_fast(),
        "prevails": PREVAILS,
        "cautions": cautions,
    });
    let exit = if check.too_fast() {
        Exit::OutOfTolerance
    } else {
        Exit::Done
    };
    Ok(Answer::new(text, &content)?
        .talk(talk.join("\n"))
        .exit(exit))
}
