//! Opening a job, and taking one up again.

use super::{Draft, Refusal, Shop};
use crate::job::event::{Body, JobId};
use crate::job::plan::{self, PlanKind};
use crate::job::seat::{HousingSaid, Seat};
use crate::job::state::Bench;
use crate::units::Moment;

impl Bench {
    pub(super) fn take_up(&self, id: JobId, at: Moment) -> Result<Draft, Refusal> {
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

/// The seat called `name`.
pub(super) fn seat_or_refuse(shop: &Shop, name: &str) -> Result<Seat, Refusal> {
    let seat = shop.seats.find(name);
    seat.ok_or_else(|| Refusal(format!("there is no seat `{name}`; {}", shop.seats.names())))
}

/// What is said of a part, where a part can be so.
pub(super) fn said_or_refuse(said: HousingSaid) -> Result<HousingSaid, Refusal> {
    match said.plausible() {
        Ok(()) => Ok(said),
        Err(why) => Err(Refusal(why.to_owned())),
    }
}

pub(super) fn open_job(
    shop: &Shop,
    part: &str,
    seat: Seat,
    housing: HousingSaid,
    plan: PlanKind,
) -> Result<Body, Refusal> {
    let part = part.trim();
    if part.is_empty() {
        return Err(Refusal(
            "say which part it is, such as `cargo tricycle 12`".to_owned(),
        ));
    }
    let contact = shop.contact();
    let stations = plan::stations(&seat, plan, contact);
    Ok(Body::JobOpened {
        part: part.to_owned(),
        seat,
        housing,
        plan,
        contact,
        stations,
    })
}
