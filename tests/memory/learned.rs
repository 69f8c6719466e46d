//! What the jobs teach together.

use borewright::job::Body;
use borewright::memory::{Lessons, Records, Shelf};

use super::support::{Invented, REAMER, SEAT};

fn lessons(bench: &Invented) -> Lessons {
    let records = Records::read(bench.path()).unwrap();
    Lessons::of(records.entries().iter().map(|entry| &**entry))
}

#[test]
fn out_of_round_by_seat_counts_each_bore_once_a_job_and_says_nothing_of_two() {
    let bench = Invented::new();
    bench.set_ring();
    bench.job("first", SEAT, 45.98, 0.020);
    let seats = lessons(&bench).seats;
    assert_eq!(
        (seats.len(), seats[0].jobs, seats[0].bores.len()),
        (1, 1, 2)
    );
    assert_eq!(seats[0].together, None, "two bores say nothing together");

    bench.job("second", SEAT, 45.98, 0.040);
    bench.job("another seat", "pressfit-41-92", 40.98, 0.010);
    let seats = lessons(&bench).seats;
    assert_eq!(seats.len(), 2);
    let seat = seats.iter().find(|seat| seat.seat == SEAT).unwrap();
    assert_eq!((seat.jobs, seat.bores.len()), (2, 4));
    let together = seat.together.unwrap();
    // Six directions 30 degrees apart, the first on the long axis, see the oval whole.
    assert!((together.median_mm - 0.030).abs() < 1e-9, "{together:?}");
    assert!((together.largest_mm - 0.040).abs() < 1e-9, "{together:?}");
}

/// Two bores a job, cuts of +4, +6 and +8 µm. By hand: mean 6 µm, s = √(16/5) = 1.789 µm, and with
/// t = 2.571 for 5 degrees of freedom (JCGM 100:2008, table G.2) the mean is known to ±1.877 µm.
#[test]
fn a_reamers_cut_comes_with_count_mean_and_interval() {
    let bench = Invented::new();
    bench.set_ring();
    for over_um in [4.0, 6.0, 8.0] {
        bench.reamed_job("reamed", over_um / 1e3);
    }
    let [reamer] = lessons(&bench).reamers.try_into().unwrap();
    assert_eq!((&*reamer.reamer, reamer.bores.len()), (REAMER, 6));
    let together = reamer.together.unwrap();
    // The ring correction of 2 µm is in each reading, so it is in each cut.
    let expected = [
        (together.mean_mm, 0.004),
        (together.standard_deviation_mm, 0.001_789),
        (together.upper_mm - together.lower_mm, 2.0 * 0.001_877),
    ];
    for (actual, expected) in expected {
        assert!((actual - expected).abs() < 1e-4, "{actual}, {expected}");
    }
}

/// What the daemon plans by after a restart.
#[test]
fn only_closed_jobs_tell_what_a_reamer_cut() {
    let bench = Invented::new();
    bench.set_ring();
    let closed = bench.reamed_job("closed", 0.004);
    bench.job("not reamed", SEAT, 45.98, 0.004);
    bench.open_reamed("open", 0.006);
    bench.state();
    let (cuts, troubles) = Shelf::new(bench.path()).learned_cuts().unwrap();
    let [(job, cuts)] = cuts.try_into().unwrap();
    assert_eq!(troubles, []);
    assert_eq!((job, cuts.len()), (closed, 2), "{cuts:?}");
    for cut in cuts {
        // The gauge shows its ring 0.002 mm too large, and so the bores.
        assert!((cut.cut_mm - 0.002).abs() < 1e-6, "{cut:?}");
    }
}

#[test]
fn a_gauges_drift_is_that_of_each_jobs_recheck_and_a_setting_counts_once() {
    let bench = Invented::new();
    for shown in [46.003, 46.002, 46.004] {
        bench.set_ring();
        bench.open_job("frame", SEAT);
        bench.gauge_all(45.98, 0.004);
        bench.check_ring(shown);
        bench.ask(borewright::job::Command::CloseJob {});
        bench.state();
    }
    bench.job("with the last setting", SEAT, 45.98, 0.004);
    let [gauge] = lessons(&bench).gauges.try_into().unwrap();
    let drifts: Vec<f64> = gauge.checks.iter().map(|v| v.value_mm * 1e3).collect();
    for (drift, expected) in drifts.iter().zip([1.0, 0.0, 2.0]) {
        assert!((drift - expected).abs() < 1e-9, "{drifts:?}");
    }
    assert!((gauge.together.unwrap().mean_mm - 0.001).abs() < 1e-9);
    // Each stands at the moment of its event; in records that don't hold it, at the job's closing.
    let records = Records::read(bench.path()).unwrap();
    for check in &gauge.checks {
        let mut entries = records.entries().iter();
        let entry = entries.find(|entry| entry.job == check.job).unwrap();
        let (events, _) = records.events(entry).unwrap();
        let mut events = events.iter();
        let event = events.find(|event| matches!(event.body, Body::RingChecked { .. }));
        assert_eq!(check.at, event.unwrap().at);
        let mut older = (**entry).clone();
        older.checked_at.clear();
        let older = Lessons::of([&older]).gauges.remove(0);
        assert_eq!(Some(older.checks[0].at), entry.closed_at);
    }
    assert_eq!(
        gauge.settings.len(),
        3,
        "the fourth job was done with the third setting"
    );
    assert!((gauge.settings[0].value_mm - 0.002).abs() < 1e-9);
}

/// A swept gauge shows half of its ring, and a comparator how far it is from its zero: neither is 23 mm
/// nor 46 mm off. Every setting of a job counts.
#[test]
fn what_a_gauge_showed_in_its_ring_is_told_by_how_it_reads() {
    let bench = Invented::new();
    bench.set_ring();
    bench.open_job("set twice", SEAT);
    bench.send(45.98);
    bench.set_ring();
    bench.gauge_all(45.98, 0.004);
    bench.ask(borewright::job::Command::CloseJob {});
    bench.state();
    let records = Records::read(bench.path()).unwrap();
    let entry = &*records.entries()[0];
    let told = |entry: &borewright::memory::Entry| -> Vec<f64> {
        let lessons = Lessons::of([entry]).gauges;
        let settings = lessons.iter().flat_map(|gauge| &gauge.settings);
        settings
            .map(|value| (value.value_mm * 1e4).round() / 10.0)
            .collect()
    };
    assert_eq!(told(entry), [2.0, 2.0]);
    let mut swept = entry.clone();
    swept.contact = Some(borewright::bore::Contact::Radius);
    for setting in swept.settings.values_mut().flatten() {
        setting.shown_mm = 23.001;
    }
    assert_eq!(told(&swept), [2.0, 2.0]);
    let mut comparator = entry.clone();
    for setting in comparator.settings.values_mut().flatten() {
        setting.shown_mm = 0.000_2;
    }
    assert_eq!(told(&comparator), [0.0; 0]);
}
