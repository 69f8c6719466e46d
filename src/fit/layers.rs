//! The rings between raceway and housing, as a stack of cylinders.

use super::cylinders::{Stack, lobe_stiffness_mpa_per_mm};
use super::insert::Insert;
use super::material::{Elastic, Material};

/// The rings inside the housing, from the raceway out.
pub(super) struct Layers {
    diameters_mm: Vec<f64>,
    elastic: Vec<Elastic>,
}

/// What the stack gives.
#[derive(Clone, Copy)]
pub(super) struct Solved {
    /// At the housing, MPa.
    pub(super) pressure: f64,
    /// At the wall of the bore, MPa.
    pub(super) hoop: f64,
    /// Of the raceway, mm.
    pub(super) contraction: f64,
}

impl Layers {
    pub(super) fn of(insert: &Insert) -> Option<Self> {
        let steel = Material::BearingSteel.elastic()?;
        let bearing = insert.bearing?;
        let raceway = bearing.raceway_mm();
        Some(match insert.cup {
            None => Self {
                diameters_mm: vec![raceway, insert.outside.mean_mm],
                elastic: vec![steel],
            },
            Some(cup) => Self {
                diameters_mm: vec![raceway, bearing.size.outside_mm, insert.outside.mean_mm],
                elastic: vec![steel, cup.elastic()?],
            },
        })
    }

    pub(super) fn outermost(&self) -> &Elastic {
        // Never empty: `of` puts one or two in.
        &self.elastic[self.elastic.len() - 1]
    }

    /// With the interference in the housing only: a cup comes with its bearing fitted, whose
    /// clearance is the one that it has there.
    pub(super) fn press(&self, delta_mm: f64, wall_mm: f64, shell: &Elastic) -> Option<Solved> {
        self.press_warmed(delta_mm, wall_mm, shell, 0.0)
    }

    /// The same with every part `kelvin` warmer than 20 °C: at each interface the interference
    /// grows by (α_inner − α_outer) d ΔT, first order. A cup that grows away from its bearing
    /// leaves it without support.
    pub(super) fn press_warmed(
        &self,
        delta_mm: f64,
        wall_mm: f64,
        shell: &Elastic,
        kelvin: f64,
    ) -> Option<Solved> {
        let outer = self.diameters_mm.last()?;
        let mut stack = Stack {
            diameters_mm: self.diameters_mm.clone(),
            layers: self.elastic.clone(),
        };
        stack.diameters_mm.push(outer + 2.0 * wall_mm);
        stack.layers.push(*shell);
        let mut interference = vec![0.0; self.elastic.len() - 1];
        interference.push(delta_mm);
        for (at, pair) in stack.layers.windows(2).enumerate() {
            let by = pair[0].expansion_per_k - pair[1].expansion_per_k;
            interference[at] += by * stack.diameters_mm[at + 1] * kelvin;
        }
        let pressed = stack.press(&interference).ok()?;
        Some(Solved {
            pressure: *pressed.pressures_mpa.last()?,
            hoop: pressed.layers.last()?.hoop_inner_mpa,
            // Not -x, which makes nothing a minus zero.
            contraction: 0.0 - pressed.layers.first()?.inner_growth_mm,
        })
    }

    /// Raceway contraction for each millimetre of interference in a housing that doesn't give.
    pub(super) fn rigid_ratio(&self) -> f64 {
        let rigid = Elastic {
            young_mpa: 1e12,
            young_spread: 0.0,
            poisson: 0.3,
            expansion_per_k: 0.0,
        };
        self.press(1e-3, 1e3, &rigid)
            .map_or(1.0, |solved| solved.contraction / 1e-3)
    }

    pub(super) fn stiffness(&self) -> f64 {
        self.diameters_mm
            .windows(2)
            .zip(&self.elastic)
            .map(|(d, elastic)| lobe_stiffness_mpa_per_mm(2, d[0], d[1], elastic.young_mpa))
            .sum()
    }
}
