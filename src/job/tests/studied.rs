//! The gauge's last study stands behind the sections.

use super::*;
use crate::bore::ScatterFrom;

fn study(repeatability_mm: f64) -> GaugeStudy {
    GaugeStudy {
        repeatability_mm,
        degrees_of_freedom: 24.0,
        readings: 25,
        parts: Some(1),
        bias_mm: Some(0.0004),
        reference_mm: Some(46.0),
        studied_at: None,
    }
}

fn set(table: &mut Table, gauge: &str, study: GaugeStudy) {
    let gauge = gauge.to_owned();
    table.ask(Command::SetStudy { gauge, study }).unwrap();
}

/// Four directions leave one degree of freedom; with the study's 24 that is 25, less what the digit
/// step adds for certain. By hand: the residual of ±0.5 µm in turn about mean and oval is 4 x 0.25
/// = 1 µm², so the pooled variance is (1 + 24 x 1)/25 = 1 µm², of the mean of four a quarter.
#[test]
fn a_study_gives_a_sparse_section_its_degrees_of_freedom() {
    let mut table = Table::with_job();
    for mm in [45.9805, 45.9795, 45.9805, 45.9795] {
        table.send("bore-gauge", mm);
    }
    let estimate = |table: &Table| {
        let section = table.numbers.sections(Phase::AsFound).next().unwrap();
        let numbers = &section.numbers;
        (
            numbers.scatter_from,
            numbers.uncertainty["mean_diameter_mm"],
        )
    };
    let (from, alone) = estimate(&table);
    assert_eq!(from, Some(ScatterFrom::Readings));
    assert!(alone.degrees() < 2.0);

    set(&mut table, "bore-gauge", study(0.001));
    let (from, with) = estimate(&table);
    assert_eq!(from, Some(ScatterFrom::ReadingsAndStudy));
    let digit = 1.0 / 12.0;
    assert!((with.standard - 1e-3 * ((1.0_f64 + digit) / 4.0).sqrt()).abs() < 1e-12);
    assert!((with.degrees() - 25.0 * (1.0_f64 + digit).powi(2)).abs() < 1e-6);

    set(&mut table, "comparator", study(0.1));
    assert_eq!(
        estimate(&table).1,
        with,
        "another gauge's study is not asked"
    );

    let job = table.bench.job().unwrap();
    let record = Record::of(job, Moment::now(), 99, &table.bench, &table.shop);
    assert_eq!(record.studies.get("bore-gauge"), Some(&study(0.001)));
    assert_eq!(record.studies.len(), 1);
}

#[test]
fn a_study_stands_for_the_next_job_too_and_until_the_next_study() {
    let mut table = Table::empty();
    set(&mut table, "bore-gauge", study(0.002));
    set(&mut table, "bore-gauge", study(0.001));
    table
        .ask(Command::OpenJob {
            part: "recumbent".into(),
            seat: "pressfit-46".into(),
            plan: PlanKind::Quick,
            material: None,
            wall_mm: None,
            yield_mpa: None,
            finish: None,
            service_c: None,
        })
        .unwrap();
    let job = table.bench.job().unwrap();
    assert_eq!(job.studies["bore-gauge"].repeatability_mm, 0.001);
    let view = View::of(&table.bench, &table.shop, &Following::default());
    let gauge = view.gauges.iter().find(|g| g.name == "bore-gauge").unwrap();
    assert_eq!(gauge.study.unwrap().readings, 25);
}

#[test]
fn what_no_study_found_is_refused() {
    let mut table = Table::with_job();
    for study in [study(f64::NAN), study(-1.0), study(46.0)] {
        let gauge = "bore-gauge".to_owned();
        assert!(table.ask(Command::SetStudy { gauge, study }).is_err());
    }
    let (gauge, study) = ("nobody's".to_owned(), study(0.001));
    assert!(table.ask(Command::SetStudy { gauge, study }).is_err());
}
