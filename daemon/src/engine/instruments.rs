//! Which instrument a cable's readings come from, and whether it is still the one that measured before.
//!
//! A port is a name, and whatever is plugged in next may take it. So the engine remembers what a cable was opened with. The
//! readings of another instrument count nowhere until the user accepts it. Where nothing tells two instruments apart, the
//! first mark after the cable was out is compared with the reading before that: an instrument that has lost its zero, or
//! another one, shows something else.

use super::draft::{Draft, Drafted};
use super::fitted::{jumped, name_of};
use super::request::Answer;
use super::session::Session;
use super::state::Engine;
use crate::store::Row;
use crate::timeline::Moment;
use config::near::nearest;
use protocol::api::{AcceptRequest, Accepted, Code, Marked, Refusal};
use protocol::evidence::{Mark, MarkSource};
use protocol::record::EventKind;

fn by(cable: &str, mark: &Mark) -> bool {
    !mark.taken_back && matches!(&mark.source, MarkSource::Dwell { cable: of, .. } if *of == *cable)
}

impl Session {
    /// Notes that another instrument measures from here on. Marks before and after are of no common zero, so they are not of
    /// one round, and nothing is learned from one to the other.
    fn measured_by_another(
        &self,
        cable: &str,
        accepted: Accepted,
        text: String,
        now: Moment,
    ) -> Drafted<Accepted> {
        let mut after = self.clone();
        let mut rows = vec![self.event(EventKind::Cable, text, now)];
        if accepted.new_round {
            after.setting += 1;
            rows.push(Row::Clamp {
                session: self.id,
                clamped: after.clamped,
                setting: after.setting,
            });
        }
        let mut draft = Draft::of(rows, Some(after));
        draft.accepted = Some(cable.to_owned());
        Ok((draft, accepted))
    }
}

impl Engine {
    /// A cable was opened with something else than before.
    pub(super) fn on_instrument(&mut self, index: usize, known_as: Option<String>) {
        let served = &mut self.roster.served[index];
        let name = served.config.name.clone();
        let fitted = &mut served.fitted;
        let text = match &fitted.own {
            None => {
                fitted.own = Some(known_as);
                self.keep_instruments();
                return;
            }
            Some(own) if *own == known_as => {
                if fitted.other.take().is_none() {
                    return;
                }
                let own = name_of(own.as_deref());
                format!("the cable `{name}` has its own instrument again: {own}")
            }
            Some(_) => {
                fitted.other = Some(known_as);
                let difference = fitted.difference().unwrap_or_default();
                format!(
                    "another instrument has taken the place of the cable `{name}`: {difference}; its readings are not used \
                     until `conewright cable accept {name}`"
                )
            }
        };
        tracing::warn!(cable = name, text, "instrument");
        self.note(EventKind::Cable, text.clone());
        self.notify(&text);
    }

    /// Keeps with the session what its cables measure with, for the record and for the next daemon.
    fn keep_instruments(&mut self) {
        let Some(session) = &self.session else {
            return;
        };
        for settings in &mut self.cables_at_opening {
            if let Some(served) = self.roster.find(&settings.name) {
                settings.instrument = served.fitted.known_as();
            }
        }
        self.writes.row(Row::Cables {
            session: session.id,
            cables: self.cables_at_opening.clone(),
        });
    }

    /// Why a mark is not made before the user has said that it is of the same instrument.
    pub(super) fn doubt(&self, cable: &str, marked: &Marked) -> Option<Refusal> {
        let served = self.roster.find(cable)?;
        let before = served.fitted.before_leaving.as_ref()?;
        let step = self.session.as_ref()?.step.as_ref()?;
        let value = marked.value.as_ref()?;
        let marks = &step.evidence.marks;
        if !marks
            .iter()
            .any(|mark| by(cable, mark) && mark.t <= before.t)
        {
            return None;
        }
        let lines = step.evidence.lines();
        let marked_mm: Vec<f64> = lines
            .iter()
            .filter_map(|line| Some(line.value.as_ref()?.value_mm))
            .collect();
        let pressed = served.presses().then_some(&*marked_mm);
        if !jumped(before, value.value_mm, value.resolution, pressed) {
            return None;
        }
        let message = format!(
            "the reading has jumped while the cable `{cable}` was out: {:+.4} mm before, {:+.4} mm at this mark",
            before.value.mm(),
            value.value_mm
        );
        Some(Refusal::new(Code::InstrumentAsked, message).hint(format!(
            "bring the indicator back to that reading; or, if it was moved or exchanged, go on with \
             `conewright cable accept {cable}`, which begins a new round"
        )))
    }

