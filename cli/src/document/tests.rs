//! What the pages of all kinds of steps hold: parsed as XML, and measured against the scales that the plots print.

use super::example::{self, ROUND, SWEPT, job, step_of};
use super::html;
use metrology::Length;
use protocol::evidence::{MarkSource, Place};
use protocol::fold::{Outcome, StepKind};
use protocol::plan::{Condition, Work};
use protocol::record::{Record, StepRecord};
use protocol::sheet::{Sheet, Value};
use protocol::style::Style;
use roxmltree::{Document, Node};

/// The session with one step alone.
fn page_of(job: &Record, step: &StepRecord) -> String {
    let mut record = job.clone();
    record.steps = vec![step.clone()];
    html::write(&record, Style::default())
}

/// The body as XML, which is stricter than a browser; the head of a page in HTML is none.
fn parsed(page: &str) -> Document<'_> {
    let (_, body) = page.split_at(page.find("<body>").expect("a body"));
    Document::parse(body.trim_end().trim_end_matches("</html>")).unwrap_or_else(|e| panic!("{e}"))
}

fn text_of(document: &Document<'_>) -> String {
    let nodes = document.descendants().filter(Node::is_text);
    nodes
        .filter_map(|n| n.text())
        .collect::<Vec<_>>()
        .join("\n")
}

/// The first plot whose title begins so.
fn plot<'a>(document: &'a Document<'_>, title: &str) -> Node<'a, 'a> {
    document
        .descendants()
        .find(|n| {
            n.has_tag_name("svg")
                && n.attribute("aria-label")
                    .is_some_and(|label| label.starts_with(title))
        })
        .unwrap_or_else(|| panic!("no plot {title}"))
}

/// The elements of a name that have all these classes and are no samples of a legend.
fn all<'a>(plot: Node<'a, 'a>, name: &str, classes: &[&str]) -> Vec<Node<'a, 'a>> {
    plot.descendants()
        .filter(|n| n.has_tag_name(name))
        .filter(|n| {
            let of: Vec<&str> = n.attribute("class").unwrap_or("").split(' ').collect();
            classes.iter().all(|c| of.contains(c)) && !of.contains(&"sample")
        })
        .collect()
}

fn number(node: Node<'_, '_>, attribute: &str) -> f64 {
    node.attribute(attribute).unwrap().parse().unwrap()
}

/// Every number in a path's `d`, pair by pair.
fn places(path: Node<'_, '_>) -> Vec<[f64; 2]> {
    let d = path.attribute("d").unwrap();
    let numbers: Vec<f64> = d
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter(|text| !text.is_empty())
        .map(|text| text.parse().unwrap())
        .collect();
    numbers.chunks_exact(2).map(|p| [p[0], p[1]]).collect()
}

/// The line from pixels to values that an axis' own labels make.
struct Scale {
    at: f64,
    value: f64,
    per_px: f64,
}

impl Scale {
    fn of(ticks: &[(f64, f64)]) -> Self {
        let (first, last) = (ticks[0], ticks[ticks.len() - 1]);
        Self {
            at: first.0,
            value: first.1,
            per_px: (last.1 - first.1) / (last.0 - first.0),
        }
    }

    fn value(&self, px: f64) -> f64 {
        self.value + (px - self.at) * self.per_px
    }

    fn agrees(&self, px: f64, value: f64, px_off: f64) {
        let there = self.value(px);
        assert!(
            (there - value).abs() <= px_off * self.per_px.abs(),
            "{there} drawn for {value}"
        );
    }
}

fn ticks(plot: Node<'_, '_>, class: &str, attribute: &str) -> Vec<(f64, f64)> {
    all(plot, "text", &[class])
        .into_iter()
        .filter_map(|n| {
            let at = n.attribute(attribute)?.parse().ok()?;
            Some((at, n.text()?.parse().ok()?))
        })
        .collect()
}

