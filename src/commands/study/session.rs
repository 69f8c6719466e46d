//! A study as it is gauged: what is due, what was taken, and what was taken back.

use std::fmt::{self, Write as _};

use crate::uncertainty::study::Trial;

/// A value further than this from the others is another part, another unit or a slip, mm.
const BELONGS_WITHIN_MM: f64 = 2.0;

/// What a live study asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Plan {
    /// Repeats on one part.
    OnePart { repeats: u32 },
    /// Parts by operators by trials.
    Crossed {
        parts: u32,
        operators: u32,
        trials: u32,
    },
}

/// Which value is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Due {
    plan: Plan,
    /// From 0.
    index: u32,
}

/// The values so far.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Session {
    plan: Plan,
    reference: Option<f64>,
    taken: Vec<f64>,
}

impl Plan {
    /// How many values it takes.
    pub(super) const fn values(self) -> u32 {
        match self {
            Self::OnePart { repeats } => repeats,
            Self::Crossed {
                parts,
                operators,
                trials,
            } => parts * operators * trials,
        }
    }
}

impl Due {
    /// Operator, part and trial, from 1. An operator gauges every part before the first one again,
    /// so that nobody gauges one part twice in a row.
    const fn cell(self) -> (u32, u32, u32) {
        match self.plan {
            Plan::OnePart { .. } => (1, 1, self.index + 1),
            Plan::Crossed { parts, trials, .. } => {
                let turn = self.index / parts;
                (turn / trials + 1, self.index % parts + 1, turn % trials + 1)
            }
        }
    }
}

impl fmt::Display for Due {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (operator, part, trial) = self.cell();
        match self.plan {
            Plan::OnePart { repeats } => write!(f, "{trial:>3} of {repeats}"),
            Plan::Crossed { trials, .. } => write!(
                f,
                "{:>3} of {}  operator {operator}, part {part}, trial {trial} of {trials}",
                self.index + 1,
                self.plan.values()
            ),
        }
    }
}

impl Session {
    pub(super) const fn new(plan: Plan, reference: Option<f64>) -> Self {
        Self {
            plan,
            reference,
            taken: Vec::new(),
        }
    }

    const fn at(&self, index: usize) -> Due {
        #[expect(clippy::cast_possible_truncation, reason = "below the plan's u32")]
        let index = index as u32;
        Due {
            plan: self.plan,
            index,
        }
    }

    /// The known size of the one part, mm.
    pub(super) const fn reference(&self) -> Option<f64> {
        self.reference
    }

    /// What is to be gauged next; `None` where all is done.
    pub(super) fn due(&self) -> Option<Due> {
        let due = self.at(self.taken.len());
        (due.index < self.plan.values()).then_some(due)
    }

    /// Takes a value.
    ///
    /// # Errors
    /// Why it cannot belong, as a sentence.
    pub(super) fn take(&mut self, mm: f64) -> Result<(), String> {
        if let Some(&near) = self.reference.as_ref().or(self.taken.first())
            && (mm - near).abs() > BELONGS_WITHIN_MM
        {
            return Err(format!(
                "{mm} mm is more than {BELONGS_WITHIN_MM} mm from {near} mm: check the part and \
                 the gauge's unit, then gauge it again"
            ));
        }
        self.taken.push(mm);
        Ok(())
    }

    /// Takes the newest value back; what it was, and where it is due again.
    pub(super) fn take_back(&mut self) -> Option<(Due, f64)> {
        let mm = self.taken.pop()?;
        Some((self.at(self.taken.len()), mm))
    }

    /// How many values there are.
    pub(super) const fn len(&self) -> usize {
        self.taken.len()
    }

    /// The values, in order.
    pub(super) fn values(&self) -> &[f64] {
        &self.taken
    }

    /// The values with their operators and parts; `None` for repeats on one part.
    pub(super) fn trials(&self) -> Option<Vec<Trial>> {
        matches!(self.plan, Plan::Crossed { .. }).then(|| {
            let cells = (0..).zip(&self.taken).map(|(index, &value_mm)| {
                let (operator, part, _) = self.at(index).cell();
                Trial {
                    operator: operator.to_string(),
                    part: part.to_string(),
                    value_mm,
                }
            });
            cells.collect()
        })
    }

    /// The file that `borewright study FILE` reads; of one part, whose bias it bears on, with the gauge's
    /// digit step, mm.
    pub(super) fn csv(&self, step_mm: Option<f64>) -> String {
        let crossed = matches!(self.plan, Plan::Crossed { .. });
        let step_mm = step_mm.filter(|_| !crossed);
        let mut out = if crossed { "operator,part," } else { "" }.to_owned();
        out += "trial,reading_mm";
        out += if step_mm.is_some() {
            ",resolution_mm\n"
        } else {
            "\n"
        };
        for (index, mm) in (0..).zip(&self.taken) {
            let (operator, part, trial) = self.at(index).cell();
            if crossed {
                let _ = write!(out, "{operator},{part},");
            }
            let _ = write!(out, "{trial},{mm}");
            out += &step_mm.map_or_else(String::new, |step| format!(",{step}"));
            out.push('\n');
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_operator_gauges_every_part_before_the_first_again() {
        let plan = Plan::Crossed {
            parts: 2,
            operators: 2,
            trials: 2,
        };
        let mut session = Session::new(plan, None);
        let mut asked = Vec::new();
        while let Some(due) = session.due() {
            asked.push(due.cell());
            session.take(46.0).unwrap();
        }
        assert_eq!(
            asked,
            [
                (1, 1, 1),
                (1, 2, 1),
                (1, 1, 2),
                (1, 2, 2),
                (2, 1, 1),
                (2, 2, 1),
                (2, 1, 2),
                (2, 2, 2)
            ]
        );
        assert_eq!(
            session.csv(None).lines().last(),
            Some("2,2,2,46"),
            "operator, part, trial, reading"
        );
    }

    #[test]
    fn a_value_taken_back_is_due_again() {
        let mut session = Session::new(Plan::OnePart { repeats: 10 }, None);
        assert_eq!(session.take_back(), None);
        session.take(46.001).unwrap();
        session.take(46.009).unwrap();
        let (due, mm) = session.take_back().unwrap();
        assert_eq!((due.to_string().trim(), mm), ("2 of 10", 46.009));
        assert_eq!(session.due(), Some(due));
        assert_eq!(session.csv(None), "trial,reading_mm\n1,46.001\n");
        let with_step = "trial,reading_mm,resolution_mm\n1,46.001,0.0001\n";
        assert_eq!(session.csv(Some(0.0001)), with_step);
    }

    #[test]
    fn inches_among_millimetres_do_not_count() {
        let mut session = Session::new(Plan::OnePart { repeats: 10 }, Some(46.0));
        assert!(session.take(1.811).unwrap_err().contains("unit"));
        assert_eq!(session.len(), 0);
    }
}
