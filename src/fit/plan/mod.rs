//! What can be done about a seat: options side by side, each with its predicted outcome or the
//! reason why it is refused.

mod advise;
mod options;
mod shop;
mod sleeve;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::assess::Housing;
use super::expected::{Fit, Range};
use super::insert::Insert;
use super::judged::JudgedBore;
use super::material::Material;
use super::seat::SeatForm;
use crate::bore::reaming::{NoPreview, Reamed, Wall};
use crate::bore::{Bore, Contact, Section};
use crate::job::SeatBore;
use crate::uncertainty::{Decision, Estimate, Estimates, behind};

use advise::{advise, mends, open_for_good, wants_a_reamer};

pub use shop::{Compound, Cut, Reamer, Shop};

/// A way to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Work {
    /// Press the insert as the bore is.
    Press,
    /// Gauge again, or better, before anything else.
    GaugeAgain,
    /// Bond with a retaining compound.
    Bond,
    /// Ream, then press.
    Ream,
    /// Ream, then bond.
    ReamAndBond,
    /// Bore out and sleeve.
    Sleeve,
    /// Take another insert: the seat is good and this one does not fit it.
    OtherInsert,
    /// Leave alone and refer to the maker.
    Refer,
}

impl Work {
    /// Whether the bore is the same afterwards: nothing is cut and nothing is put on its wall.
    pub const fn leaves_the_bore(self) -> bool {
        matches!(self, Self::Press | Self::GaugeAgain | Self::Bond)
    }
}

/// One option.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Choice {
    /// What is done.
    pub work: Work,
    /// With what: the reamer or the compound.
    pub with: Option<String>,
    /// Why it is refused; null where it can be done.
    pub refused: Option<String>,
    /// What speaks for it and what to know of it, as sentences.
    pub reasons: Vec<String>,
    /// What it comes to; null where nothing changes or nothing can be said.
    pub predicted: Option<Predicted>,
}

/// What an option is predicted to come to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Predicted {
    /// Mean diameter, mm.
    pub mean_diameter_mm: f64,
    /// Greatest out-of-round, mm; null where it isn't known.
    pub out_of_round_mm: Option<f64>,
    /// Greatest minus least mean diameter along the depth, mm; null below two depths.
    pub along_depth_mm: Option<f64>,
    /// Uncertainties of these, by field.
    pub uncertainty: Estimates,
    /// Mean diameter against the seat's limits.
    pub size: Decision,
    /// Out-of-round, and change of the mean along the depth, against the form limit.
    pub form: Decision,
    /// The fit of the insert; null where no insert is known.
    pub fit: Option<Fit>,
    /// Diametral gap that a compound must fill, mm.
    pub gap_mm: Option<Range>,
    /// Least wall left, mm, if the cut runs off the axis as far as the shop allows for.
    pub wall_left_mm: Option<f64>,
    /// Diameter to which the housing is bored out, mm; null where no sleeve is fitted.
    #[serde(default)]
    pub bored_mm: Option<f64>,
    /// What the reamer really cuts; null where none is used.
    pub cut: Option<Cut>,
    /// What the reamer leaves; null where none is used.
    pub reamed: Option<Reamed>,
}

/// The options for one bore, and the one advised.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Plan {
    /// The bore's name.
    pub bore: String,
    /// What is advised.
    pub advice: Work,
    /// With what.
    pub with: Option<String>,
    /// Why, as a sentence.
    pub why: String,
    /// All options side by side.
    pub options: Vec<Choice>,
}

/// What a plan is made from.
#[derive(Debug, Clone, Copy)]
pub struct Ground<'a> {
    /// The bore as measured.
    pub bore: &'a Bore,
    /// How the gauge touched it.
    pub contact: Contact,
    /// What it should be.
    pub seat: &'a SeatBore,
    /// The bore judged by its seat.
    pub judged: &'a JudgedBore,
    /// What is to be pressed in, where known.
    pub insert: Option<&'a Insert>,
    /// Why the insert named can't belong to this bore, as a sentence; `insert` is then left out.
    pub foreign: Option<&'a str>,
    /// What is known of the housing.
    pub housing: &'a Housing,
    /// What the shop owns.
    pub shop: &'a Shop,
    /// That the bores are shown not to lie on one axis, as a sentence.
    pub misaligned: Option<&'a str>,
}

