//! An uncertainty budget after JCGM 100:2008, the GUM.

use nalgebra::{DMatrix, DVector};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Estimate, student};

/// How the possible values of an input are spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Distribution {
    /// Normal, or unknown with a standard uncertainty of its own.
    Normal,
    /// All values within the half-width equally likely: half-width / √3.
    Rectangular,
    /// Values near the middle likelier: half-width / √6.
    Triangular,
    /// Values near the ends likelier, as of a swinging temperature: half-width / √2.
    Arcsine,
}

/// One input of a budget.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Input {
    /// What it is, for people.
    pub name: String,
    /// Its best estimate, in its own unit.
    pub value: f64,
    /// Its standard uncertainty, in its own unit.
    pub standard: f64,
    /// How its values are spread.
    pub distribution: Distribution,
    /// Degrees of freedom of the standard uncertainty; null where they are infinite.
    pub degrees_of_freedom: Option<f64>,
    /// How much the result changes per unit of the input.
    pub sensitivity: f64,
}

impl Input {
    /// An input with a standard uncertainty of `degrees_of_freedom` (infinity allowed) and
    /// sensitivity 1.
    pub fn normal(
        name: impl Into<String>,
        value: f64,
        standard: f64,
        degrees_of_freedom: f64,
    ) -> Self {
        Self {
            name: name.into(),
            value,
            standard,
            distribution: Distribution::Normal,
            degrees_of_freedom: degrees_of_freedom.is_finite().then_some(degrees_of_freedom),
            sensitivity: 1.0,
        }
    }

    /// An input that lies within `half_width` of `value` for certain, spread as `distribution`
    /// says (JCGM 100:2008, 4.3.7 to 4.3.9; for [`Distribution::Normal`] the half-width counts as
    /// two standard uncertainties).
    pub fn within(
        name: impl Into<String>,
        value: f64,
        half_width: f64,
        distribution: Distribution,
    ) -> Self {
        let divisor = match distribution {
            Distribution::Normal => 2.0,
            Distribution::Rectangular => 3.0_f64.sqrt(),
            Distribution::Triangular => 6.0_f64.sqrt(),
            Distribution::Arcsine => 2.0_f64.sqrt(),
        };
        Self {
            distribution,
            ..Self::normal(name, value, half_width / divisor, f64::INFINITY)
        }
    }

    /// A digital indication of step `step`: rectangular, half a step either way (F.2.2.1).
    pub fn digit(name: impl Into<String>, value: f64, step: f64) -> Self {
        Self::within(name, value, step / 2.0, Distribution::Rectangular)
    }

    /// The same with another sensitivity.
    #[must_use]
    pub const fn times(mut self, sensitivity: f64) -> Self {
        self.sensitivity = sensitivity;
        self
    }

    /// The same with other degrees of freedom.
    #[must_use]
    pub fn known_to(mut self, degrees_of_freedom: f64) -> Self {
        self.degrees_of_freedom = degrees_of_freedom.is_finite().then_some(degrees_of_freedom);
        self
    }

    /// What it contributes to the result's standard uncertainty, in the result's unit.
    pub fn contribution(&self) -> f64 {
        self.sensitivity.abs() * self.standard
    }

    fn degrees(&self) -> f64 {
        self.degrees_of_freedom.unwrap_or(f64::INFINITY)
    }
}

/// Inputs and what they come to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Budget {
    /// What the result is, for people.
    pub quantity: String,
    /// The result, in its unit.
    pub value: f64,
    /// The inputs.
    pub inputs: Vec<Input>,
    /// Pairs of inputs that are correlated, as indices, and their correlation coefficient.
    pub correlations: Vec<(usize, usize, f64)>,
}

impl Budget {
    /// A budget whose sensitivities are known.
    pub fn new(quantity: impl Into<String>, value: f64, inputs: Vec<Input>) -> Self {
        Self {
            quantity: quantity.into(),
            value,
            inputs,
            correlations: Vec::new(),
        }
    }

    /// A budget of `model`, its sensitivities found by moving each input one standard uncertainty
    /// either way (JCGM 100:2008, 5.1.3 note 2).
    pub fn of_model(
        quantity: impl Into<String>,
        mut inputs: Vec<Input>,
        model: impl Fn(&[f64]) -> f64,
    ) -> Self {
        let mut values: Vec<f64> = inputs.iter().map(|input| input.value).collect();
        let value = model(&values);
        for (at, input) in inputs.iter_mut().enumerate() {
            if input.standard <= 0.0 {
                input.sensitivity = 0.0;
                continue;
            }
            values[at] = input.value + input.standard;
            let above = model(&values);
            values[at] = input.value - input.standard;
            let below = model(&values);
            values[at] = input.value;
            input.sensitivity = (above - below) / (2.0 * input.standard);
        }
        Self::new(quantity, value, inputs)
    }

    /// The same with two inputs correlated.
    #[must_use]
    pub fn correlated(mut self, first: usize, second: usize, coefficient: f64) -> Self {
        self.correlations.push((first, second, coefficient));
        self
    }

    /// Combined standard uncertainty (equations 10 and 16).
    pub fn combined(&self) -> f64 {
        self.covariance_with(self).max(0.0).sqrt()
    }

    /// Effective degrees of freedom after Welch and Satterthwaite (G.2b); infinite where no input
    /// has a finite number. Correlated inputs enter as if they were not, which the formula does
    /// not cover: take it as a guide there.
    pub fn degrees(&self) -> f64 {
        let spread: f64 = self
            .inputs
            .iter()
            .map(|input| input.contribution().powi(4) / input.degrees())
            .sum();
        let combined = self.combined();
        if spread > 0.0 {
            combined.powi(4) / spread
        } else {
            f64::INFINITY
        }
    }

    /// Standard and expanded uncertainty, two-sided 95 %.
    pub fn estimate(&self) -> Option<Estimate> {
        Estimate::new(self.combined(), self.degrees())
    }

    /// The expanded uncertainty at another two-sided level, its degrees of freedom cut down to a
    /// whole number (G.4.1).
    pub fn expanded(&self, level: f64) -> Option<f64> {
        Some(student(level, self.degrees().floor())? * self.combined())
    }

    /// Each input's share of the variance, 0 to 1, in order; correlations apart.
    pub fn shares(&self) -> Vec<f64> {
        let squares: Vec<f64> = self
            .inputs
            .iter()
            .map(|input| input.contribution().powi(2))
            .collect();
        let whole: f64 = squares.iter().sum();
        squares
            .iter()
            .map(|square| if whole > 0.0 { square / whole } else { 0.0 })
            .collect()
    }

    /// The input that contributes most.
    pub fn dominant(&self) -> Option<&Input> {
        self.inputs
            .iter()
            .max_by(|a, b| a.contribution().total_cmp(&b.contribution()))
    }

    /// The covariance of this result with another of the same inputs (H.2.3, equation H.9).
    pub fn covariance_with(&self, other: &Self) -> f64 {
        let count = self.inputs.len();
        let mut correlation = DMatrix::<f64>::identity(count, count);
        for &(first, second, coefficient) in &self.correlations {
            if first < count && second < count {
                correlation[(first, second)] = coefficient;
                correlation[(second, first)] = coefficient;
            }
        }
        let weights = |budget: &Self| {
            DVector::from_iterator(
                count,
                budget
                    .inputs
                    .iter()
                    .zip(&self.inputs)
                    .map(|(input, own)| input.sensitivity * own.standard),
            )
        };
        if other.inputs.len() != count {
            return 0.0;
        }
        (correlation * weights(other)).dot(&weights(self))
    }
}
