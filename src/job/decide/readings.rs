//! What follows from what a gauge sends.

use std::time::Duration;

use super::{Draft, Shop};
use crate::bore::Contact;
use crate::gauge::Raw;
use crate::job::event::Body;
use crate::job::gauges::{Role, Sends, TYPED, Traits, Worth};
use crate::job::plan::Station;
use crate::job::state::{Bench, Job};
use crate::units::{Angle, Length, Moment};

impl Bench {
    /// What follows from a frame of `gauge` that is a reading. It is always recorded: counted,
    /// or refused with the reason; shown only, while the gauge is in a ring.
    pub fn reading(&self, shop: &Shop, gauge: &str, at: Moment, raw: &Raw, value: Length) -> Draft {
        if self.in_ring.contains_key(gauge) {
            let body = Body::RingReading {
                gauge: gauge.to_owned(),
                raw: raw.text(),
                raw_hex: raw.hex(),
                value_mm: value.mm(),
            };
            return Draft { at, of: None, body };
        }
        let typed = self.typed(shop);
        let traits = shop.gauges.get(gauge).unwrap_or(&typed);
        let body = match self.place(traits, gauge, value) {
            Ok((station, worth)) => Body::Reading {
                gauge: gauge.to_owned(),
                raw: raw.text(),
                raw_hex: raw.hex(),
                value_mm: value.mm(),
                contact: (traits.contact == Contact::Radius).then_some(traits.contact),
                corrected_mm: worth.size_mm,
                size_set: worth.setting_u_mm.is_some(),
                setting_u_mm: worth.setting_u_mm,
                ring_mm: worth.ring_mm,
                resolution_mm: traits.resolution_mm,
                deviation_mm: worth.deviation_mm,
                station: station.cloned(),
            },
            Err(why) => Body::ReadingRefused {
                gauge: gauge.to_owned(),
                raw: raw.text(),
                raw_hex: raw.hex(),
                value_mm: Some(value.mm()),
                station: (traits.role == Role::Bore)
                    .then(|| self.job().and_then(Job::next).cloned())
                    .flatten(),
                why,
            },
        };
        Draft {
            at,
            of: self.header(),
            body,
        }
    }

    /// Where a reading goes and what it comes to, or why it cannot belong.
    fn place(
        &self,
        traits: &Traits,
        gauge: &str,
        value: Length,
    ) -> Result<(Option<&Station>, Worth), String> {
        let worth = traits.worth(value.mm(), self.settings.get(gauge));
        let Some(job) = self.job() else {
            return Ok((None, worth));
        };
        match traits.role {
            Role::Bore => {}
            Role::Insert => {
                let nominals: Vec<f64> = job.seat.bores.iter().map(|b| b.nominal_mm).collect();
                let within_mm = job.seat.belongs_within_mm;
                return match traits.cannot_go_in(&worth, &nominals, within_mm) {
                    Some(why) => Err(why),
                    None => Ok((None, worth)),
                };
            }
            Role::Angle => return Ok((None, worth)),
        }
        let station = job.next().ok_or_else(|| {
            format!(
                "every station {} is done: go to a station to gauge it again, begin a second \
                 turn, change the phase, or close the job",
                job.phase
            )
        })?;
        if gauge != TYPED && traits.contact != job.contact {
            return Err(
                "this job was planned for another kind of contact: use the gauge that it was \
                 opened for, or open a new job"
                    .to_owned(),
            );
        }
        let bore = job.seat.bores.iter().find(|bore| bore.name == station.bore);
        let nominal_mm = bore.map_or(f64::NAN, |bore| bore.nominal_mm);
        match traits.cannot_belong(&worth, nominal_mm, job.seat.belongs_within_mm) {
            Some(why) => Err(why),
            None => Ok((Some(station), worth)),
        }
    }

    /// What follows from an angle of `gauge`: recorded always, a turning point where a hang test is
    /// under way.
    pub fn angle(
        &self,
        shop: &Shop,
        (gauge, at): (&str, Moment),
        raw: &Raw,
        value: Angle,
        turning_deg: f64,
    ) -> Draft {
        let sends = shop.gauges.get(gauge).map(|traits| traits.sends);
        let body = Body::AngleReading {
            gauge: gauge.to_owned(),
            raw: raw.text(),
            raw_hex: raw.hex(),
            value_deg: value.deg(),
            turning_deg,
            signed: sends == Some(Sends::Angle { signed: true }),
        };
        Draft {
            at,
            of: self.header(),
            body,
        }
    }

    /// What follows from a frame that bounced.
    pub fn bounced(&self, gauge: &str, at: Moment, raw: &Raw, after: Duration) -> Draft {
        let body = Body::Bounce {
            gauge: gauge.to_owned(),
            raw: raw.text(),
            raw_hex: raw.hex(),
            after_ms: u64::try_from(after.as_millis()).unwrap_or(u64::MAX),
        };
        Draft {
            at,
            of: self.header(),
            body,
        }
    }
}
