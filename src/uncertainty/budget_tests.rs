//! Budgets against the examples of the Guide.

use super::{Budget, Distribution, Input};

/// JCGM 100:2008, H.1: an end gauge calibrated by comparison. u_c = 32 nm, ν_eff = 16.7 cut down
/// to 16, U99 = 93 nm as printed; 31.7 and 92.6 from inputs that aren't rounded on the way.
#[test]
fn the_end_gauge_of_h1() {
    let length = 50.000_623e6;
    let budget = Budget::of_model(
        "end gauge, nm",
        vec![
            Input::normal("standard", length, 25.0, 18.0),
            Input::normal("difference", 215.0, 9.7, 25.6),
            Input::within("δα", 0.0, 1e-6, Distribution::Rectangular).known_to(50.0),
            Input::within("δθ", 0.0, 0.05, Distribution::Rectangular).known_to(2.0),
            Input::within("α", 11.5e-6, 2e-6, Distribution::Rectangular),
            Input::normal("θ", -0.1, 0.41, f64::INFINITY),
        ],
        |x| x[0] + x[1] - x[0] * (x[2] * x[5] + x[4] * x[3]),
    );
    assert!((budget.value - 50.000_838e6).abs() < 0.5);
    assert!((budget.combined() - 31.7).abs() < 0.05);
    assert_eq!(budget.degrees().floor(), 16.0);
    assert!((budget.expanded(0.99).unwrap() - 92.6).abs() < 0.15);
    let contributions: Vec<f64> = budget.inputs.iter().map(Input::contribution).collect();
    for (actual, printed) in contributions.iter().zip([25.0, 9.7, 2.9, 16.6, 0.0, 0.0]) {
        assert!((actual - printed).abs() < 0.06, "{actual} {printed}");
    }
    assert_eq!(budget.dominant().unwrap().name, "standard");
}

/// JCGM 100:2008, H.2: resistance, reactance and impedance from correlated readings. Table H.2 as
/// several public programs carry it, with results to the printed digits (X: 0.295 there, 0.2956
/// before rounding); to all digits against numpy, by both of the Guide's approaches, and a library of
/// uncertain numbers (`tests/reference/gum_h2.py`).
#[test]
fn the_correlated_readings_of_h2() {
    let volts = [5.007, 4.994, 5.005, 4.990, 4.999];
    let amperes = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3];
    let radians = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
    let mean = |values: &[f64; 5]| values.iter().sum::<f64>() / 5.0;
    let covariance = |a: &[f64; 5], b: &[f64; 5]| {
        let (ma, mb) = (mean(a), mean(b));
        a.iter()
            .zip(b)
            .map(|(x, y)| (x - ma) * (y - mb))
            .sum::<f64>()
            / 20.0
    };
    let input = |name: &str, values: &[f64; 5]| {
        Input::normal(name, mean(values), covariance(values, values).sqrt(), 4.0)
    };
    let correlation = |a: &[f64; 5], b: &[f64; 5]| {
        covariance(a, b) / (covariance(a, a) * covariance(b, b)).sqrt()
    };
    let budget = |name: &str, model: fn(&[f64]) -> f64| {
        Budget::of_model(
            name,
            vec![
                input("V", &volts),
                input("I", &amperes),
                input("φ", &radians),
            ],
            model,
        )
        .correlated(0, 1, correlation(&volts, &amperes))
        .correlated(0, 2, correlation(&volts, &radians))
        .correlated(1, 2, correlation(&amperes, &radians))
    };
    let r = budget("R", |x| x[0] / x[1] * x[2].cos());
    let x = budget("X", |x| x[0] / x[1] * x[2].sin());
    let z = budget("Z", |x| x[0] / x[1]);
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/gum_h2.json");
    let computed = std::fs::read_to_string(path).unwrap();
    let computed: serde_json::Value = serde_json::from_str(&computed).unwrap();
    let near = |actual: f64, expected: &serde_json::Value| {
        let expected = expected.as_f64().unwrap();
        assert!(
            (actual / expected - 1.0).abs() < 1e-6,
            "{actual} {expected}"
        );
    };
    for (at, (result, value, standard)) in [
        (&r, 127.732, 0.071),
        (&x, 219.847, 0.295),
        (&z, 254.260, 0.236),
    ]
    .into_iter()
    .enumerate()
    {
        assert!((result.value - value).abs() < 5e-4);
        assert!((result.combined() - standard).abs() < 1e-3);
        near(result.value, &computed["values"][at]);
        near(result.combined(), &computed["standard"][at]);
    }
    let between = |a: &Budget, b: &Budget| a.covariance_with(b) / (a.combined() * b.combined());
    for (at, (a, b, printed)) in [(&r, &x, -0.588), (&r, &z, -0.485), (&x, &z, 0.993)]
        .into_iter()
        .enumerate()
    {
        assert!((between(a, b) - printed).abs() < 5.1e-4);
        near(between(a, b), &computed["correlations"][at]);
    }
}

/// JCGM 100:2008, H.3.4: the correction of a thermometer at 30 °C from a line whose coefficients
/// are correlated, from its printed numbers to its printed digits; without the correlation it would
/// be 0.0073 (by hand). The line itself is fitted in `bore::axial::line`.
#[test]
fn the_correlated_line_of_h3() {
    let inputs = vec![
        Input::normal("y1", -0.1712, 0.0029, 9.0),
        Input::normal("y2", 0.00218, 0.00067, 9.0),
    ];
    let line = |x: &[f64]| x[0] + x[1] * (30.0 - 20.0);
    let alone = Budget::of_model("b(30 °C)", inputs, line);
    assert!((alone.combined() - 0.0073).abs() < 5e-5);
    let budget = alone.correlated(0, 1, -0.930);
    assert!((budget.value + 0.1494).abs() < 5e-5);
    assert!((budget.combined() - 0.0041).abs() < 5e-5);
}

/// A bore on a ring: repeatability 0.8 µm of 4 degrees of freedom, ring 1.5 µm (k = 2), digit step
/// 1 µm, 42 mm of aluminium within 0.5 K. Computed with scipy 1.17.
#[test]
fn a_bore_on_a_setting_ring() {
    let budget = Budget::new(
        "mean diameter",
        42.0,
        vec![
            Input::normal("repeatability", 0.0, 0.8, 4.0),
            Input::within("ring", 42.0, 1.5, Distribution::Normal),
            Input::digit("digit step", 0.0, 1.0),
            Input::within("temperature", 0.0, 0.5, Distribution::Rectangular)
                .times(42_000.0 * 23.6e-6),
        ],
    );
    assert!((budget.combined() - 1.169_489_83).abs() < 1e-8);
    assert!((budget.degrees() - 18.2678).abs() < 1e-4);
    assert!((budget.expanded(0.95).unwrap() - 2.457_006_95).abs() < 1e-7);
    let shares = budget.shares();
    assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
}
