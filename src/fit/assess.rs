//! What pressing an insert into a seat does: interference, pressure, force, clearance left.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::bearing::clearance_um;
use super::cylinders::{
    FRICTION, axial_force_n, conforming_pressure_mpa, lobe_stiffness_mpa_per_mm, shape_share,
};
use super::expected::{ClearanceLeft, Fit, Meets, Range, SectionFit};
use super::insert::Insert;
use super::layers::Layers;
use super::material::{Elastic, Material};
use super::seat::{SeatForm, together};
use super::service::{Finish, Service, service, smoothing_um};
use crate::uncertainty::{Decision, Estimate, Estimates, Limits};

/// How far a plane-stress pressure may be off for a short ring in a longer housing (judgement).
pub(super) const END_EFFECTS: f64 = 0.20;

/// What is known of the housing round the bore.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Housing {
    /// Material; unknown where null.
    #[serde(default)]
    pub material: Option<Material>,
    /// Wall round the bore, mm; unknown where null.
    #[serde(default)]
    pub wall_mm: Option<f64>,
    /// Length of the bore, mm; unknown where null.
    #[serde(default)]
    pub length_mm: Option<f64>,
    /// Yield strength, MPa, as its data sheet states; without it no stress is judged.
    #[serde(default)]
    pub yield_mpa: Option<f64>,
    /// How the bore's surface was made; unknown where null.
    #[serde(default)]
    pub finish: Option<Finish>,
    /// Sum of the roughness Rz of bore and insert, µm, where it was measured.
    #[serde(default)]
    pub rz_um: Option<f64>,
    /// The temperatures between which it runs, °C.
    #[serde(default)]
    pub service_c: Option<(f64, f64)>,
}

/// Computes the fit of `insert` in `seat`.
pub fn assess(seat: &SeatForm, insert: &Insert, housing: &Housing) -> Fit {
    let outside = insert.outside.mean_mm;
    let interference_mm = outside - seat.mean_mm;
    let estimate = combined(&seat.uncertainty, insert.outside.standard_mm);
    let positive = Limits {
        lower: Some(0.0),
        upper: None,
    };
    let smoothing_mm = smoothing_um(housing.finish, housing.rz_um).map(|um| Range {
        least: um.least / 1e3,
        greatest: um.greatest / 1e3,
    });
    let lost = smoothing_mm.unwrap_or(Range {
        least: 0.0,
        greatest: 0.0,
    });
    let shown = |mm: f64| estimate.map(|e| positive.decide(mm, &e, None));
    // What pressing smooths away holds nothing, but it is no gap either.
    let meets = if shown(interference_mm - lost.greatest) == Some(Decision::Conforms) {
        Meets::Interference
    } else if shown(interference_mm) == Some(Decision::DoesNotConform) {
        Meets::Clearance
    } else {
        Meets::CantTell
    };
    let mut fit = Fit {
        insert: insert.name(),
        insert_mm: outside,
        insert_from: insert.outside.from.clone(),
        meets,
        interference_mm,
        spread_round_mm: seat.out_of_round_mm(),
        spread_depth_mm: seat.along_depth_mm(),
        sections: seat
            .sections
            .iter()
            .map(|section| SectionFit {
                depth_mm: section.depth_mm,
                interference_mm: outside - section.mean_mm,
                least_mm: section.largest_mm.map(|mm| outside - mm),
                greatest_mm: section.smallest_mm.map(|mm| outside - mm),
            })
            .collect(),
        smoothing_mm,
        pressure_mpa: None,
        hoop_stress_mpa: None,
        yield_mpa: housing.yield_mpa,
        below_yield: None,
        press_force_n: None,
        raceway_contraction_mm: None,
        oval_share: None,
        clearance: None,
        interference_per_k_mm: None,
        service: Vec::new(),
        uncertainty: Estimates::new(),
        withheld: Vec::new(),
    };
    if let Some(estimate) = estimate {
        fit.uncertainty
            .insert("interference_mm".to_owned(), estimate);
    }
    if fit.spread_round_mm.is_none() {
        fit.withhold(
            "spread_round_mm",
            "needs 3 directions of a two-point gauge, or an indicator swept from an axis",
        );
    }
    if fit.spread_depth_mm.is_none() {
        fit.withhold("spread_depth_mm", "needs two depths");
    }
    let reach = estimate.map_or(0.0, |estimate| estimate.expanded);
    if fit.smoothing_mm.is_none() {
        fit.withhold(
            "smoothing_mm",
            "the finish of the bore is not stated: all of the interference counts",
        );
    }
    let delta = Range {
        least: (interference_mm - reach - lost.greatest).max(0.0),
        greatest: (interference_mm + reach - lost.least).max(0.0),
    };
    let pressed = press(&mut fit, insert, housing, delta);
    clearance(&mut fit, seat, insert, (delta, reach), pressed.as_ref());
    let at = Service {
        fit: &fit,
        insert,
        housing,
        reach_mm: reach,
        lost_mm: lost,
    };
    match service(&at) {
        Ok(service) => fit.service = service,
        Err(why) => fit.withhold("service", why),
    }
    fit.finite()
}

