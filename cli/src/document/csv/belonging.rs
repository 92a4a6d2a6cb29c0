//! Which mark a reading belongs to.

use super::Cells;
use protocol::evidence::{Mark, MarkSource, Place, Reading, Time};
use protocol::record::StepRecord;
use protocol::step::Recorded;
use protocol::style::Style;

/// Which mark each reading of a cable belongs to, asked in the order of the readings.
#[derive(Default)]
pub(super) struct Belonging {
    /// First and last reading of each dwell, whether it counts, and its mark; by the first reading.
    dwells: Vec<(u64, u64, bool, Cells)>,
    /// Dwells up to here have begun.
    begun: usize,
    /// Of those, the ones that may not have ended.
    open: Vec<usize>,
    /// Recorded stretches: from, to, and the mark that begins it; by time.
    stretches: Vec<(Time, Time, Cells)>,
}

impl Belonging {
    pub(super) fn of(step: &StepRecord, cable: &str, style: Style) -> Self {
        let mut dwells: Vec<(u64, u64, bool, Cells)> = step
            .evidence
            .marks
            .iter()
            .filter_map(|mark| match &mark.source {
                MarkSource::Dwell {
                    cable: of,
                    first_seq,
                    last_seq,
                } if of == cable => Some((
                    *first_seq,
                    *last_seq,
                    !mark.taken_back,
                    Cells::of(mark, style),
                )),
                _ => None,
            })
            .collect();
        dwells.sort_by_key(|dwell| dwell.0);
        Self {
            dwells,
            begun: 0,
            open: Vec::new(),
            stretches: stretches(step, cable, style),
        }
    }

    pub(super) fn mark(&mut self, reading: &Reading) -> Option<&Cells> {
        while self
            .dwells
            .get(self.begun)
            .is_some_and(|dwell| dwell.0 <= reading.seq)
        {
            self.open.push(self.begun);
            self.begun += 1;
        }
        let dwells = &self.dwells;
        self.open.retain(|index| dwells[*index].1 >= reading.seq);
        // A dwell that was taken back and marked again is the later mark's.
        let counting = self.open.iter().find(|index| dwells[**index].2);
        if let Some(index) = counting.or(self.open.first()) {
            return Some(&dwells[*index].3);
        }
        let after = self.stretches.partition_point(|s| s.0 <= reading.t);
        let (_, to, cells) = self.stretches.get(after.checked_sub(1)?)?;
        (reading.t <= *to).then_some(cells)
    }
}

/// The stretches of a step in which every reading of a cable counts: from each beginning to its end, from each turn's mark to
/// the next.
fn stretches(step: &StepRecord, cable: &str, style: Style) -> Vec<(Time, Time, Cells)> {
    let recorded = step.plan.work.recorded();
    let position = recorded.and_then(Recorded::position_cable);
    let about = |mark: &&Mark| match &mark.source {
        MarkSource::Moment { cable: of } => of == cable || position == Some(cable),
        _ => false,
    };
    let moments: Vec<&Mark> = step
        .evidence
        .marks
        .iter()
        .filter(|mark| !mark.taken_back)
        .filter(about)
        .collect();
    moments
        .windows(2)
        .filter(|pair| {
            matches!(
                (&pair[0].place, &pair[1].place),
                (Place::Begin { .. }, Place::End { .. }) | (Place::Turn { .. }, Place::Turn { .. })
            )
        })
        .map(|pair| (pair[0].t, pair[1].t, Cells::of(pair[0], style)))
        .collect()
}
