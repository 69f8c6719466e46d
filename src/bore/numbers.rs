//! The numbers of a section and of a bore, as they stand in every record, feed and profile.

use nalgebra::{Matrix2, Vector2};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::sizes::{common, sum_of};
use super::{Contact, ScatterFrom, Setting, Shape, Suspect, UNSTATED_RING_MM};
use crate::uncertainty::{Estimate, Estimates};

/// What is withheld where nobody states the ring's uncertainty.
const RING_UNSTATED: &str = "uncertainty.setting_ring";

/// What one cross-section's readings say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Section {
    /// Depth from the bore's face, mm.
    pub depth_mm: f64,
    /// How many readings.
    pub readings: usize,
    /// How many distinct directions as the contact sees them.
    pub stations: usize,
    /// Whether a setting ring stands behind the sizes; without one only differences are judged.
    pub size_set: bool,
    /// In how many directions it was gauged before the gauge was set in its ring, where others were
    /// gauged since. Left out where that is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before_setting: Option<usize>,
    /// Whether the mean stands on too few directions for the bore's form to be known.
    pub form_unknown: bool,
    /// The widest arc without a direction, degrees, where it is wider than a third of the turn after
    /// which the contact reads the same wall again: how the wall runs there, nobody knows. Left out
    /// where directions go all round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ungauged_arc_deg: Option<f64>,
    /// Least-squares mean diameter, mm.
    pub mean_diameter_mm: Option<f64>,
    /// Largest diameter measured, mm; repeats averaged.
    pub largest_mm: Option<f64>,
    /// Smallest diameter measured, mm; repeats averaged.
    pub smallest_mm: Option<f64>,
    /// Largest minus smallest diameter as measured, mm. Not the roundness of ISO 12181-1.
    pub out_of_round_mm: Option<f64>,
    /// The two-lobe part.
    pub oval: Option<Oval>,
    /// Every lobe count that was fitted.
    pub lobes: Vec<Lobe>,
    /// The lobe counts that the contact can't see.
    pub unseen_lobes: String,
    /// Standard deviation of station means about the fit, mm, as the gauge shows them.
    pub residual_mm: Option<f64>,
    /// Standard deviation of single readings in one direction, mm.
    pub repeatability_mm: Option<f64>,
    /// Whether the uncertainties start from the section's readings, the gauge's last study, or both;
    /// null where no scatter is known.
    #[serde(default)]
    pub scatter_from: Option<ScatterFrom>,
    /// Reference circles; only an indicator swept from an axis can give them.
    pub roundness: Option<Roundness>,
    /// A reading that the others contradict; null where there is none.
    pub suspect: Option<Suspect>,
    /// Where too few degrees of freedom are left to call a reading wild: in which direction lies the
    /// one that is furthest from the fit, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub furthest_deg: Option<f64>,
    /// Uncertainties by field path.
    pub uncertainty: Estimates,
    /// The fields that are null, and why.
    pub withheld: Vec<Withheld>,
    /// The fitted wall, for drawing and for the fit of an insert.
    #[serde(skip)]
    pub shape: Option<Shape>,
    /// The mean reading with what scatter alone makes of its uncertainty: known even where the
    /// size is not, so that differences between sections are.
    #[serde(skip)]
    pub(super) mean_reading: Option<MeanReading>,
    /// What scatter alone makes of the uncertainty of other sizes and of the centre, by field.
    #[serde(skip)]
    pub(super) own: Estimates,
    /// How well the centre of the least-squares circle is known.
    #[serde(skip)]
    pub(super) centre: Option<CentreKnown>,
}

/// See [`Section::centre`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CentreKnown {
    /// What scatter alone makes of x and y, mm².
    pub scatter: Matrix2<f64>,
    /// Degrees of freedom of that.
    pub degrees: f64,
    /// What the centre takes up of an oval on uneven directions, mm.
    pub form: Vector2<f64>,
}

/// See [`Section::mean_reading`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct MeanReading {
    /// Of the diameter, mm, from an origin that all sections share.
    pub diameter_mm: f64,
    /// Without what is common to all sections; `None` where no scatter is known.
    pub scatter: Option<Estimate>,
    /// What the fitted circle's diameter takes up of an oval on uneven directions, mm: an error that
    /// is known, sign and all.
    pub form_mm: f64,
    /// Standard uncertainty of the rounding that all its readings share, mm; 0 where they don't.
    pub digit_mm: f64,
    /// What is common to all sizes but the scatter of the reading in the ring.
    pub setting: Option<Setting>,
    /// What that brings to a diameter: a variance, mm², and its degrees of freedom.
    pub ring: Option<(f64, f64)>,
    /// As [`Basis::drift_mm`](super::Basis::drift_mm).
    pub drift_mm: [f64; 2],
}

impl MeanReading {
    /// Variance and degrees of freedom of a rounding that is shared.
    pub(super) fn digit(&self) -> Option<(f64, f64)> {
        (self.digit_mm > 0.0).then_some((self.digit_mm.powi(2), f64::INFINITY))
    }

