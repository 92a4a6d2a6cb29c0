//! From what a frame held to what the cable's configuration makes of it: sign, scale, resolution.

use config::model::Cable;
use metrology::{Length, Unit};
use protocol::frame::Decoded;

/// What is done to each value of a cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct AsConfigured {
    invert: bool,
    scale: f64,
    resolution: Option<Length>,
    unit: Unit,
}

impl AsConfigured {
    pub const fn of(cable: &Cable) -> Self {
        Self {
            invert: cable.invert,
            scale: cable.scale,
            resolution: cable.resolution,
            unit: cable.unit,
        }
    }

    /// Value and resolution; `None` when the scale takes the value out of the domain of a length.
    ///
    /// With a scale of 1 the value stays exactly what was shown; with another it is rounded to a picometre. The
    /// configured resolution is one step of the *result*, and stands as it is; the frame's own is scaled along. Where the
    /// frame says that the display was switched to another unit, the step that was configured is not that of the digits
    /// shown: then the coarser of the two counts. The angle
    /// of a lever is no business of the cable: a record keeps what was shown.
    pub fn apply(self, decoded: &Decoded) -> Option<(Length, Length)> {
        let scaled = |length: Length| -> Option<Length> {
            if self.scale.to_bits() == 1.0_f64.to_bits() {
                Some(length)
            } else {
                Length::from_mm(length.mm() * self.scale)
            }
        };
        let value = scaled(decoded.value)?;
        let shown = Length::from_pm(scaled(decoded.resolution)?.abs().pm().max(1));
        let switched = decoded.unit.is_some_and(|unit| unit != self.unit);
        let step = match self.resolution {
            Some(step) if switched => step.max(shown),
            Some(step) => step,
            None => shown,
        };
        Some((if self.invert { -value } else { value }, step))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(um: i64) -> Decoded {
        Decoded::bare(Length::from_um(um), Length::from_um(1))
    }

    #[test]
    fn sign_scale_and_resolution() {
        let plain = AsConfigured {
            invert: false,
            scale: 1.0,
            resolution: None,
            unit: Unit::Mm,
        };
        let um = Length::from_um;
        assert_eq!(plain.apply(&shown(-12)), Some((um(-12), um(1))));
        let inverted = AsConfigured {
            invert: true,
            ..plain
        };
        assert_eq!(inverted.apply(&shown(-12)), Some((um(12), um(1))));
        let twice = AsConfigured {
            scale: -2.0,
            ..plain
        };
        assert_eq!(twice.apply(&shown(-12)), Some((um(24), um(2))));
        let coarse = AsConfigured {
            resolution: Some(um(10)),
            ..twice
        };
        assert_eq!(coarse.apply(&shown(5)), Some((um(-10), um(10))));
        // A display of 1 µm that was switched to inches shows steps of 0.0001 in.
        let inches = Decoded {
            unit: Some(Unit::In),
            ..Decoded::bare(Length::from_pm(2_540_000), Length::from_pm(2_540_000))
        };
        let fine = AsConfigured {
            resolution: Some(um(1)),
            ..plain
        };
        let step = |of: AsConfigured| of.apply(&inches).map(|(_, step)| step.pm());
        assert_eq!(step(fine), Some(2_540_000));
        assert_eq!(
            step(AsConfigured {
                unit: Unit::In,
                ..fine
            }),
            Some(1_000_000)
        );
        let beyond = AsConfigured {
            scale: 1e12,
            ..plain
        };
        assert_eq!(beyond.apply(&shown(5)), None);
        // A picometre stays a picometre where nothing is scaled, however large the value.
        let exact = Decoded::bare(Length::from_pm(999_999_999_999_999), Length::from_pm(1));
        assert_eq!(
            plain.apply(&exact),
            Some((Length::from_pm(999_999_999_999_999), Length::from_pm(1)))
        );
    }
}
