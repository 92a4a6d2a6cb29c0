//! A contact step's part of the page.

use super::Figures;
use crate::document::page::Page;
use crate::document::plot::{Bar, Bars};
use metrology::contact::{Against, BARE_PERCENT, Bearing, ContactOutcome};
use protocol::plan::{Plan, Work};

const fn bearing(bearing: Bearing) -> &'static str {
    match bearing {
        Bearing::Full => "over the whole length",
        Bearing::BigEnd => "at the big end",
        Bearing::SmallEnd => "at the small end",
        Bearing::Ends => "at both ends and not between",
        Bearing::Middle => "in the middle only",
        Bearing::Nowhere => "nowhere",
    }
}

/// A judgement, and whose.
pub fn headline(outcome: &ContactOutcome, plan: &Plan) -> String {
    let what = match &plan.work {
        Work::Contact(options) if options.bore => "THE BORE",
        _ => "IT",
    };
    format!(
        "BY EYE: {what} BEARS {}",
        bearing(outcome.bearing).to_uppercase()
    )
}

pub fn figures(outcome: &ContactOutcome) -> Figures {
    let against = match outcome.against {
        Some(Against::Steeper) => "steeper than the mate by",
        Some(Against::Shallower) => "shallower than the mate by",
        None => "different from the mate by",
    };
    let proves = match (outcome.at_least_arcsec, outcome.at_most_arcsec) {
        (Some(least), _) => format!("half angle {against} at least {least:.1}″"),
        (None, Some(most)) => format!("half angle {against} at most {most:.1}″"),
        (None, None) => "nothing of the half angle".to_owned(),
    };
    let [thin, thick] = outcome.film_um;
    vec![
        ("Bears", Some(bearing(outcome.bearing).to_owned())),
        (
            "Contact",
            Some(format!("{:.0} % of the length", outcome.contact_percent)),
        ),
        ("Proves", Some(proves)),
        (
            "With the half angle found before",
            outcome.consistent.map(|agrees| {
                if agrees {
                    "it agrees".to_owned()
                } else {
                    "IT DOES NOT AGREE".to_owned()
                }
            }),
        ),
        ("Film of dye", Some(format!("{thin} to {thick} µm"))),
    ]
}

pub fn plots(page: &mut Page, outcome: &ContactOutcome) {
    let zones = &outcome.zones;
    let bar = |label: &str, value: f64| Bar {
        label: label.into(),
        note: if value < BARE_PERCENT {
            "bare"
        } else {
            "bears"
        }
        .into(),
        value,
    };
    let bars = Bars {
        title: "The print by zones".into(),
        x_label: "thirds of the length".into(),
        y_label: "printed, %".into(),
        bars: vec![
            bar("big end", zones.big_percent),
            bar("middle", zones.middle_percent),
            bar("small end", zones.small_percent),
        ],
        highest: Some(100.0),
        level: Some((BARE_PERCENT, "bare".into())),
        places: 0,
    };
    page.subheading("The print by zones");
    page.svg(&bars.svg());
}
