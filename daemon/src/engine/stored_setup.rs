//! A set-up as it is after it was stored and read again.

use metrology::setup::Setup;
use protocol::api::{Code, Refusal};

/// A set-up as the next daemon will read it, so that what is computed now is computed again then, to the last bit: an
/// angle is kept in radians and written in degrees, and the first time the last digit may change. One that cannot be
/// read again would keep that daemon from starting on its store, so it is rejected here, whatever let it through.
pub(crate) fn as_read_again(setup: &Setup) -> Result<Setup, Refusal> {
    /// It changes once, seldom twice.
    const TRIES: usize = 8;
    let refused = |error: serde_json::Error| {
        Refusal::new(
            Code::BadValue,
            format!("the set-up cannot be stored: {error}"),
        )
        .hint("one of its values is far beyond what can be measured: correct it")
    };
    let mut now = setup.clone();
    for _ in 0..TRIES {
        let written = serde_json::to_string(&now).map_err(refused)?;
        let again = serde_json::from_str(&written).map_err(refused)?;
        if again == now {
            break;
        }
        now = again;
    }
    Ok(now)
}

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::Angle;
    use metrology::tolerance::Tolerance;

    #[test]
    fn a_set_up_that_could_not_be_read_again_is_not_stored() {
        let limit = |deg| Setup {
            tolerance: Some(Tolerance::HalfAngle(Angle::from_deg(deg))),
            ..Setup::default()
        };
        assert!(as_read_again(&limit(0.001)).is_ok());
        let refusal = as_read_again(&limit(1e24)).unwrap_err();
        assert_eq!(refusal.code, Code::BadValue);
        assert!(refusal.message.contains("cannot be read"), "{refusal:?}");
    }

    /// Found by fuzzing: the half angle of 1:19 changed in its last digit over a restart, and every result with it.
    #[test]
    fn a_set_up_is_the_same_after_a_restart() {
        let mut changed = 0;
        for n in 1..200 {
            let options = protocol::api::SetupOptions {
                taper: Some(format!("1:{n}")),
                length: Some("40".to_owned()),
                ..Default::default()
            };
            let resolved = config::resolve(&config::Config::default(), &options).unwrap();
            let setup = as_read_again(&resolved).unwrap();
            changed += usize::from(setup != resolved);
            let text = serde_json::to_string(&setup).unwrap();
            assert_eq!(
                serde_json::from_str::<Setup>(&text).unwrap(),
                setup,
                "1:{n}"
            );
        }
        assert!(changed > 0, "some do change the first time");
    }
}
