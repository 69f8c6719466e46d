//! What the job needs to know of a gauge, and what one reading of it comes to.
//!
//! What a gauge states stays as it states it: its value, its deviation, what it shows in a ring, its
//! digit step and its repeatability are of the radius for an indicator swept from an axis
//! ([`Contact::Radius`]). A size, and whatever is said of one (the ring, the setting's uncertainty,
//! a drift, a limit), is a diameter for every contact: for a swept indicator twice the distance of
//! the wall from the axis of sweep.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::ring::off_its_ring;
use super::state::Setting;
use crate::bore::{Contact, UNSTATED_RING_MM};
use crate::gauge::Capture;
use crate::units::{Day, INCH_MM, Moment};

/// The gauge that a person at a keyboard is.
pub const TYPED: &str = "typed";

/// What a gauge is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Its readings fill the stations of a job.
    #[default]
    Bore,
    /// It measures what goes into the bore; its readings are recorded, not placed.
    Insert,
    /// It hangs on the arm of the hang test; its readings are the turning points of the swing.
    Angle,
}

/// What a gauge states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sends {
    /// A size.
    Size,
    /// A deviation from the setting ring in which it was zeroed; `sign` is +1 where a larger bore
    /// reads more, −1 where it reads less.
    Deviation {
        /// +1 or −1.
        sign: f64,
    },
    /// An angle.
    Angle {
        /// Whether it tells one side from the other by a sign.
        signed: bool,
    },
}

/// What is known of a gauge's own calibration.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
pub struct Calibration {
    /// The gauge's serial number; null where nobody said.
    #[serde(default)]
    pub serial: Option<String>,
    /// The day on which it was calibrated, by its certificate; null where nobody said.
    #[serde(default)]
    pub calibrated: Option<Day>,
    /// The last day on which that holds; null where nobody said.
    #[serde(default)]
    pub due: Option<Day>,
}

impl Calibration {
    /// Whether it had run out by `moment`.
    pub fn is_out_of_date(&self, moment: Moment) -> bool {
        self.due.is_some_and(|due| due.is_before(moment))
    }
}

/// What the job needs to know of one gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct Traits {
    /// What it is used for.
    pub role: Role,
    /// What it states.
    pub sends: Sends,
    /// How it touches the bore.
    pub contact: Contact,
    /// The step of its last digit, mm; degrees where it states angles.
    pub resolution_mm: f64,
    /// Within this time the same text again is a button's bounce; `None` for gauges without a
    /// button.
    pub bounce: Option<Duration>,
    /// Which of the values that it sends are readings.
    pub capture: Capture,
    /// What is known of its calibration; `None` where nobody said.
    pub calibration: Option<Calibration>,
}

/// The gauges of the bench by name.
pub type Gauges = BTreeMap<Arc<str>, Traits>;

/// What one value of a gauge comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worth {
    /// The size as a diameter, where one can be told.
    pub size_mm: Option<f64>,
    /// The deviation from the ring as the gauge states it, larger bore = more, for comparators: for
    /// `radius` of the radius.
    pub deviation_mm: Option<f64>,
    /// Standard uncertainty that the setting brings to the size, mm; `None` where no ring stands
    /// behind it.
    pub setting_u_mm: Option<f64>,
    /// The ring, mm.
    pub ring_mm: Option<f64>,
}

impl Traits {
    /// What `value_mm` comes to under the gauge's newest setting. A comparator's deviation becomes
    /// a size only through the ring: size = ring + sign x (reading − reading in the ring), the latter
    /// twice for a gauge that reads radii.
    pub fn worth(&self, value_mm: f64, setting: Option<&Setting>) -> Worth {
        let across = self.contact.diameter_per_reading();
        match (self.sends, setting) {
            (Sends::Size, None) => Worth {
                size_mm: Some(across * value_mm),
                deviation_mm: None,
                setting_u_mm: None,
                ring_mm: None,
            },
            (Sends::Size, Some(setting)) => Worth {
                size_mm: Some(across * (value_mm - setting.shown_mm) + setting.ring_mm),
                deviation_mm: None,
                setting_u_mm: Some(self.setting_u_mm(setting)),
                ring_mm: Some(setting.ring_mm),
            },
            (Sends::Deviation { sign }, None) => Worth {
                size_mm: None,
                deviation_mm: Some(sign * value_mm),
                setting_u_mm: None,
                ring_mm: None,
            },
            (Sends::Deviation { sign }, Some(setting)) => {
                let deviation_mm = sign * (value_mm - setting.shown_mm);
                Worth {
                    size_mm: Some(setting.ring_mm + across * deviation_mm),
                    deviation_mm: Some(deviation_mm),
                    setting_u_mm: Some(self.setting_u_mm(setting)),
                    ring_mm: Some(setting.ring_mm),
                }
            }
            // No angle is a size.
            (Sends::Angle { .. }, _) => Worth {
                size_mm: None,
                deviation_mm: None,
                setting_u_mm: None,
                ring_mm: None,
            },
        }
    }
}

