//! The sections of a phase: in words, as a table, as drawings.

use super::Ground;
use crate::job::{Decision, Phase, RecordedPhase, SeatBore, SectionNumbers};
use crate::report::drawn;
use crate::report::model::{Block, Cell, Line, Mark, Picture, Section, Table};
use crate::report::words::{capital, plain};

/// How a bore stands, in a sentence.
pub(super) struct Standing {
    pub(super) decision: Decision,
    /// Round, and only its size not judged for want of a ring.
    pub(super) round_not_set: bool,
    pub(super) line: Line,
}

const fn mark(decision: Decision) -> Mark {
    match decision {
        Decision::Conforms => Mark::Good,
        Decision::CantTell => Mark::Open,
        Decision::DoesNotConform => Mark::Bad,
    }
}

impl Ground<'_> {
    /// How each bore of the seat that was gauged stands.
    pub(super) fn standings(&self, phase: &RecordedPhase) -> Vec<Standing> {
        let bores = self.record.seat.bores.iter();
        bores
            .filter_map(|bore| self.standing(phase, bore))
            .collect()
    }

    fn standing(&self, phase: &RecordedPhase, bore: &SeatBore) -> Option<Standing> {
        let words = self.words;
        let sections: Vec<&SectionNumbers> = of_bore(phase, &bore.name).collect();
        let worst_of = |key: &dyn Fn(&SectionNumbers) -> (Decision, f64)| {
            sections.iter().copied().max_by(|a, b| {
                let (a, b) = (key(a), key(b));
                a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
            })
        };
        let off = |section: &SectionNumbers| {
            let mean = section.numbers.mean_diameter_mm.unwrap_or(bore.target_mm);
            (bore.lower_mm - mean).max(mean - bore.upper_mm)
        };
        let size = worst_of(&|s| (s.verdict.size.decision, off(s)))?;
        let form = worst_of(&|s| {
            (
                s.verdict.form.decision,
                s.numbers.out_of_round_mm.unwrap_or(0.0),
            )
        })?;
        let (by_size, by_form) = (size.verdict.size.decision, form.verdict.form.decision);
        let not_set = sections.iter().any(|section| !section.numbers.size_set);
        let at = |section: &SectionNumbers| {
            let depth = words.depth(section.numbers.depth_mm).text;
            words.fill("report-bore.at-depth", &[("depth", &depth)])
        };
        let mut faults = Vec::new();
        if by_form == Decision::DoesNotConform
            && let Some(out_of_round) = form.numbers.out_of_round_mm
        {
            let (by, limit) = (
                words.length(out_of_round).inline(),
                words.length(bore.out_of_round_limit_mm).inline(),
            );
            let fault = words.fill("report-bore.oval", &[("by", &by), ("limit", &limit)]);
            faults.push(format!("{fault} {}", at(form)));
        }
        if by_size == Decision::DoesNotConform
            && let Some(mean) = size.numbers.mean_diameter_mm
        {
            let (key, by) = if mean > bore.upper_mm {
                ("report-bore.over", mean - bore.upper_mm)
            } else {
                ("report-bore.under", bore.lower_mm - mean)
            };
            let by = words.length(by).inline();
            faults.push(format!("{} {}", words.fill(key, &[("by", &by)]), at(size)));
        }
        let worst = by_size.max(by_form);
        // Against as found the whole bore was judged, its depth and its spots too.
        let accepted = self.accepted(phase.phase, &bore.name);
        let decision = accepted.map_or(worst, |accepted| accepted.max(worst));
        let mut text = if !faults.is_empty() {
            faults.join(&format!(" {} ", words.get("report-bore.and")))
        } else {
            let key = match (by_form, by_size) {
                (Decision::Conforms, Decision::Conforms) => match decision {
                    Decision::Conforms => "report-bore.good",
                    Decision::CantTell => "report-bore.other-cant-tell",
                    Decision::DoesNotConform => "report-bore.other",
                },
                (Decision::Conforms, _) if not_set => "report-bore.round-not-set",
                (Decision::Conforms, _) => "report-bore.round-cant-tell",
                (_, Decision::Conforms) => "report-bore.size-only",
                _ => "report-bore.unknown",
            };
            words.get(key).to_owned()
        };
        text.push('.');
        if by_form == Decision::DoesNotConform
            && let Some(tight) = form.numbers.oval.and_then(|oval| oval.tight_axis_deg)
        {
            let landmark = words.reason(&plain(&self.record.seat.landmark));
            let tight = words.fill(
                "report-bore.tight",
                &[("axis", &words.axis(tight)), ("landmark", &landmark)],
            );
            text = format!("{text} {tight}");
        }
        Some(Standing {
            decision,
            round_not_set: by_form == Decision::Conforms && not_set,
            line: Line {
                mark: Some(mark(decision)),
                text: format!("{}: {text}", self.bore_name(&bore.name)),
                aside: String::new(),
            },
        })
    }

    /// What the comparison says of a bore as left.
    fn accepted(&self, phase: Phase, bore: &str) -> Option<Decision> {
        let findings = self.record.findings.as_ref()?;
        let outcome = findings.outcomes.iter().find(|o| o.bore == bore)?;
        (phase == Phase::AsLeft).then_some(outcome.accepted)
    }

    /// A phase: drawings, numbers, what the seat asks, what is not stated and why.
    pub(super) fn measured(&self, phase: &RecordedPhase, with_long: bool) -> Section {
        let heading = match phase.phase {
            Phase::AsFound => "report-heading.found",
            Phase::AsLeft => "report-heading.left",
        };
        let mut blocks = Vec::new();
        // The answer at the head tells the last phase; what was found before it is told here.
        if phase.phase == Phase::AsFound && self.phase(Phase::AsLeft).is_some() {
            let lines = self.standings(phase).into_iter();
            blocks.push(Block::Lines(lines.map(|bore| bore.line).collect()));
        }
        blocks.push(Block::Drawings(self.pictures(phase, with_long)));
        blocks.push(Block::Table(self.table(phase)));
        let source = plain(&self.record.seat.source);
        let source = self
            .words
            .fill("report-measured.seat", &[("source", &source)]);
        blocks.push(Block::Fine(format!("{} {source}", self.limits())));
        let withheld = self.withheld(phase);
        if !withheld.is_empty() {
            blocks.push(Block::Fine(withheld.join(" ")));
        }
        Section {
            heading: self.heading(heading),
            blocks,
        }
    }

    fn pictures(&self, phase: &RecordedPhase, with_long: bool) -> Vec<Picture> {
        let words = self.words;
        let name = words.get(match phase.phase {
            Phase::AsFound => "report-drawing.found",
            Phase::AsLeft => "report-drawing.left",
        });
        let mut pictures: Vec<Picture> = self
            .record
            .seat
            .bores
            .iter()
            .filter_map(|bore| {
                let section = of_bore(phase, &bore.name).max_by(|a, b| {
                    let form = |s: &SectionNumbers| s.numbers.out_of_round_mm.unwrap_or(0.0);
                    a.verdict
                        .worst()
                        .cmp(&b.verdict.worst())
                        .then(form(a).total_cmp(&form(b)))
                })?;
                let depth = words.depth(section.numbers.depth_mm).text;
                let caption = words.fill(
                    "report-drawing.caption",
                    &[
                        ("bore", &self.bore_name(&bore.name)),
                        ("depth", &depth),
                        ("phase", name),
                        ("unit", words.unit()),
                    ],
                );
                Some(Picture {
                    drawing: drawn::face(self.record, phase, section, bore, (words, &caption)),
                    caption,
                })
            })
            .collect();
        if with_long && let Some(drawing) = drawn::long(self.record, self.words) {
            pictures.push(Picture {
                caption: words.get("report-drawing.long").to_owned(),
                drawing,
            });
        }
        pictures
    }

    fn table(&self, phase: &RecordedPhase) -> Table {
        let head = [
            "report-column.bore",
            "report-column.depth",
            "report-column.mean",
            "report-column.extremes",
            "report-column.out-of-round",
            "report-column.tight",
            "report-column.size",
            "report-column.form",
        ];
        Table {
            name: match phase.phase {
                Phase::AsFound => "as-found",
                Phase::AsLeft => "as-left",
            },
            head: head.map(|key| self.words.get(key)).to_vec(),
            rows: self
                .record
                .seat
                .bores
                .iter()
                .flat_map(|bore| {
                    of_bore(phase, &bore.name).map(move |section| self.row(bore, section))
                })
                .collect(),
        }
    }

    fn row(&self, bore: &SeatBore, section: &SectionNumbers) -> Vec<Cell> {
        let (words, numbers) = (self.words, &section.numbers);
        // Without a ring a size is what the gauge said, and nobody knows how far off.
        let as_said = |cell: Cell| {
            let not_set = words.get("report-verdict.not-set");
            let below = match &cell.below {
                Some(mm) => format!("{mm}, {not_set}"),
                None => not_set.to_owned(),
            };
            Cell {
                below: Some(below),
                ..cell
            }
        };
        let measured = |value: Option<f64>, field: &str| {
            value.map_or_else(Cell::none, |value| {
                let expanded = numbers.uncertainty.get(field).map(|u| u.expanded);
                Cell::figure(words.measured(value, expanded, false), value)
            })
        };
        let extremes = match (numbers.smallest_mm, numbers.largest_mm) {
            (Some(smallest), Some(largest)) => {
                let cell = Cell::figure(words.range(smallest, largest, false), smallest);
                if numbers.size_set {
                    cell
                } else {
                    as_said(cell)
                }
            }
            _ => Cell::none(),
        };
        let tight = numbers.oval.and_then(|oval| oval.tight_axis_deg);
        vec![
            Cell::text(self.bore_name(&bore.name)),
            Cell::figure(words.depth(numbers.depth_mm), numbers.depth_mm),
            match numbers.mean_diameter_mm {
                Some(mean) if !numbers.size_set => as_said(Cell::figure(words.length(mean), mean)),
                mean => measured(mean, "mean_diameter_mm"),
            },
            extremes,
            measured(numbers.out_of_round_mm, "out_of_round_mm"),
            tight.map_or_else(Cell::none, |deg| Cell::text(words.axis(deg))),
            self.size(bore, section),
            self.form(section),
        ]
    }

    fn size(&self, bore: &SeatBore, section: &SectionNumbers) -> Cell {
        let decision = section.verdict.size.decision;
        let key = match (decision, section.numbers.mean_diameter_mm) {
            (Decision::Conforms, _) => "report-verdict.inside",
            (Decision::DoesNotConform, Some(mean)) if mean > bore.target_mm => {
                "report-verdict.over"
            }
            (Decision::DoesNotConform, _) => "report-verdict.under",
            (Decision::CantTell, _) if !section.numbers.size_set => "report-verdict.not-judged",
            (Decision::CantTell, _) => "report-verdict.cant-tell",
        };
        Cell {
            mark: Some(mark(decision)),
            ..Cell::text(self.words.get(key))
        }
    }

    fn form(&self, section: &SectionNumbers) -> Cell {
        let decision = section.verdict.form.decision;
        let key = match decision {
            Decision::Conforms => "report-verdict.round",
            Decision::DoesNotConform => "report-verdict.out-of-round",
            Decision::CantTell => "report-verdict.cant-tell",
        };
        Cell {
            mark: Some(mark(decision)),
            ..Cell::text(self.words.get(key))
        }
    }

    /// What the seat asks, bores that ask the same together.
    fn limits(&self) -> String {
        let words = self.words;
        let same = |a: &SeatBore, b: &SeatBore| {
            [
                (a.lower_mm, b.lower_mm),
                (a.upper_mm, b.upper_mm),
                (a.target_mm, b.target_mm),
                (a.out_of_round_limit_mm, b.out_of_round_limit_mm),
            ]
            .iter()
            .all(|(a, b)| a == b)
        };
        let groups = self.record.seat.bores.chunk_by(same);
        let lines = groups.filter_map(|bores| {
            let bore = bores.first()?;
            let names: Vec<String> = bores
                .iter()
                .map(|bore| words.reason(&plain(&bore.name)))
                .collect();
            let of = |mm: f64| words.length(mm).inline();
            Some(words.fill(
                "report-limits.line",
                &[
                    ("bores", &capital(&names.join(", "))),
                    ("lower", &of(bore.lower_mm)),
                    ("upper", &of(bore.upper_mm)),
                    ("target", &of(bore.target_mm)),
                    ("form", &of(bore.out_of_round_limit_mm)),
                ],
            ))
        });
        let lines: Vec<String> = lines.collect();
        format!("{} {}", words.get("report-limits.lead"), lines.join(" "))
    }

    /// What the table does not state, and why, each reason once.
    fn withheld(&self, phase: &RecordedPhase) -> Vec<String> {
        let words = self.words;
        let mut notes: Vec<(Vec<String>, String, String)> = Vec::new();
        for section in &phase.sections {
            let numbers = &section.numbers;
            for (field, what) in [
                ("mean_diameter_mm", "report-column.mean"),
                ("out_of_round_mm", "report-column.out-of-round"),
                ("oval.tight_axis_deg", "report-column.tight"),
                ("oval", "report-column.tight"),
            ] {
                let Some(why) = numbers.why_withheld(field) else {
                    continue;
                };
                let depth = words.depth(numbers.depth_mm).text;
                let place = format!("{}, {depth}", self.bore_name(&section.bore));
                let (what, why) = (words.get(what).to_owned(), words.reason(why));
                match notes
                    .iter_mut()
                    .find(|note| note.1 == what && note.2 == why)
                {
                    Some(note) => note.0.push(place),
                    None => notes.push((vec![place], what, why)),
                }
            }
        }
        let mut lines: Vec<String> = notes
            .iter()
            .map(|(places, what, why)| {
                let places = if places.len() == phase.sections.len() {
                    words.get("report-measured.everywhere").to_owned()
                } else {
                    places.join("; ")
                };
                let values = [("where", places.as_str()), ("what", what), ("why", why)];
                words.fill("report-measured.withheld", &values)
            })
            .collect();
        for section in &phase.sections {
            if let Some(suspect) = &section.numbers.suspect {
                let depth = words.depth(section.numbers.depth_mm).text;
                let angle = format!("{}°", words.short(suspect.angle_deg));
                let values = [
                    ("bore", self.bore_name(&section.bore)),
                    ("depth", depth),
                    ("angle", angle),
                ];
                let values: Vec<(&str, &str)> =
                    values.iter().map(|(k, v)| (*k, v.as_str())).collect();
                lines.push(words.fill("report-measured.suspect", &values));
            }
        }
        let count = |is: &dyn Fn(&crate::job::RecordedStation) -> bool| {
            phase.stations.iter().filter(|place| is(place)).count()
        };
        let skipped = count(&|place| place.skipped && place.readings.is_empty());
        let open = count(&|place| !place.skipped && place.readings.is_empty());
        for (key, count) in [
            ("report-measured.skipped", skipped),
            ("report-measured.open", open),
        ] {
            if count > 0 {
                lines.push(words.fill(key, &[("count", &count.to_string())]));
            }
        }
        lines
    }
}

/// The sections of a bore, in order of depth.
fn of_bore<'a>(
    phase: &'a RecordedPhase,
    bore: &str,
) -> impl Iterator<Item = &'a SectionNumbers> + use<'a> {
    let bore = bore.to_owned();
    phase
        .sections
        .iter()
        .filter(move |section| section.bore == bore)
}
