//! Studies against published ones.

use super::{Factors, Reference, Trial, crossed, deviation, short};

fn fixture(name: &str) -> String {
    let path = format!("{}/fixtures/study/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

fn published() -> Vec<Trial> {
    fixture("grr_10x3x3.csv")
        .lines()
        .skip(1)
        .map(|line| {
            let fields: Vec<&str> = line.split(',').collect();
            Trial {
                operator: fields[0].to_owned(),
                part: fields[2].to_owned(),
                value_mm: fields[3].parse().unwrap(),
            }
        })
        .collect()
}

/// MSA manual, 4th edition, the example of 10 parts, 3 appraisers, 3 trials, average and range
/// method, as printed: EV 0.20188, AV 0.22963, GRR 0.30575, PV 1.10456, TV 1.14610, ndc 5.
#[test]
fn the_published_study_by_average_and_range() {
    let study = crossed(&published(), Some(6.0)).unwrap();
    assert_eq!((study.parts, study.operators, study.trials), (10, 3, 3));
    let result = study.average_range.unwrap();
    for (actual, printed) in [
        (result.method.ev_mm, 0.20188),
        (result.method.av_mm, 0.22963),
        (result.method.grr_mm, 0.30575),
        (result.method.pv_mm, 1.10456),
        (result.method.tv_mm, 1.14610),
        (result.mean_range_mm, 0.341_67),
        (result.operator_difference_mm, 0.444_67),
        (result.part_range_mm, 3.511_11),
    ] {
        assert!((actual - printed).abs() < 1e-4, "{actual} {printed}");
    }
    assert_eq!(result.method.ndc, Some(5));
    assert!((result.method.grr_percent.unwrap() - 26.68).abs() < 0.01);
    let of_tolerance = result.method.grr_of_tolerance_percent.unwrap();
    assert!((of_tolerance - 100.0 * result.method.grr_mm).abs() < 1e-9);
}

/// The same study by analysis of variance: numpy's projections and the linear models of statsmodels,
/// which agree (`tests/reference/anova.py`); and the manual's table (from memory). The interaction is
/// pooled, and the gauge tells 4 categories apart where the ranges say 5.
#[test]
fn the_published_study_by_analysis_of_variance() {
    let expected: serde_json::Value = serde_json::from_str(&fixture("anova.json")).unwrap();
    let result = crossed(&published(), None).unwrap().anova;
    for (name, source) in [
        ("parts", result.parts),
        ("operators", result.operators),
        ("interaction", result.interaction),
        ("repeatability", result.repeatability),
    ] {
        let squares = expected["squares_mm2"][name].as_f64().unwrap();
        assert!((source.squares_mm2 - squares).abs() < 1e-10, "{name}");
        assert_eq!(
            expected["degrees_of_freedom"][name],
            source.degrees_of_freedom
        );
    }
    assert!(result.pooled);
    let p = expected["interaction_p"].as_f64().unwrap();
    assert!((result.interaction_p.unwrap() - p).abs() < 1e-9);
    let of = &result.method;
    for (name, actual, printed) in [
        ("ev_mm", of.ev_mm, 0.199_933),
        ("av_mm", of.av_mm, 0.226_838),
        ("grr_mm", of.grr_mm, 0.302_373),
        ("pv_mm", of.pv_mm, 1.042_327),
        ("tv_mm", of.tv_mm, 1.085_300),
    ] {
        let computed = expected["method"][name].as_f64().unwrap();
        assert!((actual - computed).abs() < 1e-12, "{name}");
        assert!((actual - printed).abs() < 2.5e-6, "{name}");
    }
    assert_eq!(result.method.ndc, Some(4));
}

/// NIST StRD, univariate summary statistics: certified mean and standard deviation. Michelso,
/// Mavro and Lottery to 9 digits and more; NumAcc4 to the 7 digits that doubles can carry.
#[test]
fn certified_means_and_deviations() {
    let file = |name: &str| -> Vec<f64> {
        fixture(name)
            .lines()
            .skip(1)
            .map(|line| line.parse().unwrap())
            .collect()
    };
    let hard = |base: f64| -> Vec<f64> {
        let mut values = vec![base + 0.2];
        for _ in 0..500 {
            values.extend([base + 0.1, base + 0.3]);
        }
        values
    };
    for (values, mean, sd, relative) in [
        (
            file("nist_michelso.csv"),
            299.852_4,
            0.079_010_547_819_051_8,
            1e-12,
        ),
        (
            file("nist_mavro.csv"),
            2.001_856,
            0.000_429_123_454_003_053,
            1e-11,
        ),
        (
            file("nist_lottery.csv"),
            518.958_715_596_330,
            291.699_727_470_969,
            1e-13,
        ),
        (vec![1e7 + 1.0, 1e7 + 3.0, 1e7 + 2.0], 1e7 + 2.0, 1.0, 1e-15),
        (hard(1.0), 1.2, 0.1, 1e-13),
        (hard(1e6), 1_000_000.2, 0.1, 1e-8),
        (hard(1e7), 10_000_000.2, 0.1, 1e-7),
    ] {
        let (found_mean, found_sd) = deviation(&values);
        assert!((found_mean / mean - 1.0).abs() < 1e-14, "{found_mean}");
        assert!((found_sd / sd - 1.0).abs() < relative, "{found_sd} {sd}");
    }
}

/// By hand: ten readings of 46.001 and 46.003 in turn on a ring of 46.000 have mean 46.002 and
/// s = √(10/9) µm; T = 25 µm gives Cg = 0.2 T/(6 s) = 0.7906, Cgk = (2.5 - 2)/(3 s) = 0.1581.
#[test]
fn a_ten_minute_study() {
    let readings: Vec<f64> = (0..10)
        .map(|trial| if trial % 2 == 0 { 46.001 } else { 46.003 })
        .collect();
    let ring = Some(Reference {
        size_mm: 46.0,
        uncertainty_mm: None,
        step_mm: None,
    });
    let study = short(&readings, ring, Some(0.025), Factors::default()).unwrap();
    assert!((study.repeatability_mm - 0.001 * (10.0_f64 / 9.0).sqrt()).abs() < 1e-9);
    assert!((study.bias_mm.unwrap() - 0.002).abs() < 1e-9);
    assert_eq!(study.bias_is_real, Some(true));
    assert!((study.cg.unwrap() - 0.790_569).abs() < 1e-5);
    assert!((study.cgk.unwrap() - 0.158_114).abs() < 1e-5);
    assert!(short(&readings[..9], None, None, Factors::default()).is_err());

    // A shop that allows 15 % and counts four standard deviations: 0.15 T/(4 s) and
    // (0.075 T - 2)/(2 s).
    let other = Factors {
        share: 0.15,
        sigmas: 4.0,
    };
    let study = short(&readings, ring, Some(0.025), other).unwrap();
    assert!((study.cg.unwrap() - 0.889_391).abs() < 1e-5);
    assert!((study.cgk.unwrap() + 0.059_293).abs() < 1e-5);
}

/// By hand: readings that are all 46.000 at a step of 1 µm are known to 1.96/√12 = 0.566 µm, so that
/// 0.4 µm is no bias; with a ring known to ± 0.5 µm (k = 2) to 1.96 √(1/12 + 1/16) = 0.749 µm, so that
/// 0.7 µm is none either.
#[test]
fn a_bias_within_the_digit_or_the_reference_is_none() {
    let bias = |size_mm: f64, uncertainty_mm: Option<f64>| {
        let reference = Some(Reference {
            size_mm,
            uncertainty_mm,
            step_mm: Some(0.001),
        });
        let study = short(&[46.0; 25], reference, None, Factors::default()).unwrap();
        (
            study.bias_uncertainty_mm.unwrap(),
            study.bias_is_real.unwrap(),
        )
    };
    let (reach, real) = bias(46.0004, None);
    assert!((reach - 0.000_566).abs() < 1e-6 && !real, "{reach}");
    assert!(bias(46.0007, None).1);
    let (reach, real) = bias(46.0007, Some(0.0005));
    assert!((reach - 0.000_749).abs() < 1e-6 && !real, "{reach}");
    assert!(bias(46.0008, Some(0.0005)).1);
}

#[test]
fn an_operator_who_left_a_part_out_is_named() {
    let mut trials = published();
    trials.pop();
    let why = crossed(&trials, None).unwrap_err().to_string();
    assert!(
        why.contains("gauged 10 2 times where others were gauged 3 times"),
        "{why}"
    );
}

/// By hand, readings in whole hundredths: the second operator finds the other two of four parts
/// larger, and every repeat is the same to the digit. Sums of squares: parts and operators 0,
/// interaction 16 x 0.005² over 3 degrees, repeats 0. So nothing is chance: the variance of the
/// interaction is (0.0004 / 3) / 2. Without the difference of operators there is nothing at all to
/// keep, whatever rounding leaves of means of three.
#[test]
fn coarse_digits_do_not_hide_an_interaction() {
    let study = |trials: usize, differ: bool| {
        let mut all = Vec::new();
        for (operator, part) in (0..2).flat_map(|o| (0..4).map(move |p| (o, p))) {
            let large = (part + if differ { operator } else { 0 }) % 2 == 1;
            for _ in 0..trials {
                all.push(Trial {
                    operator: operator.to_string(),
                    part: part.to_string(),
                    value_mm: if large { 46.01 } else { 46.0 },
                });
            }
        }
        crossed(&all, None).unwrap().anova
    };
    let differ = study(2, true);
    assert_eq!(differ.repeatability.squares_mm2, 0.0);
    assert!((differ.interaction.squares_mm2 - 0.0004).abs() < 1e-15);
    assert_eq!((differ.interaction_p, differ.pooled), (Some(0.0), false));
    assert!((differ.interaction_mm - (0.0002_f64 / 3.0).sqrt()).abs() < 1e-12);
    assert!((differ.method.grr_mm - differ.interaction_mm).abs() < 1e-12);
    assert!(!study(3, true).pooled);
    let agree = study(3, false);
    assert_eq!((agree.interaction_p, agree.pooled), (None, true));
    assert_eq!(agree.method.grr_mm, 0.0);
}
