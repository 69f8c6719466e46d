//! How it was measured, the record itself, who may be asked, what to mind.

use std::collections::{BTreeMap, BTreeSet};

use super::Ground;
use crate::bore::Contact;
use crate::job::{Calibration, GaugeStudy, HangView, Record, RecordedSetting, TYPED, all_settings};
use crate::report::code::Code;
use crate::report::model::{Block, Cell, Mark, Section, Table};
use crate::report::words::{capital, plain};
use crate::units::{Day, Moment};

impl Ground<'_> {
    /// Gauges and rings, temperatures, what the gauge can't see, the rule of the verdicts.
    pub(super) fn gauges(&self) -> Section {
        let (record, words) = (self.record, self.words);
        let mut blocks = Vec::new();
        let mut sentences = Vec::new();
        let mut table = Table {
            name: "gauges",
            head: [
                "report-column.gauge",
                "report-column.calibrated",
                "report-column.repeatability",
                "report-column.ring",
                "report-column.set-at",
                "report-column.due",
                "report-column.drift",
            ]
            .map(|key| words.get(key))
            .to_vec(),
            rows: Vec::new(),
        };
        for (gauge, newest) in &record.gauges {
            if newest.is_none() {
                table.rows.extend(self.gauge(gauge, None));
                let gauge = self.gauge_name(gauge);
                sentences.push(words.fill("report-measured.not-set", &[("gauge", &gauge)]));
            }
        }
        for (gauge, setting) in all_settings(&record.settings, &record.gauges) {
            table.rows.extend(self.gauge(gauge, Some(setting)));
        }
        let mut sections = record.phases.iter().flat_map(|phase| &phase.sections);
        let assumed = sections.find_map(|section| section.numbers.why_ring_assumed());
        sentences.extend(assumed.map(|why| capital(&words.reason(&plain(why))) + "."));
        table.rows.extend(self.angle_gauges());
        if !record.studies.is_empty() {
            sentences.push(words.get("report-measured.repeatability").to_owned());
        }
        if record.gauges.is_empty() {
            sentences.push(words.get("report-measured.no-gauge").to_owned());
        }
        if !table.rows.is_empty() {
            blocks.push(Block::Table(table));
        }
        sentences.push(record.temperature.map_or_else(
            || words.get("report-measured.no-temperature").to_owned(),
            |temperature| {
                let of = |value: f64| words.decimal(value, 1);
                words.fill(
                    "report-measured.temperature",
                    &[
                        ("part", &of(temperature.part_c)),
                        ("ring", &of(temperature.ring_c)),
                        ("within", &of(temperature.within_k)),
                    ],
                )
            },
        ));
        let form = match record.contact {
            Contact::TwoPoint => ["report-measured.out-of-round", "report-measured.blind-two"],
            Contact::ThreePoint => [
                "report-measured.out-of-round",
                "report-measured.blind-three",
            ],
            Contact::Radius => ["report-measured.roundness", "report-measured.sees-all"],
        };
        sentences.extend(form.map(|key| words.get(key).to_owned()));
        sentences.push(self.rule());
        for key in ["report-measured.plus-minus", "report-drawing.see"] {
            sentences.push(words.get(key).to_owned());
        }
        blocks.push(Block::Fine(sentences.join(" ")));
        Section {
            heading: self.heading("report-heading.gauges"),
            blocks,
        }
    }

    /// The decision rule of the verdicts: the seat's own, where it has one.
    fn rule(&self) -> String {
        let words = self.words;
        let bores = self.record.seat.bores.iter();
        let mut factors: Vec<f64> = bores.filter_map(|bore| bore.decision_factor).collect();
        factors.dedup();
        if factors.is_empty() {
            return words.get("report-measured.rule").to_owned();
        }
        let factors: Vec<String> = factors.iter().map(|of| words.decimal(*of, 2)).collect();
        words.fill(
            "report-measured.rule-factor",
            &[("factor", &factors.join(" / "))],
        )
    }

    /// The gauge that a person at a keyboard is has no name of its own.
    fn gauge_name(&self, gauge: &str) -> String {
        if gauge == TYPED {
            self.words.get("report-measured.typed").to_owned()
        } else {
            plain(gauge)
        }
    }

    /// What stands behind a gauge's readings; `None` where nobody said anything of it.
    fn gauge(&self, gauge: &str, setting: Option<&RecordedSetting>) -> Option<Vec<Cell>> {
        let words = self.words;
        let calibration = self.record.calibrations.get(gauge);
        let study = self.record.studies.get(gauge);
        if setting.is_none() && calibration.is_none() && study.is_none() {
            return None;
        }
        let by = gauged_at(self.record);
        let mut row = vec![
            Cell {
                below: self.serial(calibration),
                ..Cell::text(self.gauge_name(gauge))
            },
            calibration.map_or_else(|| self.unsaid(), |known| self.calibration(known, by)),
            study.map_or_else(Cell::none, |study| self.study(study)),
        ];
        match setting {
            Some(setting) => row.extend(self.setting(gauge, setting)),
            None => {
                row.push(Cell::text(words.get("report-verdict.not-set")));
                row.extend([Cell::none(), Cell::none(), Cell::none()]);
            }
        }
        Some(row)
    }

    /// The angle gauges of the hang tests, each once, by its newest test.
    fn angle_gauges(&self) -> Vec<Vec<Cell>> {
        let newest: BTreeMap<&str, &HangView> = hung(self.record).collect();
        let rows = newest.into_iter().map(|(gauge, test)| {
            let known = test.calibration.as_ref();
            let calibrated =
                |known| self.calibration(known, test.at.unwrap_or(self.record.opened_at));
            let mut row = vec![
                Cell {
                    below: self.serial(known),
                    ..Cell::text(self.gauge_name(gauge))
                },
                known.map_or_else(|| self.unsaid(), calibrated),
            ];
            row.extend([(); 5].map(|()| Cell::none()));
            row
        });
        rows.collect()
    }

    fn serial(&self, known: Option<&Calibration>) -> Option<String> {
        let serial = plain(known?.serial.as_deref()?);
        Some(
            self.words
                .fill("report-measured.serial", &[("serial", &serial)]),
        )
    }

    fn unsaid(&self) -> Cell {
        Cell::text(self.words.get("report-measured.no-due"))
    }

    /// The day on which a calibration runs out, marked where it had by then.
    fn due(&self, due: Day, by: Moment) -> (Option<Mark>, String) {
        let day = self.words.day(due);
        if due.is_before(by) {
            let text = self.words.fill("report-measured.overdue", &[("due", &day)]);
            (Some(Mark::Bad), text)
        } else {
            (None, day)
        }
    }

    fn calibration(&self, known: &Calibration, by: Moment) -> Cell {
        let calibrated = known.calibrated.map(|day| self.words.day(day));
        let due = known.due.map(|due| self.due(due, by));
        let until = |due: &str| self.words.fill("report-measured.until", &[("due", due)]);
        match (calibrated, due) {
            (None, None) => self.unsaid(),
            (Some(calibrated), None) => Cell::text(calibrated),
            (None, Some((mark, due))) => Cell {
                mark,
                ..Cell::text(until(&due))
            },
            (Some(calibrated), Some((mark, due))) => Cell {
                mark,
                below: Some(until(&due)),
                ..Cell::text(calibrated)
            },
        }
    }

    /// How well the gauge repeats, from how many readings of what, and when that was found.
    fn study(&self, study: &GaugeStudy) -> Cell {
        let words = self.words;
        let readings = study.readings.to_string();
        let parts = study.parts.map(|parts| parts.to_string());
        let mut from = match parts.as_deref() {
            None => words.fill("report-measured.readings", &[("readings", &readings)]),
            Some("1") => words.fill("report-measured.of-one", &[("readings", &readings)]),
            Some(parts) => words.fill(
                "report-measured.of-parts",
                &[("readings", &readings), ("parts", parts)],
            ),
        };
        if let Some(at) = study.studied_at {
            from = format!("{from}, {}", words.day_of(at));
        }
        let figure = words.fine(study.repeatability_mm);
        let below = figure.mm.iter().cloned().chain([from]);
        Cell {
            text: figure.text,
            below: Some(below.collect::<Vec<_>>().join(", ")),
            value: Some(study.repeatability_mm),
            mark: None,
        }
    }

    fn setting(&self, gauge: &str, setting: &RecordedSetting) -> [Cell; 4] {
        let words = self.words;
        let ring = words.measured(setting.ring_mm, setting.ring_uncertainty_mm, false);
        let due = setting
            .ring_due
            .map(|due| self.due(due, gauged_at(self.record)));
        let drift = self.drift_since(gauge, setting).map_or_else(
            || Cell::text(words.get("report-measured.no-check")),
            |drift| Cell::figure(words.fine_signed(drift), drift),
        );
        [
            Cell::figure(ring, setting.ring_mm),
            Cell::text(words.moment(setting.at)),
            due.map_or_else(
                || self.unsaid(),
                |(mark, due)| Cell {
                    mark,
                    ..Cell::text(due)
                },
            ),
            drift,
        ]
    }

    /// How far the gauge had drifted at the newest re-check of this setting, mm; a record of an older
    /// version has one re-check of one setting.
    fn drift_since(&self, gauge: &str, setting: &RecordedSetting) -> Option<f64> {
        let Some(checks) = self.record.checks.get(gauge) else {
            return self.record.drift_mm.get(gauge).copied();
        };
        let mut newest_first = checks.iter().rev();
        let check = newest_first.find(|check| check.set_at == setting.at)?;
        Some(check.drift_mm)
    }

    /// Which calibrations had run out when the readings were taken, a sentence each.
    pub(super) fn out_of_date(&self) -> Vec<String> {
        let (record, words) = (self.record, self.words);
        let by = gauged_at(record);
        let gauges = record.gauges.keys().flat_map(|gauge| {
            let calibration = record.calibrations.get(gauge);
            let own = calibration.is_some_and(|known| known.is_out_of_date(by));
            let mut settings = all_settings(&record.settings, &record.gauges);
            let ring = settings.any(|(of, setting)| {
                of == gauge && setting.ring_due.is_some_and(|due| due.is_before(by))
            });
            [
                (own, "report-measured.gauge-ran-out"),
                (ring, "report-measured.ring-ran-out"),
            ]
            .into_iter()
            .filter(|(ran_out, _)| *ran_out)
            .map(move |(_, key)| words.fill(key, &[("gauge", &self.gauge_name(gauge))]))
        });
        let ran_out = |test: &HangView| {
            let known = test.calibration.as_ref();
            known.is_some_and(|known| known.is_out_of_date(test.at.unwrap_or(record.opened_at)))
        };
        let of_angles: BTreeSet<&str> = hung(record)
            .filter(|(_, test)| ran_out(test))
            .map(|(gauge, _)| gauge)
            .collect();
        let of_angles = of_angles.into_iter().map(|gauge| {
            let name = self.gauge_name(gauge);
            words.fill("report-measured.gauge-ran-out", &[("gauge", &name)])
        });
        gauges.chain(of_angles).collect()
    }

    /// The record that this report is made from, and the code that names it.
    pub(super) fn papers(&self) -> Section {
        let (record, words) = (self.record, self.words);
        let job = record.job.to_string();
        let label = |key| words.get(key).to_owned();
        let versions = words.fill(
            "report-record.versions",
            &[
                ("version", env!("CARGO_PKG_VERSION")),
                ("schema", &plain(&record.schema)),
                ("wrote", &plain(&record.version)),
            ],
        );
        let mut rows = vec![
            (label("report-record.job"), job.clone()),
            (
                label("report-record.hash"),
                self.sha256
                    .map_or_else(|| label("report-record.no-hash"), str::to_owned),
            ),
            (label("report-record.version"), versions),
        ];
        if let Some(amends) = &record.amends {
            rows.insert(2, (label("report-record.amends"), plain(amends)));
        }
        let says = self.sha256.map_or_else(
            || format!("job {job}"),
            |hash| format!("job {job}\nsha256 {hash}"),
        );
        Section {
            heading: self.heading("report-heading.record"),
            blocks: Code::of(&says)
                .map(|code| Block::Code(code, words.get("report-record.code"), rows))
                .into_iter()
                .collect(),
        }
    }

    /// Who may be asked, and where to sign.
    pub(super) fn ask(&self) -> Section {
        let (style, words) = (self.style, self.words);
        let mut who: Vec<String> = [&style.name, &style.phone, &style.mail]
            .into_iter()
            .flatten()
            .map(|text| plain(text))
            .collect();
        if who.is_empty() {
            who.push(words.get("report-record.ask").to_owned());
        }
        Section {
            heading: self.heading("report-heading.ask"),
            blocks: vec![
                Block::Sentence(who.join(", ")),
                Block::Sign(vec![
                    words.get("report-record.date").to_owned(),
                    words.get("report-record.signature").to_owned(),
                ]),
            ],
        }
    }

    /// The usual cautions, once.
    pub(super) fn mind(&self) -> Section {
        Section {
            heading: self.heading("report-heading.mind"),
            blocks: vec![Block::Fine(self.words.get("report-mind.text").to_owned())],
        }
    }
}

/// The hang tests of which an angle gauge sent the angles, each with its gauge, in order.
fn hung(record: &Record) -> impl Iterator<Item = (&str, &HangView)> {
    let tests = record.hang_tests.iter();
    tests.filter_map(|test| Some((test.gauge.as_deref()?, test)))
}

/// When the newest reading that counts was taken; the job's opening where there is none.
fn gauged_at(record: &Record) -> Moment {
    let stations = record.phases.iter().flat_map(|phase| &phase.stations);
    let readings = stations.flat_map(|place| &place.readings);
    let newest = readings.map(|reading| reading.at).max();
    newest.unwrap_or(record.opened_at)
}
