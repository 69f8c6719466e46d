//! What readings come to: ring, drift, temperature.

use super::*;

#[test]
fn a_comparator_is_a_difference_until_it_is_set_in_the_ring() {
    let mut table = Table::with_job();
    let event = table.send("comparator", -0.03).clone();
    let Body::Reading {
        corrected_mm,
        deviation_mm,
        ..
    } = event.body
    else {
        panic!()
    };
    assert_eq!((corrected_mm, deviation_mm), (None, Some(0.03)));
    let ring = Command::SetRing {
        gauge: "comparator".into(),
        ring_mm: 46.0,
        shown_mm: None,
        ring_uncertainty_mm: None,
        ring_due: None,
    };
    assert_eq!(table.ask(ring).unwrap().job, None);
    let event = table.send("comparator", 0.04).clone();
    let Body::Reading {
        corrected_mm,
        size_set,
        ..
    } = event.body
    else {
        panic!()
    };
    assert_eq!((corrected_mm, size_set), (Some(45.96), true));
}

#[test]
fn the_numbers_of_an_egged_bore_follow_the_sends() {
    let mut table = Table::with_job();
    let ring = Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: Some(46.0),
        ring_uncertainty_mm: Some(0.001),
        ring_due: None,
    };
    table.ask(ring).unwrap();
    for mm in [45.90, 45.95, 46.00, 45.95] {
        table.send("bore-gauge", mm);
    }
    let section = table.numbers.sections(Phase::AsFound).next().unwrap();
    assert_eq!(section.numbers.stations, 4);
    assert!((section.numbers.out_of_round_mm.unwrap() - 0.1).abs() < 1e-9);
    // Common practice, no source: at 90 degrees to a tight axis lies the long axis.
    let oval = section.numbers.oval.unwrap();
    assert!(
        oval.tight_axis_deg
            .unwrap()
            .min(180.0 - oval.tight_axis_deg.unwrap())
            < 1e-6
    );
    assert!((oval.long_axis_deg.unwrap() - 90.0).abs() < 1e-6);
    assert_eq!(section.verdict.form.decision, Decision::DoesNotConform);
    assert!(section.numbers.unseen_lobes.contains("odd"));
    table.ask(Command::Undo {}).unwrap();
    let section = table.numbers.sections(Phase::AsFound).next().unwrap();
    assert_eq!(section.numbers.stations, 3);
}

#[test]
fn drift_found_at_the_re_check_is_shared_out_by_time() {
    let mut table = Table::with_job();
    let at = |seconds: i64| Moment(jiff::Timestamp::from_second(1_800_000_000 + seconds).unwrap());
    let ring = Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: Some(46.001),
        ring_uncertainty_mm: Some(0.001),
        ring_due: None,
    };
    let fresh = JobId(Uuid::from_u128(9));
    let draft = table
        .bench
        .command(&table.shop, &ring, at(0), fresh)
        .unwrap();
    table.record(draft);
    for (seconds, mm) in [(100, 45.961), (200, 45.962), (300, 45.963), (400, 45.964)] {
        let value = Length::from_mm(mm).unwrap();
        let raw = Raw(Vec::new());
        let draft = table
            .bench
            .reading(&table.shop, "bore-gauge", at(seconds), &raw, value);
        table.record(draft);
    }
    let section = |table: &Table| {
        table
            .numbers
            .sections(Phase::AsFound)
            .next()
            .unwrap()
            .clone()
    };
    let before = section(&table);
    assert!(!before.revised);
    // 45.960, 45.961, 45.962, 45.963 by the ring: a gauge that drifts 0.004 mm in 400 s.
    assert!((before.numbers.mean_diameter_mm.unwrap() - 45.9615).abs() < 1e-9);
    let check = Command::CheckRing {
        gauge: "bore-gauge".into(),
        shown_mm: Some(46.005),
    };
    let draft = table
        .bench
        .command(&table.shop, &check, at(400), fresh)
        .unwrap();
    table.record(draft);
    let after = section(&table);
    assert!(after.revised);
    assert!((after.numbers.mean_diameter_mm.unwrap() - 45.959).abs() < 1e-9);
    assert!(
        after.numbers.out_of_round_mm.unwrap() < 1e-9,
        "it was the gauge"
    );
    let u = |section: &SectionNumbers| section.numbers.uncertainty["mean_diameter_mm"].standard;
    assert!(
        u(&after) > 0.001,
        "the course of the drift is not known: {}",
        u(&after)
    );
}

