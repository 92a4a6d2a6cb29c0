//! The way back: from a set-up to the options that state it, for a session that begins like an earlier one and for a job in a file.

use crate::model::{Config, TYPED};
use metrology::setting::{Bar, BarKind};
use metrology::setup::{BigEnd, IndicatorSide, Setup};
use metrology::taper::Taper;
use metrology::{Length, Unit};
use protocol::api::SetupOptions;

/// Which of two holds where the configuration says something else of an indicator, a fixture or the rest than it did then.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// What the set-up had: a job in a file states it.
    Then,
    /// What the configuration says, as far as it says anything: a new session begins with the bench as it is.
    Now,
}

/// A set-up as options.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Stated {
    /// The options. What the configuration says anyway is not among them.
    pub options: SetupOptions,
    /// What is not as it was, in sentences.
    pub changed: Vec<String>,
}

/// The options that state this set-up. Where the set-up turns and what its clamp does is left to what is known of the fixture.
///
/// ```
/// use conewright_config::{Config, Holds, resolve, stated};
/// use protocol::api::SetupOptions;
/// let config = Config::default();
/// let options = SetupOptions::of([("taper", "1:12"), ("span", "80"), ("tolerance", "AT4"), ("length", "30")]);
/// let setup = resolve(&config, &options)?;
/// let back = stated(&config, &setup, Holds::Then);
/// assert_eq!(resolve(&config, &back.options)?, setup);
/// # Ok::<(), protocol::api::Refusal>(())
/// ```
#[must_use]
pub fn stated(config: &Config, setup: &Setup, holds: Holds) -> Stated {
    let mut back = Back {
        holds,
        changed: Vec::new(),
    };
    let taper = setup.taper.as_ref().map(|taper| back.taper(config, taper));
    let own_length = setup.taper.as_ref().and_then(|taper| taper.length);
    let bar = setup.bar.as_ref().map(|bar| back.bar(config, bar));
    let (bar, bar_kind, bar_constant) = bar.unwrap_or_default();
    let (span, stations, pass) = places(setup);
    let fixture = setup.fixture.as_ref();
    let configured = fixture.and_then(|fixture| config.fixture(&fixture.name));
    let indicator = &setup.indicator;
    let habit = &config.indicator;
    let cable = indicator.cable.as_ref();
    let of_cable = config
        .cables
        .iter()
        .find(|known| Some(&known.name) == cable);
    let options = SetupOptions {
        taper,
        length: setup.length.filter(|_| setup.length != own_length).map(mm),
        tolerance: setup.tolerance.map(|tolerance| tolerance.to_string()),
        bar,
        bar_kind,
        bar_constant,
        kit: setup.kit.as_ref().map(|kit| kit.name.clone()),
        span,
        stations,
        pass,
        fixture: fixture
            .map(|fixture| fixture.name.clone())
            .filter(|name| !name.is_empty()),
        pivot: back.length(
            "where the fixture turns",
            fixture.and_then(|fixture| fixture.pivot),
            configured.and_then(|fixture| fixture.pivot),
        ),
        big_end: setup.sense.map(|sense| match sense.big_end {
            BigEnd::A => "A".to_owned(),
            BigEnd::B => "B".to_owned(),
        }),
        indicator_side: setup.sense.map(|sense| match sense.indicator {
            IndicatorSide::Wheel => "wheel".to_owned(),
            IndicatorSide::Opposite => "opposite".to_owned(),
        }),
        cable: Some(cable.map_or_else(|| TYPED.to_owned(), Clone::clone)),
        resolution: back.length(
            "one step of the indicator's display",
            indicator.resolution,
            of_cable.and_then(|c| c.resolution).or(habit.resolution),
        ),
        indicator_error: back.length(
            "the indicator's largest error",
            indicator.error_limit,
            of_cable.and_then(|c| c.error_limit).or(habit.error_limit),
        ),
        repeatability: back.length(
            "the indicator's repeatability",
            indicator.repeatability,
            of_cable
                .and_then(|c| c.repeatability)
                .or(habit.repeatability),
        ),
        division: back.length("one division", indicator.division, habit.division),
        straightness: setup.straightness.map(mm),
        station_error: setup.station_error.map(mm),
        settle_band: back.length("the settle band", setup.settle.band, config.settle.band),
    };
    Stated {
        options,
        changed: back.changed,
    }
}

