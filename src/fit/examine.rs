//! The whole answer for a part: each bore's fit and plan, and what is at fault.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Arc;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::alignment::Alignment;
use super::assess::{Housing, assess};
use super::checklist::{Step, checklist};
use super::diagnosis::{AtFault, Case, Diagnosis, Evidence, diagnose};
use super::expected::Fit;
use super::insert::Insert;
use super::judged::JudgedBore;
use super::material::Material;
use super::plan::{Ground, Plan, Shop, Work};
use super::seat::SeatForm;
use super::service::Finish;
use crate::bore::{Bore, Contact};
use crate::job::{Seat, SeatBore};
use crate::uncertainty::Decision;

/// What is known beside the bores.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Known {
    /// What is to be pressed in.
    pub insert: Option<Insert>,
    /// The housing's material, where the seat doesn't say.
    pub material: Option<Material>,
    /// Its wall, mm, where the seat doesn't say.
    pub wall_mm: Option<f64>,
    /// Its yield strength, MPa, by its data sheet.
    pub yield_mpa: Option<f64>,
    /// How its bores were made, where the seat doesn't say.
    pub finish: Option<Finish>,
    /// Sum of the roughness Rz of bore and insert, µm, where it was measured.
    pub rz_um: Option<f64>,
    /// The temperatures between which it runs, °C, where the seat doesn't say.
    pub service_c: Option<(f64, f64)>,
    /// What the shop owns.
    pub shop: Shop,
    /// What was seen and felt.
    pub evidence: Evidence,
}

/// One bore's part of the answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ExaminedBore {
    /// The bore's name.
    pub bore: String,
    /// What pressing does; null where it can't be said.
    pub fit: Option<Fit>,
    /// Why there is no fit; null where there is one.
    pub no_fit: Option<String>,
    /// What is shown wrong beside size and roundness, each a sentence with its numbers: taper and its
    /// like, a raised spot.
    #[serde(default)]
    pub shown: Vec<String>,
    /// What can be done.
    pub plan: Plan,
    /// The steps of what was chosen, else of what is advised.
    pub checklist: Vec<Step>,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Examined {
    /// The bores, as the seat lists them; those not gauged are left out.
    pub bores: Vec<ExaminedBore>,
    /// The bores of the seat that were not gauged: until they are, no verdict holds for the part.
    #[serde(default)]
    pub not_gauged: Vec<String>,
    /// What is at fault.
    pub diagnosis: Diagnosis,
}

/// One bore examined by itself, before the part is judged as a whole.
#[derive(Debug, Clone)]
struct Single {
    bore: ExaminedBore,
    case: Case,
}

/// What a bore is examined by.
#[derive(Debug, Clone, PartialEq)]
struct By {
    seat: Seat,
    contact: Contact,
    known: Known,
    /// That the bores are shown not to lie on one axis, as a sentence.
    misaligned: Option<String>,
}

/// The bores of a part as they were examined last: one is examined again only where it changed, or
/// what it is examined by.
#[derive(Debug, Clone, Default)]
pub struct Examinations {
    by: Option<By>,
    singles: BTreeMap<String, (Arc<Bore>, Single)>,
}

impl Examinations {
    /// As [`examine`]. A bore that changed comes in another [`Arc`].
    pub fn examine(
        &mut self,
        seat: &Seat,
        contact: Contact,
        bores: &[Arc<Bore>],
        known: &Known,
    ) -> Examined {
        let alignment = Alignment::of(seat, contact, bores);
        let by = By::of(seat, contact, known, &alignment);
        if self.by.as_ref() != Some(&by) {
            self.singles.clear();
        }
        let by = &*self.by.insert(by);
        let singles = seat.bores.iter().map(|seat_bore| {
            let bore = bores.iter().find(|bore| bore.bore == seat_bore.name)?;
            let before = self.singles.get(&seat_bore.name);
            if let Some((_, single)) = before.filter(|(before, _)| Arc::ptr_eq(before, bore)) {
                return Some(single.clone());
            }
            let single = by.examine(bore, seat_bore);
            let now = (Arc::clone(bore), single.clone());
            self.singles.insert(seat_bore.name.clone(), now);
            Some(single)
        });
        together(seat, singles, &known.evidence, alignment)
    }
}

/// Examines the bores of `seat` that were measured.
pub fn examine(seat: &Seat, contact: Contact, bores: &[Bore], known: &Known) -> Examined {
    let alignment = Alignment::of(seat, contact, bores);
    let by = By::of(seat, contact, known, &alignment);
    let singles = seat.bores.iter().map(|seat_bore| {
        let bore = bores.iter().find(|bore| bore.bore == seat_bore.name)?;
        Some(by.examine(bore, seat_bore))
    });
    together(seat, singles, &known.evidence, alignment)
}

