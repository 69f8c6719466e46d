//! One job: the fold of its events.

use std::collections::BTreeMap;

use super::Behind;
use super::noted::{Check, Chosen, Note, Span, Temperature, Tick};
use super::steps::{Step, What};
use super::work::{Place, Taken, Work};
use crate::bore::Contact;
use crate::fit::Evidence;
use crate::job::event::{Body, Event, JobId, Phase};
use crate::job::hang::{HangUnderWay, HangView, Turn};
use crate::job::insert::{InsertReading, NamedInsert};
use crate::job::plan::{PlanKind, Station};
use crate::job::seat::{HousingSaid, Seat};
use crate::job::studied::GaugeStudy;
use crate::units::Moment;

/// One part on the bench, from complaint to record.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Its identity.
    pub id: JobId,
    /// When it was opened.
    pub opened_at: Moment,
    /// The part, as the mechanic calls it.
    pub part: String,
    /// What its bores should be, with what is said of this part.
    pub seat: Seat,
    /// The seat as it was when the job was opened, without what is said of this part.
    pub(super) described: Seat,
    /// What is said of this part's housing.
    pub housing: HousingSaid,
    /// The plan asked for.
    pub plan: PlanKind,
    /// How the gauge that the plan was made for touches the bore.
    pub contact: Contact,
    /// The phase it is in.
    pub phase: Phase,
    /// The work of each phase begun.
    pub work: BTreeMap<Phase, Work>,
    /// What was written down.
    pub notes: Vec<Note>,
    /// The temperatures noted last.
    pub temperature: Option<Temperature>,
    /// The newest study of each gauge.
    pub studies: BTreeMap<String, GaugeStudy>,
    /// The re-checks of each gauge in its ring, the oldest first.
    pub checks: BTreeMap<String, Vec<Check>>,
    /// What was seen and felt.
    pub evidence: Evidence,
    /// What is to be pressed in.
    pub insert: Option<NamedInsert>,
    /// Outside diameters of it, from a gauge whose role that is.
    pub insert_readings: Vec<InsertReading>,
    /// How the mechanic goes on with each bore.
    pub chosen: BTreeMap<String, Chosen>,
    /// The steps of the checklist that were done, with the event of each.
    pub ticks: Vec<Tick>,
    /// The hang tests.
    pub hang_tests: Vec<HangView>,
    /// The hang test that is under way.
    pub hang: Option<HangUnderWay>,
    /// The steps that undo can take back, oldest first.
    pub(super) steps: Vec<Step>,
    /// The newest event that changed numbers otherwise than by one more reading.
    pub(in crate::job) settled: u64,
    /// The events that belong to it: the first, the newest, and how many.
    pub events: Span,
}

impl Job {
    pub(super) fn opened_by(event: &Event) -> Option<Self> {
        let Body::JobOpened {
            part,
            seat,
            housing,
            plan,
            contact,
            stations,
        } = &event.body
        else {
            return None;
        };
        let phase = event.phase?;
        Some(Self {
            id: event.job?,
            opened_at: event.at,
            part: part.clone(),
            seat: seat.of_part(housing),
            described: seat.clone(),
            housing: *housing,
            plan: *plan,
            contact: *contact,
            phase,
            work: BTreeMap::from([(phase, Work::of(stations.iter().cloned()))]),
            notes: Vec::new(),
            temperature: None,
            studies: BTreeMap::new(),
            checks: BTreeMap::new(),
            evidence: Evidence::default(),
            insert: None,
            insert_readings: Vec::new(),
            chosen: BTreeMap::new(),
            ticks: Vec::new(),
            hang_tests: Vec::new(),
            hang: None,
            steps: Vec::new(),
            settled: event.seq,
            events: Span {
                first: event.seq,
                last: event.seq,
                count: 0,
            },
        })
    }

    /// The work of the present phase.
    pub fn present(&self) -> Option<&Work> {
        self.work.get(&self.phase)
    }

    /// The station that the next reading fills.
    pub fn next(&self) -> Option<&Station> {
        let work = self.present()?;
        work.places.get(work.next?).map(|place| &place.station)
    }

    /// Whether no station of a section is left to do.
    pub fn is_complete(&self, phase: Phase, bore: &str, depth_mm: f64) -> bool {
        self.work.get(&phase).is_some_and(|work| {
            !work.places.iter().any(|place| {
                // Depths are the plan's own, copied, so they are equal or another section's.
                place.station.depth_mm == depth_mm && place.station.bore == bore && place.is_to_do()
            })
        })
    }

    /// Where the reading `seq` counts.
    pub fn station_of(&self, seq: u64) -> Option<&Station> {
        let (phase, place, _) = self.find_reading(seq)?;
        let place = self.work.get(&phase)?.places.get(place)?;
        Some(&place.station)
    }

    /// The phase, the place and the index at that place of the reading `seq`.
    pub(super) fn find_reading(&self, seq: u64) -> Option<(Phase, usize, usize)> {
        self.work.iter().find_map(|(&phase, work)| {
            let mut places = work.places.iter().enumerate();
            places.find_map(|(place, held)| {
                let at = held.readings.iter().position(|taken| taken.seq == seq)?;
                Some((phase, place, at))
            })
        })
    }

