//! Opening a job, and taking one up again.

use super::{Draft, Refusal, Shop};
use crate::bore::Contact;
use crate::fit::{Finish, Material};
use crate::job::event::{Body, JobId};
use crate::job::gauges::Role;
use crate::job::plan::{self, PlanKind};
use crate::job::seat::{SERVICE_C, Seat};
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

/// What is said of one part, in place of what its seat says.
pub(super) struct OfPart {
    pub(super) material: Option<Material>,
    pub(super) wall_mm: Option<f64>,
    pub(super) yield_mpa: Option<f64>,
    pub(super) finish: Option<Finish>,
    pub(super) service_c: Option<(f64, f64)>,
}

/// The seat called `name`, with what is known of this part in particular: the event that opens the
/// job carries it whole.
pub(super) fn seat_of(shop: &Shop, name: &str, part: &OfPart) -> Result<Seat, Refusal> {
    let mut seat = shop
        .seats
        .find(name)
        .ok_or_else(|| Refusal(format!("there is no seat `{name}`; {}", shop.seats.names())))?;
    let no = |value: Option<f64>| value.is_some_and(|value| !(value.is_finite() && value > 0.0));
    let refuse = |why: &str| Err(Refusal(why.to_owned()));
    if no(part.wall_mm) {
        return refuse("a wall is thicker than 0 mm; leave it out if unknown");
    }
    if no(part.yield_mpa) {
        return refuse("a yield strength is more than 0 MPa; leave it out if unknown");
    }
    let runs = |(from, to): (f64, f64)| SERVICE_C.contains(&from) && SERVICE_C.contains(&to);
    if part.service_c.is_some_and(|service| !runs(service)) {
        return refuse(
            "a part runs between two temperatures from -60 to 200 °C; leave them out if unknown",
        );
    }
    seat.material = part.material.or(seat.material);
    seat.yield_mpa = part.yield_mpa.or(seat.yield_mpa);
    seat.finish = part.finish.or(seat.finish);
    seat.service_c = part.service_c.or(seat.service_c);
    for bore in &mut seat.bores {
        bore.wall_mm = part.wall_mm.or(bore.wall_mm);
    }
    Ok(seat)
}

pub(super) fn open_job(
    shop: &Shop,
    part: &str,
    seat: Seat,
    plan: PlanKind,
) -> Result<Body, Refusal> {
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
