//! Which events follow from what came in, or why none do.

use std::time::Duration;

use super::command::Command;
use super::event::{Body, Event, JobId, Phase, SCHEMA};
use super::gauges::{Gauges, Role, Sends, TYPED, Traits, typed};
use super::plan::{self, PlanKind, Station};
use super::seat::Seat;
use super::seats::Seats;
use super::state::{Bench, Job};
use super::typed;
use crate::bore::Contact;
use crate::fit::Material;
use crate::fit::plan::Shop as Workshop;
use crate::gauge::{Capture, Raw};
use crate::units::{Day, Length, Moment};

/// What the decisions rest on besides the state.
#[derive(Debug, Clone)]
pub struct Shop {
    /// The seats that can be asked for.
    pub seats: Seats,
    /// The gauges of the bench.
    pub gauges: Gauges,
    /// The shop's reamers and compounds.
    pub workshop: Workshop,
}

/// Why a command was refused: a sentence that says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Refusal(pub String);

/// An event before it has a number.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// When it happened.
    pub at: Moment,
    /// The job it belongs to, and that job's phase.
    pub of: Option<(JobId, Phase)>,
    /// What happened.
    pub body: Body,
}

impl Draft {
    /// The event, with its number.
    pub fn numbered(self, seq: u64) -> Event {
        let (job, phase) = self.of.unzip();
        Event {
            schema: SCHEMA.into(),
            seq,
            at: self.at,
            job,
            phase,
            body: self.body,
        }
    }
}

impl Bench {
    /// What follows from a frame of `gauge` that is a reading. It is always recorded: counted,
    /// or refused with the reason.
    pub fn reading(&self, shop: &Shop, gauge: &str, at: Moment, raw: &Raw, value: Length) -> Draft {
        let typed = typed();
        let traits = shop.gauges.get(gauge).unwrap_or(&typed);
        let body = match self.place(traits, gauge, value) {
            Ok((station, worth)) => Body::Reading {
                gauge: gauge.to_owned(),
                raw: raw.text(),
                raw_hex: raw.hex(),
                value_mm: value.mm(),
                corrected_mm: worth.size_mm,
                size_set: worth.setting_u_mm.is_some(),
                setting_u_mm: worth.setting_u_mm,
                ring_mm: worth.ring_mm,
                resolution_mm: traits.resolution_mm,
                deviation_mm: worth.deviation_mm,
                station: station.cloned(),
            },
            Err(why) => Body::ReadingRefused {
                gauge: gauge.to_owned(),
                raw: raw.text(),
                raw_hex: raw.hex(),
                value_mm: Some(value.mm()),
                station: self.job().and_then(Job::next).cloned(),
                why,
            },
        };
        Draft {
            at,
            of: self.header(),
            body,
        }
    }

    /// Where a reading goes and what it comes to, or why it cannot belong.
    fn place(
        &self,
        traits: &Traits,
        gauge: &str,
        value: Length,
    ) -> Result<(Option<&Station>, super::gauges::Worth), String> {
        let worth = traits.worth(value.mm(), self.settings.get(gauge));
        let Some(job) = self.job().filter(|_| traits.role == Role::Bore) else {
            return Ok((None, worth));
        };
        let station = job.next().ok_or_else(|| {
            format!(
                "every station {} is done: go to a station to gauge it again, begin a second \
                 turn, change the phase, or close the job",
                job.phase
            )
        })?;
        if gauge != TYPED && traits.contact != job.contact {
            return Err(
                "this job was planned for another kind of contact: use the gauge that it was \
                 opened for, or open a new job"
                    .to_owned(),
            );
        }
        let bore = job.seat.bores.iter().find(|bore| bore.name == station.bore);
        let nominal_mm = bore.map_or(f64::NAN, |bore| bore.nominal_mm);
        match worth.cannot_belong(nominal_mm, job.seat.belongs_within_mm) {
            Some(why) => Err(why),
            None => Ok((Some(station), worth)),
        }
    }

    /// What follows from a frame that bounced.
    pub fn bounced(&self, gauge: &str, at: Moment, raw: &Raw, after: Duration) -> Draft {
        let body = Body::Bounce {
            gauge: gauge.to_owned(),
            raw: raw.text(),
            raw_hex: raw.hex(),
            after_ms: u64::try_from(after.as_millis()).unwrap_or(u64::MAX),
        };
        Draft {
            at,
            of: self.header(),
            body,
        }
    }

