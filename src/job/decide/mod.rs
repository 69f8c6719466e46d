//! Which events follow from what came in, or why none do.

mod gauges;
mod hang;
mod jobs;
mod readings;
mod stations;
mod work;

use self::gauges::Ring;
use self::jobs::{open_job, said_or_refuse, seat_or_refuse};
use self::stations::{go_to, second_turn};
use super::command::Command;
use super::correction::on_a_bench;
use super::event::{Body, Event, JobId, Phase, SCHEMA};
use super::gauges::{Gauges, Role, TYPED};
use super::insert::NamedInsert;
use super::seat::HousingSaid;
use super::seats::Seats;
use super::state::{Bench, Job};
use super::typed;
use crate::bore::Contact;
use crate::fit::plan::Shop as Workshop;
use crate::gauge::Raw;
use crate::units::Moment;

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

impl Shop {
    /// How the gauge for bores touches them: what the next job is planned for.
    pub(super) fn contact(&self) -> Contact {
        let mut gauges = self.gauges.values();
        let of_bores = gauges.find(|traits| traits.role == Role::Bore);
        of_bores.map_or(Contact::TwoPoint, |traits| traits.contact)
    }
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
                yield_mpa,
                finish,
                service_c,
            } => {
                self.bench_is_free()?;
                let seat = seat_or_refuse(shop, seat)?;
                let housing = said_or_refuse(HousingSaid {
                    material: *material,
                    wall_mm: *wall_mm,
                    yield_mpa: *yield_mpa,
                    finish: *finish,
                    service_c: *service_c,
                })?;
                let body = open_job(shop, part, seat, housing, *plan)?;
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
                let body = self.set_ring(shop, gauge, ring)?;
                // A setting belongs to the gauge, not to the job that happens to be on the bench.
                return Ok(Draft { at, of: None, body });
            }
            Command::SetStudy { gauge, study } => {
                self.gauge_or_refuse(shop, gauge)?;
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
            Command::BeginRing { gauge } => {
                let body = self.begin_ring(shop, gauge)?;
                return Ok(Draft { at, of: None, body });
            }
            Command::CancelRing { gauge } => {
                let body = self.cancel_ring(gauge)?;
                return Ok(Draft { at, of: None, body });
            }
            Command::CheckRing { gauge, shown_mm } => {
                self.job_or_refuse()?;
                self.check_ring(shop, gauge, *shown_mm)?
            }
            Command::SetEvidence { evidence } => {
                let evidence = evidence.of(self.job_or_refuse()?.evidence);
                let plausible = evidence.plausible();
                plausible.map_err(|why| Refusal(why.to_owned()))?;
                Body::EvidenceNoted { evidence }
            }
            Command::SetHousing(change) => Body::HousingNoted {
                housing: said_or_refuse(change.of(self.job_or_refuse()?.housing))?,
            },
            Command::SetInsert { insert } => {
                let job = self.job_or_refuse()?;
                let bore_mm = job.seat.nominal_mm();
                let insert = NamedInsert::of(insert, bore_mm).map_err(Refusal)?;
                // The bores of a seat may differ: it must belong to one of them.
                let foreign = insert.sized().and_then(|insert| {
                    let bores = job.seat.bores.iter();
                    let foreign = bores.map(|bore| insert.foreign_to(bore.nominal_mm));
                    foreign.collect::<Option<Vec<_>>>()?.into_iter().next()
                });
                if let Some(why) = foreign {
                    return Err(Refusal(why));
                }
                Body::InsertChosen { insert }
            }
            Command::BeginHang {
                fitted,
                masses,
                known,
            } => hang::begin(self.job_or_refuse()?, shop, *fitted, masses, *known)?,
            Command::EndHang {} => hang::end(self.job_or_refuse()?)?,
            Command::CancelHang {} => hang::cancel(self.job_or_refuse()?)?,
            Command::HangTest { fitted, test } => {
                hang::none_under_way(self.job_or_refuse()?)?;
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
                work::choose(job, shop, bore, *work, with.as_deref())?
            }
            Command::Tick { step } => {
                let job = self.job_or_refuse()?;
                work::tick(job, shop, step)?
            }
            Command::SetTemperature {
                part_c,
                ring_c,
                within_k,
            } => {
                self.job_or_refuse()?;
                let ring_c = ring_c.unwrap_or(*part_c);
                on_a_bench(&[*part_c, ring_c], *within_k).map_err(Refusal)?;
                Body::TemperatureNoted {
                    part_c: *part_c,
                    ring_c,
                    within_k: *within_k,
                }
            }
            // What a record says is no part of the state: who has the records answers for it.
            Command::AmendJob { job, .. } => {
                return Err(Refusal(format!(
                    "no records are kept here, none of job {job}"
                )));
            }
            // Who is at work is no part of the state: who gives the tokens answers for it.
            Command::TakeBench { .. } | Command::LeaveBench {} => {
                return Err(Refusal(
                    "no bench is kept here that could be taken".to_owned(),
                ));
            }
            // What a gauge shows just now is no part of the state: who has a value answers for it.
            Command::Take { gauge } => return Err(self.nothing_to_take(shop, gauge)),
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
}