    pub(super) fn apply(&mut self, event: &Event, behind: Behind) {
        self.events.last = event.seq;
        self.events.count += 1;
        if event.body.settles() {
            self.settled = event.seq;
        }
        match &event.body {
            Body::Reading {
                gauge,
                value_mm,
                contact,
                corrected_mm,
                setting_u_mm,
                ring_mm,
                resolution_mm,
                deviation_mm,
                station: Some(station),
                ..
            } => {
                // A journal of an older version took a deviation of the radius for one of the
                // diameter.
                let swept = self.contact == Contact::Radius && contact.is_none();
                let swept = ring_mm.zip(*deviation_mm).filter(|_| swept);
                let swept = swept.map(|(ring, deviation)| ring + 2.0 * deviation);
                let taken = Taken {
                    seq: event.seq,
                    at: event.at,
                    gauge: gauge.clone(),
                    value_mm: *value_mm,
                    size_mm: swept.or(*corrected_mm),
                    deviation_mm: *deviation_mm,
                    setting_u_mm: *setting_u_mm,
                    set: behind.setting.filter(|_| setting_u_mm.is_some()),
                    calibration: behind.calibration,
                    ring_mm: *ring_mm,
                    resolution_mm: *resolution_mm,
                };
                self.step(event.seq, |work| {
                    let place = work.find(station)?;
                    let held = &mut work.places[place];
                    held.readings.push(taken);
                    let again = std::mem::take(&mut held.again);
                    work.advance_from(place);
                    Some(What::Reading { place, again })
                });
            }
            Body::ReadingDropped { dropped, .. } => self.leave_out(*dropped, event.seq),
            Body::Skipped { station } => self.step(event.seq, |work| {
                let place = work.find(station)?;
                let held = &mut work.places[place];
                held.skipped = true;
                let again = std::mem::take(&mut held.again);
                work.advance_from(place);
                Some(What::Skip { place, again })
            }),
            Body::WentTo { station } => self.step(event.seq, |work| {
                let known = work.find(station);
                let joined = known.is_none();
                if joined {
                    work.places.push(Place::at(station.clone()));
                }
                work.next = known.or_else(|| work.places.len().checked_sub(1));
                Some(What::GoTo { joined })
            }),
            Body::Noted { text } => {
                self.notes.push(Note {
                    seq: event.seq,
                    at: event.at,
                    text: text.clone(),
                });
                self.step(event.seq, |_| Some(What::Note));
            }
            Body::PhaseSet { to } => {
                // The same stations again, those that joined on the way included.
                if !self.work.contains_key(to) {
                    let stations = self.present().map(Work::stations).unwrap_or_default();
                    self.work.insert(*to, Work::of(stations));
                }
                self.phase = *to;
            }
            Body::SecondTurn { stations } => {
                if let Some(work) = self.work.get_mut(&self.phase) {
                    work.gauge_again(stations);
                }
            }
            Body::Undone { undone } => self.undo(*undone),
            // Within a job only a gauge for inserts takes a reading that has no station.
            Body::Reading {
                gauge,
                value_mm,
                corrected_mm,
                resolution_mm,
                setting_u_mm,
                station: None,
                ..
            } => {
                self.insert_readings.push(InsertReading {
                    gauge: gauge.clone(),
                    size_mm: corrected_mm.unwrap_or(*value_mm),
                    resolution_mm: *resolution_mm,
                    setting_u_mm: *setting_u_mm,
                });
                self.step(event.seq, |_| Some(What::InsertReading));
            }
            Body::EvidenceNoted { evidence } => self.evidence = *evidence,
            Body::HousingNoted { housing } => {
                self.housing = *housing;
                self.seat = self.described.of_part(housing);
            }
            Body::InsertChosen { insert } => self.choose_insert(insert),
            Body::HangBegun {
                fitted,
                masses,
                known,
            } => {
                self.hang = Some(HangUnderWay {
                    since: event.at,
                    fitted: *fitted,
                    masses: masses.clone(),
                    known: *known,
                    turns: Vec::new(),
                    led_deg: None,
                    gauge: None,
                    calibration: None,
                });
            }
            Body::AngleReading {
                gauge,
                turning_deg,
                signed,
                ..
            } => {
                if let Some(hang) = &mut self.hang {
                    hang.gauge = Some(gauge.clone());
                    hang.calibration = behind.calibration.as_deref().cloned();
                    hang.turned(Turn {
                        seq: event.seq,
                        shown_deg: *turning_deg,
                        signed: *signed,
                    });
                    self.step(event.seq, |_| Some(What::Turn));
                }
            }
            Body::HangCancelled {} => self.end_hang(),
            Body::HangTested {
                fitted, friction, ..
            } => {
                let gathered = self.hang.take();
                self.end_hang();
                let (gauge, calibration) =
                    gathered.map_or((None, None), |hang| (hang.gauge, hang.calibration));
                self.hang_tests.push(HangView {
                    fitted: *fitted,
                    at: Some(event.at),
                    phase: event.phase,
                    gauge,
                    calibration,
                    friction: *friction,
                });
            }
            Body::WorkChosen {
                bore,
                work,
                with,
                refused,
                stations,
            } => {
                if let Some(work) = self.work.get_mut(&self.phase) {
                    work.gauge_again(stations);
                }
                let chosen = Chosen {
                    work: *work,
                    with: with.clone(),
                    refused: refused.clone(),
                };
                self.chosen.insert(bore.clone(), chosen);
            }
            Body::Ticked { step } => {
                self.ticks.push(Tick {
                    seq: event.seq,
                    at: event.at,
                    step: step.clone(),
                });
                self.step(event.seq, |_| Some(What::Tick));
            }
            Body::RingChecked { .. } => {
                if let Some((gauge, check)) = Check::of(event) {
                    self.checks.entry(gauge.to_owned()).or_default().push(check);
                }
            }
            Body::TemperatureNoted {
                part_c,
                ring_c,
                within_k,
            } => {
                let (part_c, ring_c, within_k) = (*part_c, *ring_c, *within_k);
                self.temperature = Some(Temperature {
                    part_c,
                    ring_c,
                    within_k,
                });
            }
            _ => {}
        }
    }
}
