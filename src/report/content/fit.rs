//! What is pressed in, and how it is expected to sit.

use super::Ground;
use crate::fit::plan::Work;
use crate::fit::{ExaminedBore, Fit};
use crate::job::SeatBore;
use crate::report::model::{Block, Cell, Section, Table};
use crate::report::words::plain;

impl Ground<'_> {
    /// The fit of each bore as it is, or will be.
    pub(super) fn fit(&self) -> Option<Section> {
        let words = self.words;
        let findings = self.record.findings.as_ref()?;
        let mut table = Table {
            name: "fit",
            head: [
                "report-column.bore",
                "report-column.basis",
                "report-column.insert",
                "report-column.interference",
                "report-column.round-the-wall",
                "report-column.clearance-left",
                "report-column.force",
            ]
            .map(|key| words.get(key))
            .to_vec(),
            rows: Vec::new(),
        };
        let mut fine = Vec::new();
        // A bore that was gauged as left only is not among those examined, and has its fit.
        for SeatBore { name, .. } in &self.record.seat.bores {
            let mut examined = findings.examined.bores.iter();
            let bore = examined.find(|bore| bore.bore == *name);
            match self.expected(name, bore) {
                Some((fit, basis)) => {
                    table.rows.push(self.fit_row(name, fit, basis));
                    self.not_stated(fit, &mut fine);
                    let insert = words.fill(
                        "report-fit.insert",
                        &[
                            ("insert", &self.insert_name(&fit.insert)),
                            ("from", &words.reason(&plain(&fit.insert_from))),
                        ],
                    );
                    once(&mut fine, insert);
                }
                None => {
                    let Some(bore) = bore else {
                        continue;
                    };
                    let why = bore.no_fit.as_deref().unwrap_or_default();
                    let line = match &self.record.insert {
                        None if self.record.seat.bearing.is_none() => {
                            words.get("report-fit.no-insert").to_owned()
                        }
                        _ => {
                            let why = words.reason(&plain(why.trim_end_matches('.')));
                            words.fill("report-fit.none", &[("why", &why)])
                        }
                    };
                    once(&mut fine, line);
                }
            }
        }
        let mut blocks = Vec::new();
        if !table.rows.is_empty() {
            blocks.push(Block::Table(table));
            fine.insert(0, words.get("report-fit.positive").to_owned());
        }
        blocks.push(Block::Fine(fine.join(" ")));
        Some(Section {
            heading: self.heading("report-heading.fit"),
            blocks,
        })
    }

    /// What is pressed in, in words; `named` as the fit names it, where the job doesn't say.
    fn insert_name(&self, named: &str) -> String {
        let words = self.words;
        let usual = self.record.seat.bearing;
        let (cup, size) = match &self.record.insert {
            Some(insert) => (insert.cup, insert.bearing.map(|bearing| bearing.size)),
            None if usual.is_some() => (None, usual),
            None => return plain(named),
        };
        let size = size.map(|size| size.to_string());
        let material = cup.map(|cup| words.named("report-material", &cup.word().replace(' ', "-")));
        let (key, material, size) = match (material, size) {
            (None, None) => ("report-insert.ring", String::new(), String::new()),
            (None, Some(size)) => ("report-insert.bearing", String::new(), size),
            (Some(material), None) => ("report-insert.cup", material, String::new()),
            (Some(material), Some(size)) => ("report-insert.cup-with-bearing", material, size),
        };
        words.fill(key, &[("material", &material), ("size", &size)])
    }

    /// The fit to state for a bore, and the key of what it is of: the bore as left where that was
    /// gauged, else as the work chosen will leave it, else as found.
    fn expected<'f>(
        &'f self,
        name: &str,
        bore: Option<&'f ExaminedBore>,
    ) -> Option<(&'f Fit, &'static str)> {
        let findings = self.record.findings.as_ref();
        let outcomes = findings.map_or(&[][..], |findings| &findings.outcomes);
        let outcome = outcomes.iter().find(|outcome| outcome.bore == name);
        if let Some(fit) = outcome.and_then(|outcome| outcome.fit.as_ref()) {
            return Some((fit, "report-fit.as-left"));
        }
        let bore = bore?;
        let (work, with) = match self.record.chosen.get(name) {
            Some(chosen) => (chosen.work, &chosen.with),
            None => (bore.plan.advice, &bore.plan.with),
        };
        let mut options = bore.plan.options.iter();
        let option = options.find(|option| option.work == work && option.with == *with);
        let predicted = option
            .filter(|_| {
                !matches!(
                    work,
                    Work::Press | Work::GaugeAgain | Work::OtherInsert | Work::Refer
                )
            })
            .and_then(|option| option.predicted.as_ref()?.fit.as_ref());
        match predicted {
            Some(fit) => Some((fit, "report-fit.after-work")),
            None => Some((bore.fit.as_ref()?, "report-fit.as-found")),
        }
    }

    fn fit_row(&self, bore: &str, fit: &Fit, basis: &'static str) -> Vec<Cell> {
        let words = self.words;
        let expanded = fit.uncertainty.get("interference_mm").map(|u| u.expanded);
        let least = fit.sections.iter().filter_map(|s| s.least_mm);
        let greatest = fit.sections.iter().filter_map(|s| s.greatest_mm);
        let round = least
            .reduce(f64::min)
            .zip(greatest.reduce(f64::max))
            .map_or_else(Cell::none, |(least, greatest)| {
                Cell::figure(words.range(least, greatest, true), least)
            });
        let clearance = fit.clearance.map_or_else(Cell::none, |clearance| {
            let range = clearance.tight_axis_um.unwrap_or(clearance.mean_um);
            let figure = words.micrometres(range.least, range.greatest);
            Cell::figure(figure, range.least)
        });
        let force = fit.press_force_n.map_or_else(Cell::none, |force| {
            let of = |newton: f64| words.decimal(newton, 0);
            Cell::text(words.to(&of(force.least), &of(force.greatest)) + "\u{a0}N")
        });
        vec![
            Cell::text(self.bore_name(bore)),
            Cell::text(words.get(basis)),
            Cell::figure(words.length(fit.insert_mm), fit.insert_mm),
            Cell::figure(
                words.measured(fit.interference_mm, expanded, true),
                fit.interference_mm,
            ),
            round,
            clearance,
            force,
        ]
    }

    /// Why a column is empty, each reason once.
    fn not_stated(&self, fit: &Fit, fine: &mut Vec<String>) {
        let words = self.words;
        for (field, what) in [
            ("spread_round_mm", "report-column.round-the-wall"),
            ("clearance", "report-column.clearance-left"),
            ("press_force_n", "report-column.force"),
        ] {
            let withheld = fit.withheld.iter().find(|withheld| withheld.field == field);
            if let Some(withheld) = withheld {
                let why = words.reason(&plain(&withheld.why));
                let line = words.fill(
                    "report-fit.withheld",
                    &[("what", words.get(what)), ("why", &why)],
                );
                once(fine, line);
            }
        }
    }
}

fn once(lines: &mut Vec<String>, line: String) {
    if !lines.contains(&line) {
        lines.push(line);
    }
}
