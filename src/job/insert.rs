//! What is to be pressed in, as it is named at the bench, and what a gauge measured of it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::state::Job;
use super::studied::GaugeStudy;
use crate::bore::with_study;
use crate::fit::{Bearing, Insert, InsertAsked, MEASURED_U_MM, Material, Outside};
use crate::uncertainty::{Estimate, LEVEL, student};

/// What is pressed into the bore, its diameter perhaps still to be measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NamedInsert {
    /// What meets the bore: a cup of this material; null where the bearing does so itself.
    #[serde(default)]
    pub cup: Option<Material>,
    /// The bearing; null where it is not known.
    #[serde(default)]
    pub bearing: Option<Bearing>,
    /// The diameter that goes into the bore; null where it is still to be measured.
    #[serde(default)]
    pub outside: Option<Outside>,
    /// Length that is held in the bore, mm.
    pub length_mm: f64,
}

/// One outside diameter of the insert, from the gauge whose role that is.
#[derive(Debug, Clone, PartialEq)]
pub struct InsertReading {
    /// The gauge's name.
    pub gauge: String,
    /// The diameter, mm.
    pub size_mm: f64,
    /// The gauge's digit step, mm.
    pub resolution_mm: f64,
    /// Standard uncertainty that the gauge's setting brings, mm; `None` where it was set in no ring.
    pub setting_u_mm: Option<f64>,
}

impl NamedInsert {
    /// The insert that is asked for: of a cup the diameter may still have to be measured. `bore_mm` is
    /// the nominal size of the bores that it goes into, where they are alike.
    ///
    /// # Errors
    /// A sentence that says what is missing or can't be.
    pub fn of(asked: &InsertAsked, bore_mm: Option<f64>) -> Result<Self, String> {
        let sized = asked.outside_mm.is_some() || asked.outside_class.is_some();
        let open = asked.cup.is_some() && !sized;
        let mut asked = asked.clone();
        // What is still to be measured stands for nothing here, and holds the bearing.
        if open {
            let bearing_mm = asked.bearing.map_or(0.0, |size| size.outside_mm);
            asked.outside_mm = Some(bearing_mm + 1.0);
        }
        let insert = asked.insert(bore_mm)?;
        let insert = insert.ok_or("say which bearing it is, or measure what goes in")?;
        Ok(Self {
            cup: insert.cup,
            bearing: insert.bearing,
            outside: Some(insert.outside).filter(|_| !open),
            length_mm: insert.length_mm,
        })
    }

    /// The insert, where its diameter is known.
    pub fn sized(&self) -> Option<Insert> {
        Some(self.with(self.outside.clone()?))
    }

    /// The insert with this diameter.
    fn with(&self, outside: Outside) -> Insert {
        Insert {
            cup: self.cup,
            bearing: self.bearing,
            outside,
            length_mm: self.length_mm,
        }
    }

    /// Whether nobody said its own diameter: it is to be measured, or that of its bearing's class.
    pub(super) fn takes_readings(&self) -> bool {
        (self.outside.as_ref()).is_none_or(|outside| outside.is_of_bearing())
    }
}

/// The insert of `job`: the one named, else the seat's own bearing as bought; with the diameter that
/// was measured of it since, where any was. `None` where it, or its diameter, is not known.
pub(super) fn insert(job: &Job) -> Option<Insert> {
    let usual = || Insert::of_bearing(Bearing::normal(job.seat.bearing?)).ok();
    match (&job.insert, measured(job)) {
        (Some(named), Some(outside)) => Some(named.with(outside)),
        (Some(named), None) => named.sized(),
        (None, Some(outside)) => Some(usual()?.measured(outside.mean_mm, outside.standard_mm)),
        (None, None) => usual(),
    }
}

/// The mean of what was measured of the insert. Its uncertainty: that of the gauge's setting, or of a
/// micrometer that was set in no ring; a digit step (JCGM 100:2008, 4.3.7); and the scatter of the
/// mean, by the readings or the gauge's study, whichever is known better.
fn measured(job: &Job) -> Option<Outside> {
    let readings = &job.insert_readings;
    let gauge = &readings.last()?.gauge;
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    let count = readings.len() as f64;
    let mean_mm = readings.iter().map(|reading| reading.size_mm).sum::<f64>() / count;
    let greatest = |of: fn(&InsertReading) -> f64| readings.iter().map(of).fold(0.0_f64, f64::max);
    let setting = greatest(|reading| reading.setting_u_mm.unwrap_or(MEASURED_U_MM));
    let step = greatest(|reading| reading.resolution_mm) / 12.0_f64.sqrt();
    let squares = readings
        .iter()
        .map(|reading| (reading.size_mm - mean_mm).powi(2));
    let scatter = scatter(squares.sum(), count, job.studies.get(gauge)) / count.sqrt();
    Some(Outside {
        mean_mm,
        standard_mm: setting.hypot(step).hypot(scatter),
        from: "measured".to_owned(),
    })
}

/// Standard uncertainty by the scatter of one reading, mm, as large as Student's t makes it for few
/// of them (95 %): of the readings by themselves, or with those of the study where they scatter no more
/// than it explains; of one reading without a study that of a micrometer.
fn scatter(squares: f64, count: f64, study: Option<&GaugeStudy>) -> f64 {
    let own = (count > 1.0).then_some((squares, count - 1.0));
    let of = |(squares, degrees): (f64, f64)| {
        let reach = Estimate::new((squares / degrees).sqrt(), degrees)?.expanded;
        Some(reach / student(LEVEL, f64::INFINITY)?)
    };
    let study = study.map(|study| {
        let degrees = study.degrees_of_freedom;
        (study.repeatability_mm.powi(2) * degrees, degrees)
    });
    with_study(own, study)
        .and_then(|(pooled, _)| of(pooled))
        .unwrap_or(MEASURED_U_MM)
}