impl Traits {
    /// +1 where a larger bore reads more, −1 where it reads less.
    pub const fn sign(&self) -> f64 {
        match self.sends {
            Sends::Size | Sends::Angle { .. } => 1.0,
            Sends::Deviation { sign } => sign,
        }
    }

    /// By how much the bore is larger where the gauge shows `more_mm` more, mm of diameter.
    pub fn larger_mm(&self, more_mm: f64) -> f64 {
        self.sign() * self.contact.diameter_per_reading() * more_mm
    }

    /// What it shows in a ring of `ring_mm` that it was set in, and is true to, mm.
    pub fn due_in_ring_mm(&self, ring_mm: f64) -> f64 {
        match self.sends {
            Sends::Size => ring_mm / self.contact.diameter_per_reading(),
            // An angle gauge is set in no ring.
            Sends::Deviation { .. } | Sends::Angle { .. } => 0.0,
        }
    }

    /// Whether it can have shown `shown_mm` in a ring of `ring_mm`, `off_mm` of diameter from what
    /// was due.
    ///
    /// # Errors
    /// See [`off_its_ring`].
    pub(super) fn can_show(&self, shown_mm: f64, off_mm: f64, ring_mm: f64) -> Result<(), String> {
        off_its_ring(
            self.contact,
            self.due_in_ring_mm(ring_mm),
            shown_mm,
            off_mm,
            ring_mm,
        )
    }

    /// What the setting brings to every size that follows from it: the ring's own uncertainty and
    /// the digit step of the reading in the ring (JCGM 100:2008, 4.3.7 for the step: q/√12), as a
    /// diameter. How far that reading scatters, a section's numbers know.
    fn setting_u_mm(&self, setting: &Setting) -> f64 {
        let ring = setting.ring_uncertainty_mm.unwrap_or(UNSTATED_RING_MM) / 2.0;
        ring.hypot(self.larger_mm(self.resolution_mm) / 12.0_f64.sqrt())
    }

    /// Why `worth` cannot belong to a bore of `nominal_mm`, within `within_mm`; `None` where it can.
    pub fn cannot_belong(&self, worth: &Worth, nominal_mm: f64, within_mm: f64) -> Option<String> {
        if let Some(size_mm) = worth.size_mm {
            return not_of_size(size_mm, &[nominal_mm], within_mm, &OF_BORE);
        }
        let deviation = worth.deviation_mm?;
        let diameter = self.contact.diameter_per_reading() * deviation;
        (diameter.abs() > within_mm).then(|| {
            format!(
                "a deviation of {deviation:+.3} mm is more than {within_mm} mm from the ring: seat \
                 the gauge and gauge this station again"
            )
        })
    }
}

impl Traits {
    /// Why `worth` cannot be the outside diameter of what goes into a bore of one of `nominals_mm`,
    /// within `within_mm`; `None` where it can.
    pub fn cannot_go_in(
        &self,
        worth: &Worth,
        nominals_mm: &[f64],
        within_mm: f64,
    ) -> Option<String> {
        let Some(size_mm) = worth.size_mm else {
            let why = "a deviation is no size: set the gauge for inserts in a ring, or on a size \
                       that is known, then measure again";
            return Some(why.to_owned());
        };
        not_of_size(size_mm, nominals_mm, within_mm, &OF_INSERT)
    }
}

/// What a size is of, for the sentence that refuses it.
struct SizeOf {
    /// What can't be, after the greatest difference.
    what: &'static str,
    /// What to do then.
    again: &'static str,
    /// The same where the unit is another.
    then: &'static str,
}

const OF_BORE: SizeOf = SizeOf {
    what: "that can belong to this bore",
    again: "seat the gauge and gauge this station again",
    then: "gauge this station again",
};