/// The scales of a chart; a label's baseline lies 3.5 below its tick.
fn scales(plot: Node<'_, '_>) -> [Scale; 2] {
    let y: Vec<(f64, f64)> = ticks(plot, "ytick", "y")
        .into_iter()
        .map(|(at, value)| (at - 3.5, value))
        .collect();
    [Scale::of(&ticks(plot, "xtick", "x")), Scale::of(&y)]
}

/// The middle, base radius and pixels per micrometre of a polar plot, by its rings and what it says one is worth.
fn polar(plot: Node<'_, '_>) -> ([f64; 2], f64, f64) {
    let base = all(plot, "circle", &["base"])[0];
    let middle = [number(base, "cx"), number(base, "cy")];
    let radius = number(base, "r");
    let mut rings: Vec<f64> = all(plot, "circle", &["grid"])
        .into_iter()
        .map(|ring| number(ring, "r"))
        .collect();
    rings.sort_by(f64::total_cmp);
    let text = text_in(plot);
    let worth = text.split("one ring ").nth(1).unwrap();
    let um: f64 = worth.split(' ').next().unwrap().parse().unwrap();
    let distance = (rings[rings.len() - 1] - rings[0]) / (rings.len() - 1) as f64;
    (middle, radius, distance / um)
}

fn text_in(node: Node<'_, '_>) -> String {
    let texts = node.descendants().filter_map(|n| n.text());
    texts.collect::<Vec<_>>().join(" ")
}

#[test]
fn the_page_of_every_kind_is_well_formed_and_has_its_figures() {
    let job = job();
    for kind in StepKind::ALL {
        for step in step_of(&job, kind) {
            let outcome = step.outcome.as_ref().unwrap_or_else(|| {
                panic!("step {}: {:?}", step.number, step.no_outcome);
            });
            let page = page_of(&job, step);
            let document = parsed(&page);
            let text = text_of(&document);
            let two = |v: f64| format!("{v:.2}");
            let figures = match outcome {
                Outcome::Zero(zero) => vec![two(zero.residual_arcsec.unwrap())],
                Outcome::Sweep(sweep) => vec![
                    two(sweep.straightness_mz_um),
                    two(sweep.straightness_ls_um),
                    two(sweep.bow_um.unwrap().abs()),
                    two(sweep.half_angle_error_arcsec.unwrap()),
                ],
                Outcome::Runout(runout) => vec![
                    two(runout.section.tir_um),
                    two(runout.section.eccentricity_um),
                    two(runout.section.roundness_mz_um.unwrap()),
                    format!("{:.0}°", runout.section.high_spot_deg),
                ],
                Outcome::Size(size) => vec![
                    two(size.stock_on_diameter_um.unwrap()),
                    two(size.infeed_square_to_axis_um.unwrap()),
                    two(size.infeed_square_to_cone_um.unwrap()),
                    "3: 2 of 10.00 µm".into(),
                    "LEFT ON DIAMETER".into(),
                ],
                Outcome::Contact(contact) => {
                    vec![
                        contact.worth(),
                        "THE PRINT CONTRADICTS".into(),
                        "BY EYE".into(),
                    ]
                }
                Outcome::Dial(dial) => vec![
                    two(dial.error_span_um),
                    two(dial.hysteresis_um.unwrap()),
                    two(dial.repeatability_um.unwrap()),
                    "Checked\n2026-03-01".into(),
                    Style::default().signed(dial.check.correction[3].add_um, 2),
                ],
            };
            for figure in figures {
                assert!(text.contains(&figure), "{kind:?}: {figure} is missing");
            }
            for sentence in outcome.sentences() {
                assert!(text.contains(sentence), "{kind:?}: {sentence}");
            }
            for line in outcome.budget() {
                assert!(text.contains(&line.component), "{kind:?}: {line:?}");
            }
            assert!(!page.contains("NaN") && !page.contains(">inf"), "{kind:?}");
        }
    }
}