    /// The user says that what a cable has now is what shall measure.
    pub(super) fn on_accept(&mut self, request: AcceptRequest, answer: Answer<Accepted>) {
        let now = self.timeline.now(&*self.clock);
        let drafted = self.accepting(request, now);
        match drafted {
            Ok((draft, accepted)) if self.session.is_none() => {
                self.take_instrument(draft.accepted.as_deref());
                drop(answer.send(Ok(accepted)));
            }
            drafted => self.commit(drafted, answer, "the instrument was not accepted"),
        }
    }

    fn accepting(&self, request: AcceptRequest, now: Moment) -> Drafted<Accepted> {
        let name = request
            .cable
            .or_else(|| self.indicator_name().map(str::to_owned));
        let Some(served) = name.as_deref().and_then(|name| self.roster.find(name)) else {
            return Err(self.no_such_cable(name.as_deref()));
        };
        let cable = served.config.name.clone();
        let fitted = &served.fitted;
        if fitted.other.is_none() && fitted.before_leaving.is_none() {
            let message = format!("the cable `{cable}` has the instrument that it had before");
            return Err(Refusal::new(Code::BadValue, message).hint("there is nothing to accept"));
        }
        let instrument = match &fitted.other {
            Some(other) => other.clone(),
            None => fitted.known_as(),
        };
        let step = self.session.as_ref().and_then(|s| s.step.as_ref());
        let accepted = Accepted {
            cable: cable.clone(),
            instrument,
            new_round: step.is_some_and(|step| {
                !step.plan.records() && step.evidence.marks.iter().any(|mark| by(&cable, mark))
            }),
        };
        let text = match fitted.difference() {
            Some(difference) => {
                format!(
                    "the user accepted another instrument for the cable `{cable}`: {difference}"
                )
            }
            None => format!("the user accepted the jump of the cable `{cable}` while it was out"),
        };
        match &self.session {
            Some(session) => session.measured_by_another(&cable, accepted, text, now),
            None => {
                let draft = Draft {
                    accepted: Some(cable),
                    ..Draft::default()
                };
                Ok((draft, accepted))
            }
        }
    }

    fn no_such_cable(&self, name: Option<&str>) -> Refusal {
        let names = || self.roster.served.iter().map(|served| &*served.name);
        match name {
            None => Refusal::new(Code::NoCable, "no cable is configured")
                .hint("describe one as [cable.NAME] in the configuration"),
            Some(name) => {
                let hint = match nearest(name, names()) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "`conewright cable list` shows the cables".to_owned(),
                };
                Refusal::new(Code::UnknownName, format!("there is no cable `{name}`")).hint(hint)
            }
        }
    }

    /// Puts in force what was accepted.
    pub(super) fn take_instrument(&mut self, cable: Option<&str>) {
        let mut cables = self.roster.served.iter_mut();
        let Some(index) = cables.position(|served| cable == Some(&*served.name)) else {
            return;
        };
        let served = &mut self.roster.served[index];
        if !served.fitted.accept() {
            return;
        }
        served.ring.break_here();
        let beneath = served.fitted.beneath.clone();
        self.keep_instruments();
        if let Some((state, detail)) = beneath {
            self.on_state(index, state, detail);
        }
        self.show();
    }

    /// A mark of a cable answers the question about it.
    pub(super) fn settle_doubt(&mut self, after: Option<&Session>) {
        let marks = |session: Option<&Session>| {
            let step = session.and_then(|session| session.step.as_ref());
            step.map_or(0, |step| step.evidence.marks.len())
        };
        if marks(after) <= marks(self.session.as_ref()) {
            return;
        }
        let step = after.and_then(|session| session.step.as_ref());
        let Some(mark) = step.and_then(|step| step.evidence.marks.last()) else {
            return;
        };
        let mut cables = self.roster.served.iter_mut();
        if let Some(served) = cables.find(|served| by(&served.name, mark)) {
            served.fitted.before_leaving = None;
        }
    }
}
