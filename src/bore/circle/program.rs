//! The reference circles as linear programs: exact to first order in the wall's deviations, and
//! fast enough to be solved for hundreds of simulated walls.
//!
//! About a centre c that lies close to the points' own, the wall at the direction u of a deviation d
//! lies at d - c·u (the limaçon). Each program minimises `goal`·x where no row falls short.

use nalgebra::{SMatrix, SVector};

/// More exchanges than this are a circle of equal walls, which no step improves.
const MOST_EXCHANGES: usize = 200;

/// An optimum that gives way less than this, in mm a mm of its centre, is one of an edge of them: to
/// first order two opposite contacts leave their circle free across, and what decides, the square of
/// the shift over the radius, is a few nanometres.
const FLAT: f64 = 1e-3;

/// An optimum.
#[derive(Debug, Clone, Copy)]
pub(super) struct Optimum<const M: usize> {
    x: [f64; M],
    /// The other end of the edge on which all are as good, within [`FLAT`].
    other: Option<[f64; M]>,
    basis: [usize; M],
}

impl<const M: usize> Optimum<M> {
    /// What is `of` both ends; the same twice where there is no edge.
    pub(super) fn ends<T: Copy>(&self, of: impl Fn([f64; M]) -> T) -> [T; 2] {
        let one = of(self.x);
        [one, self.other.map_or(one, of)]
    }
}

/// A row: `factors`·x is to be `sign` times the deviation at a direction, or more.
#[derive(Debug, Clone, Copy)]
struct Row<const M: usize> {
    factors: [f64; M],
    direction: usize,
    sign: f64,
}

/// A linear program with the rows that hold at its optimum.
#[derive(Debug, Clone)]
pub(super) struct Program<const M: usize> {
    rows: Vec<Row<M>>,
    goal: SVector<f64, M>,
    basis: [usize; M],
}

/// Places in `angles`, which are in order, of the first direction, of the one before half a turn
/// from it and of the one after: they surround the centre where no gap is wider than half a turn.
fn around(angles: &[f64]) -> [usize; 3] {
    let half = angles.partition_point(|angle| angle - angles[0] < std::f64::consts::PI);
    [0, half.saturating_sub(1), half.min(angles.len() - 1)]
}

impl Program<3> {
    /// The largest circle within the wall: x is its centre and its radius's deviation.
    pub(super) fn inscribed(ways: &[[f64; 2]], angles: &[f64]) -> Self {
        Self::circle(ways, angles, -1.0)
    }

    /// The smallest circle around the wall.
    pub(super) fn circumscribed(ways: &[[f64; 2]], angles: &[f64]) -> Self {
        Self::circle(ways, angles, 1.0)
    }

    fn circle(ways: &[[f64; 2]], angles: &[f64], sign: f64) -> Self {
        let row = |(direction, way): (usize, &[f64; 2])| Row {
            factors: [sign * way[0], sign * way[1], sign],
            direction,
            sign,
        };
        Self {
            rows: ways.iter().enumerate().map(row).collect(),
            goal: SVector::from([0.0, 0.0, sign]),
            basis: around(angles),
        }
    }
}

impl Program<4> {
    /// The narrowest zone that holds the wall: x is its centre and the deviations of its outer and
    /// its inner radius.
    pub(super) fn zone(ways: &[[f64; 2]]) -> Self {
        let count = ways.len();
        let row = |sign: f64| {
            move |(direction, way): (usize, &[f64; 2])| Row {
                factors: [
                    sign * way[0],
                    sign * way[1],
                    f64::max(sign, 0.0),
                    f64::min(sign, 0.0),
                ],
                direction,
                sign,
            }
        };
        let outer = ways.iter().enumerate().map(row(1.0));
        let inner = ways.iter().enumerate().map(row(-1.0));
        Self {
            rows: outer.chain(inner).collect(),
            goal: SVector::from([0.0, 0.0, 1.0, -1.0]),
            // Two outside and two inside that interlace: their chords cross.
            basis: [0, count / 2, count + count / 4, count + 3 * count / 4],
        }
    }
}