#[test]
fn text_and_page_say_the_same() {
    let job = job();
    for step in &job.steps {
        let outcome = step.outcome.as_ref().unwrap();
        let page = page_of(&job, step);
        let page = text_of(&parsed(&page));
        let text = crate::outcome_text::outcome(outcome, &job.setup, Style::default());
        let sheet = Sheet::of(&job.setup, outcome, None, Style::default());
        assert!(sheet.figures.len() > 3, "{}", step.number);
        for figure in &sheet.figures {
            if matches!(figure.value, Value::Moment(_)) {
                continue;
            }
            let words = figure.text(|_| String::new());
            for line in words.lines() {
                assert!(text.contains(line) && page.contains(line), "{line}");
            }
            assert!(text.contains(&figure.name), "{}", figure.name);
        }
        for table in sheet.parts.iter().filter_map(|part| part.table.as_ref()) {
            for cell in table.rows.iter().flatten() {
                assert!(text.contains(cell) && page.contains(cell), "{cell}");
            }
        }
    }
}

#[test]
fn level_tells_its_worth() {
    let job = job();
    let page = page_of(&job, step_of(&job, StepKind::Zero)[1]);
    let text = text_of(&parsed(&page));
    for words in [
        "zero about level",
        "Worth on diameter",
        "axes 170.0 mm apart",
        "enough is enough",
    ] {
        assert!(text.contains(words), "{words}");
    }
}

#[test]
fn a_sweep_is_drawn_to_its_scale_with_its_outlier_apart() {
    let job = job();
    let step = step_of(&job, StepKind::Sweep)[1];
    let Some(Outcome::Sweep(outcome)) = &step.outcome else {
        panic!("{step:?}");
    };
    assert_eq!(outcome.outlier_rows, [218]);
    let page = page_of(&job, step);
    let document = parsed(&page);
    let chart = plot(&document, "Departure");
    assert_eq!(all(chart, "circle", &["fine"]).len(), SWEPT - 1);
    let crosses = all(chart, "path", &["cross"]);
    assert_eq!(crosses.len(), 1);
    // The grain of grit, from the reading itself: its share of the way between the two moments, and its distance from
    // the line, the check's correction made.
    let reading = step.evidence.readings["bench"][217];
    let [begin, end] = [0, 1].map(|i| step.evidence.marks[i].t);
    let place = reading.t.since_s(begin) / end.since_s(begin) * 80.0;
    let shown = reading.value.mm();
    let departure_um =
        (job.setup.indicator.true_mm(shown) - outcome.intercept_mm - outcome.slope * place) * 1e3;
    let [x, y] = scales(chart);
    let [left, top] = places(crosses[0])[0];
    x.agrees(left + 4.0, place, 0.2);
    y.agrees(top + 4.0, departure_um, 0.2);
    // The two lines of the zone stand apart by its width, and the filtered profile lies between them.
    let zone: Vec<Vec<[f64; 2]>> = all(chart, "path", &["light", "d1"])
        .into_iter()
        .map(places)
        .collect();
    assert_eq!(zone.len(), 2);
    let apart = y.value(zone[1][0][1]) - y.value(zone[0][0][1]);
    assert!((apart - outcome.straightness_mz_um).abs() < 0.02, "{apart}");
    let filtered = places(all(chart, "path", &["heavy"])[0]);
    // Half the cut-off is left out at each end.
    let left_out = outcome.filtered.as_ref().unwrap().left_out_mm.unwrap();
    let [first, last] = [filtered[0], filtered[filtered.len() - 1]];
    let apart = (outcome.to_mm - outcome.from_mm) / (SWEPT - 1) as f64;
    for (place, want) in [
        (x.value(first[0]), outcome.from_mm + left_out),
        (x.value(last[0]), outcome.to_mm - left_out),
    ] {
        assert!((place - want).abs() < 1.1 * apart, "{place} {want}");
    }
    for [px, py] in filtered {
        let share = (px - zone[0][0][0]) / (zone[0][1][0] - zone[0][0][0]);
        let line = |i: usize| zone[i][0][1] + share * (zone[i][1][1] - zone[i][0][1]);
        assert!(line(1) - 0.3 <= py && py <= line(0) + 0.3);
    }
    assert!(text_of(&document).contains("All 600 readings are drawn"));
    assert!(text_of(&document).contains("a feed taken as steady"));
}

