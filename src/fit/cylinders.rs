//! Thick cylinders pressed into each other: Lamé's solution for any number of layers.
//!
//! Open ends, plane stress, axisymmetric, elastic. A short ring in a longer housing is stiffer
//! than this says: a pressure is good to about ±20 % (judgement).

use super::material::Elastic;

/// Why a stack of cylinders can't be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CylindersError {
    /// Lists of unequal length, or nothing to press together.
    #[error(
        "{layers} layers need {diameters} diameters and {interfaces} interferences, at least two layers"
    )]
    Shape {
        /// How many layers.
        layers: usize,
        /// How many diameters they need.
        diameters: usize,
        /// How many interferences they need.
        interfaces: usize,
    },
    /// Diameters that don't grow outward, or constants that aren't positive.
    #[error("diameters must be finite, grow outward and not be negative; moduli must be positive")]
    Geometry,
}

/// Cylinders nested in each other, from the inside out.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// Diameters, mm: the innermost bore (0 for a solid part), each interface, the outside.
    pub diameters_mm: Vec<f64>,
    /// Material of each layer.
    pub layers: Vec<Elastic>,
}

/// What pressing does to one layer. Diameters change by…
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Growth of its inner diameter, mm (negative: contraction).
    pub inner_growth_mm: f64,
    /// Growth of its outer diameter, mm.
    pub outer_growth_mm: f64,
    /// Hoop stress at its inner surface, MPa, tension positive.
    pub hoop_inner_mpa: f64,
    /// Hoop stress at its outer surface, MPa.
    pub hoop_outer_mpa: f64,
    /// Greatest von Mises stress (always at the inner surface), MPa.
    pub von_mises_mpa: f64,
}

/// The state of a pressed [`Stack`].
#[derive(Debug, Clone, PartialEq)]
pub struct Pressed {
    /// Contact pressure at each interface, MPa; 0 where the parts don't touch.
    pub pressures_mpa: Vec<f64>,
    /// Each layer, from the inside out.
    pub layers: Vec<Layer>,
}

impl Stack {
    /// Presses the parts together with the given **diametral** interferences (negative: play),
    /// mm, one an interface.
    ///
    /// Shigley, Mechanical Engineering Design, 9th ed., eq. 7-39 to 7-47 for two layers; here the
    /// same displacement u(r) of Timoshenko, Strength of Materials II, §41, made continuous at
    /// every interface that touches.
    ///
    /// # Errors
    /// [`CylindersError`] where the numbers describe no nested cylinders.
    pub fn press(&self, interference_mm: &[f64]) -> Result<Pressed, CylindersError> {
        self.check(interference_mm)?;
        let interfaces = interference_mm.len();
        // Which interfaces touch is not known beforehand: the one set for which no touching
        // interface pulls and no open one overlaps is the answer. All touching comes first.
        let mut best = vec![0.0; interfaces];
        for open in 0..1_u32 << interfaces {
            let touches = |at: usize| open & (1 << at) == 0;
            let pressures = self.solve(interference_mm, &touches);
            if pressures.iter().any(|&p| p < 0.0) {
                continue;
            }
            let overlaps = (0..interfaces).any(|at| {
                !touches(at) && self.gap_mm(at, interference_mm[at], &pressures) < -1e-15
            });
            if !overlaps {
                best = pressures;
                break;
            }
        }
        let layers = (0..self.layers.len())
            .map(|at| self.layer(at, &best))
            .collect();
        Ok(Pressed {
            pressures_mpa: best,
            layers,
        })
    }

    fn check(&self, interference_mm: &[f64]) -> Result<(), CylindersError> {
        let layers = self.layers.len();
        if !(2..=8).contains(&layers)
            || self.diameters_mm.len() != layers + 1
            || interference_mm.len() != layers - 1
        {
            return Err(CylindersError::Shape {
                layers,
                diameters: layers + 1,
                interfaces: layers.saturating_sub(1),
            });
        }
        let grow = self.diameters_mm.windows(2).all(|pair| pair[0] < pair[1]);
        let finite = |mm: &f64| mm.is_finite();
        let sound = |layer: &Elastic| {
            layer.young_mpa.is_finite() && layer.young_mpa > 0.0 && layer.poisson.abs() < 1.0
        };
        if grow
            && self.diameters_mm[0] >= 0.0
            && self.diameters_mm.iter().all(finite)
            && interference_mm.iter().all(finite)
            && self.layers.iter().all(sound)
        {
            Ok(())
        } else {
            Err(CylindersError::Geometry)
        }
    }

    /// Pressures that close every touching interface: a tridiagonal system, solved by
    /// elimination (it is diagonally dominant).
    fn solve(&self, interference_mm: &[f64], touches: &impl Fn(usize) -> bool) -> Vec<f64> {
        let count = interference_mm.len();
        let mut diagonal = vec![1.0; count];
        let mut upper = vec![0.0; count];
        let mut lower = vec![0.0; count];
        let mut right = vec![0.0; count];
        for at in (0..count).filter(|&at| touches(at)) {
            let inside = self.compliance(at);
            let outside = self.compliance(at + 1);
            diagonal[at] = outside.inner_by_inner - inside.outer_by_outer;
            if at > 0 && touches(at - 1) {
                lower[at] = -inside.outer_by_inner;
            }
            if at + 1 < count && touches(at + 1) {
                upper[at] = outside.inner_by_outer;
            }
            right[at] = interference_mm[at];
        }
        for at in 1..count {
            let factor = lower[at] / diagonal[at - 1];
            diagonal[at] -= factor * upper[at - 1];
            right[at] -= factor * right[at - 1];
        }
        for at in (0..count).rev() {
            let beyond = if at + 1 < count {
                upper[at] * right[at + 1]
            } else {
                0.0
            };
            right[at] = (right[at] - beyond) / diagonal[at];
        }
        right
    }

