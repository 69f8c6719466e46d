//! Stations that are chosen or join the plan.

use super::Refusal;
use crate::bore::Contact;
use crate::job::plan::Station;
use crate::job::seat::depth_or_refuse;
use crate::job::state::Job;

pub(super) fn bore_or_refuse(job: &Job, bore: &str) -> Result<(), Refusal> {
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

pub(super) fn go_to(
    job: &Job,
    bore: &str,
    depth_mm: f64,
    angle_deg: f64,
) -> Result<Station, Refusal> {
    bore_or_refuse(job, bore)?;
    depth_or_refuse(depth_mm, job.seat.length_mm(bore)).map_err(Refusal)?;
    if !(0.0..360.0).contains(&angle_deg) {
        return Err(Refusal("an angle lies in [0, 360) degrees".to_owned()));
    }
    Ok(Station {
        bore: bore.to_owned(),
        depth_mm,
        angle_deg,
    })
}

/// The twins of the stations of the present phase that are not among them.
fn twins(job: &Job) -> Vec<Station> {
    let known: Vec<&Station> = job
        .present()
        .map(|work| work.places.iter().map(|place| &place.station).collect())
        .unwrap_or_default();
    known
        .iter()
        .filter_map(|station| station.twin(job.contact))
        .filter(|twin| !known.contains(&twin))
        .collect()
}

/// Where `bore` is gauged again: in its second turn, and after that, or where the contact has none, at
/// its stations themselves. A three-point gauge is followed by a two-point gauge, in a job of its own.
pub(super) fn again(job: &Job, bore: &str) -> Vec<Station> {
    if job.contact == Contact::ThreePoint {
        return Vec::new();
    }
    let mut stations = twins(job);
    stations.retain(|station| station.bore == bore);
    if stations.is_empty() {
        let places = job.present().into_iter().flat_map(|work| &work.places);
        let done = places.filter(|place| place.station.bore == bore && !place.is_to_do());
        stations.extend(done.map(|place| place.station.clone()));
    }
    stations
}

pub(super) fn second_turn(job: &Job) -> Result<Vec<Station>, Refusal> {
    let twins = twins(job);
    if twins.is_empty() {
        return Err(Refusal(
            "every direction of this phase already has its second turn: go to a station to gauge \
             it once more"
                .to_owned(),
        ));
    }
    Ok(twins)
}
