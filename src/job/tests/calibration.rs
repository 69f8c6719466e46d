//! What is known of a gauge's calibration goes with its readings into the record.

use super::*;
use crate::units::Day;

fn day(text: &str) -> Day {
    Day(text.parse().unwrap())
}

fn certificate(calibrated: &str, due: &str) -> Calibration {
    Calibration {
        serial: Some("4711-B".to_owned()),
        calibrated: Some(day(calibrated)),
        due: Some(day(due)),
    }
}

fn connect(table: &mut Table, gauge: &str, calibration: Option<Calibration>) {
    let body = Body::GaugeOpened {
        gauge: gauge.to_owned(),
        port: "/dev/ttyUSB0".to_owned(),
        calibration,
    };
    let (at, of) = (Moment::now(), table.bench.header());
    table.record(Draft { at, of, body });
}

fn recorded(table: &Table) -> BTreeMap<String, Calibration> {
    let job = table.bench.job().unwrap();
    Record::so_far(job, &table.bench, &table.shop).calibrations
}

#[test]
fn a_record_keeps_the_certificate_that_held_when_its_readings_were_taken() {
    let mut table = Table::with_job();
    let old = certificate("2025-03-31", "2026-03-31");
    connect(&mut table, "bore-gauge", Some(old.clone()));
    connect(
        &mut table,
        "comparator",
        Some(certificate("2026-01-02", "2027-01-02")),
    );
    table.send("bore-gauge", 45.98);
    assert_eq!(
        recorded(&table),
        BTreeMap::from([("bore-gauge".to_owned(), old.clone())])
    );

    // While the job is put aside the gauge comes back from the laboratory.
    let job = table.bench.on_bench.unwrap();
    table.ask(Command::PutAside {}).unwrap();
    let new = certificate("2026-04-01", "2027-04-01");
    connect(&mut table, "bore-gauge", Some(new.clone()));
    table.ask(Command::TakeUp { job }).unwrap();
    assert_eq!(recorded(&table)["bore-gauge"], old);
    table.send("bore-gauge", 45.98);
    assert_eq!(recorded(&table)["bore-gauge"], new);
}

#[test]
fn nothing_is_said_of_a_gauge_of_which_nothing_is_known() {
    let mut table = Table::with_job();
    connect(&mut table, "bore-gauge", None);
    table.send("bore-gauge", 45.98);
    table
        .ask(Command::TypeReading {
            text: "45.981".into(),
        })
        .unwrap();
    assert_eq!(recorded(&table), BTreeMap::new());
}

#[test]
fn the_view_says_when_a_calibration_has_run_out() {
    let mut table = Table::with_job();
    let mut seen = |due: &str| {
        let traits = table.shop.gauges.get_mut("bore-gauge").unwrap();
        traits.calibration = Some(certificate("2000-01-01", due));
        let view = View::of(&table.bench, &table.shop, &Following::default());
        let gauge = view.gauges.into_iter().find(|g| g.name == "bore-gauge");
        gauge.unwrap()
    };
    assert!(seen("2001-01-01").calibration_out_of_date);
    let good = seen("9000-01-01");
    assert!(!good.calibration_out_of_date);
    assert_eq!(good.calibration.unwrap().serial.as_deref(), Some("4711-B"));
}

/// An event as a journal of an older version holds it.
#[test]
fn an_old_journal_says_nothing_of_calibrations() {
    let old = r#"{"schema":"borewright.feed/1","kind":"gauge_opened","seq":1,"at":"2026-01-02T03:04:05Z",
        "job":null,"phase":null,"gauge":"bore-gauge","port":"/dev/ttyUSB0"}"#;
    let event: Event = serde_json::from_str(old).unwrap();
    assert!(matches!(
        event.body,
        Body::GaugeOpened {
            calibration: None,
            ..
        }
    ));
}
