//! The sections of a phase: as a table, as drawings, along the depth.

use super::Ground;
use super::standing::{mark, of_bore, out_of_round_mm};
use crate::bore::{Circle, Contact};
use crate::job::{Decision, Phase, RecordedPhase, SeatBore, SectionNumbers};
use crate::report::drawn;
use crate::report::model::{Block, Cell, Picture, Section, Table};
use crate::report::words::{capital, plain};

const SKIPPED: [&str; 2] = [
    "report-measured.skipped-one",
    "report-measured.skipped-several",
];
const OPEN: [&str; 2] = ["report-measured.open-one", "report-measured.open-several"];

impl Ground<'_> {
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
        let along = self.along(phase);
        if !along.is_empty() {
            blocks.push(Block::Fine(along.join(" ")));
        }
        let source = self.words.language.source(&plain(&self.record.seat.source));
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
                    let form = |s: &SectionNumbers| out_of_round_mm(s).unwrap_or(0.0);
                    a.verdict
                        .worst()
                        .cmp(&b.verdict.worst())
                        .then(form(a).total_cmp(&form(b)))
                })?;
                let depth = words.depth(section.numbers.depth_mm).inline();
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

    /// Of diameters the extremes and the out-of-round, of a swept radius ISO roundness in their
    /// place.
    fn table(&self, phase: &RecordedPhase) -> Table {
        let [extent, form] = match self.record.contact {
            Contact::Radius => ["report-column.least-squares", "report-column.minimum-zone"],
            _ => ["report-column.extremes", "report-column.out-of-round"],
        };
        let head = [
            "report-column.bore",
            "report-column.depth",
            "report-column.mean",
            extent,
            form,
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
        let zone = |circle: Option<Circle>, field: &str| {
            let field = format!("roundness.{field}.zone_mm");
            measured(circle.map(|circle| circle.zone_mm), &field)
        };
        let roundness = numbers.roundness;
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
        let [extent, form] = match self.record.contact {
            Contact::Radius => [
                zone(roundness.map(|r| r.least_squares), "least_squares"),
                zone(roundness.map(|r| r.minimum_zone), "minimum_zone"),
            ],
            _ => [
                extremes,
                measured(numbers.out_of_round_mm, "out_of_round_mm"),
            ],
        };
        let tight = numbers.oval.and_then(|oval| oval.tight_axis_deg);
        vec![
            Cell::text(self.bore_name(&bore.name)),
            Cell::figure(words.depth(numbers.depth_mm), numbers.depth_mm),
            match numbers.mean_diameter_mm {
                Some(mean) if !numbers.size_set => as_said(Cell::figure(words.length(mean), mean)),
                mean => measured(mean, "mean_diameter_mm"),
            },
            extent,
            form,
            tight.map_or_else(Cell::none, |deg| Cell::text(words.axis(deg))),
            self.size(bore, section),
            self.form(section),
        ]
    }

    /// What the sections of each bore say together: its taper over the depth that was gauged, and
    /// where it is narrowest.
    fn along(&self, phase: &RecordedPhase) -> Vec<String> {
        let words = self.words;
        let lines = phase.bores.iter().filter_map(|bore| {
            let numbers = &bore.numbers;
            let name = self.bore_name(&bore.bore);
            let line = match drawn::taper_of(phase, bore) {
                Some(taper) => {
                    let size = words.measured(taper.change_mm.abs(), taper.expanded_mm, false);
                    let over = words.depth(taper.over_mm);
                    let values = [
                        ("bore", name.as_str()),
                        ("taper", &size.inline()),
                        ("over", &over.inline()),
                        ("said", taper.said(words.language)),
                    ];
                    words.fill("report-measured.taper", &values)
                }
                // Of three depths or more that have none something is to be said.
                None => {
                    numbers.barrel_mm?;
                    let why = numbers.why_withheld("taper_mm_per_mm")?;
                    format!("{name}: {}", words.reason(&plain(why)))
                }
            };
            // Without a ring a diameter is as the gauge said it.
            let is_set = of_bore(phase, &bore.bore).all(|section| section.numbers.size_set);
            let Some(waist) = numbers.waist.filter(|_| is_set) else {
                return Some(line + ".");
            };
            let expanded = numbers.uncertainty.get("waist.diameter_mm");
            let expanded = expanded.map(|known| known.expanded);
            let diameter = words.measured(waist.diameter_mm, expanded, false).inline();
            let depth = words.depth(waist.depth_mm).inline();
            let values = [("diameter", diameter.as_str()), ("depth", &depth)];
            Some(format!(
                "{line}, {}.",
                words.fill("report-measured.waist", &values)
            ))
        });
        lines.collect()
    }

    /// The readings that the mechanic left out, each with its place and value.
    fn left_out(&self, phase: &RecordedPhase) -> Option<String> {
        let words = self.words;
        let which: Vec<String> = phase
            .stations
            .iter()
            .flat_map(|place| place.dropped.iter().map(move |reading| (place, reading)))
            .map(|(place, reading)| {
                let station = &place.station;
                format!(
                    "{}, {}, {}°: {}",
                    self.bore_name(&station.bore),
                    words.depth(station.depth_mm).inline(),
                    words.short(station.angle_deg),
                    words
                        .length(reading.corrected_mm.unwrap_or(reading.value_mm))
                        .inline()
                )
            })
            .collect();
        let key = match which.len() {
            0 => return None,
            1 => "report-measured.left-out-one",
            _ => "report-measured.left-out",
        };
        let (count, which) = (which.len().to_string(), which.join("; "));
        Some(words.fill(key, &[("count", &count), ("which", &which)]))
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
                .map(|bore| words.name(&plain(&bore.name)))
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
            // What a contact can't give by its nature is said once, where its blindness is.
            let form = match self.record.contact {
                Contact::Radius => ("roundness", "report-column.roundness"),
                _ => ("out_of_round_mm", "report-column.out-of-round"),
            };
            for (field, what) in [
                ("mean_diameter_mm", "report-column.mean"),
                form,
                ("oval.tight_axis_deg", "report-column.tight"),
                ("oval", "report-column.tight"),
            ] {
                let Some(why) = numbers.why_withheld(field) else {
                    continue;
                };
                let depth = words.depth(numbers.depth_mm).inline();
                let place = format!("{}, {depth}", self.bore_name(&section.bore));
                let (what, why) = (words.get(what).to_owned(), words.reason(&plain(why)));
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
                let depth = words.depth(section.numbers.depth_mm).inline();
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
        lines.extend(self.left_out(phase));
        let count = |is: &dyn Fn(&crate::job::RecordedStation) -> bool| {
            phase.stations.iter().filter(|place| is(place)).count()
        };
        let skipped = count(&|place| place.skipped && place.readings.is_empty());
        let open = count(&|place| !place.skipped && place.readings.is_empty());
        for (keys, count) in [(SKIPPED, skipped), (OPEN, open)] {
            if count > 0 {
                lines.push(words.count(keys, count));
            }
        }
        lines
    }
}