impl Ground<'_> {
    /// The options for this bore.
    pub fn plan(&self) -> Plan {
        let form = SeatForm::measured(self.contact, self.bore);
        let fit = form
            .as_ref()
            .ok()
            .zip(self.insert)
            .map(|(form, insert)| super::assess(form, insert, self.housing));
        let walls: Result<Vec<Wall>, NoPreview> = self
            .bore
            .sections
            .iter()
            .map(|section| Wall::of(self.contact, section))
            .collect();
        let mut press = self.press(fit.as_ref());
        press.predicted = form
            .as_ref()
            .ok()
            .map(|form| self.as_it_is(form, fit.clone(), None));
        let mut options = vec![press, self.gauge_again()];
        options.extend(self.bonds(form.as_ref().ok()));
        for reamer in &self.shop.reamers {
            options.push(self.ream(reamer, form.as_ref(), walls.as_deref()));
        }
        if !options.iter().any(mends) {
            options.extend(self.missing_reamer(form.as_ref().ok(), walls.as_deref()));
        }
        options.push(self.sleeve(form.as_ref().ok()));
        options.extend(self.other_insert(fit.as_ref()));
        options.push(Choice {
            work: Work::Refer,
            with: None,
            refused: None,
            reasons: self.for_the_maker(form.as_ref().ok()),
            predicted: None,
        });
        let (at, mut why) = advise(&options, self.judged, self.misaligned);
        let for_good = open_for_good(&options, self.judged, self.misaligned).is_some();
        if options[at].work == Work::Refer && !for_good {
            let left = self.left_to_measure(&options);
            if !left.is_empty() {
                let open = |option: &Choice| option.work != Work::Refer && option.refused.is_none();
                let so_far = if options.iter().any(open) {
                    "no other work is advised yet"
                } else {
                    "nothing else that can be judged yet is left that the numbers allow"
                };
                why = why.replacen("nothing else is left that the numbers allow", so_far, 1);
            }
            why.push_str(left);
        }
        Plan {
            bore: self.bore.bore.clone(),
            advice: options[at].work,
            with: options[at].with.clone(),
            why,
            options,
        }
    }
}

impl Ground<'_> {
    /// What the maker needs to know: what was found, what is required, and what the housing is.
    fn for_the_maker(&self, form: Option<&SeatForm>) -> Vec<String> {
        let within = |reach: Option<Estimate>| behind(reach.as_ref(), 3);
        let mut found = Vec::new();
        if let Some(form) = form {
            let reach = within(Some(form.uncertainty));
            found.push(format!("mean diameter {:.3}{reach} mm", form.mean_mm));
        }
        let forms = self.bore.sections.iter().filter_map(Section::form);
        let worst = forms.max_by(|a, b| a.out_of_round_mm.total_cmp(&b.out_of_round_mm));
        if let Some(worst) = worst {
            let reach = within(worst.estimate);
            found.push(format!(
                "out of round {:.3}{reach} mm",
                worst.out_of_round_mm
            ));
        }
        if let Some(along) = form.and_then(SeatForm::along_depth_mm) {
            found.push(format!("{along:.3} mm along the depth"));
        }
        let seat = self.seat;
        let material = self.housing.material.map_or_else(
            || "material not stated".to_owned(),
            |material| material.word().to_owned(),
        );
        let wall = self.housing.wall_mm.map_or_else(
            || "wall not measured".to_owned(),
            |wall| format!("wall {wall:.2} mm"),
        );
        let mut reasons =
            vec!["the maker knows the housing and may repair or replace it".to_owned()];
        if !found.is_empty() {
            reasons.push(format!("found: {}", found.join(", ")));
        }
        reasons.push(format!(
            "required: mean diameter {:.3} to {:.3} mm, out of round {:.3} mm at most",
            seat.lower_mm, seat.upper_mm, seat.out_of_round_limit_mm
        ));
        reasons.push(format!("housing: {material}, {wall}"));
        reasons.extend(self.misaligned.map(str::to_owned));
        reasons
    }

    /// What would open more options, were it known; empty where nothing would.
    fn left_to_measure(self, options: &[Choice]) -> &'static str {
        if self.misaligned.is_some() {
            return "";
        }
        let over = self.judged.not_oversize.decision == Decision::DoesNotConform;
        if over && self.shop.compounds.is_empty() {
            return "; describe a retaining compound, then bonding can be judged";
        }
        if over && self.insert.is_none() {
            return "; name and measure the insert, then bonding can be judged";
        }
        if options.iter().any(wants_a_reamer) {
            return "; describe a reamer that brings it to size, then reaming can be judged";
        }
        if options.iter().any(mends) {
            return "; name an insert that fits the seat, then reaming can be judged";
        }
        match (self.housing.material, self.housing.wall_mm) {
            (None, _) => "; state the material, then reaming can be judged",
            (Some(Material::Laminate), _) | (_, Some(_)) => "",
            (Some(_), None) => "; measure the wall, then reaming can be judged",
        }
    }
}
