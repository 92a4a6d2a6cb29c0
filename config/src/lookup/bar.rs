//! Setting instruments by name, or by their numbers.

use super::own;
use crate::model::Config;
use crate::near::hint;
use metrology::Length;
use metrology::setting::{Bar, BarKind};
use protocol::api::{Code, Refusal};

impl Config {
    /// The setting instrument that a user means: one of the configuration by name, or one by its numbers.
    ///
    /// `spec` is a name, or the centre distance (`100`, `5in`); for a tangent bar the two radii of its discs
    /// as `R1/R2`. `kind` is `sine` (also when absent), `hinged` or `tangent`; `constant` is what the stack
    /// must have added, and wins over that of a named bar.
    ///
    /// # Errors
    /// [`Code::UnknownName`] for a name or kind that is not known, [`Code::BadValue`] for a length that is
    /// none or not above zero.
    pub fn bar(
        &self,
        spec: &str,
        kind: Option<&str>,
        constant: Option<&str>,
    ) -> Result<Bar, Refusal> {
        let spec = spec.trim();
        let kind = kind.map(bar_kind).transpose()?;
        let constant = constant
            .map(|text| {
                text.parse::<Length>()
                    .map_err(|e| {
                        Refusal::new(Code::BadValue, format!("constant of the bar: {e}"))
                            .hint("the constant is a length, what the stack must have added: `1`, `0.05in`; leave it out where there is none")
                    })
            })
            .transpose()?;
        let mut bar = match own(&self.bars, spec) {
            Some(bar) => bar.clone(),
            None => self.bar_by_numbers(spec, kind.unwrap_or(BarKind::Sine))?,
        };
        if let Some(kind) = kind.filter(|kind| *kind != bar.kind) {
            return Err(Refusal::new(
                Code::BadValue,
                format!(
                    "the bar `{spec}` is a {} bar by the configuration, not a {} bar",
                    kind_name(bar.kind),
                    kind_name(kind)
                ),
            )
            .hint("leave the kind out, or correct [bar] in the configuration"));
        }
        bar.constant = constant.unwrap_or(bar.constant);
        Ok(bar)
    }

    fn bar_by_numbers(&self, spec: &str, kind: BarKind) -> Result<Bar, Refusal> {
        let forms = match kind {
            BarKind::Sine | BarKind::Hinged => {
                "a bar is a name from the configuration, or its centre distance: `100`, `5in`"
            }
            BarKind::Tangent => {
                "a tangent bar is a name from the configuration, or the radii of its discs, the smaller first: `10/25`"
            }
        };
        if !spec.starts_with(|c: char| c.is_ascii_digit() || "+-.,\u{2212}".contains(c)) {
            let known = self.bars.keys().map(String::as_str).collect::<Vec<_>>();
            return Err(
                Refusal::new(Code::UnknownName, format!("there is no bar `{spec}`"))
                    .hint(hint(spec, known, forms)),
            );
        }
        let length = |text: &str| {
            let length = text
                .parse::<Length>()
                .map_err(|e| Refusal::new(Code::BadValue, format!("bar {e}")).hint(forms))?;
            if length > Length::ZERO {
                Ok(length)
            } else {
                Err(Refusal::new(
                    Code::BadValue,
                    format!("bar `{spec}`: its length must be above 0"),
                )
                .hint(forms))
            }
        };
        let (centre_distance, disc_radii) = match kind {
            BarKind::Sine | BarKind::Hinged => (Some(length(spec)?), None),
            BarKind::Tangent => {
                let Some((small, large)) = spec.split_once('/') else {
                    return Err(Refusal::new(
                        Code::BadValue,
                        format!("bar `{spec}`: a tangent bar has two discs"),
                    )
                    .hint(forms));
                };
                let radii = [length(small)?, length(large)?];
                if radii[0] >= radii[1] {
                    return Err(Refusal::new(
                        Code::BadValue,
                        format!("bar `{spec}`: the first disc of a tangent bar is the smaller one"),
                    )
                    .hint(forms));
                }
                (None, Some(radii))
            }
        };
        Ok(Bar {
            kind,
            centre_distance,
            constant: Length::ZERO,
            disc_radii,
            centre_distance_u: None,
        })
    }
}

/// The kinds of setting instruments by name.
pub(crate) const BAR_KINDS: [(&str, BarKind); 3] = [
    ("sine", BarKind::Sine),
    ("hinged", BarKind::Hinged),
    ("tangent", BarKind::Tangent),
];

fn kind_name(kind: BarKind) -> &'static str {
    BAR_KINDS
        .iter()
        .find(|(_, k)| *k == kind)
        .map_or("", |(name, _)| name)
}

fn bar_kind(text: &str) -> Result<BarKind, Refusal> {
    let wanted = text.trim().to_lowercase();
    BAR_KINDS
        .iter()
        .find(|(name, _)| *name == wanted)
        .map(|(_, kind)| *kind)
        .ok_or_else(|| {
            Refusal::new(
                Code::UnknownName,
                format!("there is no kind of bar `{text}`"),
            )
            .hint(hint(
                &wanted,
                BAR_KINDS.map(|(name, _)| name),
                "the kinds are sine, hinged and tangent",
            ))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_by_numbers() {
        let config = Config::default();
        let bar = config.bar("100", None, Some("1")).unwrap();
        assert_eq!(
            (bar.kind, bar.centre_distance, bar.constant),
            (
                BarKind::Sine,
                Some("100".parse().unwrap()),
                "1".parse().unwrap()
            )
        );
        let bar = config.bar("10/25", Some("tangent"), None).unwrap();
        assert_eq!(
            bar.disc_radii,
            Some(["10".parse().unwrap(), "25".parse().unwrap()])
        );
        for (spec, kind, constant, code) in [
            ("0", None, None, Code::BadValue),
            ("-100", None, None, Code::BadValue),
            ("100furlong", None, None, Code::BadValue),
            ("long one", None, None, Code::UnknownName),
            ("100", Some("sinus"), None, Code::UnknownName),
            ("100", None, Some("one"), Code::BadValue),
            ("100", Some("tangent"), None, Code::BadValue),
            ("25/10", Some("tangent"), None, Code::BadValue),
            ("10/10", Some("tangent"), None, Code::BadValue),
        ] {
            let refusal = config.bar(spec, kind, constant).unwrap_err();
            assert_eq!(
                refusal.code, code,
                "{spec} {kind:?} {constant:?}: {refusal}"
            );
        }
    }
}
