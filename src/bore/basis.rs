//! What stands behind the readings: how they become sizes, and how well that is known.

/// What is known of the gauge beside its readings. The default knows nothing: readings are sizes
/// of a gauge that was never set, and the order of the fit follows the data.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Basis {
    /// What a reading states.
    pub readings: Readings,
    /// The gauge's digit step, mm.
    pub resolution_mm: Option<f64>,
    /// The last decimal place of the readings, mm, where the digit step itself is not known: what
    /// scatters less than it is not known better.
    pub last_digit_mm: Option<f64>,
    /// The gauge's repeatability from its last study; used where it has more degrees of freedom
    /// than the readings of a section have themselves, and they don't contradict it.
    pub repeatability: Option<Repeatability>,
    /// What setting ring and temperatures contribute to every size; `None` where neither is known.
    pub setting: Option<Setting>,
    /// The least and the greatest drift of the gauge that was taken out of the readings, mm of diameter;
    /// nought where none was found.
    pub drift_mm: [f64; 2],
    /// How many lobes the fit may take.
    pub order: Order,
}

/// What a reading states.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Readings {
    /// A size: a diameter, or for `radius` a radius.
    #[default]
    Size,
    /// A deviation from a bore of this radius, mm: of the diameter from twice that radius, or for
    /// `radius` of the radius.
    DeviationFrom(f64),
    /// A deviation from a size that nobody knows: no size can be given, only differences.
    DeviationFromUnknown,
}

/// How well a gauge repeats.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeatability {
    /// Standard deviation of single readings, mm.
    pub standard_mm: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

/// What a setting ring counts as known to (k = 2) where nobody states it, mm: setting rings are made
/// within a few µm of their mark (common practice, no source), and one that was measured is known better.
/// Judgement.
pub const UNSTATED_RING_MM: f64 = 0.010;

/// The standard uncertainty of whatever is common to all sizes of a job: the setting ring, its
/// temperature and the part's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Whether a setting ring stands behind the sizes; without one the temperatures alone do, and
    /// sizes are marked as not set.
    pub by_ring: bool,
    /// Standard uncertainty of a diameter, mm.
    pub standard_mm: f64,
    /// Its degrees of freedom; infinite for a certificate.
    pub degrees_of_freedom: f64,
    /// Whether nobody stated the ring's uncertainty, so that it counts as [`UNSTATED_RING_MM`].
    pub assumed: bool,
    /// What the gauge read in the ring; `None` where that is free of scatter.
    pub in_ring: Option<InRing>,
}

impl Basis {
    /// The gauge's digit step, else what the last digit of the readings is worth, mm; nought where
    /// neither is known.
    pub(super) fn step_mm(&self) -> f64 {
        self.resolution_mm.or(self.last_digit_mm).unwrap_or(0.0)
    }
}

impl Setting {
    /// Its variance, mm², and degrees of freedom, without the scatter of the reading in the ring.
    pub(super) const fn variance(self) -> (f64, f64) {
        (self.standard_mm * self.standard_mm, self.degrees_of_freedom)
    }
}

impl Default for Setting {
    fn default() -> Self {
        Self {
            by_ring: false,
            standard_mm: 0.0,
            degrees_of_freedom: f64::INFINITY,
            assumed: false,
            in_ring: None,
        }
    }
}

/// The readings in the ring, whose scatter is in every size that follows from them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InRing {
    /// The variance of a diameter for a variance of 1 of single readings: 1/m by the mean of m readings
    /// in the ring, four times that where they are radii.
    pub share: f64,
    /// The sum of their squares about their mean, mm² as the gauge reads.
    pub squares_mm2: f64,
    /// The degrees of freedom of that; 0 of one reading.
    pub degrees_of_freedom: f64,
}

/// How many lobes the fit may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// As many as the readings show, by the rule of [`section`](super::section).
    #[default]
    Chosen,
    /// All that the contact sees up to this lobe count, as far as the directions allow. A live
    /// section uses a fixed order, so that one more reading costs the same however many there are.
    UpTo(u32),
}
