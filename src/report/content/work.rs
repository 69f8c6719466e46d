//! What is at fault, what was chosen and done, how it runs.

use super::Ground;
use super::standing::of_bore;
use crate::fit::plan::Work;
use crate::fit::{AtFault, CauseKind, PreviewHeld, Standing};
use crate::job::Phase;
use crate::report::model::{Block, Cell, Line, Mark, Section, Table};
use crate::report::words::{capital, plain};

impl Ground<'_> {
    /// Seat or bearing, and by which causes.
    pub(super) fn fault(&self) -> Option<Section> {
        let words = self.words;
        let diagnosis = self.record.findings.as_ref()?.diagnosis();
        let (mark, key) = match diagnosis.at_fault {
            AtFault::Seat => (Mark::Bad, "report-fault.seat"),
            AtFault::Bearing => (Mark::Bad, "report-fault.bearing"),
            AtFault::Both => (Mark::Bad, "report-fault.both"),
            AtFault::Neither => (Mark::Good, "report-fault.neither"),
            AtFault::Insert => (Mark::Bad, "report-fault.insert"),
            AtFault::CantTell => (Mark::Open, "report-fault.cant-tell"),
        };
        let mut text = words.get(key).to_owned();
        if let Some(also) = diagnosis.also_likely() {
            text = format!("{text} {}.", capital(&words.reason(&also)));
        }
        let mut blocks = vec![Block::Lines(vec![Line {
            mark: Some(mark),
            text,
            aside: String::new(),
        }])];
        let causes = [
            (Standing::Shown, "report-standing.shown"),
            (Standing::Likely, "report-standing.likely"),
            (Standing::Possible, "report-standing.possible"),
            (Standing::RuledOut, "report-standing.ruled-out"),
        ];
        let sentences: Vec<String> = causes
            .into_iter()
            .filter_map(|(standing, key)| {
                let named: Vec<&str> = diagnosis
                    .causes
                    .iter()
                    .filter(|cause| cause.standing == standing)
                    .map(|cause| words.get(cause_key(cause.cause)))
                    .collect();
                (!named.is_empty()).then(|| words.fill(key, &[("causes", &named.join(", "))]))
            })
            .collect();
        blocks.push(Block::Fine(sentences.join(" ")));
        Some(Section {
            heading: self.heading("report-heading.fault"),
            blocks,
        })
    }

    /// What the mechanic chose for each bore, what a reamer really cut, whether the preview held.
    pub(super) fn work(&self) -> Option<Section> {
        let words = self.words;
        let findings = self.record.findings.as_ref()?;
        let mut lines = Vec::new();
        for bore in &findings.examined.bores {
            let chosen = self.record.chosen.get(&bore.bore);
            let (key, work, with) = match chosen {
                Some(chosen) => ("report-work.chosen", chosen.work, &chosen.with),
                None => ("report-work.advised", bore.plan.advice, &bore.plan.with),
            };
            let mut what = words.get(work_key(work)).to_owned();
            if let Some(with) = with {
                // What is named belongs to the reaming, not to what follows it.
                let key = match work {
                    Work::Ream => "report-work.ream-with",
                    Work::ReamAndBond => "report-work.ream-and-bond-with",
                    _ => "report-work.with",
                };
                what = words.fill(key, &[("work", &what), ("with", &plain(with))]);
            }
            let name = self.bore_name(&bore.bore);
            lines.push(line(words.fill(key, &[("bore", &name), ("work", &what)])));
            if let Some(why) = chosen.and_then(|chosen| chosen.refused.as_deref()) {
                lines.push(Line {
                    mark: Some(Mark::Open),
                    ..line(words.fill(
                        "report-work.against",
                        &[("why", &words.reason(&plain(why)))],
                    ))
                });
            }
        }
        for cut in &self.record.learned_cuts {
            let within = self.greatest_reach_mm(&cut.bore);
            let values = [
                ("bore", self.bore_name(&cut.bore)),
                ("by", words.measured(cut.cut_mm, within, true).inline()),
                ("reamer", plain(&cut.reamer)),
            ];
            let values: Vec<(&str, &str)> = values.iter().map(|(k, v)| (*k, v.as_str())).collect();
            let key = match cut.bore.as_str() {
                // As in records of older versions.
                "" => "report-work.cut-somewhere",
                _ => "report-work.cut",
            };
            lines.push(line(words.fill(key, &values)));
        }
        for outcome in &findings.outcomes {
            if let Some(change) = outcome.unexplained {
                let values = [
                    ("bore", self.bore_name(&outcome.bore)),
                    ("by", words.signed(change.change_mm).inline()),
                    ("within", words.reach(change.within_mm).inline()),
                ];
                let values: Vec<(&str, &str)> =
                    values.iter().map(|(k, v)| (*k, v.as_str())).collect();
                lines.push(Line {
                    mark: Some(Mark::Open),
                    ..line(words.fill("report-work.unexplained", &values))
                });
            }
            if let Some(preview) = &outcome.preview {
                lines.extend(self.held(&outcome.bore, preview));
            }
        }
        Some(Section {
            heading: self.heading("report-heading.work"),
            blocks: vec![Block::Lines(lines)],
        })
    }

    /// The expanded uncertainty of a mean as left: of the section of `bore` that is known least, since
    /// a cut rests on some places of the bore, not on all.
    fn greatest_reach_mm(&self, bore: &str) -> Option<f64> {
        let sections = of_bore(self.phase(Phase::AsLeft)?, bore);
        let reach = sections.filter_map(|section| {
            let known = section.numbers.uncertainty.get("mean_diameter_mm")?;
            Some(known.expanded)
        });
        reach.max_by(f64::total_cmp)
    }

    /// The preview against what came out: size, then form, each by its own difference.
    fn held(&self, bore: &str, preview: &PreviewHeld) -> Vec<Line> {
        let words = self.words;
        let size = [preview.predicted_mm, preview.measured_mm, preview.within_mm];
        let size = ("report-work.preview-size", size, preview.mean_held());
        let form = preview.out_of_round.map(|form| {
            let of = [form.predicted_mm, form.measured_mm, form.within_mm];
            ("report-work.preview-form", of, form.held())
        });
        let all = [size].into_iter().chain(form);
        all.map(|(key, [predicted, measured, within], held)| {
            let values = [
                ("bore", self.bore_name(bore)),
                ("predicted", words.length(predicted).inline()),
                ("measured", words.length(measured).inline()),
                ("within", words.reach(within).inline()),
                (
                    "held",
                    words
                        .get(if held { "left.held" } else { "left.not-held" })
                        .to_owned(),
                ),
            ];
            let values: Vec<(&str, &str)> = values.iter().map(|(k, v)| (*k, v.as_str())).collect();
            Line {
                mark: Some(if held { Mark::Good } else { Mark::Open }),
                ..line(words.fill(key, &values))
            }
        })
        .collect()
    }

    /// The steps that the work asks for, each with the time at which it was ticked.
    pub(super) fn checklist(&self) -> Option<Section> {
        let record = self.record;
        let mut steps: Vec<&str> = Vec::new();
        let asked = record.findings.iter().flat_map(|findings| {
            let bores = findings.examined.bores.iter();
            bores.flat_map(|bore| &bore.checklist)
        });
        for step in asked.filter(|step| !step.caution) {
            if !steps.contains(&step.id.as_ref()) {
                steps.push(&step.id);
            }
        }
        for step in &record.ticked {
            if !steps.contains(&step.as_str()) {
                steps.push(step);
            }
        }
        let lines: Vec<Line> = steps
            .into_iter()
            .map(|step| {
                let ticked = record.ticked.iter().any(|ticked| ticked == step);
                let at = record.ticks.iter().find(|tick| tick.step == step);
                Line {
                    mark: Some(if ticked { Mark::Good } else { Mark::Undone }),
                    text: plain(&self.words.named("step", step)),
                    aside: match at {
                        Some(tick) => self.words.moment(tick.at),
                        None if ticked => String::new(),
                        None => self.words.get("step.open").to_owned(),
                    },
                }
            })
            .collect();
        (!lines.is_empty()).then(|| Section {
            heading: self.heading("report-heading.checklist"),
            blocks: vec![Block::Lines(lines)],
        })
    }

    /// What was seen and felt, and the hang tests before and after.
    pub(super) fn evidence(&self) -> Option<Section> {
        let words = self.words;
        let evidence = &self.record.evidence;
        let answer = |yes: bool| {
            words.get(if yes {
                "report-evidence.yes"
            } else {
                "report-evidence.no"
            })
        };
        let mut sentences: Vec<String> = [
            (evidence.runs_tight, "report-evidence.runs-tight"),
            (evidence.free_once_out, "report-evidence.free-once-out"),
            (evidence.gritty, "report-evidence.gritty"),
            (evidence.only_with_axle, "report-evidence.only-with-axle"),
        ]
        .into_iter()
        .filter_map(|(said, what)| {
            let values = [("what", words.get(what)), ("answer", answer(said?))];
            Some(words.fill("report-evidence.said", &values))
        })
        .collect();
        if let Some(deg) = evidence.tight_towards_deg {
            let angle = format!("{}°", words.short(deg));
            sentences.push(words.fill("report-evidence.tight-towards", &[("angle", &angle)]) + ".");
        }
        let mut blocks = Vec::new();
        if !sentences.is_empty() {
            blocks.push(Block::Sentence(sentences.join(" ")));
        }
        if !self.record.hang_tests.is_empty() {
            blocks.push(Block::Table(self.hang_tests()));
        }
        if blocks.is_empty() {
            blocks.push(Block::Fine(words.get("report-evidence.none").to_owned()));
        }
        Some(Section {
            heading: self.heading("report-heading.evidence"),
            blocks,
        })
    }

    fn hang_tests(&self) -> Table {
        let words = self.words;
        // As the page has it: bearings run at a few thousandths.
        let torque = |nm: f64| words.decimal(nm, 4);
        let rows = self.record.hang_tests.iter().map(|test| {
            let mut bearings = words
                .get(if test.fitted {
                    "report-evidence.fitted"
                } else {
                    "report-evidence.free"
                })
                .to_owned();
            if let Some(phase) = test.phase {
                let phase = words.get(match phase {
                    Phase::AsFound => "report-drawing.found",
                    Phase::AsLeft => "report-drawing.left",
                });
                let values = [("bearings", bearings.as_str()), ("phase", phase)];
                bearings = words.fill("report-evidence.phase", &values);
            }
            let friction = &test.friction;
            let text = match (friction.at_least_nm, friction.less_than_nm) {
                (Some(least), Some(less)) => words.to(&torque(least), &torque(less)),
                (Some(least), None) => {
                    words.fill("report-evidence.at-least", &[("least", &torque(least))])
                }
                _ => {
                    let expanded = friction.uncertainty.map(|u| u.expanded);
                    words.with_uncertainty(friction.torque_nm, expanded, 4)
                }
            };
            vec![
                Cell::text(bearings),
                Cell::text(text + "\u{a0}N·m"),
                Cell::text(test.at.map(|at| words.moment(at)).unwrap_or_default()),
            ]
        });
        Table {
            name: "hang-tests",
            head: [
                "report-column.bearings",
                "report-column.friction",
                "report-column.at",
            ]
            .map(|key| words.get(key))
            .to_vec(),
            rows: rows.collect(),
        }
    }
}

fn line(text: String) -> Line {
    Line {
        mark: None,
        text,
        aside: String::new(),
    }
}

const fn work_key(work: Work) -> &'static str {
    match work {
        Work::Press => "report-work.press",
        Work::GaugeAgain => "report-work.gauge-again",
        Work::Bond => "report-work.bond",
        Work::Ream => "report-work.ream",
        Work::ReamAndBond => "report-work.ream-and-bond",
        Work::Sleeve => "report-work.sleeve",
        Work::OtherInsert => "report-work.other-insert",
        Work::Refer => "report-work.refer",
    }
}

const fn cause_key(cause: CauseKind) -> &'static str {
    match cause {
        CauseKind::SeatUndersize => "report-cause.seat-undersize",
        CauseKind::SeatOval => "report-cause.seat-oval",
        CauseKind::SeatTaper => "report-cause.seat-taper",
        CauseKind::RaisedSpot => "report-cause.raised-spot",
        CauseKind::SeatOversize => "report-cause.seat-oversize",
        CauseKind::TightFit => "report-cause.tight-fit",
        CauseKind::Bearing => "report-cause.bearing",
        CauseKind::Misaligned => "report-cause.misaligned",
        CauseKind::Contamination => "report-cause.contamination",
    }
}
