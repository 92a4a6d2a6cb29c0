//! A print of marking dye in words.

use crate::layout::Pairs;
use metrology::contact::{Against, Bearing, ContactOutcome};

pub(super) fn text(contact: &ContactOutcome) -> String {
    let mut pairs = Pairs::default();
    pairs.add("bears", bearing(contact.bearing));
    pairs.add_some("angles", angles(contact));
    pairs.add_some(
        "zero and sweep",
        contact.consistent.map(|agrees| {
            if agrees {
                "the print agrees with what they found".to_owned()
            } else {
                "the print contradicts what they found: check the mate, the film and the set-up"
                    .to_owned()
            }
        }),
    );
    let zones = &contact.zones;
    pairs.add(
        "print",
        format!(
            "big end {} %, middle {} %, small end {} %: {:.0} % of the length",
            zones.big_percent, zones.middle_percent, zones.small_percent, contact.contact_percent
        ),
    );
    pairs.text()
}

const fn bearing(bearing: Bearing) -> &'static str {
    match bearing {
        Bearing::Full => "over the whole length",
        Bearing::BigEnd => "at the big end",
        Bearing::SmallEnd => "at the small end",
        Bearing::Ends => "at both ends and not between: hollow, or the mate barrelled",
        Bearing::Middle => "in the middle only: barrelled, or the mate hollow",
        Bearing::Nowhere => "nowhere: the dye did not go over, or the cones did not meet",
    }
}

fn angles(contact: &ContactOutcome) -> Option<String> {
    if let Some(least) = contact.at_least_arcsec {
        let way = match contact.against {
            Some(Against::Steeper) => ": this cone is steeper than its mate",
            Some(Against::Shallower) => ": this cone is shallower than its mate",
            None => "",
        };
        return Some(format!(
            "the half angles differ by at least {least:.1}\"{way}"
        ));
    }
    contact
        .at_most_arcsec
        .map(|most| format!("the half angles differ by at most {most:.1}\""))
}
