//! What the pages hold: their text is read back by another library, and compared with the record's JSON and with the page.

use super::{Paper, card, record};
use crate::document::example::{self, job, step_of};
use crate::document::html;
use config::shipped::{shipped_cautions, shipped_kits};
use jiff::Timestamp;
use metrology::blocks::{Stack, StackRules, choose};
use metrology::setting::{Bar, BarKind};
use metrology::setup::{Fixture, Setup};
use metrology::{Angle, Length};
use pdf_extract::{Document, Object, extract_text_from_mem_by_pages};
use protocol::evidence::{Place, Time};
use protocol::fold::StepKind;
use protocol::record::{Event, EventKind, Record};
use protocol::style::Style;
use serde_json::Value;

fn on_paper(of: &Record, paper: Paper) -> Vec<u8> {
    record::write(of, paper, Style::default()).unwrap_or_else(|error| panic!("{error}"))
}

fn pages(pdf: &[u8]) -> Vec<String> {
    extract_text_from_mem_by_pages(pdf).unwrap()
}

/// Without white space: how words are placed is another matter.
fn dense(text: &str) -> String {
    text.split_whitespace().collect()
}

/// All text of a record on A4, without the foot of each page.
fn text(of: &Record) -> String {
    let foot = format!("Set-up record: {}", of.session.name);
    let pages = pages(&on_paper(of, Paper::A4));
    let body = |page: &String| {
        let end = page.rfind(&foot).expect("a foot");
        page[..end].to_owned()
    };
    dense(&pages.iter().map(body).collect::<String>())
}

fn number(value: &Value, field: &str, places: usize) -> String {
    let number = &value[field];
    let number = number
        .as_f64()
        .unwrap_or_else(|| panic!("{field}: {value}"));
    format!("{number:.places$}")
}

#[test]
fn each_kind_has_the_figures_of_the_json() {
    let job = job();
    for kind in StepKind::ALL {
        for step in step_of(&job, kind) {
            let mut alone = job.clone();
            alone.steps = vec![step.clone()];
            let json: Value = serde_json::from_str(&alone.clone().write()).unwrap();
            let text = text(&alone);
            let of_step = &json["steps"][0];
            let has = |words: &str| {
                assert!(text.contains(&dense(words)), "{kind:?}: {words}\n{text}");
            };
            let outcome = &of_step["outcome"];
            let expected: &[(&Value, &str, usize)] = match kind {
                StepKind::Zero => &[(outcome, "residual_arcsec", 2)],
                StepKind::Sweep => &[
                    (outcome, "straightness_mz_um", 2),
                    (outcome, "half_angle_error_arcsec", 2),
                ],
                StepKind::Runout => &[(outcome, "tir_um", 2), (outcome, "eccentricity_um", 2)],
                StepKind::Size => &[
                    (outcome, "stock_on_diameter_um", 2),
                    (outcome, "half_angle_deg", 7),
                ],
                StepKind::Contact => &[(outcome, "contact_percent", 0)],
                StepKind::Dial => &[(outcome, "error_span_um", 2), (outcome, "hysteresis_um", 2)],
            };
            for (of, field, places) in expected {
                has(&number(of, field, *places));
            }
            for line in outcome["budget"].as_array().into_iter().flatten() {
                has(line["component"].as_str().unwrap());
                has(&number(line, "u", 4));
            }
            for line in of_step["values"].as_array().unwrap() {
                has(line["place"].as_str().unwrap());
            }
        }
    }
}

#[test]
fn the_pdf_says_all_that_the_page_says() {
    for of in [job(), example::record()] {
        let page = html::write(&of, Style::default());
        let (_, body) = page.split_at(page.find("<body>").unwrap());
        let body = roxmltree::Document::parse(body.trim_end().trim_end_matches("</html>")).unwrap();
        let text = text(&of);
        let nodes = body.descendants().filter_map(|node| node.text());
        for said in nodes.flat_map(str::lines) {
            assert!(text.contains(&dense(said)), "{said} is missing");
        }
    }
}