fn combined(bore: &Estimate, insert: f64) -> Option<Estimate> {
    together(&[(bore.standard, bore.degrees()), (insert, f64::INFINITY)])
}

/// What the compound cylinder gives at the ends of the interference.
struct Pressing {
    pressure: Range,
    contraction: Option<Range>,
    /// Stiffness of the housing, and of all that lies inside it.
    stiffness: (f64, f64),
}

/// Why the model of elastic cylinders doesn't hold.
pub(super) fn outside_model(insert: &Insert, housing: &Housing) -> Option<String> {
    match (housing.material, housing.wall_mm) {
        (None, _) => Some("the housing's material is not known".to_owned()),
        (Some(material), _) if material.elastic().is_none() => Some(format!(
            "a {} housing has no one modulus; its maker's limits decide",
            material.word()
        )),
        (_, None) => Some("the wall round the bore is not known".to_owned()),
        (_, Some(wall)) if !(wall.is_finite() && wall > 0.0) => {
            Some("the wall round the bore must be above 0 mm".to_owned())
        }
        _ => match insert.cup {
            Some(cup) if cup.elastic().is_none() => Some(format!(
                "a {} cup creeps, so no lasting pressure can be computed",
                cup.word()
            )),
            _ => None,
        },
    }
}

fn press(fit: &mut Fit, insert: &Insert, housing: &Housing, delta: Range) -> Option<Pressing> {
    const FIELDS: [&str; 4] = [
        "pressure_mpa",
        "hoop_stress_mpa",
        "press_force_n",
        "interference_per_k_mm",
    ];
    let refuse = |fit: &mut Fit, why: &str| {
        for field in FIELDS {
            fit.withhold(field, why);
        }
    };
    if let Some(why) = outside_model(insert, housing) {
        refuse(
            fit,
            &format!("{why}; the interference itself is geometry and stands"),
        );
        return None;
    }
    let (shell, wall) = (housing.material?.elastic()?, housing.wall_mm?);
    let Some(layers) = Layers::of(insert) else {
        refuse(
            fit,
            "what lies inside the cup is not known: name the bearing",
        );
        return None;
    };
    fit.interference_per_k_mm =
        Some((layers.outermost().expansion_per_k - shell.expansion_per_k) * insert.outside.mean_mm);
    // The extremes: a stiff housing and the greatest interference, a soft one and the least.
    let with = |delta: f64, stiff: f64| layers.press(delta, wall, &scaled(&shell, stiff));
    let (soft, stiff) = match (with(delta.least, -1.0), with(delta.greatest, 1.0)) {
        (Some(soft), Some(stiff)) => (soft, stiff),
        _ => {
            refuse(fit, "the diameters of ring, cup and housing don't nest");
            return None;
        }
    };
    let ends = |least: f64, greatest: f64| Range {
        least: least * (1.0 - END_EFFECTS),
        greatest: greatest * (1.0 + END_EFFECTS),
    };
    let pressure = ends(soft.pressure, stiff.pressure);
    fit.pressure_mpa = Some(pressure);
    let hoop = ends(soft.hoop, stiff.hoop);
    fit.hoop_stress_mpa = Some(hoop);
    match housing.yield_mpa {
        Some(limit) if hoop.greatest < limit => fit.below_yield = Some(Decision::Conforms),
        Some(limit) if hoop.least > limit => fit.below_yield = Some(Decision::DoesNotConform),
        Some(_) => fit.below_yield = Some(Decision::CantTell),
        None => fit.withhold("below_yield", "no yield strength is stated"),
    }
    let length = housing
        .length_mm
        .map_or(insert.length_mm, |length| length.min(insert.length_mm));
    let force = |friction, p| axial_force_n(friction, insert.outside.mean_mm, length, p);
    fit.press_force_n = Some(Range {
        least: force(FRICTION.0, pressure.least),
        greatest: force(FRICTION.1, pressure.greatest),
    });
    let contraction = insert.bearing.map(|_| {
        // No housing shrinks the raceway more than a rigid one would.
        let rigid = layers.rigid_ratio() * delta.greatest;
        let by = ends(soft.contraction, stiff.contraction);
        Range {
            least: by.least,
            greatest: by.greatest.min(rigid),
        }
    });
    let outer = insert.outside.mean_mm;
    let housing_stiffness =
        lobe_stiffness_mpa_per_mm(2, outer, outer + 2.0 * wall, shell.young_mpa);
    Some(Pressing {
        pressure,
        contraction,
        stiffness: (housing_stiffness, layers.stiffness()),
    })
}

