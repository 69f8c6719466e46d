//! The values that gauges show just now: which of them are readings, and the newest of each gauge.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::bore::Contact;
use crate::feed::{Line, Live};
use crate::gauge::{Capture, Raw};
use crate::job::{Refusal, Sends, Swings, Traits, Turning};
use crate::units::{Moment, Stated};

/// The time between two values of one gauge that are shown.
const SHOWN_EVERY: Duration = Duration::from_millis(100);
/// A value older than this is not what the gauge shows now.
const FRESH: Duration = Duration::from_secs(2);

/// A frame and what it states.
pub(super) type Frame = (Raw, Stated);

/// A value as it came.
#[derive(Debug)]
pub(super) struct Came {
    pub(super) at: Moment,
    pub(super) since_start: Duration,
    pub(super) frame: Frame,
}

/// What becomes of a value.
#[derive(Debug)]
pub(super) enum Is {
    /// This frame, which may be an earlier one, is a reading.
    Reading(Frame),
    /// This frame is at a turning point of the swing, which lies at so many degrees.
    Turned(Frame, f64),
    /// No reading; to be shown.
    Shown(Line),
    /// No reading; another value was shown just before it.
    Passed,
}

/// The values of all gauges of which not each one is a reading.
#[derive(Debug, Default)]
pub(super) struct Values(BTreeMap<Arc<str>, Seen>);

#[derive(Debug, Default)]
struct Seen {
    turning: Option<Turning<Frame>>,
    swings: Option<Swings<Frame>>,
    newest: Option<Newest>,
    shown: Option<Duration>,
}

#[derive(Debug)]
struct Newest {
    came: Instant,
    frame: Frame,
    /// Larger bore = more; degrees of an angle gauge.
    mm: f64,
    /// It is a reading already.
    taken: bool,
}

impl Values {
    /// What becomes of a value of `gauge`; `hangs`: a hang test is under way.
    pub(super) fn judge(
        &mut self,
        gauge: &Arc<str>,
        traits: &Traits,
        value: Came,
        hangs: bool,
    ) -> Is {
        let Came {
            at,
            since_start,
            frame,
        } = value;
        if traits.capture == Capture::Each {
            return Is::Reading(frame);
        }
        let seen = self.0.entry(Arc::clone(gauge)).or_default();
        // The smallest bore is the largest value of a gauge that reads the other way round.
        let mm = traits.sign() * frame.1.number();
        let captured = match (traits.capture, traits.sends) {
            (Capture::TurningPoint, Sends::Angle { signed }) if hangs => {
                let fresh = || Swings::new(traits.resolution_mm, signed);
                let swings = seen.swings.get_or_insert_with(fresh);
                let turned = swings.next(mm, frame.clone());
                turned.map(|(deg, frame)| Is::Turned(frame, deg))
            }
            (_, Sends::Angle { .. }) => {
                seen.swings = None;
                None
            }
            (Capture::TurningPoint, _) => {
                let springs_out = traits.contact == Contact::TwoPoint;
                let fresh = || Turning::new(traits.resolution_mm, springs_out);
                let turning = seen.turning.get_or_insert_with(fresh);
                let captured = turning.next(since_start, mm, frame.clone());
                captured.map(Is::Reading)
            }
            _ => None,
        };
        let due = seen
            .shown
            .is_none_or(|shown| since_start.saturating_sub(shown) >= SHOWN_EVERY);
        let is = match captured {
            Some(is) => is,
            None if due => {
                seen.shown = Some(since_start);
                Is::Shown(Live::new(gauge, at, frame.1, &frame.0).into())
            }
            None => Is::Passed,
        };
        seen.newest = Some(Newest {
            came: Instant::now(),
            frame,
            mm,
            taken: false,
        });
        is
    }

    /// The newest value of `gauge`, to be taken as a reading; `None` where it has sent none.
    ///
    /// # Errors
    /// A [`Refusal`] where that value is old or was taken before.
    pub(super) fn take(&mut self, gauge: &str) -> Result<Option<Frame>, Refusal> {
        let Some(seen) = self.0.get_mut(gauge) else {
            return Ok(None);
        };
        let Some(newest) = &mut seen.newest else {
            return Ok(None);
        };
        let age = newest.came.elapsed();
        if age > FRESH {
            return Err(Refusal(format!(
                "the newest value of `{gauge}` is {:.0} s old: see that it is switched on and in \
                 the bore, then take again",
                age.as_secs_f64()
            )));
        }
        if newest.taken {
            return Err(Refusal(format!(
                "this value of `{gauge}` was taken already: wait for its next one"
            )));
        }
        newest.taken = true;
        if let Some(turning) = &mut seen.turning {
            turning.hold(newest.mm);
        }
        Ok(Some(newest.frame.clone()))
    }

    /// The link of `gauge` came or went: what it showed before is past.
    pub(super) fn forget(&mut self, gauge: &str) {
        self.0.remove(gauge);
    }
}