#[test]
fn many_readings_are_thinned_and_the_page_says_so() {
    let mut job = job();
    let mut step = step_of(&job, StepKind::Sweep)[1].clone();
    let readings = step.evidence.readings.get_mut("bench").unwrap();
    let first = readings[0];
    *readings = (0..10_000_u64)
        .map(|i| protocol::evidence::Reading {
            seq: i,
            t: first.t.plus_s(i as f64 * 0.002),
            value: Length::from_pm(100_000 * (i as i64 * 7 % 23)),
            ..first
        })
        .collect();
    // A filter over so many readings would only take its time.
    if let Work::Sweep(plan) = &mut step.plan.work {
        plan.sweep.filter = None;
    }
    let step = StepRecord::computed(
        1,
        step.plan.clone(),
        (step.opened, step.closed),
        &job.setup,
        step.evidence,
    );
    job.steps = vec![step];
    let page = html::write(&job, Style::default());
    let document = parsed(&page);
    let drawn = all(plot(&document, "Departure"), "circle", &["fine"]).len();
    assert!((1_500..=2_000).contains(&drawn), "{drawn}");
    let text = text_of(&document);
    assert!(text.contains(&format!("Of 10000 readings {drawn} are drawn")));
}

#[test]
fn a_polar_plot_has_its_points_and_circles_where_they_belong() {
    let job = job();
    let step = step_of(&job, StepKind::Runout)[0];
    let Some(Outcome::Runout(outcome)) = &step.outcome else {
        panic!("{step:?}");
    };
    let page = page_of(&job, step);
    let document = parsed(&page);
    let chart = plot(&document, "Readings round a turn");
    let (middle, base, px_per_um) = polar(chart);
    let from_middle = |[x, y]: [f64; 2]| (x - middle[0]).hypot(y - middle[1]);
    // Twice round by hand: twelve full dots and twelve open ones, and the knob of the high spot beside them.
    let dots = all(chart, "circle", &["heavy"]);
    assert_eq!(dots.len(), 12);
    assert_eq!(all(chart, "circle", &["light"]).len(), 12);
    // The fourth mark, at 90°, lies to the right by what it reads above the circle's level.
    let mark = &step.evidence.marks[3];
    let (Place::Angle { angle, .. }, MarkSource::Typed { value, .. }) = (&mark.place, &mark.source)
    else {
        panic!("{mark:?}");
    };
    assert_eq!(angle.deg(), 90.0);
    let corrected = |shown: f64| job.setup.indicator.true_mm(shown);
    let level_um = (corrected(value.mm()) - corrected(outcome.section.mean_mm)) * 1e3;
    let dot = [number(dots[3], "cx"), number(dots[3], "cy")];
    assert!((dot[0] - middle[0] - base - level_um * px_per_um).abs() < 0.2);
    assert!((dot[1] - middle[1]).abs() < 0.1);
    // The least squares circle stands out by e at the high spot, and the zone is as wide as it is.
    let circle = places(all(chart, "path", &["circle", "heavy"])[0]);
    let farthest = circle.iter().map(|p| from_middle(*p)).fold(0.0, f64::max);
    let e = outcome.section.eccentricity_um;
    assert!((farthest - base - e * px_per_um).abs() < 0.3);
    let zone = all(chart, "path", &["circle", "d1"]);
    assert_eq!(zone.len(), 2);
    let [inner, outer] = [0, 1].map(|i| from_middle(places(zone[i])[0]));
    let width_um = (outer - inner) / px_per_um;
    assert!((width_um - outcome.section.roundness_mz_um.unwrap()).abs() < 0.2);
    // The knob: at four o'clock, below the middle by half of its distance.
    let spot = all(chart, "circle", &["spot"])[0];
    let [x, y] = [number(spot, "cx"), number(spot, "cy")];
    let deg = (x - middle[0]).atan2(middle[1] - y).to_degrees();
    assert!((deg - outcome.section.high_spot_deg).abs() < 0.2, "{deg}");
    // Both planes are drawn, with the axis told.
    plot(&document, "Readings round a turn in plane 25.000 mm");
    let text = text_of(&document);
    assert!(text.contains("Run-out that the axis gives elsewhere") && text.contains("Tilt"));
}

