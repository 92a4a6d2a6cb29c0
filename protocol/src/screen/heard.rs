//! What is new to the ear from one moment to the next.

use super::parts::{Meaning, Screen};
use super::sound::Event;
use crate::api::Status;
use crate::step::StepKind;

/// What was heard of so far, to tell what is new.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Heard {
    before: Option<Before>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Before {
    inside: bool,
    live: bool,
    step: Option<(StepKind, u32)>,
    mark: Option<u32>,
}

impl Heard {
    /// What this moment brings; the first one brings nothing. A mark is heard whoever made it: the pedal, another screen.
    pub fn hear(
        &mut self,
        screen: &Screen,
        status: Option<&Status>,
        connected: bool,
    ) -> Vec<Event> {
        let sign = screen.sign.as_ref();
        let source = screen.source.as_ref();
        let now = Before {
            inside: sign.is_some_and(|sign| sign.meaning == Meaning::Good),
            live: connected && source.is_none_or(|source| source.current),
            step: status
                .and_then(|s| s.step)
                .map(|step| (step.kind, step.number)),
            mark: status.and_then(|s| s.marks.last()).map(|mark| mark.number),
        };
        let Some(before) = self.before.replace(now) else {
            return Vec::new();
        };
        let mut events = Vec::new();
        if now.step == before.step && now.mark > before.mark {
            events.push(Event::Marked);
        }
        if now.inside && !before.inside {
            events.push(Event::Inside);
        }
        if !now.live && before.live {
            events.push(Event::Lost);
        }
        events
    }
}
