//! The bench as a person uses it, without a gauge, a disk or a clock.

mod calibration;
mod choices;
mod following;
mod hang;
mod in_ring;
mod inserts;
mod left_out;
mod missing;
mod sizes;
mod stations;
mod studied;
mod swept;
mod under_way;
mod undo;
mod whole_job;

use std::collections::BTreeMap;

use uuid::Uuid;

use super::*;
use crate::gauge::Raw;
use crate::units::{Length, Moment};

/// A bench with its events, as the daemon keeps them.
struct Table {
    bench: Bench,
    shop: Shop,
    events: Vec<Event>,
    numbers: Numbers,
}

impl Table {
    fn empty() -> Self {
        let bore = Traits {
            bounce: None,
            ..gauges::typed(crate::bore::Contact::TwoPoint)
        };
        let comparator = Traits {
            sends: Sends::Deviation { sign: -1.0 },
            ..bore.clone()
        };
        let caliper = Traits {
            role: Role::Insert,
            ..bore.clone()
        };
        let gauges = Gauges::from([
            ("bore-gauge".into(), bore),
            ("comparator".into(), comparator),
            ("caliper".into(), caliper),
        ]);
        Self {
            bench: Bench::default(),
            shop: Shop {
                seats: Seats::built_in(),
                gauges,
                workshop: Default::default(),
            },
            events: vec![],
            numbers: Numbers::default(),
        }
    }

    fn with_job() -> Self {
        let mut table = Self::empty();
        table
            .ask(Command::OpenJob {
                part: "cargo tricycle".into(),
                seat: "pressfit-46".into(),
                plan: PlanKind::Quick,
                material: None,
                wall_mm: None,
                yield_mpa: None,
                finish: None,
                service_c: None,
            })
            .unwrap();
        table
    }

    fn record(&mut self, draft: Draft) -> &Event {
        let event = draft.numbered(self.bench.last_seq + 1);
        self.bench.apply(&event);
        self.numbers
            .changed(&self.bench, std::slice::from_ref(&event));
        self.events.push(event);
        self.events.last().unwrap()
    }

    fn ask(&mut self, command: Command) -> Result<&Event, Refusal> {
        let fresh = JobId(Uuid::from_u128(u128::from(self.bench.last_seq) + 1));
        let draft = self
            .bench
            .command(&self.shop, &command, Moment::now(), fresh)?;
        Ok(self.record(draft))
    }

    fn send(&mut self, gauge: &str, mm: f64) -> &Event {
        let raw = Raw(format!("{mm:.3}").into_bytes());
        let value = Length::from_mm(mm).unwrap();
        let draft = self
            .bench
            .reading(&self.shop, gauge, Moment::now(), &raw, value);
        self.record(draft)
    }

    fn next(&self) -> Option<(String, f64)> {
        self.bench
            .job()?
            .next()
            .map(|station| (station.bore.clone(), station.angle_deg))
    }
}

fn drive(angle: f64) -> Option<(String, f64)> {
    Some(("drive side".to_owned(), angle))
}

#[test]
fn many_jobs_are_open_and_one_is_on_the_bench() {
    let mut table = Table::with_job();
    let first = table.bench.on_bench.unwrap();
    table.send("bore-gauge", 45.96);
    let open = |part: &str| Command::OpenJob {
        part: part.into(),
        seat: "pressfit-41".into(),
        plan: PlanKind::Seat,
        material: None,
        wall_mm: None,
        yield_mpa: None,
        finish: None,
        service_c: None,
    };
    assert!(
        table
            .ask(open("second"))
            .unwrap_err()
            .0
            .contains("cargo tricycle")
    );
    table.ask(Command::PutAside {}).unwrap();
    table.ask(open("second")).unwrap();
    table.ask(Command::CloseJob {}).unwrap();
    table.ask(Command::TakeUp { job: first }).unwrap();
    assert_eq!(table.next(), drive(45.0));
    assert_eq!(table.bench.jobs.len(), 1);
}

#[test]
fn what_cannot_be_is_refused_by_name() {
    let mut table = Table::with_job();
    let refused = |table: &mut Table, command| table.ask(command).unwrap_err().0;
    let go = |bore: &str, depth_mm, angle_deg| Command::GoTo {
        bore: bore.into(),
        depth_mm,
        angle_deg,
    };
    assert!(refused(&mut table, go("left", 1.0, 0.0)).contains("drive side"));
    assert!(refused(&mut table, go("drive side", f64::NAN, 0.0)).contains("depth"));
    assert!(refused(&mut table, go("drive side", 1.0, 360.0)).contains("[0, 360)"));
    let ring = |ring_mm, shown_mm| Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm,
        shown_mm,
        ring_uncertainty_mm: None,
        ring_due: None,
    };
    assert!(refused(&mut table, ring(0.0, None)).contains("greater than 0"));
    assert!(refused(&mut table, ring(46.0, Some(1.811))).contains("unit"));
    assert!(
        refused(
            &mut table,
            Command::TypeReading {
                text: "wide".into()
            }
        )
        .contains("such as")
    );
}
