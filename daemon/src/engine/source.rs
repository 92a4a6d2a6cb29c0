//! What a mark is made of: the readings of a dwell, a typed reading, the user's eye, or nothing but its moment.

use super::roster::{Roster, ServedCable, is_away};
use super::session::Session;
use super::step::Step;
use metrology::setup::Setup;
use metrology::{Shown, Unit};
use protocol::api::{CableState, Code, MarkRequest, Refusal};
use protocol::evidence::{MarkSource, MarkValue, Place, Reading, Time};
use protocol::plan::Plan;
use protocol::{dwell, typed};
use std::sync::Arc;

/// What a mark is made of, and the readings that have to be stored with it.
pub(super) struct Source {
    pub source: MarkSource,
    pub value: Option<MarkValue>,
    pub used: Vec<(Arc<str>, Vec<Reading>)>,
}

impl Source {
    /// The readings of a dwell of a cable; none for no readings.
    pub fn dwell(served: &ServedCable, used: &[Reading]) -> Option<Self> {
        Some(Self {
            source: MarkSource::Dwell {
                cable: served.config.name.clone(),
                first_seq: used.first()?.seq,
                last_seq: used.last()?.seq,
            },
            value: Some(MarkValue::of(used.iter())?),
            used: vec![(Arc::clone(&served.name), used.to_vec())],
        })
    }

    const fn without_value(source: MarkSource) -> Self {
        Self {
            source,
            value: None,
            used: Vec::new(),
        }
    }
}

/// Why a mark is not made.
pub(crate) enum NotMarked {
    /// The mark is rejected.
    Refused(Refusal),
    /// The readings have not settled yet. The mark may wait for them.
    NotAtRest(Refusal),
}

