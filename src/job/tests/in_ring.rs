//! A gauge in a ring while a job is on the bench.

use super::*;

fn begin(table: &mut Table) {
    let gauge = "bore-gauge".into();
    table.ask(Command::BeginRing { gauge }).unwrap();
}

fn set(shown_mm: Option<f64>) -> Command {
    Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm,
        ring_uncertainty_mm: None,
        ring_due: None,
    }
}

fn check(shown_mm: Option<f64>) -> Command {
    Command::CheckRing {
        gauge: "bore-gauge".into(),
        shown_mm,
    }
}

#[test]
fn what_a_gauge_shows_in_a_ring_fills_no_station_and_becomes_the_setting() {
    let mut table = Table::with_job();
    begin(&mut table);
    for mm in [46.001, 46.003] {
        let event = table.send("bore-gauge", mm);
        assert!(matches!(event.body, Body::RingReading { value_mm, .. } if value_mm == mm));
    }
    assert_eq!(table.next(), drive(0.0), "no station is filled");
    let view = View::of(&table.bench, &table.shop, &Following::default());
    let gauge = view.gauges.iter().find(|gauge| gauge.name == "bore-gauge");
    let in_ring = gauge.unwrap().in_ring.clone().unwrap();
    assert_eq!((in_ring.readings, in_ring.newest_mm), (2, Some(46.003)));
    // Another gauge is not in the ring.
    table.send("typed", 45.96);
    assert_eq!(table.next(), drive(45.0));

    let Body::RingSet { shown_mm, .. } = table.ask(set(None)).unwrap().body else {
        panic!()
    };
    assert!((shown_mm - 46.002).abs() < 1e-9, "{shown_mm}");
    assert!(table.bench.in_ring.is_empty());
    let event = table.send("bore-gauge", 45.962).clone();
    let Body::Reading { corrected_mm, .. } = event.body else {
        panic!()
    };
    assert!((corrected_mm.unwrap() - 45.96).abs() < 1e-9);

    // The re-check at the end likewise.
    begin(&mut table);
    table.send("bore-gauge", 46.004);
    let Body::RingChecked { drift_mm, .. } = table.ask(check(None)).unwrap().body else {
        panic!()
    };
    assert!((drift_mm - 0.002).abs() < 1e-9, "{drift_mm}");
    assert!(table.bench.in_ring.is_empty());
}

/// By hand: five readings that scatter by 1 µm have a mean known to 1/√5 µm.
#[test]
fn how_far_the_readings_in_the_ring_scatter_is_in_every_size() {
    let mut table = Table::with_job();
    begin(&mut table);
    for mm in [46.0, 46.002, 46.0, 46.002, 46.001] {
        table.send("bore-gauge", mm);
    }
    table.ask(set(None)).unwrap();
    for mm in [45.961, 45.962, 45.961, 45.962] {
        table.send("bore-gauge", mm);
    }
    let section = table.numbers.sections(Phase::AsFound).next().unwrap();
    let ring = section.numbers.ring_scatter().unwrap();
    assert!((ring.standard - 0.001 / 5.0_f64.sqrt()).abs() < 1e-9);
    assert_eq!(ring.degrees_of_freedom, Some(4.0));
    // The setting's certificate, unstated, its digit, and that.
    let u = section.numbers.uncertainty["mean_diameter_mm"].standard;
    let own = section.numbers.mean_scatter().unwrap().standard;
    let parts = [0.005, 0.001 / 12.0_f64.sqrt(), ring.standard, own];
    let whole: f64 = parts.iter().map(|part| part * part).sum();
    assert!((u - whole.sqrt()).abs() < 1e-9, "{u}");
    assert!(section.verdict.size.why.contains("not stated"));
    // A restart knows it from the event alone.
    let event = table
        .events
        .iter()
        .find(|event| matches!(event.body, Body::RingSet { .. }));
    let Body::RingSet { in_ring, .. } = &event.unwrap().body else {
        panic!()
    };
    let in_ring = in_ring.unwrap();
    assert_eq!(in_ring.readings, 5);
    assert!((in_ring.deviation_mm - 0.001).abs() < 1e-9);
}

#[test]
fn a_ring_is_begun_again_or_left_and_what_is_stated_counts() {
    let mut table = Table::with_job();
    assert!(table.ask(check(None)).is_err(), "never set");
    let gauge = || "bore-gauge".to_owned();
    let cancel = || Command::CancelRing { gauge: gauge() };
    assert!(table.ask(cancel()).unwrap_err().0.contains("no ring"));
    let unknown = Command::BeginRing {
        gauge: "another".into(),
    };
    assert!(table.ask(unknown).is_err());

    begin(&mut table);
    table.send("bore-gauge", 46.0);
    table.send("bore-gauge", 46.05);
    let refused = table.ask(set(None)).unwrap_err().0;
    assert!(refused.contains("0.0500 mm apart"), "{refused}");
    begin(&mut table);
    let Body::RingSet { shown_mm, .. } = table.ask(set(None)).unwrap().body else {
        panic!()
    };
    assert_eq!(shown_mm, 46.0, "nothing was sent since: it shows the ring");
    assert!(table.ask(check(None)).unwrap_err().0.contains("rock it"));
    begin(&mut table);
    table.send("bore-gauge", 46.0);
    let Body::RingSet { shown_mm, .. } = table.ask(set(Some(46.01))).unwrap().body else {
        panic!()
    };
    assert_eq!(shown_mm, 46.01, "what is stated counts");

    begin(&mut table);
    table.ask(cancel()).unwrap();
    table.send("bore-gauge", 45.96);
    assert_eq!(table.next(), drive(45.0));
}

