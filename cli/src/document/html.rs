//! A record as one page to read and print.

use super::page::Page;
use super::{beside, step, utc};
use metrology::setting::{Bar, BarKind};
use metrology::setup::Setup;
use metrology::{Length, Unit};
use protocol::record::{EventKind, Record};

/// The page: identification, plan, each step with its plots, tables, budget and verdict, what happened, cautions.
#[must_use]
pub fn write(record: &Record) -> String {
    let mut page = Page::new(&format!("Set-up record: {}", record.session.name));
    identification(&mut page, record);
    beside::write(&mut page, record);
    plan(&mut page, &record.setup);
    for step in &record.steps {
        step::write(&mut page, &record.setup, step);
    }
    if record.steps.is_empty() {
        page.paragraph("The session has no steps.");
    }
    events(&mut page, record);
    if !record.cautions.is_empty() {
        page.heading("Cautions");
        page.list(&record.cautions);
    }
    page.source(format!(
        "Written by Conewright {} as record version {}. Every result above can be computed again from the readings in \
         the record's JSON: conewright verify FILE.json",
        record.program, record.version
    ));
    page.finish()
}

fn identification(page: &mut Page, record: &Record) {
    let session = &record.session;
    page.facts(&[
        ("Part", Some(session.name.clone())),
        ("Session", Some(session.id.to_string())),
        (
            "Opened",
            Some(format!("{} UTC", utc(session.opened_utc_ns))),
        ),
        (
            "Closed",
            Some(session.closed_utc_ns.map_or_else(
                || "still open when this was written".to_owned(),
                |t| format!("{} UTC", utc(t)),
            )),
        ),
    ]);
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

fn plan(page: &mut Page, setup: &Setup) {
    page.heading("Plan");
    let taper = setup.taper.as_ref();
    let stations = |setup: &Setup| {
        let names: Vec<String> = setup
            .stations
            .iter()
            .map(|s| format!("{} at {}", s.name, mm(s.position)))
            .collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let stack = setup.stack.as_ref();
    page.facts(&[
        ("Taper", taper.map(|t| t.name.clone())),
        (
            "Half angle",
            taper.map(|t| {
                format!(
                    "{}  ({}), included {}",
                    t.half_angle,
                    t.half_angle.dms(1),
                    t.half_angle * 2.0
                )
            }),
        ),
        (
            "Gauge diameter",
            taper.and_then(|t| t.gauge_diameter).map(mm),
        ),
        (
            "Length",
            setup
                .length
                .or_else(|| taper.and_then(|t| t.length))
                .map(mm),
        ),
        (
            "Tolerance",
            setup
                .tolerance
                .map(|t| t.to_string().replace("arcsec", "″")),
        ),
        ("Setting instrument", setup.bar.as_ref().map(bar_words)),
        (
            "Gauge blocks",
            setup.kit.as_ref().map(|kit| kit.name.clone()),
        ),
        (
            "Stack",
            stack.map(|s| {
                let blocks: Vec<String> = s.blocks.iter().map(|b| b.decimal(Unit::Mm)).collect();
                format!(
                    "{} = {} (wanted {})",
                    blocks.join(" + "),
                    mm(s.sum),
                    mm(s.height)
                )
            }),
        ),
        (
            "What the stack sets",
            stack.and_then(|s| {
                let (angle, error) = (s.angle_set_deg?, s.angle_error_arcsec?);
                Some(format!(
                    "half angle {angle:.7}°, {error:+.2}″ from the one wanted"
                ))
            }),
        ),
        ("Stations", stations(setup)),
        ("Fixture", setup.fixture.as_ref().map(|f| f.name.clone())),
        ("Indicator on cable", setup.indicator.cable.clone()),
        ("Indicator's resolution", setup.indicator.resolution.map(mm)),
        (
            "Indicator's error",
            setup.indicator.error_limit.map(|e| format!("± {}", mm(e))),
        ),
        (
            "Indicator's last check",
            setup.indicator.check.as_ref().map(step::check_words),
        ),
        (
            "Indicator's lever",
            setup
                .indicator
                .lever_angle
                .map(|angle| format!("{:.1}° to the surface", angle.deg())),
        ),
    ]);
    if let Some(taper) = taper {
        page.source(format!("Taper: {}", taper.source));
    }
}

fn events(page: &mut Page, record: &Record) {
    if record.events.is_empty() && record.cables.is_empty() {
        return;
    }
    page.heading("Notes and events");
    let word = |kind: EventKind| match kind {
        EventKind::Note => "note",
        EventKind::Clamp => "clamp",
        EventKind::Ground => "ground",
        EventKind::Cable => "cable",
        EventKind::Clock => "clock",
        EventKind::Gap => "gap",
        EventKind::Daemon => "program",
    };
    page.table(
        &["UTC", "What", ""],
        record
            .events
            .iter()
            .map(|e| vec![utc(e.utc_ns), word(e.what).to_owned(), e.text.clone()]),
    );
    page.table(
        &["Cable", "Port", "Settings", "Readings", "Frame"],
        record.cables.iter().map(|c| {
            [&c.name, &c.port, &c.settings, &c.cadence, &c.frame]
                .map(String::clone)
                .to_vec()
        }),
    );
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
