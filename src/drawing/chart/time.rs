//! A value over time, such as a gauge's drift at its ring.

use jiff::civil::Date;
use jiff::tz::Offset;
use jiff::{Span, Unit as TimeUnit};

use super::VIEW;
use super::plot::{BOTTOM, LEFT, Plot, RIGHT, below_axis};
use crate::drawing::Style;
use crate::drawing::canvas::{Drawing, Point, Shape, stroke};
use crate::drawing::role::Role;
use crate::drawing::thin::{MOST, thinned};
use crate::units::Moment;

/// Values over time.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeLine {
    /// What the chart shows, for those who can't see it.
    pub title: String,
    /// What is counted upward, without its unit: `drift at the ring`.
    pub counted: String,
    /// The values.
    pub points: Vec<TimePoint>,
    /// What the axis reaches in any case, from and to, mm: charts beside each other that share it are
    /// compared by eye.
    pub reach_mm: [f64; 2],
    /// Language and unit of its labels.
    pub style: Style,
}

/// One value at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimePoint {
    /// When.
    pub at: Moment,
    /// The value, mm.
    pub value_mm: f64,
}

impl TimeLine {
    /// The chart. Without a point: its frame, and the words that there is nothing yet.
    pub fn draw(&self) -> Drawing {
        let mut drawing = Drawing::new("chart", self.title.clone(), VIEW);
        let mut points = self.points.clone();
        points.retain(|point| point.value_mm.is_finite());
        points.sort_by_key(|point| point.at);
        let points = thinned(&points, MOST / 4, |point| point.value_mm);
        let values = points.iter().map(|point| point.value_mm);
        let plot = Plot::over(values.chain(self.reach_mm), self.style);
        plot.draw(&mut drawing, &self.counted);
        let (Some(first), Some(last)) = (points.first(), points.last()) else {
            super::spread::nothing(&mut drawing, self.style);
            return drawing;
        };
        let days = Days::over(first.at, last.at);
        days.marks(&mut drawing);
        let places = points
            .iter()
            .map(|point| (days.x(point.at), plot.y(point.value_mm)));
        put_points(&mut drawing, places.collect());
        drawing
    }
}

/// A disc at each place.
pub(super) fn put_points(drawing: &mut Drawing, at: Vec<Point>) {
    if !at.is_empty() {
        drawing.put(Role::Point, Shape::Circles { at, radius: 4.5 });
    }
}

fn date(at: Moment) -> Date {
    Offset::UTC.to_datetime(at.0).date()
}

/// The axis of time: from the beginning of the first day to the last moment, a day at least.
struct Days {
    first: Date,
    last: Date,
    length: f64,
}

impl Days {
    fn over(first: Moment, last: Moment) -> Self {
        let from = date(first);
        Self {
            first: from,
            // A single day has a label at each of its ends.
            last: date(last).max(from.tomorrow().unwrap_or(from)),
            length: since(from, last).max(1.0),
        }
    }

    fn x_of(&self, days: f64) -> f64 {
        LEFT + 14.0 + (RIGHT - LEFT - 28.0) * days / self.length
    }

    fn x(&self, at: Moment) -> f64 {
        self.x_of(since(self.first, at))
    }

    /// Marks at the first of months where the time is long enough, else at days; as many as their
    /// labels have room.
    fn marks(&self, drawing: &mut Drawing) {
        let months = self.length / 30.4;
        let (start, step, short) = if months < 2.0 {
            let step = [1_i64, 2, 5, 10, 20]
                .into_iter()
                .find(|step| self.length <= 3.0 * f64::from(i32::try_from(*step).unwrap_or(20)));
            (self.first, Span::new().days(step.unwrap_or(20)), 10)
        } else {
            let step = [1_i64, 2, 3, 6, 12, 24, 60, 120]
                .into_iter()
                .find(|step| months <= 3.5 * f64::from(i32::try_from(*step).unwrap_or(120)));
            let step = step.unwrap_or(600);
            // Of a year's step the Januaries, of half a year's those and the Julys.
            let mut start = self.first.first_of_month();
            while start < self.first || (i64::from(start.month()) - 1) % step.min(12) != 0 {
                match start.checked_add(Span::new().months(1)) {
                    Ok(next) => start = next,
                    Err(_) => break,
                }
            }
            (start, Span::new().months(step), 7)
        };
        let mut marks = Vec::new();
        let mut labels = Vec::new();
        let mut at = start;
        while at <= self.last && labels.len() < 12 {
            let x = self.x_of(days(self.first, at));
            marks.extend(stroke((x, BOTTOM), (x, BOTTOM + 5.0)));
            // ISO 8601: a day, or a month.
            let text: String = at.to_string().chars().take(short).collect();
            labels.push((x, text));
            match at.checked_add(step) {
                Ok(next) => at = next,
                Err(_) => break,
            }
        }
        drawing.path(Role::Mark, marks);
        below_axis(drawing, BOTTOM + 22.0, labels.into_iter());
    }
}

/// Days from one date to another.
fn days(from: Date, to: Date) -> f64 {
    from.until((TimeUnit::Day, to))
        .map_or(0.0, |span| f64::from(span.get_days()))
}

/// Days from the beginning of a day (UTC) to a moment.
fn since(first: Date, at: Moment) -> f64 {
    let start = Offset::UTC.to_timestamp(first.at(0, 0, 0, 0));
    start.map_or(0.0, |start| {
        at.0.duration_since(start).as_secs_f64() / 86_400.0
    })
}
