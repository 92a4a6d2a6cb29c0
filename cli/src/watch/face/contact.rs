//! Contact by marking dye: the three zones, and what the print proves.

use super::{Face, Sign, Strip, Table, Value};
use crate::watch::advice::Advice;
use crate::watch::figures::signed;
use crate::watch::state::Watch;
use metrology::contact::{AtTolerance, BARE_PERCENT, ContactOptions, ContactOutcome};
use protocol::api::Status;
use protocol::evidence::Place;
use protocol::fold::Outcome;
use ratatui::style::Color;

fn contact(status: &Status) -> Option<&ContactOutcome> {
    let Outcome::Contact(contact) = status.outcome.as_ref()? else {
        return None;
    };
    Some(contact)
}

pub fn face(watch: &Watch, status: &Status, plan: &ContactOptions, now_s: f64) -> Face {
    let contact = contact(status);
    let zones = contact.map(|c| {
        let z = c.zones;
        [z.big_percent, z.middle_percent, z.small_percent]
    });
    let names = ["BIG END", "MIDDLE", "SMALL END"];
    let must = names.iter().enumerate().map(|(i, name)| {
        let percent = zones.map(|zones| zones[i]);
        let mut value = Value::computed(
            watch,
            *name,
            percent.map(|percent| format!("{percent:.0}")),
            match percent {
                Some(percent) if percent < BARE_PERCENT => "%, BARE",
                Some(_) => "% printed",
                None => "not judged yet",
            },
        );
        "100".clone_into(&mut value.widest);
        value
    });
    let mut face = Face {
        must: must.collect(),
        ..Face::idle(watch, now_s)
    };
    let Some(contact) = contact else { return face };
    if let Some(zones) = zones {
        face.strip = Strip::Zones(zones);
    }
    match (contact.at_tolerance, plan.found_arcsec) {
        (Some(AtTolerance::ProvesNothing), _) => "the print proves nothing at this tolerance",
        (_, Some(_)) => "the print is too rough to be held against what was found",
        (_, None) => "no zero or sweep found a half angle to hold it against",
    }
    .clone_into(&mut face.undecided);
    face.sign = contact.consistent.map(|consistent| Sign {
        word: if consistent {
            "AGREES"
        } else {
            "DOES NOT AGREE"
        }
        .to_owned(),
        colour: if consistent { Color::Green } else { Color::Red },
        parts: plan
            .found_arcsec
            .map_or_else(Vec::new, |[error, expanded]| {
                vec![format!(
                    "half angle found off by {} ± {expanded:.1} arcsec",
                    signed(error, 1)
                )]
            }),
    });
    let mut worth = vec![contact.worth()];
    worth.extend(contact.beside_tolerance());
    face.fact("GAP", worth);
    let [thin, thick] = contact.film_um;
    face.fact(
        "PRINT",
        vec![
            contact.bears().to_owned(),
            format!("{:.0} % of the whole", contact.contact_percent),
            format!("judged by eye, with a film of {thin} to {thick} µm"),
        ],
    );
    face
}

pub fn advice(status: &Status) -> Advice {
    Advice::say(if contact(status).is_some() {
        "Ground again? Wipe, dye, print, and judge anew: space. The last print counts."
    } else {
        "Dye it thinly, seat it in its mate, turn it a little, draw it. Space: judge the print."
    })
}

/// The prints, the newest last.
pub fn table(status: &Status) -> Option<Table> {
    let rows = status.marks.iter().filter_map(|mark| {
        let Some(Place::Print(zones)) = &mark.at else {
            return None;
        };
        Some(format!(
            "{:>5} {:>9.0} {:>9.0} {:>9.0}",
            mark.number, zones.big_percent, zones.middle_percent, zones.small_percent
        ))
    });
    Some(Table {
        head: format!(
            "{:>5} {:>9} {:>9} {:>9}",
            "mark", "big %", "middle %", "small %"
        ),
        rows: rows.collect(),
        newest_last: true,
    })
}
