//! The insert named and measured, in either order.

use super::*;
use crate::fit::{Insert, InsertAsked};
use crate::job::insert::insert;

fn asked(json: serde_json::Value) -> Command {
    let insert: InsertAsked = serde_json::from_value(json).unwrap();
    Command::SetInsert { insert }
}

fn cup() -> serde_json::Value {
    serde_json::json!({"bearing": "30x42x7", "cup": "aluminium"})
}

impl Table {
    fn insert(&self) -> Option<Insert> {
        insert(self.bench.job().unwrap())
    }

    fn outside_mm(&self) -> Option<f64> {
        let outside = self.insert()?.outside;
        Some((outside.mean_mm * 1e6).round() / 1e6)
    }
}

#[test]
fn a_cup_may_be_named_first_or_measured_first() {
    let mut named = Table::with_job();
    named.ask(asked(cup())).unwrap();
    assert_eq!(named.outside_mm(), None, "still to be measured");
    let mut measured = Table::with_job();
    for mm in [46.021, 46.023] {
        named.send("caliper", mm);
        measured.send("caliper", mm);
    }
    assert_eq!(measured.outside_mm(), None, "what it is isn't named");
    measured.ask(asked(cup())).unwrap();
    assert_eq!(named.outside_mm(), Some(46.022));
    assert_eq!(measured.outside_mm(), Some(46.022));
    measured.ask(Command::Undo {}).unwrap();
    assert_eq!(measured.outside_mm(), Some(46.021), "undo takes the newest");
}

#[test]
fn readings_belong_to_the_insert_that_was_named_when_they_came() {
    let mut table = Table::with_job();
    table.ask(asked(cup())).unwrap();
    table.send("caliper", 46.021);
    table.send("caliper", 46.023);
    // Another cup: by its readings, by its class, by what was typed.
    table.ask(asked(cup())).unwrap();
    assert_eq!(table.outside_mm(), None);
    assert!(
        table.ask(Command::Undo {}).is_err(),
        "no reading of another cup is taken back"
    );
    table.send("caliper", 46.011);
    assert_eq!(table.outside_mm(), Some(46.011));
    for (key, value, mm) in [
        ("outside_class", serde_json::json!("p6"), 46.034),
        ("outside_mm", serde_json::json!(46.001), 46.001),
    ] {
        let mut sized = cup();
        sized[key] = value;
        table.ask(asked(sized)).unwrap();
        assert_eq!(
            table.outside_mm(),
            Some(mm),
            "what is said after a reading counts"
        );
    }
    table.send("caliper", 46.005);
    assert_eq!(table.outside_mm(), Some(46.005), "and a reading after that");
    table.ask(Command::Undo {}).unwrap();
    assert_eq!(table.outside_mm(), Some(46.001));
}

#[test]
fn what_no_insert_can_measure_is_refused_and_its_unit_named() {
    let mut table = Table::with_job();
    table.ask(asked(cup())).unwrap();
    let comparator = Traits {
        sends: Sends::Deviation { sign: 1.0 },
        ..table.shop.gauges["caliper"].clone()
    };
    table
        .shop
        .gauges
        .insert("outside comparator".into(), comparator);
    for (gauge, mm, why) in [
        ("caliper", 1.812, "looks like inches (46.025 mm)"),
        ("caliper", 48.1, "is 2.100 mm over the nominal 46.000 mm"),
        ("outside comparator", 0.021, "a deviation is no size"),
    ] {
        let Body::ReadingRefused {
            why: said, station, ..
        } = &table.send(gauge, mm).body
        else {
            panic!("{mm} counts");
        };
        assert!(said.contains(why), "{said}");
        assert_eq!(station, &None, "it was to fill none");
    }
    assert_eq!(table.outside_mm(), None);
}

/// By hand, 46.021, 46.023 and 46.025 mm in steps of 1 µm: s = 2 µm, so 1.155 µm for the mean, which
/// Student's t makes 4.303/1.960 (JCGM 100:2008, table G.2) times as large; with 0.289 µm of the step
/// and 2 µm of a micrometer that was set in no ring 3.242 µm. In a ring of U = 1 µm 0.577 µm stand in
/// place of the 2. A study of 24 degrees and 1.5 µm pools to √(62/26) µm, t = 2.056.
#[test]
fn a_measured_diameter_is_as_uncertain_as_gauge_ring_and_scatter_leave_it() {
    let standard = |ring: bool, study: bool, readings: &[f64]| {
        let mut table = Table::with_job();
        if ring {
            let ring = Command::SetRing {
                gauge: "caliper".into(),
                ring_mm: 46.0,
                shown_mm: None,
                ring_uncertainty_mm: Some(0.001),
                ring_due: None,
            };
            table.ask(ring).unwrap();
        }
        if study {
            let study = serde_json::json!({"repeatability_mm": 0.0015, "degrees_of_freedom": 24.0,
                "readings": 25});
            let study = serde_json::from_value(study).unwrap();
            table
                .ask(Command::SetStudy {
                    gauge: "caliper".into(),
                    study,
                })
                .unwrap();
        }
        table.ask(asked(cup())).unwrap();
        for mm in readings {
            table.send("caliper", *mm);
        }
        table.insert().unwrap().outside.standard_mm
    };
    let three = [46.021, 46.023, 46.025];
    for (ring, study, readings, um) in [
        (false, false, &three[..], 3.242),
        (true, false, &three[..], 2.616),
        (true, true, &three[..], 1.136),
        (false, false, &three[..1], 2.843),
        (true, true, &three[..1], 1.706),
    ] {
        let found = 1e3 * standard(ring, study, readings);
        assert!((found - um).abs() < 2e-3, "{found} is not {um}");
    }
}
