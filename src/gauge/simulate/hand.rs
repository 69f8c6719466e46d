//! The hand that holds a simulated gauge: what makes one reading differ from the next.

/// Normally distributed noise, the same for the same seed on every machine and in every version.
#[derive(Debug, Clone)]
pub struct Hand {
    state: u64,
    sd_mm: f64,
}

impl Hand {
    /// A hand whose readings scatter with this standard deviation, mm.
    pub const fn new(seed: u64, sd_mm: f64) -> Self {
        Self { state: seed, sd_mm }
    }

    /// The next reading of a wall that is `seen_mm` wide.
    pub fn reads_mm(&mut self, seen_mm: f64) -> f64 {
        // Box and Muller, Annals of Mathematical Statistics 29 (1958), 610-611.
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        let angle = std::f64::consts::TAU * self.uniform();
        seen_mm + self.sd_mm * radius * angle.cos()
    }

    /// About 1, between 1 − `by` and 1 + `by`.
    pub fn uneven(&mut self, by: f64) -> f64 {
        1.0 + by * (2.0 * self.uniform() - 1.0)
    }

    /// In (0, 1].
    fn uniform(&mut self) -> f64 {
        // SplitMix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators",
        // OOPSLA 2014.
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        #[expect(clippy::cast_precision_loss, reason = "53 bits are exact")]
        let unit = ((z >> 11) + 1) as f64 / (1_u64 << 53) as f64;
        unit
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 20,000 draws of a normal distribution: the mean lies within 5 standard errors of 0, the
    /// standard deviation within 5 standard errors (sd / sqrt(2n)) of 1.
    #[test]
    fn the_scatter_is_what_was_asked_for() {
        let mut hand = Hand::new(7, 0.002);
        let draws: Vec<f64> = (0..20_000).map(|_| hand.reads_mm(0.0) / 0.002).collect();
        let n = 20_000_f64;
        let mean = draws.iter().sum::<f64>() / n;
        let variance = draws.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
        assert!(mean.abs() < 5.0 / n.sqrt(), "{mean}");
        assert!(
            (variance.sqrt() - 1.0).abs() < 5.0 / (2.0 * n).sqrt(),
            "{variance}"
        );
    }

    #[test]
    fn a_seed_repeats_and_no_noise_is_none() {
        let draw = |seed| Hand::new(seed, 0.01).reads_mm(46.0);
        assert_eq!(draw(3), draw(3));
        assert_ne!(draw(3), draw(4));
        assert_eq!(Hand::new(3, 0.0).reads_mm(46.0), 46.0);
    }
}
