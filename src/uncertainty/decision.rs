//! Inside the limits, outside, or can't tell: the decision rule of ISO 14253-1.

use std::fmt;

use super::quantile::student_below;
use super::{Estimate, student};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The limits that a number is judged by; one may be missing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Limits {
    /// The least value that conforms.
    pub lower: Option<f64>,
    /// The greatest value that conforms.
    pub upper: Option<f64>,
}

/// What can be said of a number against its limits.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Decision {
    /// Inside the limits by more than the guard band: conformity is proven.
    Conforms,
    /// Within the guard band of a limit, or nothing known: neither is proven. Measure again, or
    /// better.
    CantTell,
    /// Outside the limits by more than the guard band: non-conformity is proven.
    DoesNotConform,
}

impl fmt::Display for Decision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Conforms => "conforms",
            Self::DoesNotConform => "does not conform",
            Self::CantTell => "can't tell",
        })
    }
}

/// What would settle a number of which nothing can be told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remedy {
    /// Gauge each direction so many times in all as often as until now.
    Repeat {
        /// Times.
        times: u32,
    },
    /// More repeats than anybody makes: the gauge must repeat so many times better.
    BetterGauge {
        /// Greatest standard deviation of what repeats make smaller, as a share of the present one.
        share: f64,
    },
    /// No number of repeats helps: what is common to all readings must be no more uncertain than
    /// this.
    BetterRing {
        /// Greatest standard uncertainty of the setting, mm.
        standard_mm: f64,
    },
    /// The number lies so close to the limit that it would have to be known to 0.1 µm; no gauge of
    /// a workshop will ever settle it.
    OnTheLimit,
}

/// How wide the guard band is, in standard uncertainties: one-sided 95 % (ISO 14253-1:2017 asks
/// for 95 % probability of conformance by default, which is 1.65 for a normal distribution and one
/// limit in reach; from memory), for few degrees of freedom from Student's t.
pub fn guard_factor(degrees_of_freedom: f64) -> Option<f64> {
    // A two-sided 90 % leaves 5 % on either side.
    student(0.90, degrees_of_freedom)
}

/// The factors that somebody may state instead. A guard band narrower than one standard uncertainty
/// proves little, and one wider than five leaves nothing that conforms. Judgement.
const DECISION_FACTORS: std::ops::RangeInclusive<f64> = 1.0..=5.0;

/// Why a decision factor can't be so; `None` where it can.
pub fn wrong_factor(factor: f64) -> Option<String> {
    (!DECISION_FACTORS.contains(&factor)).then(|| {
        format!(
            "a guard band is {} to {} standard uncertainties wide; leave decision_factor out for \
             one-sided 95 %",
            DECISION_FACTORS.start(),
            DECISION_FACTORS.end()
        )
    })
}

/// The width of the guard band beside a limit: `factor` standard uncertainties, or by
/// [`guard_factor`] where none is stated, and then no wider than the expanded uncertainty: beyond that
/// lie less than 5 % on both sides together. So it is for an error that is known and not corrected,
/// which is most of the standard uncertainty and no scatter. `None` where that can't be said.
pub fn guard_band(uncertainty: &Estimate, factor: Option<f64>) -> Option<f64> {
    if let Some(factor) = factor {
        return Some(factor * uncertainty.standard);
    }
    let one_sided = guard_factor(uncertainty.degrees())? * uncertainty.standard;
    Some(one_sided.min(uncertainty.expanded))
}

impl Limits {
    /// Decides by the [`guard_band`] of `factor`. Equality with the edge of a guard band conforms.
    ///
    /// Where both limits are within twice the guard band (3.3 u of a normal distribution), a value
    /// that keeps its distance from each may still lie beyond either: there it conforms only if it
    /// is within both as probably as the guard band of one limit asks for (JCGM 106:2012, 8.3.2 and
    /// 7.4, from memory).
    pub fn decide(&self, value: f64, uncertainty: &Estimate, factor: Option<f64>) -> Decision {
        let Some(guard) = guard_band(uncertainty, factor) else {
            return Decision::CantTell;
        };
        // Half a nanometre of rounding must not move a value off the edge that it lies on.
        let slack = 5e-13 * value.abs().max(1.0);
        let above = |limit: f64, by: f64| value - limit >= by - slack;
        let below = |limit: f64, by: f64| limit - value >= by - slack;
        if self.lower.is_none_or(|limit| above(limit, guard))
            && self.upper.is_none_or(|limit| below(limit, guard))
        {
            // Within both by the two-sided 95 %: nothing more is asked.
            let told = factor.is_none()
                && self
                    .lower
                    .is_none_or(|limit| above(limit, uncertainty.expanded))
                && self
                    .upper
                    .is_none_or(|limit| below(limit, uncertainty.expanded));
            if told || self.within_both(value, uncertainty, guard) {
                Decision::Conforms
            } else {
                Decision::CantTell
            }
        } else if self
            .lower
            .is_some_and(|limit| limit - value > guard + slack)
            || self
                .upper
                .is_some_and(|limit| value - limit > guard + slack)
        {
            Decision::DoesNotConform
        } else {
            Decision::CantTell
        }
    }

