//! Contact by marking dye: the three zones, and what the print proves.

use super::parts::{Advice, Column, Listing, Meaning, Screen, Sign, Strip, Table, Value};
use super::shown::{Open, Shown};
use super::units::signed;
use crate::api::Status;
use crate::evidence::Place;
use crate::sheet::contact::film;
use crate::step::ContactPlan;
use metrology::contact::{AtTolerance, BARE_PERCENT, Zones};

impl Shown for ContactPlan {
    const UNPLANNED: &'static str = "a print";

    fn advice(open: &Open<'_, Self>) -> Advice {
        Advice::say(if open.found.is_some() {
            "Ground again? Wipe, dye, print, and judge anew: space. The last print counts."
        } else {
            "Dye it thinly, seat it in its mate, turn it a little, draw it. Space: judge the print."
        })
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        screen.must = zones(open);
        let Some(contact) = open.found else { return };
        screen.strip = Strip::Zones(percents(&contact.zones));
        match (contact.at_tolerance, open.step.found_arcsec) {
            (Some(AtTolerance::ProvesNothing), _) => "the print proves nothing at this tolerance",
            (_, Some(_)) => "the print is too rough to be held against what was found",
            (_, None) => "no zero or sweep found a half angle to hold it against",
        }
        .clone_into(&mut screen.undecided);
        screen.sign = contact
            .consistent
            .map(|agrees| sign(agrees, open.step.found_arcsec));
        let mut worth = vec![contact.worth()];
        worth.extend(contact.beside_tolerance());
        screen.fact("GAP", worth);
        let film = film(contact.film_um, open.seen.units);
        screen.fact(
            "PRINT",
            vec![
                contact.bears().to_owned(),
                format!("{:.0} % of the whole", contact.contact_percent),
                format!("judged by eye, with a film of {film}"),
            ],
        );
    }

    /// The prints, the newest last.
    fn listing(open: &Open<'_, Self>) -> Option<Listing> {
        Some(Listing::Table(prints(open.status)))
    }
}

const fn percents(zones: &Zones) -> [f64; 3] {
    [zones.big_percent, zones.middle_percent, zones.small_percent]
}

fn zones(open: &Open<'_, ContactPlan>) -> Vec<Value> {
    let names = ["BIG END", "MIDDLE", "SMALL END"];
    let zones = open.found.map(|contact| percents(&contact.zones));
    let zone = |(i, name): (usize, &str)| {
        let percent = zones.map(|zones| zones[i]);
        let under = match percent {
            Some(percent) if percent < BARE_PERCENT => "%, BARE",
            Some(_) => "% printed",
            None => "not judged yet",
        };
        let value = percent.map(|percent| format!("{percent:.0}"));
        Value::computed(open.seen, name, value, under).widest("100")
    };
    names.into_iter().enumerate().map(zone).collect()
}

fn sign(agrees: bool, found_arcsec: Option<[f64; 2]>) -> Sign {
    let (word, meaning) = if agrees {
        ("AGREES", Meaning::Good)
    } else {
        ("DOES NOT AGREE", Meaning::Bad)
    };
    let against = |[error, expanded]: [f64; 2]| {
        let error = signed(error, 1);
        format!("half angle found off by {error} ± {expanded:.1} arcsec")
    };
    Sign {
        word: word.to_owned(),
        meaning,
        parts: found_arcsec.map(against).into_iter().collect(),
    }
}

fn prints(status: &Status) -> Table {
    let rows = status.marks.iter().filter_map(|mark| {
        let Some(Place::Print(zones)) = &mark.at else {
            return None;
        };
        let zones = percents(zones).map(|percent| format!("{percent:.0}"));
        Some([vec![mark.number.to_string()], zones.to_vec()].concat())
    });
    let columns = [
        Column::right("mark", 5),
        Column::right("big %", 9),
        Column::right("middle %", 9),
        Column::right("small %", 9),
    ];
    Table::newest_last(columns, rows)
}