/// By hand, a second a step: set at 46.000, four readings of 45.980 by a gauge that has drifted 10 µm
/// five seconds on, so 45.978, 45.976, 45.974 and 45.972; then set again at the 46.010 that it shows, and
/// 45.980 is 45.970 without drift. What comes later changes none of it.
#[test]
fn each_reading_has_the_drift_of_its_own_setting() {
    let mut table = Table::with_job();
    let command = |table: &mut Table, second: i64, json: &str| {
        let command = serde_json::from_str(json).unwrap();
        let at = Moment(jiff::Timestamp::from_second(1_800_000_000 + second).unwrap());
        let fresh = JobId(Uuid::from_u128(9));
        let draft = table.bench.command(&table.shop, &command, at, fresh);
        table.record(draft.unwrap());
    };
    let send = |table: &mut Table, second: i64| {
        let at = Moment(jiff::Timestamp::from_second(1_800_000_000 + second).unwrap());
        let (value, raw) = (Length::from_mm(45.98).unwrap(), Raw(Vec::new()));
        let draft = table
            .bench
            .reading(&table.shop, "bore-gauge", at, &raw, value);
        table.record(draft);
    };
    let sizes = |table: &Table| -> Vec<f64> {
        let job = table.bench.job().unwrap();
        let places = job.work[&Phase::AsFound].places.iter();
        let sizes = places.flat_map(|place| &place.readings);
        sizes.map(|taken| job.size_mm(taken).unwrap()).collect()
    };
    let near = |found: &[f64], expected: &[f64]| {
        let off = found.iter().zip(expected).map(|(a, b)| (a - b).abs());
        assert!(
            found.len() == expected.len() && off.fold(0.0, f64::max) < 1e-9,
            "{found:?}, expected {expected:?}"
        );
    };
    let set = |mm: f64| {
        format!(
            r#"{{"command": "set_ring", "gauge": "bore-gauge", "ring_mm": 46, "shown_mm": {mm}, "ring_uncertainty_mm": 0.001}}"#
        )
    };
    let check = |mm: f64| {
        format!(r#"{{"command": "check_ring", "gauge": "bore-gauge", "shown_mm": {mm}}}"#)
    };
    command(&mut table, 0, &set(46.0));
    for second in 1..=4 {
        send(&mut table, second);
    }
    command(&mut table, 5, &check(46.01));
    let first = [45.978, 45.976, 45.974, 45.972];
    near(&sizes(&table), &first);
    command(&mut table, 6, &set(46.01));
    send(&mut table, 7);
    send(&mut table, 8);
    command(&mut table, 9, &check(46.01));
    near(&sizes(&table), &[&first[..], &[45.97, 45.97]].concat());
    // A further re-check of the same setting: what lies before the first stays.
    command(&mut table, 10, &check(46.012));
    command(&mut table, 11, &check(46.01));
    send(&mut table, 12);
    near(
        &sizes(&table),
        &[&first[..], &[45.97, 45.97, 45.97]].concat(),
    );

    let job = table.bench.job().unwrap();
    let record = Record::so_far(job, &table.bench, &table.shop);
    let checks = record.checks["bore-gauge"].iter();
    let drifts: Vec<f64> = checks.map(|check| check.drift_mm).collect();
    near(&drifts, &[0.01, 0.0, 0.002, 0.0]);
    near(&[record.drift_mm["bore-gauge"]], &[0.0]);
    // Records of before hold the newest alone.
    let mut older = serde_json::to_value(&record).unwrap();
    older.as_object_mut().unwrap().remove("checks");
    let older: Record = serde_json::from_value(older).unwrap();
    assert!(older.checks.is_empty() && older.drift_mm == record.drift_mm);
}

/// By hand: two re-checks of one setting. Between the second and third visit the drift goes from 10 µm
/// to 12 µm: 11 µm half way.
#[test]
fn a_second_re_check_shares_out_what_came_after_the_first() {
    let checks = [(100, 0.010), (200, 0.012)].map(|(second, drift_mm)| {
        let at = |second| Moment(jiff::Timestamp::from_second(second).unwrap());
        Check {
            at: at(second),
            set_at: at(0),
            drift_mm,
            in_ring: None,
        }
    });
    let mut table = Table::with_job();
    let at = |second| Moment(jiff::Timestamp::from_second(second).unwrap());
    let set = Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: None,
        ring_uncertainty_mm: Some(0.001),
        ring_due: None,
    };
    let draft = table
        .bench
        .command(&table.shop, &set, at(0), JobId(Uuid::nil()));
    table.record(draft.unwrap());
    for second in [50, 100, 150, 300] {
        let (value, raw) = (Length::from_mm(45.98).unwrap(), Raw(Vec::new()));
        let draft = table
            .bench
            .reading(&table.shop, "bore-gauge", at(second), &raw, value);
        table.record(draft);
    }
    let id = table.bench.on_bench.unwrap();
    let job = table.bench.jobs.get_mut(&id).unwrap();
    job.checks.insert("bore-gauge".to_owned(), checks.to_vec());
    let taken = job.work[&Phase::AsFound]
        .places
        .iter()
        .flat_map(|place| &place.readings);
    let found: Vec<(f64, f64)> = taken
        .map(|taken| (job.drift_mm(taken), job.in_ring(taken).unwrap().share))
        .collect();
    // Half way between two readings in the ring half the variance of one.
    let expected = [(0.005, 0.5), (0.010, 1.0), (0.011, 0.5), (0.012, 1.0)];
    for ((drift, share), expected) in found.iter().zip(expected) {
        let off = (drift - expected.0).abs().max((share - expected.1).abs());
        assert!(off < 1e-12, "{found:?}");
    }
}

