//! Quantities in each style.

use super::*;

const INCH: Style = Style::of(Unit::In);
const GERMAN: Style = Style {
    unit: Unit::In,
    decimal: Decimal::Comma,
    language: Language::De,
    division: None,
};

#[test]
fn as_many_places_as_the_display_has() {
    for (resolution, mm, um, inch) in [
        ("0.01", 2, 0, 4),
        ("0.001", 3, 0, 5),
        ("0.002", 3, 0, 5),
        ("0.0005", 4, 1, 5),
        ("0.0001", 4, 1, 6),
        ("0.0001in", 5, 2, 4),
        ("0.00005in", 5, 2, 5),
        ("1", 0, 0, 2),
    ] {
        let places = |unit| Style::of(unit).places(resolution.parse().ok());
        let all = [Unit::Mm, Unit::Um, Unit::In].map(places);
        assert_eq!(all, [mm, um, inch], "{resolution}");
    }
    assert_eq!(Style::default().places(None), 3);
    assert_eq!(Style::default().places(Some(Length::ZERO)), 3);
}

#[test]
fn a_reading_in_each_unit() {
    // 1 in = 25.4 mm exactly: 0.0254 mm is 0.001 in.
    let step: Length = "0.0001in".parse().unwrap();
    assert_eq!(INCH.reading(0.0254, Some(step), 0), "+0.0010");
    let um = Some(Length::from_um(1));
    assert_eq!(Style::default().reading(0.0254, um, 1), "+0.0254");
    assert_eq!(Style::of(Unit::Um).reading(-0.0254, um, 0), "-25");
}

#[test]
fn a_reading_as_documents_write_it() {
    let step = |pm| Some(Length::from_pm(pm));
    let read = |mm, step| Style::default().read(mm, step);
    assert_eq!(read(0.0042, step(100_000)), "+0.0042 mm");
    assert_eq!(read(0.0042, step(1_000_000)), "+0.004 mm");
    assert_eq!(read(0.0125, step(500_000)), "+0.0125 mm");
    assert_eq!(read(-1.0, step(1_000_000_000)), "-1 mm");
    assert_eq!(read(0.0042, None), "+0.0042 mm");
    assert_eq!(INCH.read(0.0254, step(2_540_000)), "+0.0010 in");
    assert_eq!(GERMAN.read(0.0254, step(2_540_000)), "+0,0010 in");
}

#[test]
fn nothing_is_never_minus() {
    let style = Style::default();
    assert_eq!(style.signed(0.004, 2), "0.00");
    assert_eq!(style.signed(-0.004, 2), "0.00");
    assert_eq!(style.signed(-0.006, 2), "-0.01");
    assert_eq!(style.with_sign(-0.0004, 3), "+0.000");
    assert_eq!(style.with_sign(-0.0006, 3), "-0.001");
}

/// A tenth is 2.54 µm.
#[test]
fn small_lengths_in_inches_are_tenths_and_in_german_millionths() {
    assert_eq!(INCH.micro(2.54), "1.00 tenths");
    assert_eq!(INCH.small_signed(2.54), "+1.00");
    assert_eq!(INCH.small_signed(-254.0), "-100.0");
    assert_eq!(GERMAN.micro(2.54), "100 µin");
    assert_eq!(Style::default().micro(2.54), "2.54 µm");
    let step: Length = "0.00005in".parse().unwrap();
    assert_eq!(INCH.small_size(-2.54, Some(step)), "1.0");
}

#[test]
fn lengths_in_inches_end_at_a_hundred_thousandth() {
    let length = |text: &str| text.parse::<Length>().unwrap();
    assert_eq!(INCH.length(length("30")), "1.1811 in");
    assert_eq!(INCH.length(length("1in")), "1 in");
    assert_eq!(INCH.length(length("0")), "0 in");
    assert_eq!(INCH.long_number(40.0, 5), "1.57480");
    assert_eq!(INCH.fine(length("0.00005in")), "0.00005 in");
    assert_eq!(INCH.fine(length("0.001")), "0.39 tenths");
    assert_eq!(Style::default().fine(length("0.001")), "0.001 mm");
}

#[test]
fn blocks_are_told_by_what_is_engraved() {
    let blocks = |texts: &[&str]| -> Vec<Length> {
        texts.iter().map(|text| text.parse().unwrap()).collect()
    };
    let inch = blocks(&["4in", "0.5in", "0.121in", "0.1005in"]);
    assert_eq!(
        Style::default().engraved(&inch, None),
        "4.000 + .500 + .121 + .1005 in"
    );
    let metric = blocks(&["20", "1.005"]);
    assert_eq!(INCH.engraved(&metric, None), "20 + 1.005 mm");
    assert_eq!(GERMAN.blocks(&metric, None), "20 + 1,005 mm");
    assert_eq!(Style::default().blocks(&metric, None), "20 + 1.005");
}

#[test]
fn a_tolerance_in_inches_is_told_in_them() {
    let told = |text: &str, style: Style| style.tolerance(text.parse().unwrap());
    assert_eq!(told("0.0002in", INCH), "0.0002 in");
    assert_eq!(told("1um/60mm", INCH), "0.39 tenths / 2.3622 in");
    assert_eq!(told("AT4", INCH), "AT4");
    assert_eq!(told("1um/60mm", Style::default()), "1um/60mm");
}
