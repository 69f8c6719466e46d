//! What rings, cups and housings are made of.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A material of a ring, a cup or a housing.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema, clap::ValueEnum,
)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Wrought aluminium alloy, constants of 6061-T6.
    Aluminium,
    /// Low-alloy steel, constants of 4130.
    Steel,
    /// Titanium alloy, constants of Ti-3Al-2.5V.
    Titanium,
    /// Through-hardened bearing steel, 100Cr6.
    BearingSteel,
    /// An injection-moulded polymer: creeps, so no lasting pressure is computed.
    Polymer,
    /// Fibre laminate: no single modulus or expansion applies, and it is never cut.
    Laminate,
}

/// Elastic constants of an isotropic material at 20 °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Elastic {
    /// Young's modulus, MPa.
    pub young_mpa: f64,
    /// Relative half-width of what sources say about the modulus.
    pub young_spread: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Linear thermal expansion, 1/K.
    pub expansion_per_k: f64,
}

impl Material {
    /// Constants at 20 °C; `None` where one set of isotropic constants would mislead.
    ///
    /// Sources: material data sheets. Aluminium 6061-T6: E 68.9 GPa, ν 0.33 (0.33 to 0.35), α
    /// between 23.4 and 24, 23.6 from memory. 100Cr6: E 190 to 210 GPa, 208 from memory, ν 0.27 to
    /// 0.30, α 12.5 (bearing catalogue). 4130: E 205 GPa, ν 0.29, α 12.2 (20 to 100 °C).
    /// Ti-3Al-2.5V: sources disagree, E 100 (from memory) to 120 GPa, α 8.6 to 9.6.
    pub const fn elastic(self) -> Option<Elastic> {
        let (young_mpa, young_spread, poisson, expansion_per_k) = match self {
            Self::Aluminium => (68.9e3, 0.03, 0.33, 23.6e-6),
            Self::Steel => (205e3, 0.03, 0.29, 12.2e-6),
            Self::Titanium => (100e3, 0.10, 0.30, 9.6e-6),
            Self::BearingSteel => (208e3, 0.03, 0.30, 12.5e-6),
            Self::Polymer | Self::Laminate => return None,
        };
        Some(Elastic {
            young_mpa,
            young_spread,
            poisson,
            expansion_per_k,
        })
    }

    /// The word for sentences.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Aluminium => "aluminium",
            Self::Steel => "steel",
            Self::Titanium => "titanium",
            Self::BearingSteel => "bearing steel",
            Self::Polymer => "polymer",
            Self::Laminate => "laminate",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn materials_that_one_modulus_does_not_describe_have_none() {
        assert!(Material::Laminate.elastic().is_none());
        assert!(Material::Polymer.elastic().is_none());
    }

    /// Change of interference of a 42 mm seat: (α_housing − α_ring) D ΔT, computed apart:
    /// aluminium +30 K 13.986 µm lost, 4130 +30 K 0.378 µm gained, titanium 3.654 µm gained.
    #[test]
    fn expansion_differences_are_those_of_the_data_sheets() {
        let ring = Material::BearingSteel.elastic().unwrap().expansion_per_k;
        for (material, um) in [
            (Material::Aluminium, 13.986),
            (Material::Steel, -0.378),
            (Material::Titanium, -3.654),
        ] {
            let lost = (material.elastic().unwrap().expansion_per_k - ring) * 42e3 * 30.0;
            assert!((lost - um).abs() < 1e-9, "{material:?} {lost}");
        }
    }
}
