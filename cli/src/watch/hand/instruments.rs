//! Another instrument is plugged in, or what the indicator shows jumped while its cable was out: the user says whether that counts from
//! now on.

use super::Request;
use crate::watch::state::{Question, Watch};
use protocol::api::{Accepted, CableStatus};
use protocol::said;

impl Watch {
    /// The cable on which another instrument waits to be accepted.
    fn with_another(&self) -> Option<&CableStatus> {
        let status = self.known.status.as_ref()?;
        let mut cables = status.cables.iter();
        cables.find(|cable| cable.other_instrument.is_some())
    }

    /// Asks whether what is plugged in now is to count.
    pub(super) fn offer_instrument(&mut self) {
        let style = self.style();
        let text = match self.with_another() {
            Some(cable) => said!(
                style,
                "watch-take-instrument",
                cable = cable.name.as_str(),
                instrument = cable.other_instrument.as_deref().unwrap_or_default()
            ),
            None => said!(style, "watch-take-jump"),
        };
        self.question(Question::Instrument, text);
    }

    /// The user has said that it counts.
    pub(super) fn accept(&self) -> Request {
        Request::Accept(self.with_another().map(|cable| cable.name.clone()))
    }

    pub(super) fn accepted(&mut self, accepted: &Accepted) {
        let style = self.style();
        let round = said!(style, "watch-round-begins");
        self.done(
            said!(style, "watch-accepted", cable = accepted.cable.as_str()),
            accepted.new_round.then_some(&*round),
        );
    }
}