/// Three depths of six directions, 10 s apart, then the re-check of a gauge that was set at 0 s.
fn gauged_then_checked(sizes: [f64; 3], drift_mm: f64) -> NamedBore {
    let mut table = Table::empty();
    let at = |seconds: i64| Moment(jiff::Timestamp::from_second(1_800_000_000 + seconds).unwrap());
    let ask = |table: &mut Table, seconds: i64, command: &str| {
        let command: Command = serde_json::from_str(command).unwrap();
        let job = JobId(Uuid::from_u128(9));
        let draft = table.bench.command(&table.shop, &command, at(seconds), job);
        table.record(draft.unwrap());
    };
    let ring = r#"{"command": "set_ring", "gauge": "bore-gauge", "ring_mm": 46, "shown_mm": 46}"#;
    ask(&mut table, 0, ring);
    let open =
        r#"{"command": "open_job", "part": "a shell", "seat": "pressfit-46", "plan": "standard"}"#;
    ask(&mut table, 0, open);
    let readings = sizes.iter().flat_map(|mm| [mm - 1e-4, mm + 1e-4].repeat(3));
    for (seconds, mm) in (10..).step_by(10).zip(readings) {
        let (raw, value) = (Raw(Vec::new()), Length::from_mm(mm).unwrap());
        let draft = table
            .bench
            .reading(&table.shop, "bore-gauge", at(seconds), &raw, value);
        table.record(draft);
    }
    let check = format!(
        r#"{{"command": "check_ring", "gauge": "bore-gauge", "shown_mm": {}}}"#,
        46.0 + drift_mm
    );
    ask(&mut table, 180, &check);
    table.numbers.bores(Phase::AsFound).next().unwrap().clone()
}

/// A bore without taper, and a gauge that was knocked after the last reading: all the taper there is
/// is what the even drift took out. A gauge that jumped between the first and the last reading would
/// have moved the ends by all of the 0.012 × 170/180 mm between them: a rectangle of that half-width over
/// the 7 mm, by hand.
#[test]
fn a_drift_of_unknown_course_is_no_taper() {
    let within = |bore: &NamedBore, field: &str, value: Option<f64>| {
        (value.unwrap(), bore.numbers.uncertainty[field])
    };
    let still = gauged_then_checked([45.96; 3], 0.0);
    let knocked = gauged_then_checked([45.96; 3], 0.012);
    let field = "taper_mm_per_mm";
    let of = |bore: &NamedBore| within(bore, field, bore.numbers.taper_mm_per_mm);
    let (taper, known) = of(&knocked);
    assert!(
        (taper * 7.0 + 0.012 * 120.0 / 180.0).abs() < 1e-9,
        "{taper}"
    );
    let by_hand = 0.012 * 170.0 / 180.0 / 3.0_f64.sqrt() / 7.0;
    let beside_scatter = known.standard / by_hand;
    assert!((1.0..1.01).contains(&beside_scatter), "{known:?}");
    assert!(known.expanded > taper.abs(), "{taper} {known:?}");
    for (field, value) in [
        ("barrel_mm", knocked.numbers.barrel_mm),
        ("bell_mouth_mm", knocked.numbers.bell_mouth_mm),
    ] {
        let (value, known) = within(&knocked, field, value);
        let (_, own) = within(&still, field, Some(0.0));
        assert!(known.expanded > value.abs() + 0.004, "{field} {known:?}");
        // Three depths that share their rounding within, not among them: 1 µm / √12 of each.
        assert!(own.standard < 0.000_8, "{field} {own:?}");
    }
    // A taper that no drift explains stays one.
    let tapered = gauged_then_checked([45.96, 45.98, 46.0], 0.002);
    let (taper, known) = of(&tapered);
    assert!(taper > known.expanded, "{taper} {known:?}");
}

