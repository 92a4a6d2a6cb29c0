//! `taper`: the numbers of one, or the list.

use crate::layout::{Pairs, Table, angle};
use crate::{Answer, Failure};
use config::Config;
use metrology::Unit;
use metrology::taper::Taper;
use serde_json::{Value, json};

pub(super) fn run(config: &Config, spec: &str) -> Result<Answer, Failure> {
    if spec.is_empty() {
        let tapers: Vec<Value> = config.all_tapers().map(content).collect();
        return Answer::new(list(config.all_tapers()), &json!({ "tapers": tapers }));
    }
    let taper = config.taper(spec)?;
    Answer::new(text(&taper), &content(&taper))
}

/// The taper as `--json` gives it: the stored numbers and those that follow from them.
fn content(taper: &Taper) -> Value {
    let mut content = json!(taper);
    content["ratio_n"] = json!(taper.half_angle.ratio_n());
    content["included_angle_deg"] = json!(2.0 * taper.half_angle.deg());
    content
}

fn text(taper: &Taper) -> String {
    let mut pairs = Pairs::default();
    pairs.add("half angle", angle(taper.half_angle));
    pairs.add("included angle", angle(taper.half_angle * 2.0));
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
        taper.gauge_diameter.map(|d| d.to_string()),
    );
    pairs.add_some(
        "small diameter",
        taper.small_diameter.map(|d| d.to_string()),
    );
    pairs.add_some("length", taper.length.map(|l| l.to_string()));
    pairs.add("source", &taper.source);
    format!("{}\n{}", taper.name, pairs.text())
}

fn list<'a>(tapers: impl Iterator<Item = &'a Taper>) -> String {
    let mut table = Table::new(&["taper", "half angle", "1:n", "gauge mm", "length mm"]);
    for taper in tapers {
        table.row([
            taper.name.clone(),
            format!("{:.7}°", taper.half_angle.deg()),
            format!("{:.5}", taper.half_angle.ratio_n()),
            taper
                .gauge_diameter
                .map_or(String::new(), |d| d.decimal(Unit::Mm)),
            taper.length.map_or(String::new(), |l| l.decimal(Unit::Mm)),
        ]);
    }
    table.text()
}
