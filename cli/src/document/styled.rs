//! The documents in other styles: in inches nothing is in millimetres, in German nothing is English, and with a decimal comma
//! no number has a point.

use super::example::{job, record};
use super::pdf::{Paper, card, record as paper};
use super::{csv, html};
use crate::outcome_text;
use metrology::Unit;
use metrology::blocks::Stack;
use protocol::record::{EventKind, Record};
use protocol::sheet::Sheet;
use protocol::style::{Decimal, Language, Style};
use roxmltree::Document;

const INCH: Style = Style::of(Unit::In);
const GERMAN: Style = Style {
    unit: Unit::Mm,
    decimal: Decimal::Comma,
    language: Language::De,
    division: None,
};

/// The job with everything that a set-up may state, and no words of a user.
fn whole() -> Record {
    let mut job = job();
    let kit = config::Config::default().kit("inch-81").unwrap();
    let length = |text: &str| text.parse().unwrap();
    job.setup.stack = Some(Stack {
        height: length("0.7215in"),
        blocks: [".5in", ".121in", ".1005in"]
            .map(|text| length(&format!("0{text}")))
            .to_vec(),
        sum: length("0.7215in"),
        error_um: 0.0,
        within: true,
        u_um: None,
        angle_set_deg: Some(2.385_91),
        angle_error_arcsec: Some(-0.11),
    });
    job.setup.kit = Some(kit);
    job.setup.indicator.resolution = Some(length("0.001"));
    let bar = config::Config::default().bar("100", Some("sine"), None);
    job.setup.bar = bar.ok();
    job.cautions = config::shipped::shipped_cautions()
        .iter()
        .map(|caution| caution.text.clone())
        .collect();
    job.events.retain(|event| event.what != EventKind::Note);
    job
}

/// The texts of a page, one a line.
fn lines(page: &str) -> String {
    let (_, body) = page.split_at(page.find("<body>").unwrap());
    let document = Document::parse(body.trim_end().trim_end_matches("</html>")).unwrap();
    let texts = document.descendants().filter(|node| node.is_text());
    let texts: Vec<&str> = texts.filter_map(|node| node.text()).collect();
    texts.join("\n")
}

