//! Contact: a print of marking dye is judged.

mod screen;
mod sheet;

use super::used::counting;
use super::{Asked, Next, NoOutcome, Occasion, Options, PartState, Refused, Said, Step, StepKind};
use crate::api::Refusal;
use crate::evidence::{Evidence, Mark, Place};
use crate::place::bad;
use clap::Args;
use metrology::contact::{self, ContactOutcome, Zones};
use metrology::setup::Setup;
use serde::{Deserialize, Serialize};

/// The plan of a contact step: the options of its arithmetic.
pub type ContactPlan = contact::ContactOptions;

/// The options of `step contact`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct ContactOptions {
    /// In which state the part is.
    #[command(flatten)]
    #[serde(flatten)]
    pub state: PartState,
    /// Those that `analyse contact` takes too.
    #[command(flatten)]
    #[serde(flatten)]
    pub analysis: ContactAnalysis,
}

/// The options of `analyse contact`: what the step computes.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The step")]
pub struct ContactAnalysis {
    /// Thickness of the film of dye: 3um, or the thinnest and the thickest, 2um,5um (common practice)
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub film: Option<String>,
    /// The cone that was dyed is a bore
    #[arg(long)]
    pub bore: bool,
}

impl Options for ContactOptions {
    const USUAL: &'static [&'static str] = &["film", "bore", "condition"];

    type Analysis = ContactAnalysis;

    fn of_analysis(analysis: ContactAnalysis) -> Self {
        Self {
            analysis,
            ..Self::default()
        }
    }

    fn state(&self) -> &PartState {
        &self.state
    }

    fn cable(&self) -> Option<&str> {
        None
    }
}

impl Step for ContactPlan {
    const KIND: StepKind = StepKind::Contact;
    const NAME: &'static str = "contact";
    const PURPOSE: &'static str = "judge a print of marking dye";
    const HELP: &'static str =
        "Judge a print of marking dye: where it bears, and what that proves of the angles";
    const EXAMPLES: &'static str = "\
Example:
  conewright step contact --film 2um,5um

Mark how much of each third printed, per cent: conewright mark 90,40,0 (big end, middle, small end)";
    const TASK: &'static str = "Take a print of marking dye in the gauge and judge where it bears.";
    const MARKED: &'static str = "by what a print shows";
    const HOW_TO_MARK: &'static str = "mark what share of big end, middle and small end printed, per cent: conewright mark 90,40,0";
    const BY_EYE: bool = true;
    const JUDGED: &'static str = "per cent printed at big end, middle, small end (90 40 0)";
    const OCCASIONS: &'static [Occasion] = &[Occasion::Contact];

    type Options = ContactOptions;
    type Inputs = Zones;
    type Outcome = ContactOutcome;

    fn first(&self, _setup: &Setup) -> Option<Place> {
        None
    }

    /// Every print is a round of its own.
    fn next(&self, _setup: &Setup, _counting: &[&Mark], _last: &Mark) -> Option<Next> {
        None
    }

    fn named(&self, asked: &Asked<'_>) -> Result<Place, Refusal> {
        print(asked.text).map(Place::Print)
    }

    fn instruction(&self, next: &str) -> String {
        format!("mark {next}")
    }

    fn place_wanted(&self) -> Refusal {
        bad("a print is marked by what it shows", PRINT_HINT)
    }

    /// The last print counts: an earlier one was before the part was ground again.
    fn inputs(&self, evidence: &Evidence) -> Result<Zones, NoOutcome> {
        let mark = counting(evidence).last().ok_or(NoOutcome::NoPrint)?;
        match &mark.place {
            Place::Print(zones) => Ok(*zones),
            _ => Err(NoOutcome::misplaced(mark, "a print is marked by its zones")),
        }
    }

    fn compute(&self, setup: &Setup, zones: &Zones) -> Result<ContactOutcome, Refused> {
        contact::outcome(setup, self, *zones).map_err(Into::into)
    }

    fn said(outcome: &ContactOutcome) -> Said<'_> {
        Said {
            remarks: &outcome.remarks,
            ..Said::default()
        }
    }

    fn remarks_mut(outcome: &mut ContactOutcome) -> &mut Vec<String> {
        &mut outcome.remarks
    }

    fn learn_half_angle(&mut self, found_arcsec: Option<[f64; 2]>) {
        self.found_arcsec = self.found_arcsec.or(found_arcsec);
    }
}

const PRINT_HINT: &str = "write what share of big end, middle and small end is covered, in percent: `conewright mark 90,40,0`";

fn print(text: &str) -> Result<Zones, Refusal> {
    let parts = |between: &[char]| -> Vec<String> {
        text.split(between)
            .map(|part| part.trim_matches([',', '/', '%', ' ']).replace(',', "."))
            .filter(|part| !part.is_empty())
            .collect()
    };
    // With blanks between, a comma is a decimal one.
    let mut parts_found = parts(&[' ', '/']);
    if parts_found.len() != 3 {
        parts_found = parts(&[',', '/', ' ']);
    }
    let parts = parts_found;
    let [big, middle, small] = &parts[..] else {
        return Err(bad(
            format!(
                "a print is marked by three percentages, and `{text}` has {}",
                parts.len()
            ),
            PRINT_HINT,
        ));
    };
    let percent = |zone: &str, text: &str| match text.parse::<f64>() {
        Ok(percent) if (0.0..=100.0).contains(&percent) => Ok(percent),
        Ok(_) => Err(bad(
            format!("{zone}: {text} % is out of range: 0 to 100 %"),
            PRINT_HINT,
        )),
        Err(_) => Err(bad(format!("{zone}: `{text}` is not a number"), PRINT_HINT)),
    };
    Ok(Zones {
        big_percent: percent("big end", big)?,
        middle_percent: percent("middle", middle)?,
        small_percent: percent("small end", small)?,
    })
}

#[cfg(test)]
mod tests {
    use crate::evidence::Place;
    use crate::plan::Plan;
    use crate::step::StepKind;
    use crate::step::naming::read;
    use metrology::contact::Zones;

    #[test]
    fn a_print_is_three_percentages() {
        let plan = Plan::usual(StepKind::Contact);
        let zones = Zones {
            big_percent: 90.0,
            middle_percent: 40.0,
            small_percent: 0.0,
        };
        for text in ["90,40,0", "90 40 0", "90%, 40%, 0%", "90/40/0"] {
            assert_eq!(read(&plan, text), Ok(Place::Print(zones)), "{text}");
        }
        let zones = Zones {
            big_percent: 87.5,
            ..zones
        };
        for text in ["87,5 40 0", "87,5 / 40 / 0", "87.5,40,0", "87,5% 40% 0%"] {
            assert_eq!(read(&plan, text), Ok(Place::Print(zones)), "{text}");
        }
        for text in [
            "",
            "90",
            "90,40",
            "90,40,0,0",
            "90,40,101",
            "-1,0,0",
            "a,b,c",
            "NaN,0,0",
        ] {
            let refusal = read(&plan, text).unwrap_err();
            assert!(refusal.hint.unwrap().contains("90,40,0"), "{text}");
        }
    }
}
