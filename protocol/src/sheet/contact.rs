//! A print of marking dye.

use super::compared::{Compare, Measured, Share, states};
use super::plot::{Bar, Bars, Plot};
use super::{Amount, Drawn, Figure, Headline, Part, Sheet, Unit};
use crate::record::StepRecord;
use crate::step::ContactPlan;
use metrology::contact::{BARE_PERCENT, ContactOutcome};
use metrology::setup::Setup;

impl Drawn for ContactPlan {
    fn sheet(_setup: &Setup, contact: &ContactOutcome, _step: Option<&StepRecord>) -> Sheet {
        let [thin, thick] = contact.film_um;
        let zones = &contact.zones;
        let figures = [
            Some(Figure::words("bears", contact.bears())),
            Some(
                Figure::amount(
                    "contact",
                    Amount::plain(contact.contact_percent, Unit::Percent).places(0),
                )
                .more(format!(
                    " of the length: big end {} %, middle {} %, small end {} %",
                    zones.big_percent, zones.middle_percent, zones.small_percent
                )),
            ),
            Some(Figure::words("the gap is worth", contact.worth())),
            contact
                .beside_tolerance()
                .map(|said| Figure::words("tolerance", said)),
            contact.consistent.map(|agrees| {
                let said = if agrees {
                    "the print agrees with what they found"
                } else {
                    "THE PRINT CONTRADICTS what they found"
                };
                Figure::words("zero and sweep", said)
            }),
            Some(Figure::words(
                "film of dye",
                format!("{thin} to {thick} µm"),
            )),
        ];
        Sheet {
            headlines: vec![Headline::new(
                format!("by eye: it bears {}", contact.bears()),
                "",
            )],
            figures: figures.into_iter().flatten().collect(),
            parts: vec![Part::plot("The print by zones", print(contact))],
            ..Sheet::default()
        }
    }

    fn budget_of(_outcome: &ContactOutcome) -> Option<&'static str> {
        None
    }
}

impl Compare for ContactPlan {
    /// The last print: what was printed before it is of a part that was ground since.
    fn compare(steps: &[Measured<'_, ContactOutcome>]) -> Share {
        let print = states(steps, ContactOutcome::clone).map(|print| print.left);
        let print = print.as_ref();
        Share::default()
            .field("contact", print.map(|print| print.bearing))
            .field("heavy", print.and_then(|print| print.heavy))
            .line("bears", |name| Some(Figure::words(name, print?.bears())))
    }
}

fn print(contact: &ContactOutcome) -> Plot {
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
    let zones = &contact.zones;
    Plot::Bars(Bars {
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
    })
}