impl By {
    fn of(
        seat: &Seat,
        contact: Contact,
        known: &Known,
        alignment: &Result<Alignment, String>,
    ) -> Self {
        let misaligned = alignment
            .as_ref()
            .ok()
            .filter(|found| found.decision == Decision::DoesNotConform);
        Self {
            seat: seat.clone(),
            contact,
            known: known.clone(),
            misaligned: misaligned.map(|found| found.why.clone()),
        }
    }

    fn examine(&self, bore: &Bore, seat_bore: &SeatBore) -> Single {
        let (seat, known) = (&self.seat, &self.known);
        let housing = Housing {
            material: known.material.or(seat.material),
            wall_mm: known.wall_mm.or(seat_bore.wall_mm),
            length_mm: seat_bore.length_mm,
            yield_mpa: known.yield_mpa.or(seat.yield_mpa),
            finish: known.finish.or(seat.finish),
            rz_um: known.rz_um,
            service_c: known.service_c.or(seat.service_c),
        };
        let judged = JudgedBore::of(bore, seat_bore);
        // What can't belong to the bore says nothing of the bore.
        let named = known.insert.as_ref();
        let foreign = named.and_then(|insert| insert.foreign_to(seat_bore.nominal_mm));
        let insert = named.filter(|_| foreign.is_none());
        let plan = Ground {
            bore,
            contact: self.contact,
            seat: seat_bore,
            judged: &judged,
            insert,
            foreign: foreign.as_deref(),
            housing: &housing,
            shop: &known.shop,
            misaligned: self.misaligned.as_deref(),
        }
        .plan();
        let fit = match (SeatForm::measured(self.contact, bore), insert, &foreign) {
            (_, _, Some(foreign)) => Err(foreign.clone()),
            (Ok(form), Some(insert), _) => Ok(assess(&form, insert, &housing)),
            (Err(error), ..) => Err(error.to_string()),
            (_, None, _) => {
                Err("what is pressed in is not known: name the insert, or measure it".to_owned())
            }
        };
        // The force to expect is that of the bore as it will be when the insert goes in.
        let fitted = plan
            .options
            .iter()
            .find(|option| option.work == plan.advice && option.with == plan.with)
            .and_then(|option| option.predicted.as_ref()?.fit.as_ref())
            .or(fit.as_ref().ok());
        Single {
            bore: ExaminedBore {
                bore: bore.bore.clone(),
                checklist: checklist(plan.advice, fitted),
                no_fit: fit.as_ref().err().cloned(),
                fit: fit.as_ref().ok().cloned(),
                shown: [&judged.straight, &judged.no_spot]
                    .into_iter()
                    .filter(|judged| judged.decision == Decision::DoesNotConform)
                    .map(|judged| judged.why.clone())
                    .collect(),
                plan,
            },
            case: Case {
                seat: judged,
                fit: fit.ok(),
                foreign,
            },
        }
    }
}

/// The part as a whole from its bores, `None` for those not gauged.
fn together(
    seat: &Seat,
    singles: impl Iterator<Item = Option<Single>>,
    evidence: &Evidence,
    alignment: Result<Alignment, String>,
) -> Examined {
    let mut bores = Vec::with_capacity(seat.bores.len());
    let mut cases = Vec::with_capacity(seat.bores.len());
    let mut not_gauged = Vec::new();
    for (seat_bore, single) in seat.bores.iter().zip(singles) {
        if let Some(Single { bore, case }) = single {
            bores.push(bore);
            cases.push(case);
        } else {
            not_gauged.push(seat_bore.name.clone());
            cases.push(Case {
                seat: JudgedBore::not_gauged(&seat_bore.name),
                fit: None,
                foreign: None,
            });
        }
    }
    let mut diagnosis = diagnose(&cases, evidence, alignment);
    // Where the insert alone is at fault, that is what the summary says.
    let stranger = cases.iter().find_map(|case| case.foreign.as_deref());
    if let Some(foreign) = stranger.filter(|_| diagnosis.at_fault != AtFault::Insert) {
        let _ = write!(diagnosis.summary, " But {foreign}.");
    }
    if let Some(then) = diagnosis.of_the_bearing() {
        for plan in bores.iter_mut().map(|bore| &mut bore.plan) {
            if !matches!(
                plan.advice,
                Work::GaugeAgain | Work::OtherInsert | Work::Refer
            ) {
                let _ = write!(plan.why, "; {then}");
            }
        }
    }
    Examined {
        bores,
        not_gauged,
        diagnosis,
    }
}
