//! A value to the frame in which a gauge of a given description states it: the simulated gauge
//! speaks from the same description that the reader reads by.

use super::description::{Description, Part, Point, SignRule};
use crate::units::{Angle, Length, LengthUnit};

/// Why a gauge of this form can't state a value.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CantSay {
    /// The layout has no digits for it.
    #[error("{value} has more digits than the form {form} can send")]
    TooLarge {
        /// The value, with its unit.
        value: String,
        /// The form's name.
        form: String,
    },
    /// The layout has no sign.
    #[error("the form {form} has no sign, so it can't send {value}")]
    NoSign {
        /// The value, with its unit.
        value: String,
        /// The form's name.
        form: String,
    },
}

/// What is to be stated: the number in the form's unit, and as people read it.
#[derive(Clone, Copy)]
struct Says<'a> {
    number: f64,
    text: &'a str,
}

impl Description {
    /// The frame, with its end, in which this gauge states `value`, rounded to its resolution.
    ///
    /// # Errors
    /// [`CantSay`], where the layout has too few digits or no sign for it.
    pub fn encode(&self, value: Length) -> Result<Vec<u8>, CantSay> {
        let says = Says {
            number: value.in_unit(self.unit),
            text: &format!("{} mm", value.mm()),
        };
        self.frame(says)
    }

    /// The frame in which this gauge states the angle `value`, rounded to its resolution.
    ///
    /// # Errors
    /// As [`Description::encode`].
    pub fn encode_angle(&self, value: Angle) -> Result<Vec<u8>, CantSay> {
        let says = Says {
            number: value.deg(),
            text: &format!("{}°", value.deg()),
        };
        self.frame(says)
    }

    fn frame(&self, value: Says<'_>) -> Result<Vec<u8>, CantSay> {
        let (mantissa, decimals) = self.rounded(value)?;
        let mut frame = Vec::new();
        let mut signed = false;
        for part in &self.layout {
            match part {
                Part::Text { bytes, .. } => frame.extend_from_slice(bytes),
                Part::Blanks { least, .. } => {
                    frame.resize(frame.len() + usize::from(*least), b' ');
                }
                Part::Sign(rule) => {
                    signed = true;
                    match (mantissa < 0, rule) {
                        (true, _) => frame.push(b'-'),
                        (false, SignRule::Always) => frame.push(b'+'),
                        (false, SignRule::Optional) => {}
                    }
                }
                Part::Number { .. } => {
                    self.number(part, mantissa.unsigned_abs(), decimals, value, &mut frame)?;
                }
                Part::Unit { mm, inch, .. } => {
                    let text = match self.unit {
                        LengthUnit::Mm => mm,
                        LengthUnit::In => inch,
                    };
                    frame.extend(text.iter().flatten());
                }
                Part::Status { good, .. } => frame.extend(good.iter().take(1).flatten()),
            }
        }
        if mantissa < 0 && !signed {
            let (value, form) = (value.text.to_owned(), self.name.clone());
            return Err(CantSay::NoSign { value, form });
        }
        frame.extend(self.frame.ends.iter().take(1).flatten());
        Ok(frame)
    }

    /// `value` as a whole number of the gauge's steps: mantissa and decimals in its unit.
    fn rounded(&self, value: Says<'_>) -> Result<(i64, u32), CantSay> {
        let (step, decimals) = self.resolution_decimal;
        #[expect(clippy::cast_precision_loss, reason = "a step has few digits")]
        let steps = (value.number * 10_f64.powi(decimals.cast_signed()) / step as f64).round();
        if steps.abs() > 1e15 {
            return Err(self.too_large(value));
        }
        #[expect(clippy::cast_possible_truncation, reason = "a whole number below 1e15")]
        let steps = steps as i64;
        let mantissa = steps
            .checked_mul(step)
            .ok_or_else(|| self.too_large(value))?;
        Ok((mantissa, decimals))
    }

    fn number(
        &self,
        part: &Part,
        magnitude: u64,
        decimals: u32,
        value: Says<'_>,
        frame: &mut Vec<u8>,
    ) -> Result<(), CantSay> {
        let Part::Number {
            whole,
            point,
            decimals: sent,
        } = part
        else {
            return Ok(());
        };
        let behind = decimals.clamp(u32::from(sent.0), u32::from(sent.1));
        let scaled = 10_u64
            .checked_pow(behind - decimals.min(behind))
            .and_then(|more| magnitude.checked_mul(more))
            .ok_or_else(|| self.too_large(value))?;
        let one = 10_u64.pow(behind);
        let (before, rest) = (scaled / one, scaled % one);
        let least = usize::from(whole.0);
        let digits = if before == 0 && least == 0 {
            String::new()
        } else {
            format!("{before:0least$}")
        };
        if digits.len() > usize::from(whole.1) {
            return Err(self.too_large(value));
        }
        frame.extend_from_slice(digits.as_bytes());
        if behind > 0 {
            match point {
                Point::Point | Point::Either => frame.push(b'.'),
                Point::Comma => frame.push(b','),
                Point::Implied => {}
            }
            let width = behind as usize;
            frame.extend_from_slice(format!("{rest:0width$}").as_bytes());
        }
        Ok(())
    }

    fn too_large(&self, value: Says<'_>) -> CantSay {
        CantSay::TooLarge {
            value: value.text.to_owned(),
            form: self.name.clone(),
        }
    }
}
