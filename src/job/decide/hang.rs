//! A hang test with an angle gauge on the arm.

use super::{Refusal, Shop};
use crate::fit::pendulum::{Arm, HangKnown, Mass};
use crate::job::event::Body;
use crate::job::gauges::Role;
use crate::job::hang::HangUnderWay;
use crate::job::state::Job;

/// Standard uncertainty of an angle from a digital angle gauge, degrees (judgement).
const ANGLE_U_DEG: f64 = 0.1;

pub(super) fn begin(
    job: &Job,
    shop: &Shop,
    fitted: bool,
    masses: &[Mass],
    known: Option<HangKnown>,
) -> Result<Body, Refusal> {
    none_under_way(job)?;
    Arm::of(masses).map_err(|error| Refusal(error.to_string()))?;
    let steps = shop.gauges.values();
    let steps = steps.filter(|traits| traits.role == Role::Angle);
    let coarsest = steps.map(|traits| traits.resolution_mm).reduce(f64::max);
    let step = coarsest.ok_or_else(|| {
        Refusal(
            "no gauge of the bench has the role `angle`: name one in the configuration, or type \
             the angles with hang_test"
                .to_owned(),
        )
    })?;
    let known = known.unwrap_or_else(|| HangKnown {
        // A step is a rectangle (JCGM 100:2008, 4.3.7).
        angle_deg: ANGLE_U_DEG.max(step / 12.0_f64.sqrt()),
        ..HangKnown::default()
    });
    if !known.is_sound() {
        return Err(Refusal(
            "state how well angle, mass and centre are known as numbers of 0 or more".to_owned(),
        ));
    }
    Ok(Body::HangBegun {
        fitted,
        masses: masses.to_vec(),
        known,
    })
}

pub(super) fn end(job: &Job) -> Result<Body, Refusal> {
    let hang = under_way(job)?;
    let test = hang.test();
    let friction = test
        .friction()
        .map_err(|error| Refusal(error.to_string()))?;
    Ok(Body::HangTested {
        fitted: hang.fitted,
        test,
        friction,
    })
}

pub(super) fn cancel(job: &Job) -> Result<Body, Refusal> {
    under_way(job).map(|_| Body::HangCancelled {})
}

pub(super) fn none_under_way(job: &Job) -> Result<(), Refusal> {
    match &job.hang {
        None => Ok(()),
        Some(_) => Err(Refusal(
            "a hang test is under way: end it with end_hang, or give it up with cancel_hang"
                .to_owned(),
        )),
    }
}

fn under_way(job: &Job) -> Result<&HangUnderWay, Refusal> {
    let none = || Refusal("no hang test is under way: begin one with begin_hang".to_owned());
    job.hang.as_ref().ok_or_else(none)
}
