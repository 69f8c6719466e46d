//! A wild reading is named, and the mechanic leaves it out.

use super::*;

/// Eight directions of one section, the fifth 30 µm off; numbers of a fit as in the tests of the
/// geometry.
fn gauged() -> Table {
    let mut table = Table::with_job();
    let noise = [0.3, -0.5, 0.8, -0.2, 0.1, 0.6, -0.7, 0.4];
    for (place, noise) in (0..8).zip(noise) {
        let angle_deg = f64::from(place) * 22.5;
        table
            .ask(Command::GoTo {
                bore: "drive side".into(),
                depth_mm: 6.0,
                angle_deg,
            })
            .unwrap();
        let wild = if place == 4 { 0.030 } else { 0.0 };
        let oval = 0.01 * (2.0 * angle_deg.to_radians()).cos();
        table.send("bore-gauge", 45.98 + oval + wild + noise / 1e3);
    }
    table
}

fn section(table: &Table) -> &SectionNumbers {
    let mut sections = table.numbers.sections(Phase::AsFound);
    sections.find(|s| s.numbers.depth_mm == 6.0).unwrap()
}

#[test]
fn a_contradicted_reading_is_left_out_by_its_number_and_brought_back_by_undo() {
    let mut table = gauged();
    let found = section(&table);
    let suspect = found.numbers.suspect.unwrap();
    assert_eq!(suspect.angle_deg, 90.0);
    let seq = found.suspect_seq.unwrap();
    assert!(matches!(
        &table.events[usize::try_from(seq).unwrap() - 1].body,
        Body::Reading { station: Some(station), .. } if station.angle_deg == 90.0
    ));
    let (before, next) = (found.numbers.clone(), table.next());

    table.ask(Command::DropReading { seq }).unwrap();
    assert_eq!(table.next(), drive(90.0), "its station is to do again");
    let left = &section(&table).numbers;
    assert_eq!((left.readings, left.suspect), (7, None));
    assert_eq!(left.mean_diameter_mm, suspect.without.mean_diameter_mm);
    let refused = table.ask(Command::DropReading { seq }).unwrap_err();
    assert!(refused.0.contains("left out already"), "{refused}");

    let job = table.bench.job().unwrap();
    let record = Record::of(job, Moment::now(), 99, &table.bench, &table.shop);
    let stations = &record.phases[0].stations;
    let dropped: Vec<u64> = stations
        .iter()
        .flat_map(|station| station.dropped.iter().map(|reading| reading.seq))
        .collect();
    assert_eq!(dropped, [seq], "the record keeps what was left out");

    table.ask(Command::Undo {}).unwrap();
    assert_eq!(section(&table).numbers, before);
    assert_eq!(table.next(), next);
}

#[test]
fn only_a_reading_that_counts_can_be_left_out() {
    let mut table = Table::with_job();
    table.send("bore-gauge", 45.96);
    for seq in [0, 1, 7] {
        assert!(table.ask(Command::DropReading { seq }).is_err(), "{seq}");
    }
    table.ask(Command::DropReading { seq: 2 }).unwrap();
    assert_eq!(table.next(), drive(0.0));
}