    /// What follows from a command, or why it is refused. `fresh` is the identity of a job that
    /// may be opened by it.
    ///
    /// # Errors
    /// A [`Refusal`] with a sentence for the person who asked.
    pub fn command(
        &self,
        shop: &Shop,
        command: &Command,
        at: Moment,
        fresh: JobId,
    ) -> Result<Draft, Refusal> {
        let here = |body| Draft {
            at,
            of: self.header(),
            body,
        };
        let body = match command {
            Command::OpenJob {
                part,
                seat,
                plan,
                material,
                wall_mm,
            } => {
                self.bench_is_free()?;
                let seat = seat_of(shop, seat, *material, *wall_mm)?;
                let body = open_job(shop, part, seat, *plan)?;
                return Ok(Draft {
                    at,
                    of: Some((fresh, Phase::AsFound)),
                    body,
                });
            }
            Command::TakeUp { job } => return self.take_up(*job, at),
            Command::SetRing {
                gauge,
                ring_mm,
                shown_mm,
                ring_uncertainty_mm,
                ring_due,
            } => {
                let ring = Ring {
                    size_mm: *ring_mm,
                    shown_mm: *shown_mm,
                    uncertainty_mm: *ring_uncertainty_mm,
                    due: *ring_due,
                };
                let body = set_ring(shop, gauge, ring)?;
                // A setting belongs to the gauge, not to the job that happens to be on the bench.
                return Ok(Draft { at, of: None, body });
            }
            Command::SetStudy { gauge, study } => {
                gauge_or_refuse(shop, gauge)?;
                study.plausible()?;
                let (gauge, study) = (gauge.clone(), *study);
                // Like a setting it belongs to the gauge.
                let body = Body::GaugeStudied { gauge, study };
                return Ok(Draft { at, of: None, body });
            }
            Command::DropReading { seq } => {
                let job = self.job_or_refuse()?;
                let station = job.station_of(*seq).cloned().ok_or_else(|| {
                    Refusal(format!(
                        "no reading {seq} counts in this job: it was left out already, taken \
                         back, or was never one of its stations' readings"
                    ))
                })?;
                Body::ReadingDropped {
                    dropped: *seq,
                    station,
                }
            }
            Command::CheckRing { gauge, shown_mm } => {
                self.job_or_refuse()?;
                self.check_ring(shop, gauge, *shown_mm)?
            }
            Command::SetEvidence { evidence } => {
                self.job_or_refuse()?;
                let towards = evidence.tight_towards_deg;
                if towards.is_some_and(|angle| !(0.0..360.0).contains(&angle)) {
                    return Err(Refusal("an angle lies in [0, 360) degrees".to_owned()));
                }
                Body::EvidenceNoted {
                    evidence: *evidence,
                }
            }
            Command::SetInsert { insert } => {
                self.job_or_refuse()?;
                let insert = insert.insert().map_err(Refusal)?.ok_or_else(|| {
                    Refusal("say which bearing it is, or measure what goes in".to_owned())
                })?;
                Body::InsertChosen { insert }
            }
            Command::HangTest { fitted, test } => {
                self.job_or_refuse()?;
                let friction = test
                    .friction()
                    .map_err(|error| Refusal(error.to_string()))?;
                Body::HangTested {
                    fitted: *fitted,
                    test: test.clone(),
                    friction,
                }
            }
            Command::Choose { bore, work, with } => {
                let job = self.job_or_refuse()?;
                bore_or_refuse(job, bore)?;
                Body::WorkChosen {
                    bore: bore.clone(),
                    work: *work,
                    with: with.clone(),
                }
            }
            Command::Tick { step } => {
                let job = self.job_or_refuse()?;
                if job.ticks.iter().any(|tick| tick.step == *step) {
                    return Err(Refusal(
                        "that step is ticked already; undo takes it back".to_owned(),
                    ));
                }
                Body::Ticked { step: step.clone() }
            }
            Command::SetTemperature {
                part_c,
                ring_c,
                within_k,
            } => {
                self.job_or_refuse()?;
                let ring_c = ring_c.unwrap_or(*part_c);
                let on_a_bench = |celsius: f64| (-20.0..=60.0).contains(&celsius);
                if !on_a_bench(*part_c) || !on_a_bench(ring_c) || !(0.0..=20.0).contains(within_k) {
                    let what = "temperatures lie between -20 and 60 °C, known to within 20 K: let \
                                part and gauge lie on the bench together, then measure them";
                    return Err(Refusal(what.to_owned()));
                }
                Body::TemperatureNoted {
                    part_c: *part_c,
                    ring_c,
                    within_k: *within_k,
                }
            }
            // What a gauge shows just now is no part of the state: who has a value answers for it.
            Command::Take { gauge } => return Err(nothing_to_take(shop, gauge)),
            Command::TypeReading { text } => {
                let value = typed::parse(text).map_err(Refusal)?;
                let raw = Raw(text.trim().as_bytes().to_vec());
                return Ok(self.reading(shop, TYPED, at, &raw, value));
            }
            Command::CloseJob {} => {
                self.job_or_refuse()?;
                Body::JobClosed {}
            }
            Command::PutAside {} => {
                self.job_or_refuse()?;
                Body::JobPutAside {}
            }
            Command::Undo {} => {
                let undone = self.job_or_refuse()?.newest_step().ok_or_else(|| {
                    Refusal("there is nothing to take back in this job".to_owned())
                })?;
                Body::Undone { undone }
            }
            Command::Skip {} => {
                let station = self.job_or_refuse()?.next().cloned().ok_or_else(|| {
                    Refusal("no station is left to skip in this phase".to_owned())
                })?;
                Body::Skipped { station }
            }
            Command::GoTo {
                bore,
                depth_mm,
                angle_deg,
            } => {
                let job = self.job_or_refuse()?;
                Body::WentTo {
                    station: go_to(job, bore, *depth_mm, *angle_deg)?,
                }
            }
            Command::SetPhase { phase } => {
                let job = self.job_or_refuse()?;
                if job.phase == *phase {
                    return Err(Refusal(format!("the job is already in phase {phase}")));
                }
                Body::PhaseSet { to: *phase }
            }
            Command::SecondTurn {} => Body::SecondTurn {
                stations: second_turn(self.job_or_refuse()?)?,
            },
            Command::Note { text } => {
                self.job_or_refuse()?;
                let text = text.trim();
                if text.is_empty() {
                    return Err(Refusal(
                        "an empty note says nothing: write something".to_owned(),
                    ));
                }
                Body::Noted {
                    text: text.to_owned(),
                }
            }
        };
        Ok(here(body))
    }

