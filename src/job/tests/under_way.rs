//! A section while it is gauged, and once it is whole.

use super::*;

fn only(table: &Table) -> SectionNumbers {
    let mut sections = table.numbers.sections(Phase::AsFound);
    sections.next().unwrap().clone()
}

/// What waits for the whole section says so, comes with its last station, and a restart in between
/// shows what was shown.
#[test]
fn what_needs_the_whole_section_waits_for_its_last_station() {
    let mut table = Table::with_job();
    for (count, mm) in [45.90, 45.95, 46.00].into_iter().enumerate() {
        table.send("bore-gauge", mm);
        let section = only(&table);
        assert!(section.under_way);
        assert_eq!(section.numbers.readings, count + 1);
        let why = section.numbers.why_withheld("suspect").unwrap();
        assert!(why.contains("every station"), "{why}");
        assert_eq!(table.numbers.bores(Phase::AsFound).count(), 0);
        let after_a_restart = Numbers::of(table.bench.job().unwrap());
        assert_eq!(after_a_restart, table.numbers);
    }
    assert!((only(&table).numbers.out_of_round_mm.unwrap() - 0.1).abs() < 1e-9);
    table.send("bore-gauge", 45.95);
    assert!(!only(&table).under_way);
    assert_eq!(table.numbers.bores(Phase::AsFound).count(), 1);
}

/// After anything but one more reading the section is computed as though nothing more came.
#[test]
fn an_undo_computes_the_section_as_it_stands() {
    let mut table = Table::with_job();
    for mm in [45.90, 45.95, 46.00] {
        table.send("bore-gauge", mm);
    }
    table.ask(Command::Undo {}).unwrap();
    assert!(!only(&table).under_way);
    table.send("bore-gauge", 46.00);
    assert!(only(&table).under_way);
    let record = Numbers::whole(table.bench.job().unwrap());
    let kept = record.sections(Phase::AsFound).next().unwrap();
    assert!(!kept.under_way, "a record keeps whole numbers");
    let (kept, so_far) = (&kept.numbers, only(&table).numbers);
    let largest = |of: &crate::bore::Section| of.largest_mm.unwrap();
    let apart = largest(kept) - largest(&so_far);
    assert!(apart.abs() < 1e-9, "{apart}");
    // 0°, 45° and 90°: of the other half nothing is known.
    assert_eq!(
        (kept.mean_diameter_mm, so_far.mean_diameter_mm),
        (None, None)
    );
}

/// Two commits' events taken in at once give the numbers that each alone gives.
#[test]
fn numbers_of_many_events_at_once_are_those_of_one_at_a_time() {
    let mut table = Table::with_job();
    let mut late = Numbers::of(table.bench.job().unwrap());
    let from = table.events.len();
    for mm in [45.90, 45.95, 46.00, 45.95, 45.96] {
        table.send("bore-gauge", mm);
    }
    table.ask(Command::Undo {}).unwrap();
    table.send("bore-gauge", 45.97);
    table.send("comparator", 0.01);
    late.changed(&table.bench, &table.events[from..]);
    assert_eq!(late, table.numbers);
}
