//! The steps that undo takes back.

use super::job::Job;
use super::work::Work;
use crate::job::event::Phase;
use crate::job::insert::NamedInsert;

/// What undo takes back, with what was next before it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Step {
    seq: u64,
    phase: Phase,
    next_before: Option<usize>,
    what: What,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum What {
    /// `again`: whether it was to be gauged once more.
    Reading {
        place: usize,
        again: bool,
    },
    /// `at`: where among the place's readings it was.
    Drop {
        place: usize,
        at: usize,
    },
    Skip {
        place: usize,
        again: bool,
    },
    GoTo {
        joined: bool,
    },
    Note,
    Tick,
    InsertReading,
    /// A turning point of the hang test that is under way.
    Turn,
}

impl Job {
    /// The event that undo would take back.
    pub fn newest_step(&self) -> Option<u64> {
        self.steps.last().map(|step| step.seq)
    }

    /// The reading, left out, that undo would bring back.
    pub fn undo_brings_back(&self) -> Option<u64> {
        let step = self.steps.last()?;
        let What::Drop { place, .. } = step.what else {
            return None;
        };
        let held = self.work.get(&step.phase)?.places.get(place)?;
        held.dropped.last().map(|taken| taken.seq)
    }

    /// Does `step` to the present work and remembers how to take it back.
    pub(super) fn step(&mut self, seq: u64, step: impl FnOnce(&mut Work) -> Option<What>) {
        let phase = self.phase;
        let Some(work) = self.work.get_mut(&phase) else {
            return;
        };
        let next_before = work.next;
        if let Some(what) = step(work) {
            self.steps.push(Step {
                seq,
                phase,
                next_before,
                what,
            });
        }
    }

    /// Leaves the reading `dropped` out; where its station has none left, it is the next to gauge.
    pub(super) fn leave_out(&mut self, dropped: u64, seq: u64) {
        let Some((phase, place, at)) = self.find_reading(dropped) else {
            return;
        };
        let Some(work) = self.work.get_mut(&phase) else {
            return;
        };
        let next_before = work.next;
        let held = &mut work.places[place];
        let taken = held.readings.remove(at);
        held.dropped.push(taken);
        if held.is_to_do() {
            work.next = Some(place);
        }
        self.steps.push(Step {
            seq,
            phase,
            next_before,
            what: What::Drop { place, at },
        });
    }

    /// The hang test that was under way is over: its turning points are no steps any more.
    pub(super) fn end_hang(&mut self) {
        self.hang = None;
        self.steps.retain(|step| step.what != What::Turn);
    }

    /// What is pressed in is now `insert`: readings of another are none of it, nor what is said of its
    /// diameter later. What was measured before any was named is of the first.
    pub(super) fn choose_insert(&mut self, insert: &NamedInsert) {
        if self.insert.is_some() || !insert.takes_readings() {
            self.insert_readings.clear();
            self.steps.retain(|step| step.what != What::InsertReading);
        }
        self.insert = Some(insert.clone());
    }

    pub(super) fn undo(&mut self, seq: u64) {
        let Some(step) = self.steps.pop_if(|step| step.seq == seq) else {
            return;
        };
        let Some(work) = self.work.get_mut(&step.phase) else {
            return;
        };
        match step.what {
            What::Reading { place, again } => {
                let held = &mut work.places[place];
                held.readings.retain(|taken| taken.seq != seq);
                held.again |= again;
            }
            What::Drop { place, at } => {
                let held = &mut work.places[place];
                if let Some(taken) = held.dropped.pop() {
                    held.readings.insert(at.min(held.readings.len()), taken);
                }
            }
            What::Skip { place, again } => {
                let held = &mut work.places[place];
                held.skipped = false;
                held.again |= again;
            }
            What::GoTo { joined } => {
                // Every later step is already undone, so the station that joined is the last,
                // unless a second turn came behind it; then it stays, still to do.
                let is_last = work.next.is_some_and(|next| next + 1 == work.places.len());
                if joined && is_last {
                    work.places.pop();
                }
            }
            What::Note => self.notes.retain(|note| note.seq != seq),
            What::Tick => self.ticks.retain(|tick| tick.seq != seq),
            What::InsertReading => {
                self.insert_readings.pop();
            }
            What::Turn => {
                if let Some(hang) = &mut self.hang {
                    hang.turns.retain(|turn| turn.seq != seq);
                }
            }
        }
        work.next = step.next_before;
    }
}