#[test]
fn turns_are_overlaid_and_many_are_a_band() {
    let job = job();
    let step = step_of(&job, StepKind::Runout)[1];
    let page = page_of(&job, step);
    let document = parsed(&page);
    let chart = plot(&document, "Form");
    // Four whole turns and the beginning of a fifth, and the filtered profile over them.
    let traces = all(chart, "path", &["trace"]);
    assert_eq!(traces.len(), ROUND[1] + 2);
    assert!((ROUND[0] - 1..=ROUND[0] + 1).contains(&places(traces[0]).len()));
    let bars = all(plot(&document, "Harmonics"), "rect", &["bar"]);
    assert_eq!(bars.len(), 14);
    let y = &scales(plot(&document, "Harmonics"))[1];
    let Some(Outcome::Runout(outcome)) = &step.outcome else {
        panic!("{step:?}");
    };
    for (bar, amplitude) in bars.iter().zip(&outcome.section.harmonics_um) {
        y.agrees(number(*bar, "y"), *amplitude, 0.2);
    }
    // The same turns again and again.
    let mut step = step.clone();
    let readings = step.evidence.readings.get_mut("bench").unwrap();
    readings.truncate(ROUND[0] * ROUND[1]);
    let once = readings.clone();
    for again in 1..4_u64 {
        readings.extend(once.iter().map(|r| protocol::evidence::Reading {
            seq: r.seq + again * once.len() as u64,
            t: r.t.plus_s(0.05 * (again * once.len() as u64) as f64),
            ..*r
        }));
    }
    let last = readings[readings.len() - 1].t;
    step.evidence.marks[1].t = last.plus_s(0.05);
    let many = StepRecord::computed(1, step.plan, (step.opened, None), &job.setup, step.evidence);
    let page = page_of(&job, &many);
    let document = parsed(&page);
    let chart = plot(&document, "Form");
    assert_eq!(all(chart, "path", &["band"]).len(), 1);
    assert!(text_of(&document).contains("1888 readings of 16 turns"));
}

#[test]
fn found_and_left_stand_beside_each_other_at_one_scale() {
    let job = job();
    let page = html::write(&job, Style::default());
    let document = parsed(&page);
    let found = step_of(&job, StepKind::Runout)[0];
    assert_eq!(found.plan.condition, Some(Condition::Found));
    let polars = [
        plot(&document, "Run-out of step 3"),
        plot(&document, "Run-out of step 7"),
    ];
    assert_eq!(polar(polars[0]), polar(polars[1]));
    let text = text_of(&document);
    let beside = text.find("As found and as left").unwrap();
    let top = &text[beside..text.find("\nPlan\n").unwrap()];
    for words in ["As found (step 2)", "As left (step 6)", "28.31", "Bow"] {
        assert!(top.contains(words), "{words}");
    }
    assert!(!top.contains("contact"), "there is one contact step");
    // Neither alone makes a pair.
    let alone = page_of(&job, found);
    assert!(!alone.contains("As found and as left"));
}

#[test]
fn reversal_draws_part_and_spindle_at_one_scale() {
    let job = job();
    let step = step_of(&job, StepKind::Runout)[2];
    let Work::Runout(plan) = &step.plan.work else {
        panic!("{step:?}");
    };
    assert!(plan.reversal);
    let page = page_of(&job, step);
    let document = parsed(&page);
    let (part, spindle) = (plot(&document, "The part"), plot(&document, "The spindle"));
    let (middle, base, px_per_um) = polar(part);
    assert_eq!((middle, base, px_per_um), polar(spindle));
    let dots = all(part, "circle", &["heavy"]);
    assert_eq!(dots.len(), 24);
    // The part is oval by 1.5 µm: at 0° it stands out by that.
    let first = middle[1] - number(dots[0], "cy") - base;
    assert!((first / px_per_um - 1.5).abs() < 0.05, "{first}");
}

