//! A button bounces, and noise can come in floods: both are judged by the time of arrival, before
//! the job sees them.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

/// Tells a button's bounce from a reading that is meant.
#[derive(Debug, Default)]
pub struct Bounces {
    counted: BTreeMap<Arc<str>, (Vec<u8>, Duration)>,
}

impl Bounces {
    /// Whether the frame `raw`, arrived `since_start` on a monotonic clock, is the bounce of the
    /// reading last counted from `gauge`: the same bytes again within `window`. Then how long
    /// after it. The window runs from the reading that counted, so that a hand that goes on
    /// pressing is heard again.
    pub fn judge(
        &mut self,
        gauge: &Arc<str>,
        raw: &[u8],
        since_start: Duration,
        window: Duration,
    ) -> Option<Duration> {
        if let Some((counted, at)) = self.counted.get(gauge) {
            let after = since_start.saturating_sub(*at);
            if counted == raw && after < window {
                return Some(after);
            }
        }
        self.counted
            .insert(Arc::clone(gauge), (raw.to_vec(), since_start));
        None
    }
}

/// How much noise of one gauge is kept a second; the rest is counted.
const KEPT_A_SECOND: u32 = 10;

/// Lets the first frames of noise of each second through and counts the rest.
#[derive(Debug, Default)]
pub struct Floods {
    seconds: BTreeMap<Arc<str>, Flood>,
}

#[derive(Debug, Clone, Copy)]
struct Flood {
    began: Duration,
    kept: u32,
    counted: u64,
}

impl Floods {
    /// Whether a frame of noise that arrived from `gauge` at `since_start` is kept.
    pub fn keep(&mut self, gauge: &Arc<str>, since_start: Duration) -> bool {
        let fresh = Flood {
            began: since_start,
            kept: 0,
            counted: 0,
        };
        let flood = self.seconds.entry(Arc::clone(gauge)).or_insert(fresh);
        if since_start.saturating_sub(flood.began) >= Duration::from_secs(1) {
            *flood = Flood {
                counted: flood.counted,
                ..fresh
            };
        }
        if flood.kept < KEPT_A_SECOND {
            flood.kept += 1;
            return true;
        }
        flood.counted += 1;
        false
    }

    /// The counts that are waiting to be recorded, by gauge; they start again at zero.
    pub fn take_counts(&mut self) -> Vec<(Arc<str>, u64)> {
        let waiting = self
            .seconds
            .iter_mut()
            .filter(|(_, flood)| flood.counted > 0);
        waiting
            .map(|(gauge, flood)| (Arc::clone(gauge), std::mem::take(&mut flood.counted)))
            .collect()
    }

    /// Whether any count is waiting.
    pub fn has_counts(&self) -> bool {
        self.seconds.values().any(|flood| flood.counted > 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WINDOW: Duration = Duration::from_millis(150);

    fn at(millis: u64) -> Duration {
        Duration::from_millis(millis)
    }

    #[test]
    fn the_same_text_within_the_window_is_a_bounce_and_later_it_is_meant() {
        let gauge: Arc<str> = "bore-gauge".into();
        let mut bounces = Bounces::default();
        assert_eq!(bounces.judge(&gauge, b"45.963", at(1000), WINDOW), None);
        assert_eq!(
            bounces.judge(&gauge, b"45.963", at(1100), WINDOW),
            Some(at(100))
        );
        assert_eq!(bounces.judge(&gauge, b"45.963", at(1150), WINDOW), None);
        assert_eq!(bounces.judge(&gauge, b"45.964", at(1160), WINDOW), None);
    }

    #[test]
    fn a_window_of_zero_turns_it_off_and_gauges_do_not_mix() {
        let (one, other): (Arc<str>, Arc<str>) = ("one".into(), "other".into());
        let mut bounces = Bounces::default();
        assert_eq!(bounces.judge(&one, b"1", at(5), WINDOW), None);
        assert_eq!(bounces.judge(&other, b"1", at(6), WINDOW), None);
        assert_eq!(bounces.judge(&one, b"1", at(5), Duration::ZERO), None);
    }

    #[test]
    fn a_flood_of_noise_is_kept_in_part_and_counted_whole() {
        let gauge: Arc<str> = "bore-gauge".into();
        let mut floods = Floods::default();
        let kept = (0..500)
            .filter(|&index| floods.keep(&gauge, at(index * 5)))
            .count();
        // 2.5 seconds at 200 a second.
        assert_eq!(kept, 30);
        assert_eq!(floods.take_counts(), [(Arc::clone(&gauge), 470)]);
        assert!(!floods.has_counts());
    }
}
