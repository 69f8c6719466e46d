//! Opening a job, and taking one up again.

use super::{Draft, Refusal, Shop};
use crate::bore::Contact;
use crate::fit::Material;
use crate::job::event::{Body, JobId};
use crate::job::gauges::Role;
use crate::job::plan::{self, PlanKind};
use crate::job::seat::Seat;
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

/// The seat called `name`, with what is known of this part in particular.
pub(super) fn seat_of(
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
