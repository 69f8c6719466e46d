//! What is known of a section: its wall, limits, axes and stations.

/// A fitted wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// Mean diameter, mm, in the same terms as the stations' values: a size, or a deviation where
    /// the face has no limits.
    pub mean_mm: f64,
    /// The lobes found.
    pub lobes: Vec<Lobe>,
}

/// The n-lobe part of a section: `amplitude_mm` cos(n (θ - `peak_deg`)) of the radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lobe {
    /// n.
    pub count: u32,
    /// Half peak-to-valley of the radius, mm.
    pub amplitude_mm: f64,
    /// A direction in which the bore is largest, degrees.
    pub peak_deg: f64,
}

/// Limits of the mean diameter, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least.
    pub lower_mm: f64,
    /// Greatest.
    pub upper_mm: f64,
    /// The size to aim at.
    pub target_mm: f64,
}

/// Tight and long axis of an oval.
#[derive(Debug, Clone, PartialEq)]
pub struct Axes {
    /// Direction of the smallest diameter, degrees.
    pub tight_deg: f64,
    /// The label at the tight axis: its size.
    pub tight_label: String,
    /// Direction of the largest diameter, degrees.
    pub long_deg: f64,
    /// The label at the long axis: its size.
    pub long_label: String,
}

/// One station on the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Where, degrees.
    pub angle_deg: f64,
    /// How far along it is.
    pub state: SpotState,
}

/// How far along a station is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpotState {
    /// Gauged: its mean diameter (or deviation of it), mm.
    Measured(f64),
    /// Still to gauge.
    ToDo,
    /// The one to gauge now.
    Next,
    /// Passed over.
    Skipped,
}

impl Wall {
    /// Deviation of the radius from the mean at `deg`.
    pub fn form_mm(&self, deg: f64) -> f64 {
        self.lobes
            .iter()
            .map(|lobe| {
                let turn = f64::from(lobe.count) * (deg - lobe.peak_deg);
                lobe.amplitude_mm * turn.to_radians().cos()
            })
            .sum()
    }

    /// Diameter, or what stands for it, at `deg`: twice the distance from the axis.
    pub fn diameter_mm(&self, deg: f64) -> f64 {
        2.0f64.mul_add(self.form_mm(deg), self.mean_mm)
    }

    /// Angles at which the line of the wall is drawn: every second degree, every one where there
    /// are lobes so many that it would lose their peaks.
    pub(super) fn angles(&self) -> impl Iterator<Item = f64> + use<> {
        let many = self.lobes.iter().any(|lobe| lobe.count > 12);
        let (points, step) = if many { (360, 1.0) } else { (180, 2.0) };
        (0..points).map(move |at| f64::from(at) * step)
    }

    /// Smallest and largest diameter on its line.
    pub(super) fn range_mm(&self) -> (f64, f64) {
        self.angles()
            .map(|deg| self.diameter_mm(deg))
            .fold((f64::MAX, f64::MIN), |(least, most), diameter| {
                (least.min(diameter), most.max(diameter))
            })
    }
}
