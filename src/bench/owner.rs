//! What the thread does with each input: which event follows, or why none does.

use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{broadcast, mpsc};

use super::Input;
use super::at_work::Holding;
use super::commit::{Closed, Gathered};
use super::say::{lines, link_news};
use super::ticks::Ticks;
use super::values::{Came, Frame, Is, Values};
use crate::feed::{Batch, News};
use crate::fit::plan::Shop as Workshop;
use crate::gauge::{Arrival, Content};
use crate::job::{
    Bench, Body, Bounces, DiskView, Draft, Event, Floods, Following, JobId, Learned, LearnedCut,
    Shop, View,
};
use crate::journal::Journal;
use crate::units::{Moment, Stated};

/// What is committed together at most.
const COMMIT: usize = 256;
/// The numbers of so many events wait at most, where readings come without a pause: more at once would
/// hold up the readings behind them.
const BEHIND: usize = 16;

/// The one owner of state and journal.
pub(super) struct Owner {
    pub(super) bench: Bench,
    pub(super) journal: Journal,
    /// The workshop as configured; that of `shop` knows what past jobs taught too.
    configured: Workshop,
    learned: Learned,
    pub(super) shop: Shop,
    pub(super) following: Following,
    /// Stored and shown; the objects that follow from them are still to be sent.
    pub(super) unshown: Vec<Event>,
    bounces: Bounces,
    pub(super) values: Values,
    floods: Floods,
    pub(super) published: broadcast::Sender<Batch>,
    ticks: Ticks,
    /// Why the disk takes nothing just now.
    pub(super) disk: Option<String>,
    /// Why what is stored can't be read back: the state is empty and takes nothing meanwhile.
    pub(super) unread: Option<String>,
    pub(super) holding: Holding,
}

impl Owner {
    pub(super) fn new(
        bench: Bench,
        journal: Journal,
        shop: Shop,
        published: broadcast::Sender<Batch>,
        inputs: mpsc::WeakSender<Input>,
    ) -> Self {
        let following = Following::of(&bench, &shop);
        Self {
            bench,
            journal,
            configured: shop.workshop.clone(),
            learned: Learned::default(),
            shop,
            following,
            unshown: Vec::new(),
            bounces: Bounces::default(),
            values: Values::default(),
            floods: Floods::default(),
            published,
            ticks: Ticks::new(inputs),
            disk: None,
            unread: None,
            holding: Holding::default(),
        }
    }

    pub(super) fn serve(mut self, mut queue: mpsc::Receiver<Input>) {
        let mut waiting = Vec::with_capacity(COMMIT);
        let mut stop = false;
        while !stop && queue.blocking_recv_many(&mut waiting, COMMIT) > 0 {
            let mut gathered = Gathered::default();
            if self.unread.is_some() {
                self.read_back();
            }
            for input in waiting.drain(..) {
                match input {
                    Input::Arrival(arrival) => self.take_arrival(arrival, &mut gathered),
                    Input::Command { asked, reply } => {
                        self.take_command(&asked, reply, &mut gathered);
                    }
                    Input::Learned(cuts) => {
                        self.settle(&mut gathered);
                        self.learn(cuts);
                    }
                    Input::Tick => self.ticks.due = false,
                    Input::Stop => stop = true,
                    // What is shown must be stored, so what was gathered so far goes first.
                    Input::State(reply) => {
                        self.settle(&mut gathered);
                        let _ = reply.send(self.view());
                    }
                    Input::NewestDerived(reply) => {
                        self.settle(&mut gathered);
                        let _ = reply.send(lines(&self.following.newest(&self.bench)));
                    }
                }
            }
            if !self.ticks.due || stop {
                self.take_counts(&mut gathered);
            }
            self.commit(gathered);
            // Readings that wait go first: their numbers come with the next, once for all.
            if queue.is_empty() || stop || self.unshown.len() >= BEHIND {
                self.show_numbers();
            }
            if self.floods.has_counts() {
                self.ticks.ask();
            }
        }
    }

    /// Plans from now on with what past jobs taught of the reamers.
    pub(super) fn learn(&mut self, cuts: Vec<(JobId, Vec<LearnedCut>)>) {
        for (job, cuts) in cuts {
            self.learned.take(job, cuts);
        }
        self.show_numbers();
        self.shop.workshop = self.learned.taught(&self.configured);
        let changed = self.following.again(&self.bench, &self.shop);
        if !changed.is_empty() {
            self.publish(lines(&changed));
        }
    }

    /// Stores and shows what was gathered, and all that follows from it.
    pub(super) fn settle(&mut self, gathered: &mut Gathered) {
        self.commit(std::mem::take(gathered));
        self.show_numbers();
    }

    fn view(&self) -> Arc<str> {
        let view = View {
            at_work: self.holding.who().cloned(),
            disk: DiskView {
                well: self.disk.is_none(),
                why: self.disk.clone(),
            },
            ..View::of(&self.bench, &self.shop, &self.following)
        };
        serde_json::to_string(&view).map_or_else(
            |error| {
                tracing::error!("the state can't be written as JSON: {error}");
                Arc::from("{}")
            },
            Arc::from,
        )
    }

