//! `taper`: the numbers of one, or the list.

use crate::layout::{Pairs, Table};
use crate::{Answer, Failure};
use config::Config;
use metrology::taper::Taper;
use protocol::style::Style;
use serde_json::{Value, json};

pub(super) fn run(config: &Config, spec: &str, style: Style) -> Result<Answer, Failure> {
    if spec.is_empty() {
        let tapers: Vec<Value> = config.all_tapers().map(content).collect();
        return Answer::new(
            list(config.all_tapers(), style),
            &json!({ "tapers": tapers }),
        );
    }
    let taper = config.taper(spec)?;
    Answer::new(text(&taper, style), &content(&taper))
}

/// The taper as `--json` gives it: the stored numbers and those that follow from them.
fn content(taper: &Taper) -> Value {
    let mut content = json!(taper);
    content["ratio_n"] = json!(taper.half_angle.ratio_n());
    content["included_angle_deg"] = json!(2.0 * taper.half_angle.deg());
    content
}

fn text(taper: &Taper, style: Style) -> String {
    let mut pairs = Pairs::default();
    pairs.add("half angle", style.angle(taper.half_angle));
    pairs.add("included angle", style.angle(taper.half_angle * 2.0));
    pairs.add(
        "on diameter",
        format!(
            "1:{:.5}  {:.5} in/ft",
            taper.half_angle.ratio_n(),
            12.0 / taper.half_angle.ratio_n()
        ),
    );
    pairs.add_some(
        "gauge diameter",
        taper.gauge_diameter.map(|d| style.length(d)),
    );
    pairs.add_some(
        "small diameter",
        taper.small_diameter.map(|d| style.length(d)),
    );
    pairs.add_some("length", taper.length.map(|l| style.length(l)));
    pairs.add("source", &taper.source);
    format!("{}\n{}", taper.name, pairs.text())
}

fn list<'a>(tapers: impl Iterator<Item = &'a Taper>, style: Style) -> String {
    let unit = style.long_sign();
    let [gauge, length] = ["gauge", "length"].map(|of| format!("{of} {unit}"));
    let mut table = Table::new(&["taper", "half angle", "1:n", &gauge, &length]);
    for taper in tapers {
        table.row([
            taper.name.clone(),
            format!("{:.7}°", taper.half_angle.deg()),
            format!("{:.5}", taper.half_angle.ratio_n()),
            taper
                .gauge_diameter
                .map_or(String::new(), |d| style.length_number(d)),
            taper
                .length
                .map_or(String::new(), |l| style.length_number(l)),
        ]);
    }
    table.text()
}
