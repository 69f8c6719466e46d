//! Random numbers of a fixed seed: the same readings give the same uncertainty, always.

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014, figure 16): 64 bits of state, every seed good.
#[derive(Debug, Clone)]
pub struct Random {
    state: u64,
    spare: Option<f64>,
}

impl Random {
    /// From a seed.
    pub const fn new(seed: u64) -> Self {
        Self {
            state: seed,
            spare: None,
        }
    }

    const fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in (0, 1].
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    pub const fn uniform(&mut self) -> f64 {
        ((self.bits() >> 11) + 1) as f64 / (1_u64 << 53) as f64
    }

    /// Of the standard normal distribution (Box and Muller, Ann. Math. Stat. 29 (1958) 610).
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        let (sine, cosine) = (std::f64::consts::TAU * self.uniform()).sin_cos();
        self.spare = Some(radius * sine);
        radius * cosine
    }

    /// The square root of chi-squared over its degrees of freedom: how a standard deviation of so
    /// many degrees scatters about the true one. 1 for infinite degrees.
    ///
    /// Gamma variates after Marsaglia and Tsang, ACM TOMS 26 (2000) 363.
    pub fn deviation_ratio(&mut self, degrees_of_freedom: f64) -> f64 {
        if degrees_of_freedom > 1e6 {
            return 1.0;
        }
        let shape = degrees_of_freedom / 2.0;
        // Below one the method draws one shape higher and shrinks.
        let (shape_used, shrink) = if shape < 1.0 {
            (shape + 1.0, self.uniform().powf(1.0 / shape))
        } else {
            (shape, 1.0)
        };
        let d = shape_used - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        let gamma = loop {
            let x = self.normal();
            let v = c.mul_add(x, 1.0).powi(3);
            if v > 0.0 {
                let uniform = self.uniform();
                // Their squeeze: what is below this is below the bound, without a logarithm.
                let surely = uniform < 1.0 - 0.0331 * (x * x) * (x * x);
                if surely || uniform.ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                    break d * v;
                }
            }
        };
        (shrink * gamma / shape).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first outputs of seed 1234567 as the algorithm's authors' test vector gives them (from
    /// memory; widely reprinted).
    #[test]
    fn the_stream_is_the_published_one() {
        let mut random = Random::new(1_234_567);
        assert_eq!(random.bits(), 6_457_827_717_110_365_317);
        assert_eq!(random.bits(), 3_203_168_211_198_807_973);
    }

    /// Mean and variance of the distributions, within five standard errors.
    #[test]
    fn moments_are_those_of_the_distributions() {
        let mut random = Random::new(7);
        let count = 40_000;
        let mean = |values: &[f64]| values.iter().sum::<f64>() / f64::from(count);
        let normals: Vec<f64> = (0..count).map(|_| random.normal()).collect();
        assert!(mean(&normals).abs() < 5.0 / f64::from(count).sqrt());
        let squares: Vec<f64> = normals.iter().map(|x| x * x).collect();
        assert!((mean(&squares) - 1.0).abs() < 5.0 * (2.0 / f64::from(count)).sqrt());
        for degrees in [1.0, 2.5, 5.0, 40.0] {
            let ratios: Vec<f64> = (0..count)
                .map(|_| random.deviation_ratio(degrees).powi(2))
                .collect();
            let error = 5.0 * (2.0 / degrees / f64::from(count)).sqrt();
            assert!((mean(&ratios) - 1.0).abs() < error, "{degrees}");
        }
    }
}