/// A round bore, and a gauge that shows 50 µm too much: two readings before it is set in its ring, four
/// after. What it showed is alike, so the bore is round, of no known size.
#[test]
fn readings_before_and_after_the_setting_make_no_oval_of_it() {
    let mut table = Table::with_job();
    for mm in [46.025, 46.026] {
        table.send("bore-gauge", mm);
    }
    begin(&mut table);
    table.send("bore-gauge", 46.05);
    table.ask(set(None)).unwrap();
    for mm in [46.025, 46.024, 46.025, 46.026] {
        table.send("bore-gauge", mm);
    }
    let section = table.numbers.sections(Phase::AsFound).next().unwrap();
    let out = section.numbers.out_of_round_mm.unwrap();
    assert!((out - 0.002).abs() < 1e-9, "{out}");
    assert!(!section.numbers.size_set);
    let why = &section.verdict.size.why;
    let says = "2 of 4 directions were gauged before the gauge was set: gauge these again";
    assert!(why.contains(says), "{why}");
    let stations = stations(&table);
    assert_eq!(stations[1].value_mm, Some(46.026));
    assert!((stations[2].value_mm.unwrap() - 46.025).abs() < 1e-9);
}

fn stations(table: &Table) -> Vec<StationView> {
    let following = Following::of(&table.bench, &table.shop);
    let view = View::of(&table.bench, &table.shop, &following);
    view.on_bench.unwrap().stations
}

/// A gauge that shows 50 µm too much is set in its ring once a round bore of 45.975 mm is gauged.
fn set_too_late() -> Table {
    let mut table = Table::with_job();
    for _ in 0..8 {
        table.send("bore-gauge", 46.025);
    }
    table.ask(set(Some(46.05))).unwrap();
    table
}

fn has_its_size(table: &Table) {
    let section = table.numbers.sections(Phase::AsFound).next().unwrap();
    assert!(section.numbers.size_set);
    let mean = section.numbers.mean_diameter_mm.unwrap();
    assert!((mean - 45.975).abs() < 1e-9, "{mean}");
    assert_eq!(section.numbers.readings, 4, "those without a ring are kept");
    let kept = Record::so_far(table.bench.job().unwrap(), &table.bench, &table.shop);
    assert_eq!(kept.phases[0].sections[0].verdict, section.verdict);
    let places = &kept.phases[0].stations;
    let of_section = |place: &&RecordedStation| place.station.bore == "drive side";
    let readings = places.iter().filter(of_section).flat_map(|p| &p.readings);
    assert_eq!(readings.filter(|r| r.before_setting).count(), 4);
    for (shown, recorded) in stations(table).iter().zip(places) {
        assert_eq!(shown.value_mm, recorded.value_mm);
    }
    let values = stations(table).into_iter().filter_map(|place| {
        let here = place.station.bore == "drive side";
        here.then_some(place.value_mm?)
    });
    let values: Vec<f64> = values.collect();
    assert_eq!(values.len(), 4);
    assert!(
        values.iter().all(|mm| (mm - mean).abs() < 1e-9),
        "{values:?}"
    );
}

#[test]
fn a_section_gauged_again_once_the_gauge_is_set_has_its_size() {
    let mut table = set_too_late();
    for (count, angle_deg) in [0.0, 45.0, 90.0, 135.0].into_iter().enumerate() {
        if count > 0 {
            let section = table.numbers.sections(Phase::AsFound).next().unwrap();
            assert!(!section.numbers.size_set);
            let why = &section.verdict.size.why;
            let says = format!("{} of 4 directions were gauged before", 4 - count);
            assert!(why.contains(&says), "{why}");
            // All on the scale of what the gauge showed.
            for place in &stations(&table)[..4] {
                assert_eq!(place.value_mm, Some(46.025));
            }
        }
        let (bore, depth_mm) = ("drive side".into(), 6.0);
        let go = Command::GoTo {
            bore,
            depth_mm,
            angle_deg,
        };
        table.ask(go).unwrap();
        table.send("bore-gauge", 46.025);
    }
    has_its_size(&table);
}

/// Reading by reading, and as a restart has it.
#[test]
fn a_second_turn_once_the_gauge_is_set_gives_the_section_its_size() {
    let mut table = set_too_late();
    table.ask(Command::SecondTurn {}).unwrap();
    for _ in 0..4 {
        table.send("bore-gauge", 46.025);
        let again = Numbers::of(table.bench.job().unwrap());
        assert_eq!(again, table.numbers);
    }
    has_its_size(&table);
}