    fn job_or_refuse(&self) -> Result<&Job, Refusal> {
        self.job().ok_or_else(|| {
            Refusal("no job is on the bench: open one, or take one up again".to_owned())
        })
    }

    fn bench_is_free(&self) -> Result<(), Refusal> {
        match self.job() {
            None => Ok(()),
            Some(job) => Err(Refusal(format!(
                "`{}` is on the bench: close that job or put it aside first",
                job.part
            ))),
        }
    }

    fn check_ring(&self, shop: &Shop, gauge: &str, shown_mm: f64) -> Result<Body, Refusal> {
        let traits = gauge_or_refuse(shop, gauge)?;
        let setting = self.settings.get(gauge).ok_or_else(|| {
            Refusal(format!(
                "`{gauge}` was never set in a ring: set it first, then gauge"
            ))
        })?;
        let more = shown_mm - setting.shown_mm;
        let drift_mm = match traits.sends {
            Sends::Size => more,
            Sends::Deviation { sign } => sign * more,
        };
        off_its_ring(drift_mm, shown_mm, setting.ring_mm)?;
        Ok(Body::RingChecked {
            gauge: gauge.to_owned(),
            shown_mm,
            set_at: setting.at,
            drift_mm,
        })
    }

    fn take_up(&self, id: JobId, at: Moment) -> Result<Draft, Refusal> {
        self.bench_is_free()?;
        let job = self
            .jobs
            .get(&id)
            .ok_or_else(|| Refusal(format!("no open job is called {id}: it may be closed")))?;
        Ok(Draft {
            at,
            of: Some((id, job.phase)),
            body: Body::JobTakenUp {},
        })
    }
}

/// The seat called `name`, with what is known of this part in particular.
fn seat_of(
    shop: &Shop,
    name: &str,
    material: Option<Material>,
    wall_mm: Option<f64>,
) -> Result<Seat, Refusal> {
    let mut seat = shop
        .seats
        .find(name)
        .ok_or_else(|| Refusal(format!("there is no seat `{name}`; {}", shop.seats.names())))?;
    if wall_mm.is_some_and(|wall| !(wall.is_finite() && wall > 0.0)) {
        return Err(Refusal(
            "a wall is thicker than 0 mm; leave it out if unknown".to_owned(),
        ));
    }
    seat.material = material.or(seat.material);
    for bore in &mut seat.bores {
        bore.wall_mm = wall_mm.or(bore.wall_mm);
    }
    Ok(seat)
}

fn open_job(shop: &Shop, part: &str, seat: Seat, plan: PlanKind) -> Result<Body, Refusal> {
    let part = part.trim();
    if part.is_empty() {
        return Err(Refusal(
            "say which part it is, such as `cargo tricycle 12`".to_owned(),
        ));
    }
    let mut bore_gauges = shop
        .gauges
        .values()
        .filter(|traits| traits.role == Role::Bore);
    let contact = bore_gauges
        .next()
        .map_or(Contact::TwoPoint, |traits| traits.contact);
    let stations = plan::stations(&seat, plan, contact);
    Ok(Body::JobOpened {
        part: part.to_owned(),
        seat,
        plan,
        contact,
        stations,
    })
}

