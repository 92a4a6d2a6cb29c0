//! The links to the page: a secret each, new whenever the page is opened.

use protocol::api::{Code, Refusal};
use rustix::rand::{GetRandomFlags, getrandom};
use std::hint::black_box;

/// Bytes of a secret: nobody guesses 128 bits.
const SECRET: usize = 16;

/// What a link allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rights {
    /// To look on.
    View,
    /// To do whatever the page offers.
    Mark,
}

/// The secrets of both links.
pub(super) struct Links {
    view: String,
    /// None where no link may mark.
    mark: Option<String>,
}

impl Links {
    /// # Errors
    /// The system gives no random numbers.
    pub fn new(view_only: bool) -> Result<Self, Refusal> {
        Ok(Self {
            view: secret()?,
            mark: (!view_only).then(secret).transpose()?,
        })
    }

    pub fn token(&self, rights: Rights) -> Option<&str> {
        match rights {
            Rights::View => Some(&self.view),
            Rights::Mark => self.mark.as_deref(),
        }
    }

    /// What a secret allows; none for one that is not of these links.
    pub fn rights(&self, presented: &str) -> Option<Rights> {
        // Both are compared whatever the first comparison gives.
        let may_mark = self.mark.as_ref().is_some_and(|own| same(own, presented));
        let may_view = same(&self.view, presented);
        match (may_mark, may_view) {
            (true, _) => Some(Rights::Mark),
            (false, true) => Some(Rights::View),
            (false, false) => None,
        }
    }
}

/// Compares in a time that depends on the lengths alone.
fn same(own: &str, presented: &str) -> bool {
    let pairs = own.bytes().zip(presented.bytes());
    let differ = pairs.fold(0, |differ, (a, b)| black_box(differ | (a ^ b)));
    own.len() == presented.len() && differ == 0
}

fn secret() -> Result<String, Refusal> {
    let mut bytes = [0; SECRET];
    let mut filled = 0;
    while filled < SECRET {
        filled += getrandom(&mut bytes[filled..], GetRandomFlags::empty()).map_err(|error| {
            Refusal::new(
                Code::Internal,
                format!("the system gives no random numbers: {error}"),
            )
            .hint("open the page again")
        })?;
    }
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_gives_its_own_rights_and_nothing_else_gives_any() {
        let links = Links::new(false).unwrap();
        let mark = links.token(Rights::Mark).unwrap().to_owned();
        let view = links.token(Rights::View).unwrap().to_owned();
        assert_eq!(mark.len(), 2 * SECRET);
        assert_ne!(mark, view);
        assert_eq!(links.rights(&mark), Some(Rights::Mark));
        assert_eq!(links.rights(&view), Some(Rights::View));
        let longer = format!("{mark}0");
        for other in ["", &mark[..31], &longer, &mark.to_uppercase()] {
            // A secret of digits alone has no capitals.
            if other != mark {
                assert_eq!(links.rights(other), None, "{other}");
            }
        }
        assert_eq!(Links::new(false).unwrap().rights(&mark), None);
        let view_only = Links::new(true).unwrap();
        assert_eq!(view_only.token(Rights::Mark), None);
        assert_eq!(view_only.rights(""), None);
    }
}