#[test]
fn the_summary_of_a_long_job_stays_one_page() {
    let mut long = job();
    long.steps.extend(long.steps.clone());
    for paper in [Paper::A4, Paper::LETTER] {
        let pages = pages(&on_paper(&long, paper));
        assert!(pages[0].contains("Signature"), "{}", pages[0]);
        assert!(pages[1].trim_start().starts_with("Plan"), "{}", pages[1]);
    }
}

#[test]
fn the_same_record_makes_the_same_bytes_of_the_kept_form() {
    let job = job();
    let pdf = on_paper(&job, Paper::A4);
    assert!(pdf == on_paper(&job, Paper::A4));
    let metadata = String::from_utf8_lossy(&pdf);
    assert!(metadata.contains("<pdfaid:part>2</pdfaid:part>"));
    assert!(metadata.contains("<pdfaid:conformance>U</pdfaid:conformance>"));
}

#[test]
fn every_page_has_its_size_its_number_and_the_seal() {
    let job = job();
    let json: Value = serde_json::from_str(&job.clone().write()).unwrap();
    let seal = json["digest"].as_str().unwrap();
    for (paper, size) in [(Paper::A4, [595, 842]), (Paper::LETTER, [612, 792])] {
        let pdf = on_paper(&job, paper);
        let document = Document::load_mem(&pdf).unwrap();
        let pages = pages(&pdf);
        assert_eq!(document.get_pages().len(), pages.len());
        for id in document.get_pages().values() {
            let page = document.get_dictionary(*id).unwrap();
            let number = |object: &Object| object.as_float().unwrap().round() as i32;
            let media: Vec<i32> = page
                .get(b"MediaBox")
                .unwrap()
                .as_array()
                .unwrap()
                .iter()
                .map(number)
                .collect();
            assert_eq!(media, [0, 0, size[0], size[1]]);
        }
        for (index, page) in pages.iter().enumerate() {
            assert!(page.contains(&format!("{} of {}", index + 1, pages.len())));
            assert!(dense(page).contains(seal), "{page}");
        }
        // The summary is one page, and nothing on it is cut off.
        assert!(pages[0].contains("Results") && pages[0].contains("Signature"));
    }
}

#[test]
fn names_and_notes_of_any_kind_are_shown_and_turn_nothing() {
    let mut job = job();
    let hostile = "a\u{202e}b\u{2066}c\u{200f} 測量 \u{1f980}\u{0}\u{1b}[31m</text><x>&amp; שלום";
    let shown =
        "a[U+202E]b[U+2066]c[U+200F] [U+6E2C][U+91CF] [U+1F980][U+0000][U+001B][31m</text><x>&amp;";
    job.session.name = hostile.into();
    job.cautions = vec![hostile.into()];
    job.steps[0].no_outcome = Some(hostile.into());
    job.steps[0].outcome = None;
    for step in &mut job.steps {
        for mark in step.evidence.marks.iter_mut() {
            if let Place::Station(station) = &mut mark.place {
                station.name = hostile.into();
            }
        }
        step.values = step.evidence.lines();
    }
    for station in &mut job.setup.stations {
        station.name = hostile.into();
    }
    let text = dense(&pages(&on_paper(&job, Paper::A4)).concat());
    assert!(text.matches(&dense(shown)).count() > 5, "{text}");
    // Letters that run backward are drawn from the right.
    assert!(text.contains("םולש") || text.contains("שלום"), "{text}");
}

#[test]
fn long_names_and_notes_go_on_over_pages_with_their_heading() {
    let mut record = example::record();
    let note = |index: usize| Event {
        t: Time(0),
        utc_ns: Time(0),
        what: EventKind::Note,
        text: format!("note {index}"),
    };
    record.events = (0..200).map(note).collect();
    record.events[3].text = "every word counts ".repeat(1_500);
    record.events[4].text = "x".repeat(20_000);
    record.session.name = "A seat of a spindle ".repeat(60);
    let pages = pages(&on_paper(&record, Paper::LETTER));
    let repeated = pages.iter().filter(|page| page.contains("UTC What"));
    assert!(repeated.count() > 5);
    let text = dense(&pages.concat());
    assert!(
        text.matches("everywordcounts").count() >= 1_480,
        "a line or two are split by a page"
    );
    assert!(text.matches('x').count() >= 20_000);
    assert!(text.contains("note199"));
    let card = card::write(&record, &[], Paper::LETTER, Style::default()).unwrap();
    assert_eq!(Document::load_mem(&card).unwrap().get_pages().len(), 1);
}