    /// Whether both limits together leave `value` the probability that a `guard` band beside one of
    /// them stands for; so it is where one is out of reach.
    fn within_both(&self, value: f64, uncertainty: &Estimate, guard: f64) -> bool {
        let (Some(lower), Some(upper)) = (self.lower, self.upper) else {
            return true;
        };
        if (value - lower).max(upper - value) > 2.0 * guard {
            return true;
        }
        let asked = student_below(guard / uncertainty.standard, uncertainty.degrees());
        let found = self.probability(value, uncertainty);
        // Nothing is known of it without an uncertainty, and nothing needs to be.
        found.zip(asked).is_none_or(|(found, asked)| found >= asked)
    }

    /// The probability that the true value lies within the limits, the value's error following
    /// Student's t (normal for infinite degrees of freedom). JCGM 106:2012, clause 7.
    pub fn probability(&self, value: f64, uncertainty: &Estimate) -> Option<f64> {
        if uncertainty.standard <= 0.0 {
            return None;
        }
        let below = |limit: f64| {
            student_below(
                (limit - value) / uncertainty.standard,
                uncertainty.degrees(),
            )
        };
        let upper = self.upper.map_or(Some(1.0), below)?;
        let lower = self.lower.map_or(Some(0.0), below)?;
        Some(upper - lower)
    }

    /// The greatest standard uncertainty with which `value` can be told from its limits, by the
    /// normal distribution.
    fn tells(&self, value: f64, factor: f64) -> f64 {
        let distances = [self.lower, self.upper].into_iter().flatten();
        let reach = distances
            .map(|limit| (value - limit).abs())
            .fold(f64::INFINITY, f64::min);
        let (mut least, mut most) = (0.0, reach / factor);
        let told = |standard: f64| {
            Estimate::new(standard, f64::INFINITY)
                .is_none_or(|known| self.decide(value, &known, Some(factor)) != Decision::CantTell)
        };
        if told(most) {
            return most;
        }
        for _ in 0..40 {
            let middle = f64::midpoint(least, most);
            if told(middle) {
                least = middle;
            } else {
                most = middle;
            }
        }
        least
    }