    /// Variance and degrees of freedom of ring and temperatures.
    pub(super) fn setting(&self) -> Option<(f64, f64)> {
        self.setting.map(Setting::variance)
    }

    /// Variance and degrees of freedom of the scatter of the reading in the ring.
    pub(super) const fn ring(&self) -> Option<(f64, f64)> {
        self.ring
    }

    /// Whatever is common to all sizes.
    pub(super) fn common(&self) -> Option<Estimate> {
        common(self.setting(), self.ring)
    }

    /// Scatter and rounding: what sections gauged alike differ by.
    pub(super) fn own(&self) -> Option<Estimate> {
        let scatter = self.scatter?;
        let Some(digit) = self.digit() else {
            return Some(scatter);
        };
        sum_of(&[(scatter.standard.powi(2), scatter.degrees()), digit])
    }
}

/// The two-lobe part of a section.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Oval {
    /// Largest minus smallest diameter of the two-lobe part, mm, from the fit.
    pub size_mm: f64,
    /// Where its diameter is largest, degrees in [0, 180).
    pub long_axis_deg: Option<f64>,
    /// Where its diameter is smallest, degrees in [0, 180), a right angle from the long axis.
    pub tight_axis_deg: Option<f64>,
}

/// One lobe count of a section.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Lobe {
    /// Undulations round the circumference.
    pub count: u32,
    /// Half of peak to valley of the wall's radius, mm, corrected for how the contact sees it.
    pub amplitude_mm: f64,
    /// First direction in [0, 360 / count), degrees, in which the bore is largest.
    pub peak_deg: Option<f64>,
}

/// The four reference circles of ISO 12181-1, about one section.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Roundness {
    /// Least-squares reference circle (LSCI): `zone_mm` is RONt, `peak_mm` RONp, `valley_mm` RONv.
    pub least_squares: Circle,
    /// Minimum-zone reference circles (MZCI); the radius is midway between the two.
    pub minimum_zone: Circle,
    /// Maximum inscribed reference circle (MICI): the largest plug that enters.
    pub max_inscribed: Circle,
    /// Minimum circumscribed reference circle (MCCI).
    pub min_circumscribed: Circle,
}

/// A reference circle and how far the wall leaves it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Circle {
    /// Centre towards 0°, mm from the axis of sweep.
    pub x_mm: f64,
    /// Centre towards 90°, clockwise as seen from the face, mm from the axis of sweep.
    pub y_mm: f64,
    /// Radius, mm; null where readings are deviations from an unknown radius.
    pub radius_mm: Option<f64>,
    /// Largest minus smallest distance of the wall from the centre, mm.
    pub zone_mm: f64,
    /// How far the wall lies outside the circle, mm.
    pub peak_mm: f64,
    /// How far the wall lies inside the circle, mm, as a positive number.
    pub valley_mm: f64,
}

/// A field that is null, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Withheld {
    /// The field's path.
    pub field: String,
    /// Why, and what would give it.
    pub why: String,
}

/// What the sections of one bore say together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BoreNumbers {
    /// The unweighted mean of the sections' mean diameters, mm.
    pub mean_diameter_mm: Option<f64>,
    /// Change of mean diameter with depth, mm/mm; positive where the bore is wider inside.
    pub taper_mm_per_mm: Option<f64>,
    /// The middle of the gauged length wider than its ends, mm, from a quadratic; negative where it
    /// is narrower.
    pub barrel_mm: Option<f64>,
    /// The section nearest the face wider than the line through the others leads to expect, mm.
    pub bell_mouth_mm: Option<f64>,
    /// The section of the smallest mean diameter: where an insert meets the bore first. Null where the
    /// depths differ by no more than their uncertainty.
    pub waist: Option<Waist>,
    /// Sections off the line through the others by more than their scatter explains.
    pub disagreeing: Vec<Disagreement>,
    /// Uncertainties by field path.
    pub uncertainty: Estimates,
    /// The fields that are null, and why.
    pub withheld: Vec<Withheld>,
}

/// The narrowest section of a bore.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Waist {
    /// Depth from the bore's face, mm.
    pub depth_mm: f64,
    /// Its mean diameter, mm.
    pub diameter_mm: f64,
}

/// A section that the others of its bore don't lead to expect.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Disagreement {
    /// Depth from the bore's face, mm.
    pub depth_mm: f64,
    /// How much wider its mean diameter is than the line through the others, mm.
    pub by_mm: f64,
}

/// One bore: its numbers and its sections, in order of depth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Bore {
    /// The bore's name.
    pub bore: String,
    /// What its sections say together.
    #[serde(flatten)]
    pub numbers: BoreNumbers,
    /// Its sections.
    pub sections: Vec<Section>,
}

impl Section {
    /// A section of which nothing is known yet but how much was gauged.
    pub(super) fn blank(contact: Contact, depth_mm: f64, readings: usize, stations: usize) -> Self {
        Self {
            depth_mm,
            readings,
            stations,
            size_set: false,
            before_setting: None,
            form_unknown: false,
            ungauged_arc_deg: None,
            mean_diameter_mm: None,
            largest_mm: None,
            smallest_mm: None,
            out_of_round_mm: None,
            oval: None,
            lobes: Vec::new(),
            unseen_lobes: contact.unseen_lobes().to_owned(),
            residual_mm: None,
            repeatability_mm: None,
            scatter_from: None,
            roundness: None,
            suspect: None,
            furthest_deg: None,
            uncertainty: Estimates::new(),
            withheld: Vec::new(),
            shape: None,
            mean_reading: None,
            own: Estimates::new(),
            centre: None,
        }
    }

