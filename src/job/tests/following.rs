//! What follows from a job, kept up to date event by event.

use std::collections::BTreeMap;

use super::*;

/// A bench with what follows from it and what a consumer was told, the newest of each object.
struct Followed {
    table: Table,
    following: Following,
    told: BTreeMap<String, DerivedBody>,
}

/// What an object is the newest of.
fn of(object: &Derived) -> String {
    let phase = object.phase;
    match &object.body {
        DerivedBody::Section(of) => {
            format!("{phase:?} section {} {}", of.bore, of.numbers.depth_mm)
        }
        DerivedBody::Bore(of) => format!("{phase:?} bore {}", of.bore),
        DerivedBody::Job(_) => "job".into(),
        DerivedBody::Fit(of) => format!("fit {}", of.bore),
        DerivedBody::Plan(of) => format!("plan {}", of.plan.bore),
        DerivedBody::Diagnosis(_) => "diagnosis".into(),
        DerivedBody::Outcome(of) => format!("outcome {}", of.bore),
    }
}

impl Followed {
    fn ask(&mut self, command: Command) {
        self.table.ask(command).unwrap();
        self.follow();
    }

    fn send(&mut self, gauge: &str, mm: f64) {
        self.table.send(gauge, mm);
        self.follow();
    }

    /// A restart shows the same, and a consumer was told all of it.
    fn follow(&mut self) {
        let Table { bench, shop, .. } = &self.table;
        let events = &self.table.events[self.table.events.len() - 1..];
        let told = self.following.changed(bench, shop, events);
        self.told
            .extend(told.into_iter().map(|object| (of(&object), object.body)));
        assert_eq!(self.following, Following::of(bench, shop), "{events:?}");
        for object in self.following.newest(bench) {
            let name = of(&object);
            assert_eq!(self.told.get(&name), Some(&object.body), "{name}");
        }
    }

    fn gauge_all(&mut self, mm: impl Fn(f64) -> f64) {
        while let Some((_, angle)) = self.table.next() {
            self.send("bore-gauge", mm(angle));
        }
    }
}

#[test]
fn what_is_kept_up_to_date_is_what_a_restart_shows_and_a_consumer_was_told() {
    let mut bench = Followed {
        table: Table::empty(),
        following: Following::default(),
        told: BTreeMap::new(),
    };
    bench.ask(Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: None,
        ring_uncertainty_mm: Some(0.001),
        ring_due: None,
    });
    let open = |part: &str| Command::OpenJob {
        part: part.into(),
        seat: "pressfit-46".into(),
        plan: PlanKind::Quick,
        material: Some(crate::fit::Material::Steel),
        wall_mm: Some(2.5),
        yield_mpa: None,
        finish: None,
        service_c: None,
    };
    bench.ask(open("cargo tricycle"));
    let first = bench.table.bench.on_bench.unwrap();
    let depth_mm = bench.table.bench.job().unwrap().next().unwrap().depth_mm;
    let egg = |angle: f64| 45.93 + 0.05 * (2.0 * (angle - 125.0).to_radians()).cos();
    for angle in [0.0, 45.0, 90.0] {
        bench.send("bore-gauge", egg(angle));
    }
    // Complete without its last station, and then open again.
    bench.ask(Command::Skip {});
    bench.send("bore-gauge", egg(0.0));
    bench.ask(Command::Undo {});
    bench.ask(Command::GoTo {
        bore: "drive side".into(),
        depth_mm,
        angle_deg: 135.0,
    });
    bench.gauge_all(egg);
    bench.ask(Command::Undo {});
    bench.gauge_all(egg);
    bench.ask(Command::SetInsert {
        insert: crate::fit::InsertAsked {
            bearing: Some("30x42x7".parse().unwrap()),
            cup: Some(crate::fit::Material::Aluminium),
            outside_mm: Some(46.0),
            ..Default::default()
        },
    });
    bench.ask(Command::Choose {
        bore: "drive side".into(),
        work: crate::fit::plan::Work::Press,
        with: None,
    });
    // Another job in between, with findings of its own.
    bench.ask(Command::PutAside {});
    bench.told.clear();
    bench.ask(open("another"));
    bench.gauge_all(|_| 45.97);
    bench.ask(Command::PutAside {});
    bench.told.clear();
    bench.ask(Command::TakeUp { job: first });
    bench.ask(Command::SetPhase {
        phase: Phase::AsLeft,
    });
    bench.gauge_all(|_| 45.975);
    assert!(bench.told.contains_key("outcome drive side"));
}