const OF_INSERT: SizeOf = SizeOf {
    what: "by which an insert can differ from its bore",
    again: "measure the insert again",
    then: "measure the insert again",
};

/// Why a size cannot belong to a bore of one of `nominals_mm`, within `within_mm`.
fn not_of_size(size: f64, nominals_mm: &[f64], within_mm: f64, of: &SizeOf) -> Option<String> {
    let near = |size: f64| {
        let mut nominals = nominals_mm.iter();
        nominals.any(|nominal| (size - nominal).abs() <= within_mm)
    };
    let SizeOf { what, again, then } = of;
    if near(size) {
        None
    } else if near(size * INCH_MM) {
        Some(format!(
            "{size:.4} looks like inches ({:.3} mm), but was read as millimetres: switch the \
             gauge to mm or choose the description for inches, then {then}",
            size * INCH_MM
        ))
    } else if near(size / INCH_MM) {
        Some(format!(
            "{:.3} looks like millimetres, but was read as inches: switch the gauge to inches \
             or choose the description for mm, then {then}",
            size / INCH_MM
        ))
    } else {
        let nearest = |a: &f64, b: &f64| (size - a).abs().total_cmp(&(size - b).abs());
        let nominal_mm = nominals_mm.iter().copied().min_by(nearest)?;
        let side = if size < nominal_mm { "under" } else { "over" };
        Some(format!(
            "{size:.3} mm is {:.3} mm {side} the nominal {nominal_mm:.3} mm, more than the \
             {within_mm} mm {what}: {again}",
            (size - nominal_mm).abs()
        ))
    }
}

/// The built-in traits of readings typed from a gauge of this contact: sizes as it shows them, to
/// the micrometre.
pub(super) const fn typed(contact: Contact) -> Traits {
    Traits {
        role: Role::Bore,
        sends: Sends::Size,
        contact,
        resolution_mm: 0.001,
        bounce: None,
        capture: Capture::Each,
        calibration: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setting(ring_mm: f64, shown_mm: f64) -> Setting {
        Setting {
            at: Moment::now(),
            ring_mm,
            shown_mm,
            ring_uncertainty_mm: None,
            ring_due: None,
            in_ring: None,
        }
    }

    fn traits(sends: Sends) -> Traits {
        Traits {
            sends,
            ..typed(Contact::TwoPoint)
        }
    }

    #[test]
    fn a_comparator_becomes_a_size_through_the_ring_only() {
        let more = traits(Sends::Deviation { sign: 1.0 });
        let less = traits(Sends::Deviation { sign: -1.0 });
        assert_eq!(more.worth(-0.04, None).size_mm, None);
        assert_eq!(less.worth(-0.04, None).deviation_mm, Some(0.04));
        assert_eq!(
            more.worth(-0.04, Some(&setting(46.0, 0.0))).size_mm,
            Some(45.96)
        );
        assert_eq!(
            less.worth(-0.04, Some(&setting(46.0, 0.0))).size_mm,
            Some(46.04)
        );
        let off_zero = less.worth(-0.04, Some(&setting(46.0, 0.01)));
        assert!((off_zero.size_mm.unwrap() - 46.05).abs() < 1e-12);
    }

    #[test]
    fn a_size_gauge_is_corrected_by_what_it_showed_in_the_ring() {
        let gauge = traits(Sends::Size);
        let worth = gauge.worth(45.963, Some(&setting(46.0, 45.998)));
        assert!((worth.size_mm.unwrap() - 45.965).abs() < 1e-12);
        assert!(worth.setting_u_mm.is_some() && gauge.worth(45.963, None).setting_u_mm.is_none());
    }

    #[test]
    fn the_wrong_unit_is_named() {
        let typed = traits(Sends::Size);
        let belongs = |mm: f64| typed.cannot_belong(&typed.worth(mm, None), 46.0, 2.0);
        assert_eq!(belongs(45.0), None);
        assert_eq!(belongs(48.0), None);
        assert!(belongs(1.811).unwrap().contains("looks like inches"));
        assert!(
            belongs(45.96 * 25.4)
                .unwrap()
                .contains("looks like millimetres")
        );
        assert!(
            belongs(43.9)
                .unwrap()
                .contains("is 2.100 mm under the nominal")
        );
        assert!(
            belongs(48.2)
                .unwrap()
                .contains("is 2.200 mm over the nominal")
        );
    }
}
