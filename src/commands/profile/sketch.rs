//! A section drawn with the dots of Braille characters.

use crate::bore::Section;

/// Characters wide and high; a character is two dots by four, so that dots are square.
const WIDTH: usize = 24;
const HEIGHT: usize = 12;

/// The fitted wall round its mean circle, 0° upwards and clockwise, and how many times the
/// deviation is magnified. `None` where no wall was fitted or it shows nothing.
pub(super) fn sketch(section: &Section, mean_radius_mm: f64) -> Option<(Vec<String>, f64)> {
    let shape = section.shape.as_ref()?;
    let steps = 720_u32;
    let wall: Vec<(f64, f64)> = (0..steps)
        .map(|step| {
            let angle = f64::from(step) * 360.0 / f64::from(steps);
            (angle.to_radians(), shape.deviation_mm(angle))
        })
        .collect();
    let farthest = wall.iter().map(|(_, d)| d.abs()).fold(0.0, f64::max);
    if farthest <= 1e-9 {
        return None;
    }
    // The mean circle takes 3/4 of the canvas; the largest deviation the rest.
    let scale = magnification(mean_radius_mm / farthest / 3.0);
    let mut canvas = Canvas::default();
    let radius = f64::from(u32::try_from(HEIGHT * 2 - 1).ok()?);
    let dots_a_mm = radius * 0.75 / mean_radius_mm;
    for step in (0..360_u32).step_by(9) {
        canvas.polar(f64::from(step).to_radians(), radius * 0.75, radius);
    }
    for (angle, deviation) in wall {
        canvas.polar(
            angle,
            (mean_radius_mm + deviation * scale) * dots_a_mm,
            radius,
        );
    }
    Some((canvas.lines(), scale))
}

/// The largest 1, 2 or 5 times a power of ten that isn't above `most`.
fn magnification(most: f64) -> f64 {
    let decade = 10_f64.powf(most.log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|step| step * decade)
        .find(|&step| step <= most)
        .unwrap_or(decade)
}

#[derive(Default)]
struct Canvas {
    dots: [[u8; WIDTH]; HEIGHT],
}

impl Canvas {
    /// A dot at `distance` dots from the middle, towards `angle` clockwise from upwards.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "checked to lie on the canvas"
    )]
    fn polar(&mut self, angle: f64, distance: f64, middle: f64) {
        let (sine, cosine) = angle.sin_cos();
        let x = (distance.mul_add(sine, middle) + 0.5).floor();
        let y = (distance.mul_add(-cosine, middle) + 0.5).floor();
        if x < 0.0 || y < 0.0 {
            return;
        }
        let (x, y) = (x as usize, y as usize);
        let bit = match (x % 2, y % 4) {
            (0, row @ 0..=2) => 1 << row,
            (1, row @ 0..=2) => 8 << row,
            (0, _) => 0x40,
            _ => 0x80,
        };
        if let Some(cell) = self.dots.get_mut(y / 4).and_then(|row| row.get_mut(x / 2)) {
            *cell |= bit;
        }
    }

    fn lines(&self) -> Vec<String> {
        self.dots
            .iter()
            .map(|row| {
                row.iter()
                    .map(|&dots| char::from_u32(0x2800 + u32::from(dots)).unwrap_or(' '))
                    .collect()
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::magnification;

    #[test]
    fn magnifications_are_round_numbers() {
        assert!((magnification(163.0) - 100.0).abs() < 1e-9);
        assert!((magnification(999.0) - 500.0).abs() < 1e-9);
        assert!((magnification(0.03) - 0.02).abs() < 1e-9);
    }
}
