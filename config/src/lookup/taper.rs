//! Tapers by name, by ratio on diameter, by half angle, or by taper per foot.

mod drawing;
mod session;

pub use session::named_session;

use super::{own, squeezed};
use crate::model::Config;
use crate::near::hint;
use crate::shipped::shipped_tapers;
use metrology::Angle;
use metrology::taper::Taper;
use protocol::api::{Code, Refusal};

/// The systems of named tapers, with the ways in which the trade writes them before the number. Blanks,
/// hyphens and underscores count for nothing here.
const SYSTEMS: [(&str, &[&str]); 5] = [
    ("morse", &["morse", "morsetaper", "mt", "mk"]),
    ("metric", &["metric", "me"]),
    ("bs", &["brownandsharpe", "brown&sharpe", "b&s", "bs"]),
    ("jarno", &["jarno"]),
    ("b", &["b"]),
];

/// What the standards of holders call the 7:24 taper of a number. A name of one's own may be spelled like one of them, and then
/// means that one.
///
/// - `No. 40`, `40 taper`: ISO 297, and ANSI B5.50 as the trade reads it (*common practice*)
/// - `ISO 40`: ISO 297 and ISO 7388-1 (*common practice*)
/// - `SK 40`: DIN 69871-1 and DIN 2080, from *Steilkegel* (from memory)
/// - `BT 40`: MAS 403, which the shipped diameters are from
///
/// The cone is the same in all of them; flange and keys are not, and are no matter of a taper.
const OF_7_24: [&str; 5] = ["no.", "no", "iso", "sk", "bt"];

const TAPER_FORMS: &str = "a taper is a name such as `morse-2`, `b-16` or `7:24-40`, a ratio such as `1:12`, \
     a half angle such as `1.43deg` or `0.6in/ft`, or from a drawing two diameters with their distance, `40/37.5/30`; \
     `conewright taper` lists the names";

/// The shipped name that a user means, when the spelling is one of a taper's system and number.
fn shipped_taper_name(spec: &str) -> Option<String> {
    if let Some(size) = spec
        .strip_prefix("7:24")
        .or_else(|| spec.strip_prefix("7/24"))
    {
        // `7:2440` is a ratio; the size stands apart.
        let apart = |c: char| c.is_whitespace() || matches!(c, '-' | '_');
        let number = size.trim_start_matches(apart);
        if number.len() == size.len() {
            return None;
        }
        let lower = number.to_lowercase();
        let numbered = ["no.", "no"].iter().find_map(|no| lower.strip_prefix(no));
        let number = numbered.map_or(number, |bare| bare.trim_start_matches(apart));
        return Some(format!("7:24-{number}"));
    }
    let squeezed = squeezed(spec);
    SYSTEMS.iter().find_map(|(system, spellings)| {
        spellings.iter().find_map(|spelling| {
            let number = squeezed.strip_prefix(spelling)?;
            let digits = !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit());
            digits.then(|| format!("{system}-{number}"))
        })
    })
}

/// The shipped 7:24 taper that a user means by what a standard of holders calls it: `No. 40`, `40 taper`, `ISO 40`.
fn shipped_holder_name(spec: &str) -> Option<String> {
    let squeezed = squeezed(spec);
    let bare = squeezed.strip_suffix("taper");
    let number = OF_7_24
        .iter()
        .find_map(|system| bare.unwrap_or(&squeezed).strip_prefix(system));
    // A number alone says nothing without the word behind it.
    let number = number.or(bare)?;
    let digits = number.len() == 2 && number.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| format!("7:24-{number}"))
}

/// The system of shipped tapers that a user means who names no number.
fn shipped_system(spec: &str) -> Option<&'static str> {
    let squeezed = squeezed(spec);
    let system = SYSTEMS
        .iter()
        .find(|(_, spellings)| spellings.contains(&&*squeezed));
    system.map(|(system, _)| *system)
}