    pub(super) fn withhold(&mut self, field: &str, why: impl Into<String>) {
        self.withheld.push(Withheld {
            field: field.to_owned(),
            why: why.into(),
        });
    }

    /// Whether a ring stands behind the sizes, and what of it is not known.
    pub(super) fn stand_on(&mut self, setting: Option<Setting>) {
        let ring = setting.filter(|setting| setting.by_ring);
        self.size_set = ring.is_some();
        if ring.is_some_and(|ring| ring.assumed) {
            self.withhold(
                RING_UNSTATED,
                format!(
                    "the ring's uncertainty is not stated and counts as ± {UNSTATED_RING_MM:.3} mm: \
                     take it from the ring's certificate"
                ),
            );
        }
    }

    /// Why its sizes are not judged while they are not set.
    pub fn why_not_set(&self) -> String {
        match self.before_setting {
            Some(count) => format!(
                "{count} of {} directions were gauged before the gauge was set: gauge these again",
                self.stations
            ),
            None => "the gauge was never set in a setting ring: set it and gauge again".to_owned(),
        }
    }

    /// Why the ring's uncertainty is assumed; `None` where it is stated, or no ring stands behind the
    /// sizes.
    pub fn why_ring_assumed(&self) -> Option<&str> {
        self.why_withheld(RING_UNSTATED)
    }

    /// What the scatter of the reading in the ring adds to the uncertainty of every diameter; `None`
    /// without a ring.
    pub fn ring_scatter(&self) -> Option<Estimate> {
        sum_of(&[self.mean_reading?.ring?])
    }

    pub(super) fn estimate(&mut self, field: &str, estimate: Option<Estimate>) {
        if let Some(estimate) = estimate {
            self.uncertainty.insert(field.to_owned(), estimate);
        }
    }

    /// What scatter alone makes of the mean diameter's uncertainty, without the setting ring;
    /// `None` where no scatter is known.
    pub fn mean_scatter(&self) -> Option<Estimate> {
        self.mean_reading?.scatter
    }

    /// What scatter and a shared rounding make of it: by that do the means of two sections differ;
    /// `None` where no scatter is known.
    pub fn mean_own(&self) -> Option<Estimate> {
        self.mean_reading?.own()
    }

    /// As [`mean_scatter`](Self::mean_scatter), of any size of the section and of the centre of its least-squares circle, by field;
    /// `None` for a difference, of which scatter is all there is.
    pub fn scatter_of(&self, field: &str) -> Option<Estimate> {
        match field {
            "mean_diameter_mm" => self.mean_scatter(),
            _ => self.own.get(field).copied(),
        }
    }

    /// What a number is off by for the oval, by its field: on uneven directions the circle of the
    /// readings is not the oval's own, mm; 0 where it isn't.
    pub fn form_of(&self, field: &str) -> f64 {
        let mean = self.mean_reading.map_or(0.0, |mean| mean.form_mm);
        let centre = self.centre.map_or(Vector2::zeros(), |centre| centre.form);
        match field {
            "mean_diameter_mm" => mean,
            "roundness.least_squares.radius_mm" => mean / 2.0,
            "roundness.least_squares.x_mm" => centre.x,
            "roundness.least_squares.y_mm" => centre.y,
            _ => 0.0,
        }
    }

    /// Which direction to gauge again where the section's own few readings are all that says how far
    /// they scatter, degrees: one of them may be wild, and nothing could tell.
    pub fn doubtful_deg(&self) -> Option<f64> {
        let alone = self.scatter_from == Some(ScatterFrom::Readings);
        self.furthest_deg.filter(|_| alone)
    }

    /// Standard uncertainty of the rounding that all readings share, by field, mm: readings that scatter
    /// by less than half a digit step all round the same way; 0 where they don't.
    pub fn digit_of(&self, field: &str) -> f64 {
        let digit = self.mean_reading.map_or(0.0, |mean| mean.digit_mm);
        match field {
            "mean_diameter_mm" => digit,
            "roundness.least_squares.radius_mm" => digit / 2.0,
            _ => 0.0,
        }
    }

    /// Why `field` is null; `None` where it isn't withheld.
    pub fn why_withheld(&self, field: &str) -> Option<&str> {
        why(&self.withheld, field)
    }
}

impl BoreNumbers {
    /// Why `field` is null; `None` where it isn't withheld.
    pub fn why_withheld(&self, field: &str) -> Option<&str> {
        why(&self.withheld, field)
    }
}

fn why<'a>(withheld: &'a [Withheld], field: &str) -> Option<&'a str> {
    let mut of_field = withheld.iter().filter(|withheld| withheld.field == field);
    of_field.next().map(|withheld| withheld.why.as_str())
}
