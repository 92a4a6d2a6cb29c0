//! A record as one page to read and print.

use super::beside::beside;
use super::page::{self, facts, table};
use super::step::{check_words, step};
use super::utc;
use maud::{Markup, html};
use metrology::blocks::Stack;
use metrology::setting::{Bar, BarKind};
use metrology::setup::{Indicator, Setup};
use metrology::taper::Taper;
use metrology::{Length, Unit};
use protocol::record::{EventKind, Record, SessionInfo};

/// The page: identification, plan, each step with its plots, tables, budget and verdict, what happened, cautions.
#[must_use]
pub fn write(record: &Record) -> String {
    let body = html! {
        (identification(&record.session))
        (beside(record))
        (plan(&record.setup))
        @for of in &record.steps { (step(&record.setup, of)) }
        @if record.steps.is_empty() { p { "The session has no steps." } }
        (events(record))
        @if !record.cautions.is_empty() {
            h2 { "Cautions" }
            (page::list(&record.cautions))
        }
        p.source {
            "Written by Conewright " (record.program) " as record version " (record.version) ". Every result above can be \
             computed again from the readings in the record's JSON: conewright verify FILE.json"
        }
    };
    page::page(&format!("Set-up record: {}", record.session.name), &body)
}

fn identification(session: &SessionInfo) -> Markup {
    let at = |t| format!("{} UTC", utc(t));
    let closed = session
        .closed_utc_ns
        .map_or_else(|| "still open when this was written".to_owned(), at);
    facts([
        ("Part", Some(session.name.clone())),
        ("Session", Some(session.id.to_string())),
        ("Opened", Some(at(session.opened_utc_ns))),
        ("Closed", Some(closed)),
    ])
}

fn mm(length: Length) -> String {
    format!("{} mm", length.decimal(Unit::Mm))
}

fn bar_words(bar: &Bar) -> String {
    let kind = match bar.kind {
        BarKind::Sine => "sine bar",
        BarKind::Hinged => "hinged bar",
        BarKind::Tangent => "tangent bar",
    };
    let size = match (bar.centre_distance, bar.disc_radii) {
        (Some(centre), _) => format!(", {} between centres", mm(centre)),
        (None, Some([small, large])) => {
            format!(", discs of radius {} and {}", mm(small), mm(large))
        }
        (None, None) => String::new(),
    };
    let constant = if bar.constant == Length::ZERO {
        String::new()
    } else {
        format!(", constant {}", mm(bar.constant))
    };
    format!("{kind}{size}{constant}")
}

fn plan(setup: &Setup) -> Markup {
    let stations = setup.stations.iter();
    let stations: Vec<String> = stations
        .map(|s| format!("{} at {}", s.name, mm(s.position)))
        .collect();
    let tolerance = setup
        .tolerance
        .map(|t| t.to_string().replace("arcsec", "″"));
    let of_instruments = [
        ("Tolerance", tolerance),
        ("Setting instrument", setup.bar.as_ref().map(bar_words)),
        (
            "Gauge blocks",
            setup.kit.as_ref().map(|kit| kit.name.clone()),
        ),
    ];
    let where_it_stands = [
        (
            "Stations",
            (!stations.is_empty()).then(|| stations.join(", ")),
        ),
        ("Fixture", setup.fixture.as_ref().map(|f| f.name.clone())),
    ];
    let all = of_taper(setup).into_iter().chain(of_instruments);
    let all = all
        .chain(of_stack(setup.stack.as_ref()))
        .chain(where_it_stands);
    html! {
        h2 { "Plan" }
        (facts(all.chain(of_indicator(&setup.indicator))))
        @if let Some(taper) = &setup.taper { p.source { "Taper: " (taper.source) } }
    }
}