/// ISO 1 by hand from D20 = [46 (1 + 11.5e-6 ΔTr) + d] / (1 + 23.6e-6 ΔTp): ring and part at 26 °C,
/// 45.963 shown by a gauge set to 46.000: d = −0.037, so D20 = [46.003174 − 0.037] / 1.0001416 = 45.95966 mm.
#[test]
fn sizes_are_given_at_20_c_once_material_and_temperatures_are_known() {
    let mut table = Table::empty();
    let ring = Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: None,
        ring_uncertainty_mm: None,
        ring_due: None,
    };
    table.ask(ring).unwrap();
    table
        .ask(Command::OpenJob {
            part: "an aluminium shell".into(),
            seat: "pressfit-46".into(),
            plan: PlanKind::Quick,
            material: Some(crate::fit::Material::Aluminium),
            wall_mm: None,
            yield_mpa: None,
            finish: None,
            service_c: None,
        })
        .unwrap();
    for _ in 0..4 {
        table.send("bore-gauge", 45.963);
    }
    let mean = |table: &Table| {
        let section = table.numbers.sections(Phase::AsFound).next().unwrap();
        (
            section.numbers.mean_diameter_mm.unwrap(),
            section.numbers.uncertainty["mean_diameter_mm"].standard,
        )
    };
    let (warm, warm_u) = mean(&table);
    assert!((warm - 45.963).abs() < 1e-9);
    table
        .ask(Command::SetTemperature {
            part_c: 26.0,
            ring_c: None,
            within_k: 1.0,
        })
        .unwrap();
    let expected = (46.0 * (1.0 + 11.5e-6 * 6.0) - 0.037) / (1.0 + 23.6e-6 * 6.0);
    let (at_20, at_20_u) = mean(&table);
    assert!(
        (at_20 - expected).abs() < 1e-9,
        "{at_20}, expected {expected}"
    );
    assert!(
        at_20_u > warm_u,
        "a temperature known to 1 K adds to the uncertainty"
    );
    let outside = Command::SetTemperature {
        part_c: 80.0,
        ring_c: None,
        within_k: 1.0,
    };
    assert!(table.ask(outside).unwrap_err().0.contains("°C"));
}

/// By hand: means of 45.90, 45.96 and 45.98 at 2.5, 6.0 and 9.5 mm pass the lower limit of 45.95 at
/// 5/6 of the way to the second, so 3.5/6 mm of that and all 3.5 mm behind it are a seat.
#[test]
fn a_bore_says_how_long_it_is_a_seat_and_where_its_waist_is() {
    let gauged = |set: bool| {
        let mut table = Table::empty();
        let ring = Command::SetRing {
            gauge: "bore-gauge".into(),
            ring_mm: 46.0,
            shown_mm: None,
            ring_uncertainty_mm: None,
            ring_due: None,
        };
        if set {
            table.ask(ring).unwrap();
        }
        let open = r#"{"command": "open_job", "part": "a shell", "seat": "pressfit-46", "plan": "standard"}"#;
        table.ask(serde_json::from_str(open).unwrap()).unwrap();
        let mut bores = Vec::new();
        for mean in [45.90, 45.96, 45.98] {
            for _ in 0..6 {
                table.send("bore-gauge", mean);
            }
            bores.extend(table.numbers.bores(Phase::AsFound).next().cloned());
        }
        bores
    };
    let bores = gauged(true);
    let why = |bore: &NamedBore| {
        let mut withheld = bore.numbers.withheld.iter();
        let found = withheld.find(|withheld| withheld.field == "straight_length_mm");
        found.map(|withheld| withheld.why.clone())
    };
    assert_eq!(bores[0].straight_length_mm, None);
    assert!(why(&bores[0]).unwrap().contains("two depths"));
    let length = bores[2].straight_length_mm.unwrap();
    assert!((length - (3.5 + 3.5 / 6.0)).abs() < 1e-9, "{length}");
    assert_eq!(why(&bores[2]), None);
    let waist = bores[2].numbers.waist.unwrap();
    assert_eq!(waist.depth_mm, 2.5);
    assert!((waist.diameter_mm - 45.90).abs() < 1e-9);
    assert!(
        bores[2]
            .numbers
            .uncertainty
            .contains_key("waist.diameter_mm")
    );
    let object = serde_json::to_value(&bores[2]).unwrap();
    assert!(object["straight_length_mm"].is_number() && object["waist"]["depth_mm"] == 2.5);
    // Without a ring no limit says anything.
    let bores = gauged(false);
    assert_eq!(bores[2].straight_length_mm, None);
    assert!(why(&bores[2]).unwrap().contains("setting ring"));
}