impl From<Refusal> for NotMarked {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

impl From<NotMarked> for Refusal {
    fn from(unmade: NotMarked) -> Self {
        match unmade {
            NotMarked::Refused(refusal) | NotMarked::NotAtRest(refusal) => refusal,
        }
    }
}

/// A typed reading. Where the instrument's resolution is not stated, the user types every digit that it shows.
pub(super) fn read(step: &Step, setup: &Setup, text: &str) -> Result<Source, Refusal> {
    let plan = &step.plan;
    let indicator = &plan.setup(setup).indicator;
    let (division, stated) = (indicator.division, indicator.resolution.is_some());
    let shown = Shown::parse(text, Unit::Mm, division).map_err(|error| {
        let refusal = Refusal::new(Code::BadValue, error.to_string());
        match error {
            metrology::QuantityError::DivisionUnknown { .. } => {
                refusal.hint("open the session with --division, such as `--division 2um`")
            }
            _ => {
                refusal.hint("type it as the instrument shows it: 0.012, -3um, 0.0005in or -3.5div")
            }
        }
    })?;
    typed::within_reach(plan.kind(), text, shown.value)?;
    // Between two lines of a dial its reader tells a half where there is one, and nothing where there is none.
    if !stated && !text.contains("div") {
        let marks = step.evidence.marks.iter();
        let finest = marks.filter(|mark| !mark.taken_back).filter_map(|mark| {
            let MarkSource::Typed { resolution, .. } = mark.source else {
                return None;
            };
            Some(resolution)
        });
        typed::all_digits(text, shown, finest.min())?;
    }
    Ok(Source {
        source: MarkSource::Typed {
            value: shown.value,
            resolution: shown.resolution,
            shown: as_typed(text),
        },
        value: Some(MarkValue::typed(shown)),
        used: Vec::new(),
    })
}

/// No instrument shows more letters than this.
const LONGEST_SHOWN: usize = 40;

/// A reading as it was typed, where its unit stands with it: a bare number is the value itself.
fn as_typed(text: &str) -> Option<String> {
    let text = text.trim();
    let has_unit = text.contains(|c: char| c.is_alphabetic() || c == '"');
    (has_unit && text.len() <= LONGEST_SHOWN).then(|| text.to_owned())
}

pub(super) fn judged(request: &MarkRequest) -> Result<Source, Refusal> {
    match &request.value {
        None => Ok(Source::without_value(MarkSource::Judged)),
        Some(_) => Err(Refusal::new(
            Code::BadValue,
            "a contact print takes three percentages and no reading",
        )
        .hint("leave the value out: `conewright mark 90,40,0`")),
    }
}

/// The begin, the end or a turn of a recording: nothing but its moment.
pub(super) fn moment(
    session: &Session,
    step: &Step,
    roster: &Roster,
    place: &Place,
    request: &MarkRequest,
    at: Time,
) -> Result<Source, Refusal> {
    if request.value.is_some() {
        return Err(Refusal::new(
            Code::BadValue,
            "this step records the readings of its cable, and takes no typed value",
        )
        .hint(
            "leave the value out; or open the step with `--positions stations` or `--angles clock`",
        ));
    }
    let counting = step
        .evidence
        .marks
        .iter()
        .rev()
        .find(|mark| !mark.taken_back);
    if let Some(last) = counting
        && at <= last.t
    {
        return Err(Refusal::new(
            Code::BadValue,
            format!("mark {} has the same timestamp", last.number),
        )
        .hint("mark again to keep both"));
    }
    let cables = step.plan.recorded_cables(&session.setup);
    let Some(indicator) = cables.first() else {
        return Err(no_cable(None));
    };
    if !matches!(place, Place::End { .. }) {
        for name in &cables {
            let served = roster.find(name).ok_or_else(|| no_cable(Some(name)))?;
            let recorded = step.plan.work.recorded();
            let positions = recorded.is_some_and(|recorded| recorded.position_cable().is_some());
            if served.presses() && (*name != *indicator || !positions) {
                return Err(Refusal::new(
                    Code::CableNotLive,
                    format!(
                        "`{name}` sends a reading only when its key is pressed, and this step needs a cable that sends by itself"
                    ),
                )
                .hint("open the step with another `--cable`, or with `--positions stations` or `--angles clock`"));
            }
            // The first mark needs a live cable. Further turns may be marked while the cable is away.
            if served.state != CableState::Live
                && !served.presses()
                && counting.is_none_or(|last| !matches!(last.place, Place::Turn { .. }))
            {
                return Err(not_live(served));
            }
        }
    }
    Ok(Source::without_value(MarkSource::Moment {
        cable: (*indicator).to_owned(),
    }))
}

fn no_cable(name: Option<&str>) -> Refusal {
    let what = match name {
        Some(name) => format!("the step's cable `{name}` is no longer in the configuration"),
        None => "the step has no cable".to_owned(),
    };
    Refusal::new(Code::NoCable, what).hint("open the step with `--cable NAME`")
}

pub(super) fn settled(
    plan: &Plan,
    setup: &Setup,
    roster: &Roster,
    at: Time,
) -> Result<Source, NotMarked> {
    let name = plan.cable(setup);
    let Some(served) = name.and_then(|name| roster.find(name)) else {
        let what = match name {
            Some(name) => format!("the session's cable `{name}` is no longer in the configuration"),
            None => "the session has no cable".to_owned(),
        };
        return Err(Refusal::new(Code::NoCable, what)
            .hint("type the reading: `conewright mark --value 0.012`")
            .into());
    };
    let name = &served.config.name;
    if served.presses() {
        return Err(Refusal::new(
            Code::CableNotLive,
            format!("`{name}` sends a reading only when the instrument's key is pressed"),
        )
        .hint("press that key: each press is a mark")
        .into());
    }
    if served.state != CableState::Live {
        return Err(not_live(served).into());
    }
    let readings = served.ring.unbroken();
    let until = readings.partition_point(|reading| reading.t <= at);
    let dwell = dwell::settle(&readings[..until], at, &setup.settle).map_err(|why| {
        if why == dwell::NotSettled::NoReading {
            return no_reading().into();
        }
        let refusal = Refusal::new(Code::NotSettled, why.to_string());
        NotMarked::NotAtRest(
            refusal.hint("hold still, and mark again when the reading has settled"),
        )
    })?;
    let used = served.ring.range(dwell.first_seq, dwell.last_seq);
    Ok(Source::dwell(served, used).ok_or_else(no_reading)?)
}

pub(super) fn no_reading() -> Refusal {
    Refusal::new(Code::NotSettled, dwell::NotSettled::NoReading.to_string())
        .hint("wait for a reading, and mark again")
}

/// Why a mark of another instrument is rejected.
fn is_other(served: &ServedCable) -> Option<Refusal> {
    let name = &served.config.name;
    let difference = served.fitted.difference()?;
    Some(
        Refusal::new(
            Code::InstrumentAsked,
            format!("another instrument has taken the place of the cable `{name}`: {difference}"),
        )
        .hint(format!(
            "plug the first one in again; or accept this one: `conewright cable accept {name}`"
        )),
    )
}

fn not_live(served: &ServedCable) -> Refusal {
    if let Some(refusal) = is_other(served).filter(|_| served.state == CableState::Denied) {
        return refusal;
    }
    let state = match served.state {
        CableState::Live => "live",
        CableState::Quiet => "quiet: it has sent nothing yet",
        CableState::Stale => "stale: it has stopped sending",
        CableState::Gone => "gone",
        CableState::Busy => "busy",
        CableState::Denied => "denied",
    };
    let why = served
        .detail
        .as_ref()
        .map(|detail| format!(" ({detail})"))
        .unwrap_or_default();
    let hint = if is_away(served.state) {
        "`conewright cable list` shows the ports; or type the reading: `conewright mark --value 0.012`"
    } else {
        "check that the instrument is on and sends, and mark again"
    };
    Refusal::new(
        Code::CableNotLive,
        format!("the cable `{}` is {state}{why}", served.config.name),
    )
    .hint(hint)
}
