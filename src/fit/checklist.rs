//! The fitting checklist with the usual cautions. The maker's instructions win throughout.

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::expected::Fit;
use super::plan::Work;

/// One step to tick off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Step {
    /// By which the tick is recorded.
    pub id: Cow<'static, str>,
    /// What to do, or to mind.
    pub text: String,
    /// A caution: it is heeded, not done once.
    pub caution: bool,
}

/// The steps for `work`, with the force that `fit` expects.
pub fn checklist(work: Work, fit: Option<&Fit>) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut step = |id: &'static str, text: &str| {
        steps.push(Step {
            id: id.into(),
            text: text.to_owned(),
            caution: false,
        });
    };
    if matches!(work, Work::GaugeAgain | Work::OtherInsert | Work::Refer) {
        return vec![caution(
            "nothing-fitted",
            "Nothing is cut or pressed yet. Keep the record with the part.",
        )];
    }
    let reams = matches!(work, Work::Ream | Work::ReamAndBond);
    let cuts = reams || work == Work::Sleeve;
    let bonds = matches!(work, Work::Bond | Work::ReamAndBond);
    if reams {
        step(
            "ream",
            "Ream with cutting oil that suits the material, turning forwards only, guided in both \
             bores; withdraw still turning forwards.",
        );
    } else if cuts {
        step(
            "bore-out",
            "Have a machine that holds both bores on one axis bore them out, and finish the sleeves \
             to the seat's size once they are fitted and any compound has cured. Nothing here is cut \
             by hand.",
        );
    }
    if cuts {
        step("chips", "Clear every chip from bore, shell and tubes.");
        step(
            "as-left",
            "Gauge the same stations as left, and compare with what the plan predicts.",
        );
    }
    step(
        "clean",
        "Remove all cutting oil and grease from bore and insert with a solvent that leaves no \
         residue and is safe for the paint; let it dry.",
    );
    if bonds {
        step(
            "no-grease",
            "No grease anywhere in the joint: a compound does not hold on it.",
        );
        step(
            "compound",
            "Apply primer and compound by their maker's data for this gap and these materials, \
             both faces wetted, none in the bearing.",
        );
    } else {
        step(
            "assembly",
            "Grease, dry or assembly paste in the joint: as the maker of the insert says.",
        );
    }
    step(
        "square",
        "Press square, on the outer ring or the cup's face only, with drag that stays even.",
    );
    steps.push(Step {
        id: "force".into(),
        text: force(fit),
        caution: false,
    });
    let mut step = |id: &'static str, text: &str| {
        steps.push(Step {
            id: id.into(),
            text: text.to_owned(),
            caution: false,
        });
    };
    if bonds {
        step(
            "cure",
            "Leave it to cure for as long, and at the temperature, that the compound's maker \
             states before any load.",
        );
    }
    step(
        "spin",
        "Turn it in the hand: free all round, no tight side, no grit. Hang test again.",
    );
    steps.extend(cautions(cuts));
    steps
}

fn force(fit: Option<&Fit>) -> String {
    match fit.and_then(|fit| fit.press_force_n) {
        Some(range) if range.greatest > 0.0 => format!(
            "The force is expected between {:.0} and {:.0} N. Stop when it rises above that, or \
             jumps: take it out and look.",
            range.least, range.greatest
        ),
        Some(_) => {
            "It should slide in by hand. If it needs force, stop and gauge again.".to_owned()
        }
        None => "The force can't be foreseen for this housing. Stop when it rises suddenly, and \
                 look."
            .to_owned(),
    }
}

fn caution(id: &'static str, text: &str) -> Step {
    Step {
        id: id.into(),
        text: text.to_owned(),
        caution: true,
    }
}

fn cautions(cuts: bool) -> Vec<Step> {
    let mut cautions = vec![
        caution(
            "eyes",
            "Wear eye protection when pressing, cutting and driving out.",
        ),
        // Every list cleans with a solvent.
        caution(
            "solvent",
            "Solvents and compounds: gloves, fresh air, no flame; read their safety data sheets.",
        ),
        caution(
            "maker",
            "The instructions of the makers of housing, insert, tool and compound win over this \
             list, and local rules over both. In doubt ask a qualified mechanic.",
        ),
    ];
    if cuts {
        cautions.insert(
            1,
            caution(
                "laminate",
                "Never cut laminate (carbon fibre), nor a wall of unknown thickness.",
            ),
        );
    }
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ids(work: Work) -> Vec<String> {
        checklist(work, None)
            .iter()
            .map(|step| step.id.to_string())
            .collect()
    }

    #[test]
    fn each_work_has_the_steps_that_it_needs_in_order() {
        assert_eq!(
            ids(Work::Press),
            [
                "clean", "assembly", "square", "force", "spin", "eyes", "solvent", "maker"
            ]
        );
        let both = ids(Work::ReamAndBond);
        let place = |id: &str| both.iter().position(|step| step == id).unwrap();
        assert!(place("ream") < place("chips") && place("chips") < place("as-left"));
        assert!(place("as-left") < place("clean") && place("clean") < place("compound"));
        assert!(place("square") < place("cure") && place("cure") < place("spin"));
        assert!(
            ["no-grease", "laminate"]
                .iter()
                .all(|id| both.iter().any(|step| step == id))
        );
        assert!(!both.iter().any(|step| step == "assembly"));
        assert_eq!(ids(Work::Refer), ["nothing-fitted"]);
    }

    /// A sleeve is work for a machine: no reamer is turned by hand, and what is bonded there has cured
    /// before the bore is gauged and the insert pressed.
    #[test]
    fn a_sleeve_is_bored_for_by_a_machine() {
        assert_eq!(
            ids(Work::Sleeve),
            [
                "bore-out", "chips", "as-left", "clean", "assembly", "square", "force", "spin",
                "eyes", "laminate", "solvent", "maker"
            ]
        );
        let steps = checklist(Work::Sleeve, None);
        assert!(steps.iter().all(|step| !step.text.contains("Ream with")));
    }

    #[test]
    fn every_list_defers_to_the_maker() {
        for work in [
            Work::Press,
            Work::Bond,
            Work::Ream,
            Work::ReamAndBond,
            Work::Sleeve,
        ] {
            let steps = checklist(work, None);
            assert!(
                steps
                    .iter()
                    .any(|s| s.caution && s.text.contains("instructions of the makers"))
            );
            assert!(steps.iter().any(|s| s.id == "eyes"));
            // A list that has a solvent used says how (the safety data sheets of solvents).
            assert!(steps.iter().any(|s| s.text.contains("with a solvent")));
            assert!(
                steps
                    .iter()
                    .any(|s| s.caution && s.text.contains("gloves, fresh air"))
            );
        }
    }
}
