//! Bond, with each compound.

use super::refused;
use crate::fit::expected::Range;
use crate::fit::plan::{Choice, Compound, Ground, Work};
use crate::fit::seat::{SeatForm, together};

impl Ground<'_> {
    /// Bond with each compound; one refusal where there is none, or no gap to judge.
    pub(in crate::fit::plan) fn bonds(&self, form: Option<&SeatForm>) -> Vec<Choice> {
        if self.shop.compounds.is_empty() {
            return vec![refused(
                Work::Bond,
                None,
                "no compound is described: state the gap that its maker allows",
            )];
        }
        let gap = form.and_then(|form| self.gap(form));
        let option = |compound: &Compound| {
            let no = |why: String| refused(Work::Bond, Some(&compound.name), why);
            if let Some(why) = self.misaligned {
                return no(format!(
                    "{why}; a compound does not bring the bores onto one axis"
                ));
            }
            let Some((gap, form)) = gap.zip(form) else {
                return no(
                    "the gap is not known: it needs the bore's form and the insert's diameter"
                        .to_owned(),
                );
            };
            Choice {
                predicted: Some(self.as_it_is(form, None, Some(gap))),
                ..bond(compound, gap)
            }
        };
        self.shop.compounds.iter().map(option).collect()
    }

    /// Diametral gap between bore and insert at its least and greatest, with what is not known of
    /// both (95 %).
    pub(super) fn gap(&self, form: &SeatForm) -> Option<Range> {
        let insert = self.insert?;
        let bore = &form.uncertainty;
        let parts = [
            (bore.standard, bore.degrees()),
            (insert.outside.standard_mm, f64::INFINITY),
        ];
        let reach = together(&parts)?.expanded;
        Some(Range {
            least: form.smallest_mm()? - insert.outside.mean_mm - reach,
            greatest: form.largest_mm()? - insert.outside.mean_mm + reach,
        })
    }
}

/// Whether a compound fills a gap at both its ends.
pub(super) fn bond(compound: &Compound, gap: Range) -> Choice {
    let no = |why: String| refused(Work::Bond, Some(&compound.name), why);
    if gap.greatest <= 0.0 {
        return no(format!(
            "there is no gap: the insert is {:.3} mm larger than the bore or more",
            -gap.greatest
        ));
    }
    if gap.least < compound.least_gap_mm {
        return no(format!(
            "where the bore is smallest the gap may be {:+.3} mm, it needs {:.3} mm",
            gap.least, compound.least_gap_mm
        ));
    }
    if gap.greatest > compound.greatest_gap_mm {
        return no(format!(
            "where the bore is largest the gap may be {:.3} mm, it fills {:.3} mm at most",
            gap.greatest, compound.greatest_gap_mm
        ));
    }
    Choice {
        work: Work::Bond,
        with: Some(compound.name.clone()),
        refused: None,
        reasons: vec![format!(
            "the gap is {:.3} to {:.3} mm, within the {:.3} to {:.3} mm that it fills",
            gap.least, gap.greatest, compound.least_gap_mm, compound.greatest_gap_mm
        )],
        predicted: None,
    }
}
