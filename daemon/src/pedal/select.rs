//! Which input device the pedal is: named by what it is, and nothing is guessed.

use super::list::{InputDevice, devices};
use crate::cable::Fault;
use config::PedalSelector;
use std::path::{Path, PathBuf};

/// The device file of the selected pedal, now.
///
/// # Errors
/// No device fits, or several do.
pub(super) fn path_of(root: &Path, wanted: &PedalSelector) -> Result<PathBuf, Fault> {
    match &wanted.path {
        Some(path) => Ok(path.clone()),
        None => choose(&devices(root), wanted),
    }
}

fn choose(devices: &[InputDevice], wanted: &PedalSelector) -> Result<PathBuf, Fault> {
    let fitting: Vec<&InputDevice> = devices.iter().filter(|d| d.is(wanted)).collect();
    match fitting.as_slice() {
        [one] => Ok(one.path.clone()),
        [] => Err(Fault::Gone(format!(
            "no input device {wanted} is plugged in; waiting for it. `conewright cable pedal list` shows those there are"
        ))),
        several => {
            let found: Vec<String> = several.iter().map(|device| device.identity()).collect();
            Err(Fault::Refused(format!(
                "{} input devices are {wanted}, and none is taken by chance: {}. Name the one by `interface`, `socket` or \
                 `name`, or by its path in `device`",
                several.len(),
                found.join(", ")
            )))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::list::tests::plug;
    use super::*;

    #[test]
    fn one_is_taken_and_several_are_not() {
        let root = tempfile::tempdir().unwrap();
        plug(root.path(), 3, "foot switch", "3-1", 0, "A1");
        plug(root.path(), 4, "foot switch keypad", "3-1", 1, "A1");
        plug(root.path(), 5, "foot switch", "3-2", 0, "");
        let usual = PedalSelector {
            usb: Some((0x1a2c, 0x0027)),
            ..PedalSelector::default()
        };
        let found = |wanted: PedalSelector| path_of(root.path(), &wanted);
        let event = |number: u32| Ok(root.path().join(format!("dev/input/event{number}")));
        let name = |name: &str| Some(name.to_owned());
        for (wanted, number) in [
            (
                PedalSelector {
                    interface: Some(1),
                    ..usual.clone()
                },
                4,
            ),
            (
                PedalSelector {
                    socket: name("3-2"),
                    ..usual.clone()
                },
                5,
            ),
            (
                PedalSelector {
                    name: name("foot switch keypad"),
                    ..PedalSelector::default()
                },
                4,
            ),
            (
                PedalSelector {
                    serial: name("A1"),
                    interface: Some(0),
                    ..usual.clone()
                },
                3,
            ),
        ] {
            assert_eq!(found(wanted.clone()), event(number), "{wanted}");
        }
        let Err(Fault::Refused(words)) = found(usual.clone()) else {
            panic!("three fit");
        };
        for candidate in ["event3", "event4", "event5", "interface 1", "at 3-2"] {
            assert!(words.contains(candidate), "{words}");
        }
        let absent = PedalSelector {
            usb: Some((0x1a2c, 0x0028)),
            ..usual
        };
        assert!(matches!(found(absent), Err(Fault::Gone(_))));
    }
}
