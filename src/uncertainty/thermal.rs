//! Sizes at 20 °C, the reference temperature of ISO 1.

/// The reference temperature of ISO 1:2016, °C.
pub const REFERENCE_C: f64 = 20.0;

/// Thermal expansion of a steel setting ring, 1/K, and how far it may be off (JCGM 100:2008,
/// H.1.3.4, of a steel standard).
pub const RING_EXPANSION: (f64, f64) = (11.5e-6, 2e-6);

/// How far a handbook's expansion of a part's material may be off, as a share of it: sources differ
/// by about as much for one alloy. Judgement.
pub const PART_EXPANSION_SPREAD: f64 = 0.05;

/// A body's temperature and how it expands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Body {
    /// °C.
    pub temperature_c: f64,
    /// Linear expansion, 1/K.
    pub expansion_per_k: f64,
}

impl Body {
    /// How many times larger it is than at 20 °C.
    pub fn growth(&self) -> f64 {
        self.expansion_per_k
            .mul_add(self.temperature_c - REFERENCE_C, 1.0)
    }
}

/// The size of a part at 20 °C from its difference to a master: the master's size at 20 °C, mm, as
/// its certificate gives it, and part minus master as the gauge showed it, both bodies at the
/// temperatures stated. Exact; JCGM 100:2008, H.1.1, with both expansions written out.
pub fn size_at_20_c(master_20_mm: f64, difference_mm: f64, master: Body, part: Body) -> f64 {
    master_20_mm.mul_add(master.growth(), difference_mm) / part.growth()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Steel master 42 mm, α = 11.5e-6; aluminium bore, α = 23.6e-6. By hand from the same formula
    /// with 12 digits: bore 42.0100 mm as such at 26 °C; both at 25 °C and +0.0100; master 26 °C,
    /// bore 28 °C and +0.0100.
    #[test]
    fn sizes_at_20_c() {
        let steel = |temperature_c| Body {
            temperature_c,
            expansion_per_k: 11.5e-6,
        };
        let aluminium = |temperature_c| Body {
            temperature_c,
            expansion_per_k: 23.6e-6,
        };
        for (actual, expected) in [
            (
                size_at_20_c(42.01, 0.0, steel(20.0), aluminium(26.0)),
                42.004_052_226,
            ),
            (
                size_at_20_c(42.0, 0.01, steel(25.0), aluminium(25.0)),
                42.007_458_120,
            ),
            (
                size_at_20_c(42.0, 0.01, steel(26.0), aluminium(28.0)),
                42.004_967_462,
            ),
        ] {
            assert!((actual - expected).abs() < 1e-9, "{actual}");
        }
    }
}