    /// Diametral play left at an interface, mm (negative: overlap).
    fn gap_mm(&self, at: usize, interference_mm: f64, pressures: &[f64]) -> f64 {
        self.layer(at + 1, pressures).inner_growth_mm
            - self.layer(at, pressures).outer_growth_mm
            - interference_mm
    }

    fn layer(&self, at: usize, pressures: &[f64]) -> Layer {
        let inner = if at == 0 { 0.0 } else { pressures[at - 1] };
        let outer = pressures.get(at).copied().unwrap_or(0.0);
        let by = self.compliance(at);
        let (a, b) = (self.diameters_mm[at], self.diameters_mm[at + 1]);
        let (a2, b2) = (a * a, b * b);
        let mean = (inner * a2 - outer * b2) / ((b - a) * (b + a));
        // Radial plus hoop stress is 2·mean everywhere; the radial one is minus the pressure.
        let hoop_outer_mpa = 2.0 * mean + outer;
        let (hoop_inner_mpa, radial_inner) = if a2 == 0.0 {
            (mean, mean)
        } else {
            (2.0 * mean + inner, -inner)
        };
        Layer {
            inner_growth_mm: by.inner_by_inner * inner + by.inner_by_outer * outer,
            outer_growth_mm: by.outer_by_inner * inner + by.outer_by_outer * outer,
            hoop_inner_mpa,
            hoop_outer_mpa,
            von_mises_mpa: (hoop_inner_mpa * hoop_inner_mpa - hoop_inner_mpa * radial_inner
                + radial_inner * radial_inner)
                .sqrt(),
        }
    }

    /// How a layer's diameters answer to a pressure inside or outside it, mm/MPa.
    fn compliance(&self, at: usize) -> Compliance {
        let Elastic {
            young_mpa: e,
            poisson: nu,
            ..
        } = self.layers[at];
        let (a, b) = (self.diameters_mm[at], self.diameters_mm[at + 1]);
        let (a2, b2) = (a * a, b * b);
        // As a product: the difference of two squares loses digits in a thin wall.
        let wall = e * ((b - a) * (b + a));
        Compliance {
            inner_by_inner: a * ((1.0 - nu) * a2 + (1.0 + nu) * b2) / wall,
            inner_by_outer: -2.0 * a * b2 / wall,
            outer_by_inner: 2.0 * a2 * b / wall,
            outer_by_outer: -b * ((1.0 - nu) * b2 + (1.0 + nu) * a2) / wall,
        }
    }
}

struct Compliance {
    inner_by_inner: f64,
    inner_by_outer: f64,
    outer_by_inner: f64,
    outer_by_outer: f64,
}

/// Coefficients of friction while pressing in, and for pulling out, of a ring on a cylindrical
/// seat (bearing catalogue): the range within which the force is expected.
pub const FRICTION: (f64, f64) = (0.12, 0.18);

/// Axial force to press or pull a seat of `diameter_mm` over `length_mm`, N: F = µ π d L p.
pub fn axial_force_n(friction: f64, diameter_mm: f64, length_mm: f64, pressure_mpa: f64) -> f64 {
    friction * std::f64::consts::PI * diameter_mm * length_mm * pressure_mpa
}

/// Interference at `celsius` of a seat that has `interference_mm` at 20 °C, both parts warm alike:
/// the difference of expansion of the outer against the inner part, first order.
pub fn interference_at_mm(
    interference_mm: f64,
    diameter_mm: f64,
    inner: &Elastic,
    outer: &Elastic,
    celsius: f64,
) -> f64 {
    interference_mm
        - (outer.expansion_per_k - inner.expansion_per_k) * diameter_mm * (celsius - 20.0)
}

/// Stiffness of a thin ring against an n-lobe radial pressure p cos nθ, MPa per mm of amplitude:
/// k = E h³ (n² − 1)² / (12 R⁴), inextensional bending (Timoshenko, Strength of Materials II,
/// §78; h the wall, R the mean radius). Against the exact plane-stress annulus the deflection is 3 %
/// low for a bearing ring 39.6/42 and 4 % high for a shell 42/46.
pub fn lobe_stiffness_mpa_per_mm(lobes: u32, inner_mm: f64, outer_mm: f64, young_mpa: f64) -> f64 {
    let wall = (outer_mm - inner_mm) / 2.0;
    let mean_radius = (outer_mm + inner_mm) / 4.0;
    let order = f64::from(lobes).powi(2) - 1.0;
    young_mpa * wall.powi(3) * order * order / (12.0 * mean_radius.powi(4))
}

/// The part T of the housing's lobe shape that a ring in full contact takes, by stiffness:
/// T = k_housing / (k_housing + k_ring). The same for every lobe count, as (n² − 1)² cancels.
pub fn shape_share(housing_stiffness: f64, ring_stiffness: f64) -> f64 {
    housing_stiffness / (housing_stiffness + ring_stiffness)
}

/// The mean pressure below which a ring no longer touches all round a housing whose free lobe has
/// the radial `amplitude_mm`, MPa: p = w k_r k_h / (k_r + k_h).
pub fn conforming_pressure_mpa(
    amplitude_mm: f64,
    housing_stiffness: f64,
    ring_stiffness: f64,
) -> f64 {
    amplitude_mm * housing_stiffness * ring_stiffness / (housing_stiffness + ring_stiffness)
}