/// The text of a PDF; how it breaks lines tells nothing.
fn printed(pdf: &[u8]) -> String {
    let text = pdf_extract::extract_text_from_mem(pdf).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a text has a length that is not in inches.
fn is_metric(text: &str) -> bool {
    [" mm", "\u{b5}m", "/mm"]
        .iter()
        .any(|unit| text.contains(unit))
}

#[test]
fn in_inches_no_kind_of_step_shows_a_millimetre() {
    let job = whole();
    for step in &job.steps {
        let outcome = step.outcome.as_ref().unwrap();
        let text = outcome_text::outcome(outcome, &job.setup, INCH);
        assert!(!is_metric(&text), "{text}");
        let mut told = text;
        // Plots name their axes, and texts have none.
        let sheet = Sheet::of(&job.setup, outcome, Some(step), INCH);
        for part in sheet.parts.iter().filter(|part| part.plot.is_some()) {
            told.push_str(&format!("  {}\n", part.heading));
        }
        let name = format!("inch_{}_{}", step.number, step.plan.kind().name());
        insta::assert_snapshot!(name, told);
    }
    let page = lines(&html::write(&job, INCH));
    assert!(!is_metric(&page), "{page}");
    assert!(page.contains(".500 + .121 + .1005 = 0.7215 in"), "{page}");
    let table = csv::write(&job, INCH);
    assert!(
        table
            .lines()
            .next()
            .unwrap()
            .contains("reading_in,resolution_in")
    );
    for pdf in [
        paper::write(&job, Paper::LETTER, INCH).unwrap(),
        card::write(&job, &job.cautions, Paper::LETTER, INCH).unwrap(),
    ] {
        let text = printed(&pdf);
        assert!(!is_metric(&text), "{text}");
    }
}

#[test]
fn a_german_page_is_german() {
    let job = whole();
    let page = html::write(&job, GERMAN);
    assert!(page.contains("<html lang=\"de\">"));
    let text = lines(&page);
    insta::assert_snapshot!("german_page", text);
    let both = Style {
        language: Language::De,
        ..Style::default()
    };
    for key in keys() {
        let values = ["a", "b", "c", "d", "e"];
        let named: Vec<_> = values.iter().map(|v| (*v, "\u{1}".into())).collect();
        let said = Style::default().say(key, &named);
        // What both languages write alike tells nothing, and neither does a word of two or three letters.
        if said.to_lowercase() == both.say(key, &named).to_lowercase()
            || said.contains(['\u{1}', '{'])
            || said.len() < 6
        {
            continue;
        }
        let alone = |line: &str| line == said || line.to_lowercase() == said.to_lowercase();
        assert!(!text.lines().any(alone), "{key}: {said}");
        assert!(
            !said.contains(' ') || !text.contains(&*said),
            "{key}: {said}"
        );
    }
    for step in &job.steps {
        for sentence in step.outcome.as_ref().unwrap().sentences() {
            assert!(!GERMAN.stays_english(sentence), "{sentence}");
        }
    }
}

/// The keys whose sentences need no values.
fn keys() -> impl Iterator<Item = &'static str> {
    let table = include_str!("../../../protocol/words/en.ftl");
    let lines = table.lines().filter_map(|line| line.split_once(" = "));
    // What only a live view says is no part of a document, where a user's own words may be the same.
    let live = ["live-", "watch-", "page-", "plan-"];
    lines
        .filter(|(_, said)| !said.contains('$'))
        .map(|(key, _)| key)
        .filter(move |key| !live.iter().any(|of| key.starts_with(of)))
}

#[test]
fn with_a_decimal_comma_no_number_has_a_point() {
    // A version is no number, nor is what is engraved on an inch block.
    let mut job = whole();
    job.program = "1".to_owned();
    (job.setup.stack, job.setup.kit) = (None, None);
    let point = |text: &str| {
        let bytes = text.as_bytes();
        (1..bytes.len().saturating_sub(1)).find_map(|i| {
            let digits = bytes[i - 1].is_ascii_digit() && bytes[i + 1].is_ascii_digit();
            (digits && bytes[i] == b'.').then(|| {
                text.get(i.saturating_sub(30)..(i + 10).min(text.len()))
                    .unwrap_or_default()
                    .to_owned()
            })
        })
    };
    assert_eq!(point(&lines(&html::write(&job, GERMAN))), None);
    let english = Style {
        language: Language::En,
        ..GERMAN
    };
    assert_eq!(point(&lines(&html::write(&job, english))), None);
    let table = csv::write(&job, GERMAN);
    assert!(table.lines().next().unwrap().starts_with("step;kind;"));
    let pdf = paper::write(&job, Paper::A4, GERMAN).unwrap();
    assert_eq!(point(&printed(&pdf)), None);
}

/// Every step's own record, in every style, makes its documents.
#[test]
fn every_style_makes_every_document() {
    for language in [Language::En, Language::De] {
        for unit in [Unit::Mm, Unit::Um, Unit::In] {
            let style = Style {
                unit,
                language,
                decimal: language.usual_decimal(),
                division: None,
            };
            let record = record();
            assert!(!html::write(&record, style).contains("NaN"));
            assert!(!csv::write(&record, style).is_empty());
            assert!(paper::write(&record, Paper::A4, style).is_ok());
            assert!(card::write(&record, &record.cautions, Paper::A4, style).is_ok());
        }
    }
    let german = printed(&card::write(&whole(), &whole().cautions, Paper::A4, GERMAN).unwrap());
    for word in [
        "Einstellkarte",
        "ansprengen",
        "Schleifscheibe",
        "Sicherheitshinweise",
    ] {
        assert!(german.contains(word), "{word}: {german}");
    }
}