#[test]
fn a_session_without_anything_still_makes_a_document() {
    let mut record = example::record();
    record.steps.clear();
    record.events.clear();
    record.cables.clear();
    record.cautions.clear();
    record.setup = Setup::default();
    record.session.closed_utc_ns = None;
    let text = pages(&on_paper(&record, Paper::A4)).concat();
    assert!(text.contains("The session has no steps.") && text.contains("still open"));
}

#[test]
fn many_marks_make_a_table_of_the_first_and_the_last() {
    let mut record = example::record();
    let line = record.steps[0].values[0].clone();
    record.steps[0].values = (1..=500)
        .map(|number| protocol::evidence::MarkLine {
            number,
            ..line.clone()
        })
        .collect();
    let text = pages(&on_paper(&record, Paper::A4)).concat();
    assert!(text.contains("The first and the last 30 of 500"));
}

/// All that are shipped.
fn cautions() -> Vec<String> {
    let cautions = shipped_cautions().iter();
    cautions.map(|caution| caution.text.clone()).collect()
}

/// The job on a set-up that states everything.
fn full() -> Record {
    let mut job = job();
    let wanted = "4.163mm".parse().unwrap();
    let kit = shipped_kits()[0].clone();
    let stack = choose(&kit, wanted, &StackRules::default()).unwrap();
    let setup = &mut job.setup;
    setup.indicator.resolution = Some(Length::from_um(1));
    setup.indicator.lever_angle = Some(Angle::from_deg(12.0));
    setup.bar = Some(Bar {
        kind: BarKind::Sine,
        centre_distance: Some(Length::from_um(100_000)),
        constant: Length::from_um(5),
        disc_radii: None,
        centre_distance_u: None,
    });
    setup.stack = Some(Stack {
        angle_set_deg: Some(2.385_912_8),
        angle_error_arcsec: Some(-0.11),
        ..stack
    });
    setup.kit = Some(kit);
    setup.fixture = Some(Fixture {
        name: "plate".into(),
        pivot: None,
        learned_pivot: None,
        clamp_shifts: Vec::new(),
    });
    job
}

#[test]
fn a_card_is_one_page_with_what_is_set_and_done() {
    let job = full();
    for paper in [Paper::A4, Paper::LETTER] {
        let card = card::write(&job, &cautions(), paper, Style::default()).unwrap();
        let pages = pages(&card);
        assert_eq!(pages.len(), 1);
        let text = dense(&pages[0]);
        for words in [
            "Half angle",
            "2.3859440°",
            "Diameter at the small end 37.5000 mm",
            "2 + 1.16 + 1.003 mm",
            "half angle 2.3859128°, -0.11″ from the one wanted",
            "sine bar, 100 mm between centres",
            "A at 0 mm, B at 80 mm",
            "A, B, A",
            "this set-up can",
            "Wring 2 + 1.16 + 1.003",
            "+58.63 µm ± 1.43 µm (95 %), at plane 26.000 mm (step 9)",
            "Dial. Check the indicator",
            "Stop the wheel and lock the spindle",
            "1 of 1",
        ] {
            assert!(text.contains(&dense(words)), "{words}: {text}");
        }
    }
}

#[test]
fn the_moment_of_a_document_is_the_sessions() {
    let record = example::record();
    let closed = record.session.closed_utc_ns.unwrap();
    let at = Timestamp::from_nanosecond(i128::from(closed.0)).unwrap();
    let written = at.strftime("D:%Y%m%d%H%M%S").to_string();
    let pdf = on_paper(&record, Paper::A4);
    let raw = String::from_utf8_lossy(&pdf);
    assert!(raw.contains(&written) || raw.contains(&at.strftime("%Y-%m-%dT%H:%M:%S").to_string()));
}