fn shipped_taper(name: &str) -> Option<&'static Taper> {
    shipped_tapers().iter().find(|t| t.name == name)
}

/// Whether a name means a shipped taper, a ratio or an angle already.
pub(crate) fn is_taken_by_a_taper(name: &str) -> bool {
    shipped_taper_name(name.trim()).is_some()
        || shipped_taper(name).is_some()
        || name.parse::<Angle>().is_ok()
}

/// Refuses an angle that no cone has.
fn check_half_angle(half_angle: Angle) -> Result<Angle, Refusal> {
    metrology::taper::check_half_angle(half_angle).map_err(|e| {
        Refusal::new(Code::BadValue, format!("taper: {e}")).hint(
            "give the half angle, between the axis and the cone's side: `1.431deg`, or the ratio on diameter: \
             `1:12`",
        )
    })
}

impl Config {
    /// The user's tapers, then the shipped ones.
    pub fn all_tapers(&self) -> impl Iterator<Item = &Taper> {
        self.tapers.values().chain(shipped_tapers())
    }

    /// The taper that a user means: a name, a ratio on diameter, a **half** angle, taper per foot, or what a drawing gives: two
    /// diameters with their distance, `40/37.5/30`. A diameter at the gauge plane stands behind any of them, `1:12@40`; one at
    /// another plane with its distance from that one toward the small end, `1:12@39.5/6`.
    ///
    /// ```
    /// let config = conewright_config::Config::default();
    /// assert_eq!(config.taper("brown and sharpe 7")?.name, "bs-7");
    /// assert_eq!(config.taper("B16")?.name, "b-16");
    /// assert_eq!(config.taper("ISO 40")?.name, "7:24-40");
    /// assert_eq!(config.taper("40/37.5/30")?.half_angle, config.taper("1:12")?.half_angle);
    /// assert_eq!(config.taper("1:12@39.5/6")?.gauge_diameter, Some("40".parse()?));
    /// assert!((config.taper("1:12")?.half_angle.deg() - 2.385_944).abs() < 1e-6);
    /// let family = config.taper("morse").unwrap_err();
    /// assert_eq!(family.hint.as_deref(), Some("of `morse-…` the program has 0, 1, 2, 3, 4, 5, 6, 7"));
    /// let wrong = config.taper("mores-2").unwrap_err();
    /// assert_eq!(wrong.hint.as_deref(), Some("did you mean `morse-2`?"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`Code::UnknownName`] with the nearest name, or [`Code::BadValue`] for an angle that no taper has.
    pub fn taper(&self, spec: &str) -> Result<Taper, Refusal> {
        let spec = spec.trim();
        if spec.is_empty() {
            return Err(Refusal::new(Code::BadValue, "no taper is given").hint(TAPER_FORMS));
        }
        if let Some(taper) = own(&self.tapers, spec) {
            return Ok(taper.clone());
        }
        if let Some(session) = named_session(spec) {
            return Err(session::elsewhere(spec, session));
        }
        if let Some((cone, place)) = spec.split_once('@') {
            return drawing::at_plane(&self.taper(cone)?, place);
        }
        let shipped_name = shipped_taper_name(spec).or_else(|| shipped_holder_name(spec));
        if let Some(taper) = shipped_taper(shipped_name.as_deref().unwrap_or(spec)) {
            return Ok(taper.clone());
        }
        if let Some(name) = shipped_name {
            let system = name.rsplit_once('-').map_or(&*name, |(system, _)| system);
            return Err(unknown_number(system, spec));
        }
        if let Some(system) = shipped_system(spec) {
            return Err(unknown_number(system, spec));
        }
        if !spec.starts_with(|c: char| c.is_ascii_digit() || "+-.,\u{2212}".contains(c)) {
            let known = || self.all_tapers().map(|t| t.name.as_str());
            return Err(
                Refusal::new(Code::UnknownName, format!("there is no taper `{spec}`")).hint(hint(
                    spec,
                    known().collect::<Vec<_>>(),
                    TAPER_FORMS,
                )),
            );
        }
        if spec.matches('/').count() == 2 && !Angle::is_on_diameter(spec) {
            return drawing::by_diameters(spec);
        }
        let half_angle = spec
            .parse::<Angle>()
            .map_err(|e| Refusal::new(Code::BadValue, format!("taper {e}")).hint(TAPER_FORMS))?;
        let half_angle = check_half_angle(half_angle)?;
        let by_ratio = Angle::is_on_diameter(spec);
        Ok(Taper {
            name: spec.split_whitespace().collect(),
            half_angle,
            gauge_diameter: None,
            small_diameter: None,
            length: None,
            source: if by_ratio {
                "taper on diameter as stated"
            } else {
                "half angle as stated"
            }
            .to_owned(),
        })
    }
}