/// A name, and what it is.
type Fact = (&'static str, Option<String>);

fn of_taper(setup: &Setup) -> [Fact; 4] {
    let taper = setup.taper.as_ref();
    let half_angle = |t: &Taper| {
        let half = t.half_angle;
        format!("{half}  ({}), included {}", half.dms(1), half * 2.0)
    };
    let length = setup.length.or_else(|| taper.and_then(|t| t.length));
    [
        ("Taper", taper.map(|t| t.name.clone())),
        ("Half angle", taper.map(half_angle)),
        (
            "Gauge diameter",
            taper.and_then(|t| t.gauge_diameter).map(mm),
        ),
        ("Length", length.map(mm)),
    ]
}

fn of_stack(stack: Option<&Stack>) -> [Fact; 2] {
    let sum = |s: &Stack| {
        let blocks: Vec<String> = s.blocks.iter().map(|b| b.decimal(Unit::Mm)).collect();
        let blocks = blocks.join(" + ");
        format!("{blocks} = {} (wanted {})", mm(s.sum), mm(s.height))
    };
    let sets = |s: &Stack| {
        let (angle, error) = (s.angle_set_deg?, s.angle_error_arcsec?);
        Some(format!(
            "half angle {angle:.7}°, {error:+.2}″ from the one wanted"
        ))
    };
    [
        ("Stack", stack.map(sum)),
        ("What the stack sets", stack.and_then(sets)),
    ]
}

fn of_indicator(indicator: &Indicator) -> [Fact; 5] {
    let error = indicator.error_limit.map(|e| format!("± {}", mm(e)));
    let lever = indicator.lever_angle;
    let lever = lever.map(|angle| format!("{:.1}° to the surface", angle.deg()));
    [
        ("Indicator on cable", indicator.cable.clone()),
        ("Indicator's resolution", indicator.resolution.map(mm)),
        ("Indicator's error", error),
        (
            "Indicator's last check",
            indicator.check.as_ref().map(check_words),
        ),
        ("Indicator's lever", lever),
    ]
}

const fn word(kind: EventKind) -> &'static str {
    match kind {
        EventKind::Note => "note",
        EventKind::Clamp => "clamp",
        EventKind::Ground => "ground",
        EventKind::Cable => "cable",
        EventKind::Clock => "clock",
        EventKind::Gap => "gap",
        EventKind::Daemon => "program",
    }
}

fn events(record: &Record) -> Markup {
    let events = record.events.iter();
    let events: Vec<Vec<String>> = events
        .map(|e| vec![utc(e.utc_ns), word(e.what).to_owned(), e.text.clone()])
        .collect();
    let cables = record.cables.iter();
    let cables: Vec<Vec<String>> = cables
        .map(|c| {
            [&c.name, &c.port, &c.settings, &c.cadence, &c.frame]
                .map(String::clone)
                .to_vec()
        })
        .collect();
    html! {
        @if !(events.is_empty() && cables.is_empty()) {
            h2 { "Notes and events" }
            (table(&["UTC", "What", ""], &events))
            (table(&["Cable", "Port", "Settings", "Readings", "Frame"], &cables))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::example;

    #[test]
    fn the_page_is_one_file_that_loads_nothing() {
        let html = write(&example::record());
        for outside in [
            "http://", "https://", "src=", "<script", "<link", "@import", "url(",
        ] {
            assert!(!html.contains(outside), "{outside}");
        }
        for part in [
            "Plan",
            "Step 1: zero",
            "Budget",
            "<svg",
            "Cautions",
            "2.38594",
            "wheel dressed",
        ] {
            assert!(html.contains(part), "{part} is missing");
        }
    }

    #[test]
    fn what_users_write_is_text_and_nothing_else() {
        let mut record = example::record();
        record.session.name = "<script>alert('x')</script>".into();
        record.events[0].text = "\"><img onerror=1>".into();
        record.cables[0].name = "</td><b>".into();
        if let protocol::evidence::Place::Station(station) =
            &mut record.steps[0].evidence.marks[0].place
        {
            station.name = "<i>A".into();
        }
        let html = write(&record);
        for forged in ["<script>", "<img", "<b>", "<i>"] {
            assert!(!html.contains(forged), "{forged}");
        }
        assert!(html.contains("&lt;script&gt;"));
    }

    #[test]
    fn a_record_without_anything_still_makes_a_page() {
        let mut record = example::record();
        record.steps.clear();
        record.events.clear();
        record.setup = Setup::default();
        assert!(write(&record).contains("no steps"));
    }
}
