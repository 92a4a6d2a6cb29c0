//! A print of marking dye.

use crate::record::StepRecord;
use crate::said;
use crate::sheet::compared::{Compare, Measured, Share, states};
use crate::sheet::plot::{Bar, Bars, Plot};
use crate::sheet::{Amount, Drawn, Figure, Headline, Part, Sheet, Unit};
use crate::step::ContactPlan;
use crate::style::Style;
use metrology::contact::{Against, BARE_PERCENT, ContactOutcome};
use metrology::setup::Setup;

impl Drawn for ContactPlan {
    fn sheet(
        _setup: &Setup,
        contact: &ContactOutcome,
        _step: Option<&StepRecord>,
        style: Style,
    ) -> Sheet {
        let [thin, thick] = contact.film_um;
        let zones = &contact.zones;
        let percent = Amount::plain(contact.contact_percent, Unit::Percent).places(0);
        let bears = bears(contact, style);
        let figures = [
            Some(Figure::words(said!(style, "bears"), bears.clone())),
            Some(
                Figure::amount(said!(style, "contact"), percent, style).more(said!(
                    style,
                    "contact-of-length",
                    big = style.exact(zones.big_percent),
                    middle = style.exact(zones.middle_percent),
                    small = style.exact(zones.small_percent)
                )),
            ),
            Some(Figure::words(
                said!(style, "gap-is-worth"),
                worth(contact, style),
            )),
            beside_tolerance(contact, style)
                .map(|said| Figure::words(said!(style, "tolerance"), said)),
            contact.consistent.map(|agrees| {
                let said = if agrees {
                    said!(style, "print-agrees")
                } else {
                    said!(style, "print-contradicts")
                };
                Figure::words(said!(style, "zero-and-sweep"), said)
            }),
            Some(Figure::words(
                said!(style, "film-of-dye"),
                film([thin, thick], style),
            )),
        ];
        Sheet {
            headlines: vec![Headline::new(said!(style, "by-eye", bears = bears), "")],
            figures: figures.into_iter().flatten().collect(),
            parts: vec![Part::plot(
                said!(style, "print-by-zones"),
                print(contact, style),
            )],
            ..Sheet::default()
        }
    }

    fn budget_of(_outcome: &ContactOutcome, _style: Style) -> Option<String> {
        None
    }
}

impl Compare for ContactPlan {
    /// The last print: what was printed before it is of a part that was ground since.
    fn compare(steps: &[Measured<'_, ContactOutcome>], style: Style) -> Share {
        let print = states(steps, ContactOutcome::clone).map(|print| print.left);
        let print = print.as_ref();
        Share::default()
            .field("contact", print.map(|print| print.bearing))
            .field("heavy", print.and_then(|print| print.heavy))
            .line("bears", |name| {
                Some(Figure::words(name.to_owned(), bears(print?, style)))
            })
    }
}

/// How thick the film is, thinnest and thickest.
pub(crate) fn film(film_um: [f64; 2], style: Style) -> String {
    let [thin, thick] = film_um.map(|um| match style.inches() {
        true => style.micro_number(um, 2),
        false => style.exact(um),
    });
    let thick = format!("{thick} {}", style.small_sign());
    said!(style, "from-to", low = thin, high = thick)
}

/// Where it bears.
pub(crate) fn bears(contact: &ContactOutcome, style: Style) -> String {
    style.term("bears", contact.bears())
}

/// What the gap is worth as an angle.
pub(crate) fn worth(contact: &ContactOutcome, style: Style) -> String {
    let arcsec = |arcsec: f64| style.number(arcsec, 1);
    let by = match (contact.at_least_arcsec, contact.at_most_arcsec) {
        (Some(least), Some(most)) => {
            let (least, most) = (arcsec(least), arcsec(most));
            said!(style, "worth-between", least = least, most = most)
        }
        (None, Some(most)) => said!(style, "worth-up-to", most = arcsec(most)),
        (Some(least), None) => said!(style, "worth-at-least", least = arcsec(least)),
        (None, None) => return said!(style, "worth-nothing"),
    };
    match contact.against {
        Some(Against::Steeper) => said!(style, "steeper-than-mate", by = by),
        Some(Against::Shallower) => said!(style, "shallower-than-mate", by = by),
        None => said!(style, "either-than-mate", by = by),
    }
}

/// The tolerance and what the print says of it.
pub(crate) fn beside_tolerance(contact: &ContactOutcome, style: Style) -> Option<String> {
    let [lower, upper] = contact.limits_arcsec?;
    let said = style.term("print", contact.at_tolerance?.words());
    let limits = if (lower + upper).abs() < 0.05 {
        let upper = style.number(upper, 1);
        said!(style, "arcsec-either-way", limit = upper)
    } else {
        let [low, high] = [lower, upper].map(|limit| style.written(format!("{limit:+.1}")));
        said!(style, "arcsec-from-to", low = low, high = high)
    };
    Some(format!("{said} ({limits})"))
}

fn print(contact: &ContactOutcome, style: Style) -> Plot {
    let [bare, bears] = [said!(style, "bare"), said!(style, "bears")];
    let bar = |label: String, value: f64| Bar {
        label,
        note: if value < BARE_PERCENT {
            bare.clone()
        } else {
            bears.clone()
        },
        value,
    };
    let zones = &contact.zones;
    Plot::Bars(Bars {
        title: said!(style, "print-by-zones"),
        x_label: said!(style, "thirds-of-length"),
        y_label: said!(style, "printed-percent"),
        bars: vec![
            bar(said!(style, "big-end"), zones.big_percent),
            bar(said!(style, "middle"), zones.middle_percent),
            bar(said!(style, "small-end"), zones.small_percent),
        ],
        highest: Some(100.0),
        level: Some((BARE_PERCENT, bare.clone())),
        places: 0,
    })
}