/// A length as an option's text; a bare number is in millimetres.
fn mm(length: Length) -> String {
    length.decimal(Unit::Mm)
}

/// The span, the further stations, and the order of a round where it is not the usual one.
fn places(setup: &Setup) -> (Option<String>, Vec<String>, Option<String>) {
    let span = setup.stations.iter().find(|station| station.name == "B");
    let further = setup
        .stations
        .iter()
        .filter(|station| station.name != "A" && station.name != "B");
    let first = setup.stations.first();
    let usual = setup.stations.iter().chain(first).map(|s| &s.name);
    let pass = (!usual.eq(&setup.pass)).then(|| setup.pass.join(" "));
    (
        span.map(|station| mm(station.position)),
        further
            .map(|station| format!("{}={}", station.name, mm(station.position)))
            .collect(),
        pass,
    )
}

/// What is noted on the way back.
struct Back {
    holds: Holds,
    changed: Vec<String>,
}

impl Back {
    /// A length that the configuration may say as well.
    fn length(&mut self, what: &str, then: Option<Length>, now: Option<Length>) -> Option<String> {
        match (then, now) {
            (Some(then), Some(now)) if then == now => None,
            (Some(then), Some(now)) if self.holds == Holds::Now => {
                self.changed.push(format!(
                    "{what} is {now} by the configuration now; it was {then}"
                ));
                None
            }
            (Some(then), _) => Some(mm(then)),
            (None, Some(now)) => {
                self.changed.push(format!(
                    "{what} is {now} by the configuration now; it was not stated"
                ));
                None
            }
            (None, None) => None,
        }
    }

    /// Its name, as long as that means the same cone; else its half angle.
    fn taper(&mut self, config: &Config, taper: &Taper) -> String {
        /// A stored angle may differ in its last digit.
        const SAME_ARCSEC: f64 = 1e-6;
        let name = &taper.name;
        let now = config.taper(name);
        let same = |now: &Taper| {
            let apart = (now.half_angle.arcsec() - taper.half_angle.arcsec()).abs();
            apart < SAME_ARCSEC
                && now.gauge_diameter == taper.gauge_diameter
                && now.length == taper.length
        };
        match now {
            Ok(now) if same(&now) => name.clone(),
            now => {
                let half_angle = format!("{}deg", taper.half_angle.deg());
                let why = match now {
                    Ok(_) => "is another one by the configuration now",
                    Err(_) => "is not in the configuration now",
                };
                self.changed.push(format!(
                    "the taper `{name}` {why}; its half angle of then is taken, {half_angle}"
                ));
                half_angle
            }
        }
    }

    /// Name or size, kind and constant.
    fn bar(
        &mut self,
        config: &Config,
        bar: &Bar,
    ) -> (Option<String>, Option<String>, Option<String>) {
        let constant = (bar.constant != Length::ZERO).then(|| mm(bar.constant));
        let same = |own: &Bar| {
            let bare = |bar: &Bar| Bar {
                constant: Length::ZERO,
                ..bar.clone()
            };
            bare(own) == bare(bar)
        };
        // The one with the same constant first: two bars may be of one size.
        let mut own: Vec<_> = config.bars.iter().filter(|(_, own)| same(own)).collect();
        own.sort_by_key(|(_, own)| own.constant != bar.constant);
        if let Some((name, own)) = own.first() {
            let constant = (own.constant != bar.constant).then(|| mm(bar.constant));
            return (Some((*name).clone()), None, constant);
        }
        if bar.centre_distance_u.is_some() {
            self.changed.push(
                "the bar is not in the configuration now; the uncertainty of its centre distance is left out"
                    .to_owned(),
            );
        }
        let size = match (bar.centre_distance, bar.disc_radii) {
            (Some(centre), _) => Some(mm(centre)),
            (None, Some([small, large])) => Some(format!("{}/{}", mm(small), mm(large))),
            (None, None) => None,
        };
        let kind = match bar.kind {
            BarKind::Sine => "sine",
            BarKind::Hinged => "hinged",
            BarKind::Tangent => "tangent",
        };
        (size, Some(kind.to_owned()), constant)
    }
}
