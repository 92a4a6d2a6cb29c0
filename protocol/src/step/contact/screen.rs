//! Contact by marking dye: the three zones, and what the print proves.

use super::sheet::{bears, beside_tolerance, film, worth};
use crate::api::Status;
use crate::evidence::Place;
use crate::said;
use crate::screen::parts::{Advice, Column, Listing, Meaning, Screen, Sign, Strip, Table, Value};
use crate::screen::shown::{Open, Shown};
use crate::step::ContactPlan;
use crate::style::Style;
use metrology::contact::{AtTolerance, BARE_PERCENT, Zones};

impl Shown for ContactPlan {
    fn unplanned(style: Style) -> String {
        said!(style, "live-a-print")
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        let style = open.seen.units;
        let text = if open.found.is_some() {
            said!(style, "live-print-again")
        } else {
            said!(style, "live-print-first")
        };
        Advice::say(style, text)
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let style = open.seen.units;
        screen.must = zones(open);
        let Some(contact) = open.found else { return };
        screen.strip = Strip::Zones(percents(&contact.zones));
        screen.undecided = match (contact.at_tolerance, open.step.found_arcsec) {
            (Some(AtTolerance::ProvesNothing), _) => said!(style, "live-print-proves-nothing"),
            (_, Some(_)) => said!(style, "live-print-too-rough"),
            (_, None) => said!(style, "live-print-alone"),
        };
        screen.sign = contact
            .consistent
            .map(|agrees| sign(agrees, open.step.found_arcsec, style));
        let mut gap = vec![worth(contact, style)];
        gap.extend(beside_tolerance(contact, style));
        screen.fact(said!(style, "live-label-gap"), gap);
        let percent = style.number(contact.contact_percent, 0);
        let film = film(contact.film_um, style);
        screen.fact(
            said!(style, "live-label-print"),
            vec![
                bears(contact, style),
                said!(style, "live-of-the-whole", percent = percent),
                said!(style, "live-by-eye", film = film),
            ],
        );
    }

    /// The prints, the newest last.
    fn listing(open: &Open<'_, Self>) -> Option<Listing> {
        Some(Listing::Table(prints(open.status, open.seen.units)))
    }
}

const fn percents(zones: &Zones) -> [f64; 3] {
    [zones.big_percent, zones.middle_percent, zones.small_percent]
}

fn zones(open: &Open<'_, ContactPlan>) -> Vec<Value> {
    let style = open.seen.units;
    let names = [
        said!(style, "live-label-big-end"),
        said!(style, "live-label-middle"),
        said!(style, "live-label-small-end"),
    ];
    let zones = open.found.map(|contact| percents(&contact.zones));
    let zone = |(i, name): (usize, String)| {
        let percent = zones.map(|zones| zones[i]);
        let under = match percent {
            Some(percent) if percent < BARE_PERCENT => said!(style, "live-bare"),
            Some(_) => said!(style, "live-printed"),
            None => said!(style, "live-not-judged"),
        };
        let value = percent.map(|percent| format!("{percent:.0}"));
        Value::computed(open.seen, name, value, under).widest("100")
    };
    names.into_iter().enumerate().map(zone).collect()
}

fn sign(agrees: bool, found_arcsec: Option<[f64; 2]>, style: Style) -> Sign {
    let (word, meaning) = if agrees {
        (said!(style, "live-agrees"), Meaning::Good)
    } else {
        (said!(style, "live-does-not-agree"), Meaning::Bad)
    };
    let against = |[error, expanded]: [f64; 2]| {
        let (error, u) = (style.with_sign(error, 1), style.number(expanded, 1));
        said!(style, "live-found-off", error = error, u = u)
    };
    Sign {
        word,
        meaning,
        parts: found_arcsec.map(against).into_iter().collect(),
    }
}

fn prints(status: &Status, style: Style) -> Table {
    let rows = status.marks.iter().filter_map(|mark| {
        let Some(Place::Print(zones)) = &mark.at else {
            return None;
        };
        let zones = percents(zones).map(|percent| format!("{percent:.0}"));
        Some([vec![mark.number.to_string()], zones.to_vec()].concat())
    });
    let columns = [
        Column::right(said!(style, "live-column-mark"), 5),
        Column::right(said!(style, "live-column-big"), 9),
        Column::right(said!(style, "live-column-middle"), 9),
        Column::right(said!(style, "live-column-small"), 9),
    ];
    Table::newest_last(columns, rows)
}