pub(super) fn scaled(elastic: &Elastic, by: f64) -> Elastic {
    Elastic {
        young_mpa: elastic.young_mpa * (1.0 + by * elastic.young_spread),
        ..*elastic
    }
}

fn clearance(
    fit: &mut Fit,
    seat: &SeatForm,
    insert: &Insert,
    (delta, reach_mm): (Range, f64),
    pressed: Option<&Pressing>,
) {
    let Some(bearing) = insert.bearing else {
        fit.withhold("clearance", "the bearing is not known");
        return;
    };
    let (least, greatest) = match clearance_um(bearing.size.bore_mm, bearing.clearance) {
        Ok(initial) => initial,
        Err(error) => {
            fit.withhold("clearance", error.to_string());
            return;
        }
    };
    let contraction = pressed.and_then(|p| p.contraction).or_else(|| {
        // Outside the model the ring shrinks by nothing at least, and at most as in a housing
        // that doesn't give.
        let direct = Insert {
            cup: None,
            ..insert.clone()
        };
        let rigid = Layers::of(&direct)?.rigid_ratio();
        Some(Range {
            least: 0.0,
            greatest: rigid * delta.greatest,
        })
    });
    let Some(contraction) = contraction else {
        fit.withhold("clearance", "the ring's own stiffness is not known");
        return;
    };
    fit.raceway_contraction_mm = Some(contraction);
    let um = |mm: f64| mm * 1e3;
    let mean_um = Range {
        least: least - um(contraction.greatest),
        greatest: greatest - um(contraction.least),
    };
    let round = Roundness::of(seat);
    let share = round.and_then(|round| oval_share(seat, round, insert, reach_mm, pressed));
    fit.oval_share = share;
    let tight_axis_um = match (share, round) {
        (Some(share), Some(round)) => Some(Range {
            least: mean_um.least - share.greatest * um(round.deepest_mm),
            greatest: mean_um.greatest
                - share.least * um((round.oval_mm - round.reach_mm).max(0.0)) / 2.0,
        }),
        _ => {
            fit.withhold(
                "clearance.tight_axis_um",
                "the oval is not known: gauge 3 directions or more with two points",
            );
            None
        }
    };
    let judged = tight_axis_um.unwrap_or(mean_um);
    let left = if judged.least >= 0.0 && tight_axis_um.is_some() {
        Decision::Conforms
    } else if judged.greatest < 0.0 {
        Decision::DoesNotConform
    } else {
        Decision::CantTell
    };
    fit.clearance = Some(ClearanceLeft {
        initial_um: Range { least, greatest },
        mean_um,
        tight_axis_um,
        left,
    });
}

/// How far a seat is out of round, and what is not known of that.
#[derive(Clone, Copy)]
struct Roundness {
    /// Its oval, mm.
    oval_mm: f64,
    /// How far oval and lobes may be off, mm of diameter.
    reach_mm: f64,
    /// How far the smallest diameter may lie below the mean of its section, mm: lobes other than two
    /// pinch as well as an oval does.
    deepest_mm: f64,
}

impl Roundness {
    fn of(seat: &SeatForm) -> Option<Self> {
        let (oval_mm, reach_mm) = (seat.oval_mm()?, seat.form_reach_mm?);
        let sections = seat.sections.iter();
        let below = sections.filter_map(|section| Some(section.mean_mm - section.smallest_mm?));
        // Half of what a difference of diameters may be off lies on the narrow side.
        let deepest_mm = below.fold(oval_mm / 2.0, f64::max) + reach_mm / 2.0;
        Some(Self {
            oval_mm,
            reach_mm,
            deepest_mm,
        })
    }
}

/// How much of the oval the ring takes: by the share of stiffness where it touches all round, up
/// to all of it, but never more than the smallest diameter pinches.
fn oval_share(
    seat: &SeatForm,
    round: Roundness,
    insert: &Insert,
    reach_mm: f64,
    pressed: Option<&Pressing>,
) -> Option<Range> {
    let smallest = seat.smallest_mm()? - round.reach_mm / 2.0;
    let most = round.oval_mm + round.reach_mm;
    let pinch = (insert.outside.mean_mm + reach_mm - smallest).max(0.0);
    let greatest = if round.deepest_mm > 0.0 {
        (pinch / round.deepest_mm).min(1.0)
    } else {
        1.0
    };
    let least = match pressed.map(|p| (p.pressure, p.stiffness)) {
        // The amplitude of a radius is a quarter of an oval's size.
        Some((pressure, (housing, ring)))
            if pressure.least >= conforming_pressure_mpa(most / 4.0, housing, ring) =>
        {
            shape_share(housing, ring).min(greatest)
        }
        _ => 0.0,
    };
    Some(Range { least, greatest })
}