    /// What would settle `value` where nothing can be told: `random` is the part of the standard
    /// uncertainty that repeats make smaller, the rest being common to all readings; `factor` as for
    /// [`Limits::decide`].
    pub fn remedy(
        &self,
        value: f64,
        uncertainty: &Estimate,
        random: f64,
        factor: Option<f64>,
    ) -> Remedy {
        /// More turns than this nobody makes: a better gauge or ring is the shorter way.
        const MOST_TURNS: f64 = 20.0;
        /// Nobody's ring and temperatures are known to less, mm. Judgement.
        const LEAST_MM: f64 = 1e-4;
        // With repeats degrees of freedom come too, so the normal factor is the one to plan by.
        let Some(factor) = factor.or_else(|| guard_factor(f64::INFINITY)) else {
            return Remedy::OnTheLimit;
        };
        let wanted = self.tells(value, factor);
        if !wanted.is_finite() || wanted <= LEAST_MM {
            return Remedy::OnTheLimit;
        }
        let random_squared = random.powi(2).min(uncertainty.standard.powi(2));
        let common_squared = uncertainty.standard.powi(2) - random_squared;
        let room = wanted.powi(2) - common_squared;
        let times = (random_squared / room).ceil().max(2.0);
        if room > 0.0 && times <= MOST_TURNS {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "between 2 and 20"
            )]
            return Remedy::Repeat {
                times: times as u32,
            };
        }
        if common_squared <= wanted.powi(2) / 2.0 {
            return Remedy::BetterGauge {
                share: (room / random_squared).sqrt(),
            };
        }
        // Half of what is wanted is left to the scatter that repeats can bring down.
        Remedy::BetterRing {
            standard_mm: wanted * std::f64::consts::FRAC_1_SQRT_2,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 42 K7 of ISO 286-2.
    const K7: Limits = Limits {
        lower: Some(41.982),
        upper: Some(42.007),
    };

    fn known(standard: f64) -> Estimate {
        Estimate::new(standard, f64::INFINITY).unwrap()
    }

    /// Zones of ISO 14253-1:1998 with U = 2 u (from memory); probabilities from scipy 1.17,
    /// norm.cdf.
    #[test]
    fn conforms_does_not_or_cannot_tell() {
        for (value, decision, probability) in [
            (41.984, Decision::CantTell, 0.841_344_7),
            (41.990, Decision::Conforms, 0.999_968_3),
            (42.0025, Decision::Conforms, 0.987_775_5),
            (42.003, Decision::Conforms, 0.977_249_9),
            (42.005, Decision::CantTell, 0.841_344_7),
            (42.012, Decision::DoesNotConform, 0.006_209_7),
        ] {
            assert_eq!(K7.decide(value, &known(0.002), Some(2.0)), decision);
            let p = K7.probability(value, &known(0.002)).unwrap();
            assert!((p - probability).abs() < 5e-8, "{value}: {p}");
        }
    }

    /// One-sided 95 % of the normal distribution is 1.6449; of Student's t with 4 degrees 2.132
    /// (any statistics table).
    #[test]
    fn the_guard_band_widens_where_little_is_known() {
        assert!((guard_factor(f64::INFINITY).unwrap() - 1.6449).abs() < 5e-5);
        assert!((guard_factor(4.0).unwrap() - 2.132).abs() < 5e-4);
        let few = Estimate::new(0.001, 1.0).unwrap();
        assert_eq!(K7.decide(42.004, &known(0.001), None), Decision::Conforms);
        assert_eq!(K7.decide(42.004, &few, None), Decision::CantTell);
    }

    /// By hand: 10 µm off for certain and u = 0.5 µm beside that, the expanded uncertainty is 10 µm and
    /// 1.645 times 0.5 µm. 1.645 of √(10² + 0.5²) µm would ask for 16.5 µm.
    #[test]
    fn the_guard_band_of_an_error_that_is_known_is_no_wider_than_its_interval() {
        let off = known(0.000_5).beside(0.010);
        let guard = guard_band(&off, None).unwrap();
        assert!((guard - 0.010_822).abs() < 1e-6, "{guard}");
        assert_eq!(guard_band(&off, Some(2.0)), Some(2.0 * off.standard));
        let limits = Limits {
            lower: Some(45.989),
            upper: Some(46.011),
        };
        assert_eq!(limits.decide(46.0, &off, None), Decision::Conforms);
        assert_eq!(limits.decide(46.000_3, &off, None), Decision::CantTell);
    }

    #[test]
    fn a_missing_limit_never_decides() {
        let form = Limits {
            lower: None,
            upper: Some(0.025),
        };
        assert_eq!(form.decide(0.0, &known(0.002), None), Decision::Conforms);
        assert_eq!(
            form.decide(0.1, &known(0.002), None),
            Decision::DoesNotConform
        );
    }

    /// By hand: 2 µm from the limit with 1.6449 needs u = 1.2159 µm; with 1 µm common to all
    /// readings 0.6916 µm is left for scatter, so 2 µm of it must be averaged over 9 turns; with
    /// 1.5 µm in common no number of turns will do.
    #[test]
    fn what_would_settle_it() {
        let value = 42.005;
        let whole = |common: f64, random: f64| known(common.hypot(random));
        assert_eq!(
            K7.remedy(value, &whole(0.001, 0.002), 0.002, None),
            Remedy::Repeat { times: 9 }
        );
        let Remedy::BetterRing { standard_mm } =
            K7.remedy(value, &whole(0.0015, 0.002), 0.002, None)
        else {
            panic!("no ring asked for");
        };
        assert!((standard_mm - 0.000_859_8).abs() < 1e-6);
        // 0.2 µm from the limit wants 0.1216 µm: of 2 µm of scatter alone that is 270 turns, or a
        // gauge that repeats to 6 % of it.
        let Remedy::BetterGauge { share } = K7.remedy(42.0068, &whole(0.0, 0.002), 0.002, None)
        else {
            panic!("no gauge asked for");
        };
        assert!((share - 0.0608).abs() < 1e-4, "{share}");
        assert_eq!(
            K7.remedy(42.007, &known(0.002), 0.002, None),
            Remedy::OnTheLimit
        );
    }

    /// By hand, normal distribution: in the middle of ± 2 u it is within both limits with
    /// 1 - 2 x 0.02275 = 0.9545, of ± 1.8 u with 1 - 2 x 0.03593 = 0.9281 though 1.8 is more than
    /// 1.645; 1.96 u are 0.95. At 1.7 u from one limit and 2.3 u from the other 0.9554 - 0.0107 =
    /// 0.9447. Far from the other limit one counts alone. A factor of 1 asks for 0.8413: of ± 1.4 u
    /// 0.8385 is too little, of ± 1.42 u 0.8444 will do.
    #[test]
    fn between_two_near_limits_both_count() {
        let judged = |below: f64, above: f64, factor: Option<f64>| {
            let limits = Limits {
                lower: Some(46.0 - below * 0.005),
                upper: Some(46.0 + above * 0.005),
            };
            limits.decide(46.0, &known(0.005), factor)
        };
        for (below, above, factor, decision) in [
            (2.0, 2.0, None, Decision::Conforms),
            (1.97, 1.97, None, Decision::Conforms),
            (1.95, 1.95, None, Decision::CantTell),
            (1.8, 1.8, None, Decision::CantTell),
            (2.3, 1.7, None, Decision::CantTell),
            (1.7, 2.3, None, Decision::CantTell),
            (1.7, 8.0, None, Decision::Conforms),
            (1.4, 1.4, Some(1.0), Decision::CantTell),
            (1.42, 1.42, Some(1.0), Decision::Conforms),
        ] {
            assert_eq!(judged(below, above, factor), decision, "{below} {above}");
        }
        // To tell 9 µm either way u must be 9 / 1.95996 = 4.592 µm: with 4.5 µm in common and 3 µm of
        // scatter 0.914 µm are left for it, or 11 turns.
        let limits = Limits {
            lower: Some(45.991),
            upper: Some(46.009),
        };
        let whole = known(0.0045_f64.hypot(0.003));
        assert_eq!(
            limits.remedy(46.0, &whole, 0.003, None),
            Remedy::Repeat { times: 11 }
        );
    }

    /// By hand: 0.17 µm from the limit wants 0.17 / 1.6449 = 0.1034 µm, 0.16 µm wants 0.0973 µm.
    #[test]
    fn less_than_a_tenth_of_a_micrometre_is_asked_of_nobody() {
        let remedy = |value: f64| K7.remedy(value, &known(0.002), 0.0, None);
        assert!(matches!(remedy(42.006_83), Remedy::BetterRing { .. }));
        assert_eq!(remedy(42.006_84), Remedy::OnTheLimit);
    }

    /// By hand: 42.005 is 2 µm under the limit, and u = 1 µm: twice that just fits, 2.1 times does
    /// not. With a factor of 2 and 1 µm in common nothing is left for scatter, whatever the repeats.
    #[test]
    fn a_factor_stated_is_the_rule() {
        let (value, u) = (42.005, known(0.001));
        assert_eq!(K7.decide(value, &u, Some(2.0)), Decision::Conforms);
        assert_eq!(K7.decide(value, &u, Some(2.1)), Decision::CantTell);
        assert_eq!(guard_band(&u, Some(2.0)), Some(0.002));
        let whole = known(0.001_f64.hypot(0.002));
        let remedy = |factor| K7.remedy(value, &whole, 0.002, factor);
        assert_eq!(remedy(None), Remedy::Repeat { times: 9 });
        assert!(matches!(remedy(Some(2.0)), Remedy::BetterRing { .. }));
        for wrong in [0.0, 0.5, -2.0, 6.0, f64::NAN, f64::INFINITY] {
            assert!(wrong_factor(wrong).is_some(), "{wrong}");
        }
        assert_eq!(wrong_factor(2.0), None);
    }
}