    /// Gives `draft` its number and folds it in, to be stored by the next commit.
    pub(super) fn gather(&mut self, draft: Draft, gathered: &mut Gathered) {
        // The journal's own count is behind while events wait for their commit.
        let seq = self.journal.next_seq().max(self.bench.last_seq + 1);
        let event = draft.numbered(seq);
        gathered.closed.extend(Closed::by(&self.bench, &event));
        self.bench.apply(&event);
        gathered.events.push(event);
    }

    fn take_arrival(&mut self, arrival: Arrival, gathered: &mut Gathered) {
        if let Some(why) = self.unread.clone() {
            return self.turn_away(arrival, why);
        }
        let Arrival {
            gauge,
            at,
            since_start,
            content,
        } = arrival;
        let of = self.bench.header();
        let outside = |body| Draft { at, of, body };
        let name = gauge.to_string();
        let draft = match content {
            Content::Reading { raw, value } => {
                let frame = (raw, Stated::Length(value));
                match self.take_value(&gauge, (at, since_start), frame) {
                    Some(draft) => draft,
                    None => return,
                }
            }
            Content::Angle { raw, value } => {
                let frame = (raw, Stated::Angle(value));
                match self.take_value(&gauge, (at, since_start), frame) {
                    Some(draft) => draft,
                    None => return,
                }
            }
            Content::Noise { raw, why } => {
                if !self.floods.keep(&gauge, since_start) {
                    return;
                }
                outside(Body::Noise {
                    gauge: name,
                    raw: raw.text(),
                    raw_hex: raw.hex(),
                    why,
                })
            }
            Content::Opened { port } => {
                self.values.forget(&gauge);
                outside(self.opened(&gauge, port))
            }
            Content::Lost { port, why } => {
                self.values.forget(&gauge);
                outside(Body::GaugeLost {
                    gauge: name,
                    port,
                    why,
                })
            }
        };
        self.gather(draft, gathered);
    }

    /// A link is open: with it comes what the shop knows of the gauge.
    fn opened(&self, gauge: &Arc<str>, port: String) -> Body {
        let traits = self.shop.gauges.get(gauge);
        Body::GaugeOpened {
            gauge: gauge.to_string(),
            port,
            calibration: traits.and_then(|traits| traits.calibration.clone()),
        }
    }

    /// Says aloud that what arrived counts for nothing. A link that came or went did so all the same.
    fn turn_away(&mut self, arrival: Arrival, why: String) {
        let Arrival {
            gauge, at, content, ..
        } = arrival;
        let body = match content {
            Content::Reading { raw, .. } | Content::Angle { raw, .. } => {
                let (gauge, raw) = (gauge.to_string(), raw.text());
                self.publish(vec![News::Unstored { gauge, raw, why }.into()]);
                return;
            }
            Content::Noise { .. } => return,
            Content::Opened { port } => self.opened(&gauge, port),
            Content::Lost { port, why } => {
                let gauge = gauge.to_string();
                Body::GaugeLost { gauge, port, why }
            }
        };
        let event = Draft { at, of: None, body }.numbered(self.bench.last_seq);
        self.bench.apply(&event);
        self.publish(link_news(&event).into_iter().collect());
    }

    /// What follows from a value; `None` where it is no reading, and then it is shown only.
    fn take_value(
        &mut self,
        gauge: &Arc<str>,
        (at, since_start): (Moment, Duration),
        frame: Frame,
    ) -> Option<Draft> {
        let hangs = self.bench.job().is_some_and(|job| job.hang.is_some());
        let traits = self.shop.gauges.get(gauge);
        let value = Came {
            at,
            since_start,
            frame,
        };
        let is = match traits {
            Some(traits) => self.values.judge(gauge, traits, value, hangs),
            None => Is::Reading(value.frame),
        };
        let ((raw, value), turned) = match is {
            Is::Reading(frame) => (frame, None),
            Is::Turned(frame, deg) => (frame, Some(deg)),
            Is::Shown(line) => {
                self.publish(vec![line]);
                return None;
            }
            Is::Passed => return None,
        };
        let bounce = traits
            .and_then(|traits| traits.bounce)
            .and_then(|window| self.bounces.judge(gauge, &raw.0, since_start, window));
        Some(match bounce {
            Some(after) => self.bench.bounced(gauge, at, &raw, after),
            None => self.stated(gauge, at, (raw, value), turned),
        })
    }

    /// What follows from a value that is a reading; `turned`: where the swing turned, degrees, if that
    /// is not the value itself.
    pub(super) fn stated(
        &self,
        gauge: &str,
        at: Moment,
        (raw, value): Frame,
        turned: Option<f64>,
    ) -> Draft {
        match value {
            Stated::Length(value) => self.bench.reading(&self.shop, gauge, at, &raw, value),
            Stated::Angle(value) => {
                let turned = turned.unwrap_or_else(|| value.deg());
                self.bench
                    .angle(&self.shop, (gauge, at), &raw, value, turned)
            }
        }
    }

    fn take_counts(&mut self, gathered: &mut Gathered) {
        if self.unread.is_some() {
            return;
        }
        for (gauge, count) in self.floods.take_counts() {
            let body = Body::NoiseCounted {
                gauge: gauge.to_string(),
                count,
            };
            let draft = Draft {
                at: Moment::now(),
                of: self.bench.header(),
                body,
            };
            self.gather(draft, gathered);
        }
    }
}
