//! A QR decomposition that takes in rows as they come.
//!
//! Only R and Qᵀy are kept. Each block of rows is folded in by Householder reflections that leave
//! R's zeros alone (Golub and Van Loan, "Matrix Computations", 4th edition, section 6.5.3, for one
//! row; here for many at a time, so that the inner loops run over short columns that stay in the
//! cache). A live section folds in one row at a time; the cost does not grow with the readings.

/// Rows folded in at a time: with 31 unknowns a block fills the first-level cache.
pub(super) const BLOCK: usize = 96;

/// R of the design so far, Qᵀy beside it, and what of y lies outside the design.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Triangle {
    unknowns: usize,
    /// Row-major, `unknowns` rows of `unknowns` + 1: R, then Qᵀy.
    rows: Vec<f64>,
    /// Sum of squared residuals.
    pub rest: f64,
    /// The reflection at hand.
    reflector: Vec<f64>,
}

impl Triangle {
    pub(super) fn new(unknowns: usize) -> Self {
        Self {
            unknowns,
            rows: vec![0.0; unknowns * (unknowns + 1)],
            rest: 0.0,
            reflector: vec![0.0; BLOCK],
        }
    }

    /// How many columns the design has.
    pub(super) const fn unknowns(&self) -> usize {
        self.unknowns
    }

    /// The sum of squares that the first `unknowns` columns leave.
    pub(super) fn beyond(&self, unknowns: usize) -> f64 {
        (unknowns..self.unknowns)
            .map(|row| self.rotated(row).powi(2))
            .sum::<f64>()
            + self.rest
    }

    /// R's element.
    pub(super) fn at(&self, row: usize, column: usize) -> f64 {
        self.rows[row * (self.unknowns + 1) + column]
    }

    /// Qᵀy's element.
    pub(super) fn rotated(&self, row: usize) -> f64 {
        self.at(row, self.unknowns)
    }

    /// Folds in `count` rows, at most [`BLOCK`]. `block` holds them column by column, y last, and
    /// is used up.
    pub(super) fn absorb(&mut self, block: &mut [f64], count: usize) {
        let width = self.unknowns + 1;
        let Some(reflector) = self.reflector.get_mut(..count) else {
            return;
        };
        for pivot in 0..self.unknowns {
            let (done, others) = block.split_at_mut((pivot + 1) * count);
            let column = &done[pivot * count..];
            let squares = dot(column, column);
            if squares <= 0.0 {
                continue;
            }
            let row = &mut self.rows[pivot * width..(pivot + 1) * width];
            let before = row[pivot];
            let after = -before.signum() * before.mul_add(before, squares).sqrt();
            let (scale, share) = (1.0 / (before - after), (after - before) / after);
            for (v, x) in reflector.iter_mut().zip(column) {
                *v = x * scale;
            }
            row[pivot] = after;
            // Four columns at a time read the reflector once.
            let mut heads = row[pivot + 1..].chunks_exact_mut(4);
            let mut fours = others.chunks_exact_mut(4 * count);
            for (head, four) in (&mut heads).zip(&mut fours) {
                reflect_four(reflector, head, four, count, share);
            }
            let rest = heads.into_remainder();
            for (head, column) in rest
                .iter_mut()
                .zip(fours.into_remainder().chunks_exact_mut(count))
            {
                let weight = share * (*head + dot(reflector, column));
                *head -= weight;
                for (x, v) in column.iter_mut().zip(reflector.iter()) {
                    *x -= weight * v;
                }
            }
        }
        let outside = &block[self.unknowns * count..];
        self.rest += dot(outside, outside);
    }
}

