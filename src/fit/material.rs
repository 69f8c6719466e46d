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
    /// between 23.4 and 24, 23.6 from memory. 100Cr6: E 190 to 210 GPa, 208 from memory, which G =
    /// 80 GPa at ν = 0.30 gives too, so that 190 is left out of the spread; ν 0.27 to 0.30, α 12.5 (bearing catalogue). 4130: E 205 GPa, ν 0.29, α 12.2 (20 to 100 °C).
    /// Ti-3Al-2.5V: sources disagree, E 100 (from memory) to 120 GPa, so their middle with a spread
    /// that holds them all; α 8.6 to 9.6.
    pub const fn elastic(self) -> Option<Elastic> {
        let (young_mpa, young_spread, poisson, expansion_per_k) = match self {
            Self::Aluminium => (68.9e3, 0.03, 0.33, 23.6e-6),
            Self::Steel => (205e3, 0.03, 0.29, 12.2e-6),
            Self::Titanium => (110e3, 0.10, 0.30, 9.6e-6),
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

    /// What the sources say (100Cr6 without the one that gives 190 GPa; hardened 205 to 210, from
    /// memory) lies within the spread that is carried, and
    /// the shear modulus that handbooks print beside them (from memory: 26, 80, 80 and 44 GPa)
    /// follows from E and ν by G = E / 2(1 + ν) within that spread.
    #[test]
    fn the_constants_agree_with_their_sources_by_a_second_route() {
        struct Sources {
            material: Material,
            young_gpa: (f64, f64),
            poisson: (f64, f64),
            shear_gpa: f64,
            expansion: (f64, f64),
        }
        #[rustfmt::skip]
        let table = [
            Sources { material: Material::Aluminium, young_gpa: (68.9, 68.9), poisson: (0.33, 0.35), shear_gpa: 26.0, expansion: (23.4e-6, 24.0e-6) },
            Sources { material: Material::BearingSteel, young_gpa: (205.0, 210.0), poisson: (0.27, 0.30), shear_gpa: 80.0, expansion: (11.9e-6, 12.6e-6) },
            Sources { material: Material::Steel, young_gpa: (205.0, 205.0), poisson: (0.29, 0.29), shear_gpa: 80.0, expansion: (12.2e-6, 12.2e-6) },
            Sources { material: Material::Titanium, young_gpa: (100.0, 120.0), poisson: (0.30, 0.30), shear_gpa: 44.0, expansion: (8.6e-6, 9.61e-6) },
        ];
        let within = |value: f64, (least, most): (f64, f64)| least <= value && value <= most;
        for row in table {
            let name = row.material.word();
            let own = row.material.elastic().unwrap();
            let spread = own.young_mpa * own.young_spread;
            let carried = (own.young_mpa - spread, own.young_mpa + spread);
            assert!(within(row.young_gpa.0 * 1e3, carried), "{name}");
            assert!(within(row.young_gpa.1 * 1e3, carried), "{name}");
            assert!(within(own.young_mpa / 1e3, row.young_gpa), "{name}");
            assert!(within(own.poisson, row.poisson), "{name}");
            assert!(within(own.expansion_per_k, row.expansion), "{name}");
            let young_by_shear = row.shear_gpa * 1e3 * 2.0 * (1.0 + own.poisson);
            assert!(within(young_by_shear, carried), "{name} {young_by_shear}");
        }
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
