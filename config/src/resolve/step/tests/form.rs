//! What a form offers is what is taken: the words and the limits that the options declare, and no others.

use super::*;
use protocol::step::Takes;

fn refused(kind: StepKind, pairs: &[(&str, &str)]) -> String {
    let (config, part) = (config(true), setup(&config(true)));
    let refused = resolve_step(&config, &part, &options(kind, pairs)).unwrap_err();
    refused.message
}

#[test]
fn the_words_that_a_form_offers_are_the_words_that_are_known() {
    let mut checked = 0;
    for kind in StepKind::ALL {
        for field in kind.fields().iter().filter(|f| f.takes == Takes::Words) {
            let known = field.words.join(", ");
            let expected = format!("--{}: `nonesuch` is not one of {known}", field.flag);
            assert_eq!(refused(kind, &[(&field.name, "nonesuch")]), expected);
            checked += 1;
        }
    }
    assert!(checked > 8, "only {checked} options were found");
}

#[test]
fn a_number_is_taken_up_to_the_limits_that_a_form_states() {
    let (config, part) = (config(true), setup(&config(true)));
    let mut checked = 0;
    for kind in StepKind::ALL {
        for field in kind.fields() {
            let Some([least, most]) = field.limits else {
                continue;
            };
            let also: &[(&str, &str)] = match (kind, &*field.name) {
                (StepKind::Runout, "per_turn") => &[("angles", "clock")],
                (StepKind::Size, "overlap") => &[("wheel_width", "20")],
                (StepKind::Size, "temperature") | (StepKind::Runout, _) => &[],
                _ => &[("temperature", "20")],
            };
            let with = |value: f64| {
                let value = value.to_string();
                let pairs: Vec<_> = also
                    .iter()
                    .copied()
                    .chain([(&*field.name, &*value)])
                    .collect();
                resolve_step(&config, &part, &options(kind, &pairs))
            };
            for taken in [least, most] {
                with(taken).unwrap_or_else(|why| panic!("{kind:?} {field:?} {taken}: {why}"));
            }
            for beyond in [least - 1.0, most + 1.0] {
                let why = with(beyond).unwrap_err().message;
                let begins = format!("--{}: ", field.flag);
                assert!(
                    why.starts_with(&begins) && why.contains("out of range"),
                    "{why}"
                );
            }
            checked += 1;
        }
    }
    assert!(checked > 5, "only {checked} limits were found");
}