fn reflect_four(reflector: &[f64], head: &mut [f64], four: &mut [f64], count: usize, share: f64) {
    let (a, rest) = four.split_at_mut(count);
    let (b, rest) = rest.split_at_mut(count);
    let (c, d) = rest.split_at_mut(count);
    let mut sums = [[0.0_f64; 2]; 4];
    let pairs = count / 2 * 2;
    for at in (0..pairs).step_by(2) {
        let v = &reflector[at..at + 2];
        for (sum, column) in sums.iter_mut().zip([&*a, &*b, &*c, &*d]) {
            let x = &column[at..at + 2];
            sum[0] += v[0] * x[0];
            sum[1] += v[1] * x[1];
        }
    }
    let odd = |column: &[f64]| {
        if pairs < count {
            reflector[pairs] * column[pairs]
        } else {
            0.0
        }
    };
    let last = [odd(a), odd(b), odd(c), odd(d)];
    let mut weights = [0.0; 4];
    for (at, weight) in weights.iter_mut().enumerate() {
        *weight = share * (head[at] + sums[at][0] + sums[at][1] + last[at]);
        head[at] -= *weight;
    }
    for ((((v, a), b), c), d) in reflector.iter().zip(a).zip(b).zip(c).zip(d) {
        *a -= weights[0] * v;
        *b -= weights[1] * v;
        *c -= weights[2] * v;
        *d -= weights[3] * v;
    }
}

/// Four sums side by side, so that the additions don't wait for each other.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0_f64; 4];
    let (mut fours_a, mut fours_b) = (a.chunks_exact(4), b.chunks_exact(4));
    for (x, y) in (&mut fours_a).zip(&mut fours_b) {
        for (sum, (x, y)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += x * y;
        }
    }
    let rest: f64 = fours_a
        .remainder()
        .iter()
        .zip(fours_b.remainder())
        .map(|(x, y)| x * y)
        .sum();
    sums[0] + sums[1] + (sums[2] + sums[3]) + rest
}

/// The rows of a Fourier design at `turns` into a block, as [`fill_row`] makes each. Column after
/// column, so that the loops run over neighbours.
pub(super) fn fill_block(block: &mut [f64], turns: &[f64], pairs: usize) {
    let count = turns.len();
    let (ones, mut rest) = block.split_at_mut(count);
    ones.fill(1.0);
    if pairs == 0 {
        return;
    }
    let (first, others) = rest.split_at_mut(2 * count);
    rest = others;
    let (cosines, sines) = first.split_at_mut(count);
    for ((turn, cosine), sine) in turns.iter().zip(&mut *cosines).zip(&mut *sines) {
        (*sine, *cosine) = turn.sin_cos();
    }
    let (cosines_1, sines_1) = (&*cosines, &*sines);
    let (mut before_c, mut before_s) = (cosines_1, sines_1);
    // All are `count` long; said once more, so that no bounds are checked in the loop.
    let (cosines_1, sines_1) = (&cosines_1[..count], &sines_1[..count]);
    for _ in 1..pairs {
        let (columns, others) = rest.split_at_mut(2 * count);
        rest = others;
        let (cosines, sines) = columns.split_at_mut(count);
        let (c_0, s_0) = (&before_c[..count], &before_s[..count]);
        let sines = &mut sines[..count];
        for at in 0..count {
            let (c, s, c_1, s_1) = (c_0[at], s_0[at], cosines_1[at], sines_1[at]);
            cosines[at] = c * c_1 - s * s_1;
            sines[at] = s * c_1 + c * s_1;
        }
        (before_c, before_s) = (cosines, sines);
    }
}

/// One row of a Fourier design into a block of `count` rows: 1, then cosine and sine of each of
/// `pairs` multiples of `turn`, by the angle-sum formulae (their error stays below `pairs`
/// roundings).
pub(super) fn fill_row(block: &mut [f64], count: usize, row: usize, turn: f64, pairs: usize) {
    let (sine_1, cosine_1) = turn.sin_cos();
    let (mut sine, mut cosine) = (sine_1, cosine_1);
    let mut column = block.iter_mut().skip(row).step_by(count);
    let mut put = |value: f64| {
        if let Some(place) = column.next() {
            *place = value;
        }
    };
    put(1.0);
    for _ in 0..pairs {
        put(cosine);
        put(sine);
        (sine, cosine) = (
            sine * cosine_1 + cosine * sine_1,
            cosine * cosine_1 - sine * sine_1,
        );
    }
}