/// A refusal for a number that a known system has not: the numbers it has are a better hint than a near name.
fn unknown_number(system: &str, spec: &str) -> Refusal {
    let numbers: Vec<&str> = shipped_tapers()
        .iter()
        .filter_map(|t| {
            t.name
                .rsplit_once('-')
                .filter(|(s, _)| *s == system)
                .map(|(_, n)| n)
        })
        .collect();
    Refusal::new(Code::UnknownName, format!("there is no taper `{spec}`")).hint(format!(
        "of `{system}-…` the program has {}",
        numbers.join(", ")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn name(spec: &str) -> String {
        match Config::default().taper(spec) {
            Ok(taper) => taper.name,
            Err(refusal) => format!("{:?}: {}", refusal.code, refusal.hint.unwrap_or_default()),
        }
    }

    #[test]
    fn tapers_as_people_write_them() {
        for (spec, expected) in [
            ("morse-2", "morse-2"),
            ("morse 2", "morse-2"),
            ("  Morse_2 ", "morse-2"),
            ("MT2", "morse-2"),
            ("mk 2", "morse-2"),
            ("b-16", "b-16"),
            ("B16", "b-16"),
            ("7:24-40", "7:24-40"),
            ("7:24 40", "7:24-40"),
            ("7/24-40", "7:24-40"),
            ("No. 40", "7:24-40"),
            ("no 40 taper", "7:24-40"),
            ("40 taper", "7:24-40"),
            ("ISO 40", "7:24-40"),
            ("iso50", "7:24-50"),
            ("SK-30", "7:24-30"),
            ("BT 40", "7:24-40"),
            ("7:24 No. 40", "7:24-40"),
            ("Morse taper 2", "morse-2"),
            ("0.6 in/foot", "0.6in/foot"),
            ("0,6in/ft", "0,6in/ft"),
            ("1:12,5", "1:12,5"),
            ("40/37.5/30", "40/37.5/30"),
            ("40 / 37,5 / 30", "40/37,5/30"),
            ("1:12@40", "1:12@40"),
            ("morse-2@17.8", "morse-2@17.8"),
            ("jarno-5", "jarno-5"),
            ("Jarno 5", "jarno-5"),
            ("bs-7", "bs-7"),
            ("brown and sharpe 7", "bs-7"),
            ("Brown & Sharpe 7", "bs-7"),
            ("B&S 7", "bs-7"),
            ("metric-80", "metric-80"),
            ("1:12", "1:12"),
            ("1 : 12", "1:12"),
            ("7:24", "7:24"),
            ("1.43deg", "1.43deg"),
            ("0.6in/ft", "0.6in/ft"),
            ("3d", "3d"),
            ("1d25m51s", "1d25m51s"),
            ("40urad", "40urad"),
        ] {
            assert_eq!(name(spec), expected, "{spec}");
        }
    }

    #[test]
    fn numbers_behind_the_names() {
        let config = Config::default();
        let half = |spec: &str| config.taper(spec).unwrap().half_angle;
        // ISO 1119 by GB/T 157-2001: 1:20 is 2°51'51.0925" included.
        assert!((2.0 * half("1:20").arcsec() - 10_311.092_5).abs() < 1e-4);
        assert_eq!(half("metric 80"), half("1:20"));
        assert!((half("0.6in/ft").rad() - half("1:20").rad()).abs() < 1e-15);
        assert!((half("3d").deg() - 3.0).abs() < 1e-12);
        assert!((half("7:24-40").rad() - half("7:24").rad()).abs() < 1e-15);
    }

    #[test]
    fn a_drawing_gives_angle_and_diameters() {
        let config = Config::default();
        let seat = config.taper("40/37.5/30").unwrap();
        let mm = |text: &str| Some(text.parse::<metrology::Length>().unwrap());
        assert_eq!(
            (seat.gauge_diameter, seat.small_diameter, seat.length),
            (mm("40"), mm("37.5"), mm("30"))
        );
        assert!((seat.ratio_n() - 12.0).abs() < 1e-12);
        let inches = config.taper("2in/1.9in/1.2in").unwrap();
        assert!((inches.ratio_n() - 12.0).abs() < 1e-12);
        // Half a millimetre on diameter is 6 mm of a 1:12 cone, to either side of the gauge plane.
        assert_eq!(
            config.taper("1:12@39.5/6").unwrap().gauge_diameter,
            mm("40")
        );
        assert_eq!(
            config.taper("1:12@40.5/-6").unwrap().gauge_diameter,
            mm("40")
        );
        let morse = config.taper("morse-2@17.8").unwrap();
        assert_eq!(
            (morse.gauge_diameter, morse.small_diameter),
            (mm("17.8"), None)
        );
        assert_eq!(
            morse.half_angle,
            config.taper("morse-2").unwrap().half_angle
        );
    }

    /// A name of one's own that is spelled as a standard of holders would: it means one's own.
    #[test]
    fn an_own_name_comes_before_the_names_of_holders() {
        let text = "[taper.bt-40]\nhalf_angle = \"8.3deg\"\n";
        let config = Config::parse(text, "c").unwrap();
        assert_eq!(config.taper("bt-40").unwrap().name, "bt-40");
        assert_eq!(config.taper("iso-40").unwrap().name, "7:24-40");
    }

    #[test]
    fn what_is_no_taper_is_refused_with_what_to_do() {
        for (spec, expected) in [
            ("mores-2", "UnknownName: did you mean `morse-2`?"),
            ("jarnow-5", "UnknownName: did you mean `jarno-5`?"),
            (
                "morse-9",
                "UnknownName: of `morse-…` the program has 0, 1, 2, 3, 4, 5, 6, 7",
            ),
            (
                "7:24-41",
                "UnknownName: of `7:24-…` the program has 30, 35, 40, 45, 50, 55, 60",
            ),
            (
                "ISO 41",
                "UnknownName: of `7:24-…` the program has 30, 35, 40, 45, 50, 55, 60",
            ),
            (
                "b-17",
                "UnknownName: of `b-…` the program has 6, 10, 12, 16, 18, 22, 24",
            ),
        ] {
            assert_eq!(name(spec), expected, "{spec}");
        }
        for spec in [
            "0deg",
            "90deg",
            "120deg",
            "-1deg",
            "1:0",
            "0:1",
            "-1:12",
            "1.43",
            "1.43furlong",
            "1e-3deg",
            "37.5/40/30",
            "40/40/30",
            "40/37.5/0",
            "40/37.5/x",
            "1:12@",
            "1:12@0",
            "1:12@40/x",
            "1:12@1/-13",
            "1:12@40@41",
            "1:",
            "",
        ] {
            let refusal = Config::default().taper(spec).unwrap_err();
            assert_eq!(refusal.code, Code::BadValue, "{spec}: {refusal}");
            assert!(refusal.hint.is_some(), "{spec}");
        }
        // The limits themselves, on both sides.
        assert!(Config::default().taper("89.999deg").is_ok());
        assert!(Config::default().taper("0.001arcsec").is_ok());
    }
}