#[test]
fn size_dial_and_contact_are_drawn_to_their_scales() {
    let job = job();
    let size = step_of(&job, StepKind::Size)[0];
    let page = page_of(&job, size);
    let document = parsed(&page);
    let chart = plot(&document, "Diameters");
    let [x, y] = scales(chart);
    let dots = all(chart, "circle", &["heavy"]);
    assert_eq!(dots.len(), 3);
    for (dot, (plane, um)) in dots.iter().zip([(2.0, 61.0), (14.0, 59.5), (26.0, 58.8)]) {
        x.agrees(number(*dot, "cx"), plane, 0.2);
        // The diameters are shown to 0.1 µm.
        assert!((y.value(number(*dot, "cy")) - um).abs() < 0.05 + 0.2 * y.per_px.abs());
    }
    let wanted = places(all(chart, "path", &["heavy"])[0]);
    y.agrees(wanted[0][1], 0.0, 0.2);

    let dial = step_of(&job, StepKind::Dial)[0];
    let page = page_of(&job, dial);
    let document = parsed(&page);
    let chart = plot(&document, "Error of indication");
    let [x, y] = scales(chart);
    let (up, down) = (
        all(chart, "circle", &["heavy"]),
        all(chart, "circle", &["light"]),
    );
    assert_eq!((up.len(), down.len()), (6, 6));
    x.agrees(number(up[2], "cx"), 0.4, 0.2);
    // Upward 1.4 and 1.6, downward 0.7 and 0.5.
    y.agrees(number(up[2], "cy"), 1.5, 0.2);
    y.agrees(number(down[2], "cy"), 0.6, 0.2);

    let contact = step_of(&job, StepKind::Contact)[0];
    let page = page_of(&job, contact);
    let document = parsed(&page);
    let chart = plot(&document, "The print");
    let y = &scales(chart)[1];
    let bars = all(chart, "rect", &["bar"]);
    for (bar, percent) in bars.iter().zip([85.0, 60.0, 5.0]) {
        y.agrees(number(*bar, "y"), percent, 0.2);
    }
    assert_eq!(bars.len(), 3);
}

#[test]
fn names_of_any_kind_leave_a_page_well_formed() {
    let mut job = job();
    let hostile = "</svg><script>\u{0}\u{1b}]]>&amp;\"'<!--";
    job.session.name = hostile.into();
    job.cautions = vec![hostile.into()];
    for station in &mut job.setup.stations {
        station.name = hostile.into();
    }
    job.steps[0].no_outcome = Some(hostile.into());
    job.steps[0].outcome = None;
    for step in &mut job.steps {
        let readings = std::mem::take(&mut step.evidence.readings);
        step.evidence.readings = readings
            .into_values()
            .map(|list| (hostile.to_owned(), list))
            .collect();
        for mark in step.evidence.marks.iter_mut() {
            match (&mut mark.source, &mut mark.place) {
                (MarkSource::Dwell { cable, .. } | MarkSource::Moment { cable }, _) => {
                    *cable = hostile.into();
                }
                (_, Place::Station(station)) => station.name = hostile.into(),
                _ => {}
            }
        }
        step.values = step.evidence.lines();
    }
    let page = html::write(&job, Style::default());
    assert!(!page.contains("<script"));
    parsed(&page);
    parsed(&html::write(&example::record(), Style::default()));
}

/// What is wider than a telephone has a frame in which it scrolls, or stands below its neighbour there.
#[test]
fn tables_and_plots_stand_in_a_frame() {
    let page = html::write(&job(), Style::default());
    let document = parsed(&page);
    let wide = document
        .descendants()
        .filter(|node| node.has_tag_name("table") || node.has_tag_name("svg"));
    let mut count = 0;
    for node in wide {
        let framed = node
            .ancestors()
            .any(|above| matches!(above.attribute("class"), Some("wide" | "pair")));
        assert!(framed, "{node:?}");
        count += 1;
    }
    assert!(count > 30, "{count}");
    for rule in [".wide{overflow-x:auto", ".wide svg{min-width:600px}"] {
        assert!(page.contains(rule), "{rule}");
    }
}