/// A setting ring as a command states it.
struct Ring {
    size_mm: f64,
    shown_mm: Option<f64>,
    uncertainty_mm: Option<f64>,
    due: Option<Day>,
}

fn gauge_or_refuse(shop: &Shop, gauge: &str) -> Result<Traits, Refusal> {
    match shop.gauges.get(gauge) {
        Some(traits) => Ok(traits.clone()),
        None if gauge == TYPED => Ok(typed()),
        None => {
            let names: Vec<&str> = shop.gauges.keys().map(AsRef::as_ref).collect();
            let known = if names.is_empty() {
                TYPED.to_owned()
            } else {
                names.join(", ")
            };
            Err(Refusal(format!(
                "there is no gauge `{gauge}`; there are: {known}"
            )))
        }
    }
}

/// Why no value of `gauge` can be taken.
fn nothing_to_take(shop: &Shop, gauge: &str) -> Refusal {
    match gauge_or_refuse(shop, gauge) {
        Err(refusal) => refusal,
        Ok(traits) if traits.capture == Capture::Each => Refusal(format!(
            "each value of `{gauge}` is a reading by itself: nothing is to be taken"
        )),
        Ok(_) => Refusal(format!(
            "`{gauge}` has sent no value yet: see that it is connected and switched on"
        )),
    }
}

/// Whether a gauge that is `off_mm` from its ring can have been in it. Further off than 2 mm it was
/// not, or one of the two is in inches.
fn off_its_ring(off_mm: f64, shown_mm: f64, ring_mm: f64) -> Result<(), Refusal> {
    if off_mm.abs() <= 2.0 {
        return Ok(());
    }
    Err(Refusal(format!(
        "{shown_mm} mm can't be what the gauge shows in a ring of {ring_mm} mm: check the ring's \
         mark, the gauge's seating and the unit"
    )))
}

fn set_ring(shop: &Shop, gauge: &str, ring: Ring) -> Result<Body, Refusal> {
    let traits = gauge_or_refuse(shop, gauge)?;
    if !(ring.size_mm.is_finite() && ring.size_mm > 0.0) {
        return Err(Refusal(
            "a setting ring has a size greater than 0 mm".to_owned(),
        ));
    }
    let due_to_show = match traits.sends {
        Sends::Size => ring.size_mm,
        Sends::Deviation { .. } => 0.0,
    };
    let shown_mm = ring.shown_mm.unwrap_or(due_to_show);
    off_its_ring(shown_mm - due_to_show, shown_mm, ring.size_mm)?;
    if ring
        .uncertainty_mm
        .is_some_and(|u| !(0.0..0.1).contains(&u))
    {
        return Err(Refusal(
            "a ring's uncertainty lies between 0 and 0.1 mm: take it from the certificate"
                .to_owned(),
        ));
    }
    Ok(Body::RingSet {
        gauge: gauge.to_owned(),
        ring_mm: ring.size_mm,
        shown_mm,
        ring_uncertainty_mm: ring.uncertainty_mm,
        ring_due: ring.due,
    })
}

fn bore_or_refuse(job: &Job, bore: &str) -> Result<(), Refusal> {
    if job.seat.bores.iter().any(|known| known.name == bore) {
        return Ok(());
    }
    let names: Vec<&str> = job
        .seat
        .bores
        .iter()
        .map(|bore| bore.name.as_str())
        .collect();
    Err(Refusal(format!(
        "there is no bore `{bore}`; there are: {}",
        names.join(", ")
    )))
}

fn go_to(job: &Job, bore: &str, depth_mm: f64, angle_deg: f64) -> Result<Station, Refusal> {
    bore_or_refuse(job, bore)?;
    if !(depth_mm.is_finite() && depth_mm >= 0.0) {
        return Err(Refusal(
            "a depth is measured from the face inwards: 0 mm or more".to_owned(),
        ));
    }
    if !(0.0..360.0).contains(&angle_deg) {
        return Err(Refusal("an angle lies in [0, 360) degrees".to_owned()));
    }
    Ok(Station {
        bore: bore.to_owned(),
        depth_mm,
        angle_deg,
    })
}

fn second_turn(job: &Job) -> Result<Vec<Station>, Refusal> {
    let known: Vec<&Station> = job
        .present()
        .map(|work| work.places.iter().map(|place| &place.station).collect())
        .unwrap_or_default();
    let twins: Vec<Station> = known
        .iter()
        .filter_map(|station| station.twin(job.contact))
        .filter(|twin| !known.contains(&twin))
        .collect();
    if twins.is_empty() {
        return Err(Refusal(
            "every direction of this phase already has its second turn: go to a station to gauge \
             it once more"
                .to_owned(),
        ));
    }
    Ok(twins)
}