impl<const M: usize> Program<M> {
    /// Solves for the deviations `wall` by the dual simplex method: the basis is optimal for its own
    /// rows, and the row that falls short most takes the place of the one whose multiplier vanishes
    /// first. `None` where rounding keeps it from ending.
    pub(super) fn solve(&mut self, wall: &[f64], slack: f64) -> Option<Optimum<M>> {
        let optimum = self.solved(wall, slack)?;
        self.basis = optimum.basis;
        Some(optimum)
    }

    /// The same with the basis left as it is.
    pub(super) fn solved(&self, wall: &[f64], slack: f64) -> Option<Optimum<M>> {
        let mut basis = self.basis;
        for _ in 0..MOST_EXCHANGES {
            let row = |at: usize| &self.rows[basis[at]];
            let matrix = SMatrix::<f64, M, M>::from_fn(|at, column| row(at).factors[column]);
            let inverse = matrix.try_inverse()?;
            let right = SVector::<f64, M>::from_fn(|at, _| row(at).sign * wall[row(at).direction]);
            let x: [f64; M] = (inverse * right).into();
            let mut enters = None;
            let mut short = slack;
            for (at, row) in self.rows.iter().enumerate() {
                let by = row.short(&x, wall);
                if by > short {
                    (enters, short) = (Some(at), by);
                }
            }
            let multipliers = inverse.tr_mul(&self.goal);
            let Some(enters) = enters else {
                let other = self.other_end(&x, &inverse, &multipliers, wall);
                return Some(Optimum { x, other, basis });
            };
            let entering = inverse.tr_mul(&SVector::from(self.rows[enters].factors));
            let reach = |at: usize| multipliers[at] / entering[at];
            let leaves = (0..M)
                .filter(|&at| entering[at] > 1e-9)
                .min_by(|&a, &b| reach(a).total_cmp(&reach(b)))?;
            basis[leaves] = enters;
        }
        None
    }

    /// Lets go of the row that holds the centre least, and goes on to the next that does.
    fn other_end(
        &self,
        x: &[f64; M],
        inverse: &SMatrix<f64, M, M>,
        multipliers: &SVector<f64, M>,
        wall: &[f64],
    ) -> Option<[f64; M]> {
        let gives = |at: usize| multipliers[at] / inverse[(0, at)].hypot(inverse[(1, at)]);
        let least = (0..M).min_by(|&a, &b| gives(a).total_cmp(&gives(b)))?;
        if gives(least) > FLAT {
            return None;
        }
        let along: [f64; M] = inverse.column(least).into_owned().into();
        let reach = self
            .rows
            .iter()
            .filter_map(|row| {
                let nears: f64 = row.factors.iter().zip(along).map(|(f, a)| f * a).sum();
                (nears < -1e-9).then(|| row.short(x, wall).min(0.0) / nears)
            })
            .min_by(f64::total_cmp)?;
        Some(std::array::from_fn(|at| x[at] + reach * along[at]))
    }

    /// Keeps the rows that a change of the wall within `reach` can make hold, given the `optimum`
    /// for `wall`.
    pub(super) fn keep(&mut self, optimum: &Optimum<M>, wall: &[f64], reach: f64) {
        let mut kept = Vec::new();
        let mut basis = self.basis;
        for (at, row) in self.rows.iter().enumerate() {
            let holds = self.basis.iter().position(|&held| held == at);
            if let Some(place) = holds {
                basis[place] = kept.len();
            }
            let near = optimum
                .ends(|x| row.short(&x, wall) > -reach)
                .contains(&true);
            if holds.is_some() || near {
                kept.push(*row);
            }
        }
        self.rows = kept;
        self.basis = basis;
    }
}

impl<const M: usize> Row<M> {
    /// How far the row falls short at `x`.
    fn short(&self, x: &[f64; M], wall: &[f64]) -> f64 {
        let mut short = self.sign * wall[self.direction];
        for (factor, x) in self.factors.iter().zip(x) {
            short -= factor * x;
        }
        short
    }
}
