//! The plan of a session as `session open` and `session show` print it.

use crate::layout::Pairs;
use metrology::setup::Setup;
use protocol::style::Style;

/// What is to be set, and what the stack really sets.
pub(super) fn plan(setup: &Setup, style: Style) -> String {
    let mut pairs = Pairs::default();
    if let Some(taper) = &setup.taper {
        pairs.add("taper", &taper.name);
        pairs.add("half angle", style.angle(taper.half_angle));
    }
    pairs.add_some("length", setup.length.map(|l| style.length(l)));
    pairs.add_some("tolerance", setup.tolerance.map(|t| style.tolerance(t)));
    if let Some(stack) = &setup.stack {
        let of = setup
            .kit
            .as_ref()
            .map_or(String::new(), |k| format!(" of {}", k.name));
        pairs.add(
            "stack",
            format!("{}{of}", style.blocks(&stack.blocks, setup.kit.as_ref())),
        );
        let mut sets = style.length(stack.sum);
        if let Some(deg) = stack.angle_set_deg {
            sets.push_str(&format!(", half angle {deg:.7}°"));
        }
        if let Some(error) = stack.angle_error_arcsec {
            sets.push_str(&format!(", {} from the wanted one", style.arcsec(error)));
        }
        pairs.add("sets", sets);
    }
    let stations: Vec<String> = setup
        .stations
        .iter()
        .map(|s| format!("{} at {}", s.name, style.length(s.position)))
        .collect();
    pairs.add_some(
        "stations",
        (!stations.is_empty()).then(|| stations.join(", ")),
    );
    pairs.add_some("fixture", setup.fixture.as_ref().map(|f| f.name.clone()));
    pairs.add(
        "indicator",
        setup
            .indicator
            .cable
            .as_ref()
            .map_or("readings are typed".to_owned(), |c| format!("cable {c}")),
    );
    pairs.text()
}
