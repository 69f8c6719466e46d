//! `borewright simulate`: a gauge of some form on a pseudo-terminal, held into a described bore.

use std::io::{BufRead as _, IsTerminal as _};
use std::path::PathBuf;
use std::str::FromStr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use super::terminal::{interrupted, print};
use super::{Answer, Failure};
use crate::fit::pendulum::FREE_FALL;
use crate::gauge::simulate::{
    Bore, Hand, Lobes, Reamed, Rocking, SimulateError, Simulator, Swinging,
};
use crate::gauge::{Description, Sends, Trigger};
use crate::units::{Angle, Length};

/// How often a gauge that waits for a question looks whether it is to end.
const LOOK: Duration = Duration::from_millis(200);
/// How long a gauge that is to leave waits for somebody to read what it sent.
const LINGER: Duration = Duration::from_secs(30);

/// How far beyond the bore's mean diameter a rocked gauge springs out in the air, mm.
const FREE_MM: f64 = 0.9;

/// Arguments of `borewright simulate`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The gauge description by which it speaks.
    #[arg(long, value_name = "NAME", default_value = "plain-mm")]
    form: String,
    /// A folder of gauge descriptions of one's own.
    #[arg(long, value_name = "DIR")]
    gauges: Option<PathBuf>,
    /// Mean diameter at the face, mm.
    #[arg(long, value_name = "MM", default_value_t = 46.0, value_parser = size)]
    mean: f64,
    /// The oval: largest minus smallest diameter, mm, and the direction of its long axis, degrees.
    #[arg(long, value_name = "MM@DEG")]
    oval: Option<Oval>,
    /// Lobes: how many, half peak-to-valley of the radius, mm, and the direction of a peak,
    /// degrees. May be given more than once.
    #[arg(long, value_name = "N:MM@DEG")]
    lobes: Vec<Lobes>,
    /// Growth of the diameter with the depth, mm per mm; positive: wider inside.
    #[arg(long, value_name = "MM/MM", default_value_t = 0.0, allow_negative_numbers = true,
          value_parser = number)]
    taper: f64,
    /// Standard deviation of one reading, mm; degrees of an angle gauge.
    #[arg(long, value_name = "MM", default_value_t = 0.0, value_parser = not_negative)]
    noise: f64,
    /// Seed of the noise: the same seed gives the same readings.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// A reamer of this diameter, mm, has gone through.
    #[arg(long, value_name = "MM", value_parser = size)]
    ream: Option<f64>,
    /// The setting ring in which a gauge that sends deviations is zeroed, mm.
    #[arg(long, value_name = "MM", value_parser = size)]
    ring: Option<f64>,
    /// The depths to gauge, mm, with commas between.
    #[arg(long, value_name = "MM,MM,…", value_delimiter = ',', default_value = "4,8,12",
          value_parser = not_negative)]
    depths: Vec<f64>,
    /// The number of angles at each depth, spread evenly over what the contact tells apart (half
    /// a turn for two points).
    #[arg(long, value_name = "N", default_value_t = 6,
          value_parser = clap::value_parser!(u32).range(1..=3_600))]
    angles: u32,
    /// Gauge all of it so many times, as for so many bores alike; 0: without end.
    #[arg(long, value_name = "N", default_value_t = 1)]
    times: u32,
    /// The time between readings, such as 500ms or 2s.
    #[arg(
        long,
        value_name = "TIME",
        default_value = "1s",
        conflicts_with = "enter"
    )]
    pace: Pace,
    /// Rock it at each station, as for a gauge that sends by itself: the tilt to either side,
    /// degrees, and the swings a second. It is put in, rocked three times, and taken out.
    #[arg(long, value_name = "DEG@SWINGS")]
    rock: Option<Rock>,
    /// With --rock and --swing: the values it sends, a second.
    #[arg(long, value_name = "N", default_value_t = 50.0, value_parser = rate)]
    rate: f64,
    /// For an angle gauge: the arm that it hangs on, its mass in kg and the distance of its centre of
    /// gravity from the axle in mm, let go so many degrees from straight down.
    #[arg(long, value_name = "KG:MM@DEG")]
    swing: Option<Arm>,
    /// With --swing: friction torque of the bearings, N·m.
    #[arg(long, value_name = "NM", default_value_t = 0.006, requires = "swing",
          value_parser = not_negative)]
    friction: f64,
    /// With --swing: what the gauge shows straight down, degrees.
    #[arg(long, value_name = "DEG", default_value_t = 0.0, requires = "swing",
          allow_negative_numbers = true, value_parser = number)]
    zero: f64,
    /// One reading for each Enter instead.
    #[arg(long)]
    enter: bool,
    /// A path that leads to the pseudo-terminal, the same each time.
    #[arg(long, value_name = "PATH")]
    link: Option<PathBuf>,
    /// Pull the plug when all is sent and read, instead of waiting for Ctrl-C.
    #[arg(long)]
    leave: bool,
}

/// An oval as it is written on the command line.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Oval {
    size_mm: f64,
    long_axis_deg: f64,
}

impl FromStr for Oval {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || "write the size in mm and the long axis in degrees: 0.10@35".to_owned();
        let (size_mm, long_axis_deg) = text.split_once('@').ok_or_else(wrong)?;
        Ok(Self {
            size_mm: not_negative(size_mm).map_err(|_| wrong())?,
            long_axis_deg: number(long_axis_deg).map_err(|_| wrong())?,
        })
    }
}

/// An arm as it is written on the command line.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Arm {
    mass_kg: f64,
    centre_mm: f64,
    release_deg: f64,
}

impl FromStr for Arm {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || {
            "write mass in kg, distance of its centre in mm, and where it is let go, below 90°: \
             0.25:120@60"
                .to_owned()
        };
        let (mass, rest) = text.split_once(':').ok_or_else(wrong)?;
        let (centre, release) = rest.split_once('@').ok_or_else(wrong)?;
        let of = |text: &str| number(text).map_err(|_| wrong());
        let arm = Self {
            mass_kg: of(mass)?,
            centre_mm: of(centre)?,
            release_deg: of(release)?,
        };
        let possible = arm.mass_kg > 0.0
            && arm.centre_mm > 0.0
            && arm.release_deg > 0.0
            && arm.release_deg < 90.0;
        possible.then_some(arm).ok_or_else(wrong)
    }
}

/// A rocking as it is written on the command line.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Rock {
    tilt_deg: f64,
    swings_per_s: f64,
}

impl FromStr for Rock {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || {
            "write the tilt in degrees, at most 30, and the swings a second, 0.05 to 5: 4@0.75"
                .to_owned()
        };
        let (tilt_deg, swings_per_s) = text.split_once('@').ok_or_else(wrong)?;
        let rock = Self {
            tilt_deg: number(tilt_deg).map_err(|_| wrong())?,
            swings_per_s: number(swings_per_s).map_err(|_| wrong())?,
        };
        let possible =
            (0.0..=30.0).contains(&rock.tilt_deg) && (0.05..=5.0).contains(&rock.swings_per_s);
        possible.then_some(rock).ok_or_else(wrong)
    }
}

impl FromStr for Lobes {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || {
            "write how many, half peak-to-valley of the radius in mm, and the direction of a peak \
             in degrees: 3:0.012@10"
                .to_owned()
        };
        let (count, rest) = text.split_once(':').ok_or_else(wrong)?;
        let (amplitude_mm, peak_deg) = rest.split_once('@').unwrap_or((rest, "0"));
        Ok(Self {
            count: count
                .parse()
                .ok()
                .filter(|count| *count >= 2)
                .ok_or_else(wrong)?,
            amplitude_mm: number(amplitude_mm).map_err(|_| wrong())?,
            peak_deg: number(peak_deg).map_err(|_| wrong())?,
        })
    }
}

/// A time as it is written on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Pace(Duration);

impl FromStr for Pace {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (digits, per_second) = match text.strip_suffix("ms") {
            Some(digits) => (digits, 1e3),
            None => (text.strip_suffix('s').unwrap_or(text), 1.0),
        };
        let time = not_negative(digits).ok().map(|time| time / per_second);
        time.and_then(|seconds| Duration::try_from_secs_f64(seconds).ok())
            .filter(|time| *time <= Duration::from_secs(86_400))
            .map(Self)
            .ok_or_else(|| "write a time such as 500ms or 2s, at most a day".to_owned())
    }
}

fn number(text: &str) -> Result<f64, String> {
    let value: Option<f64> = text.trim().parse().ok();
    value
        .filter(|value| value.is_finite())
        .ok_or_else(|| "this is no number".to_owned())
}

fn not_negative(text: &str) -> Result<f64, String> {
    let value = number(text)?;
    if value >= 0.0 {
        Ok(value)
    } else {
        Err("this must not be negative".to_owned())
    }
}

fn size(text: &str) -> Result<f64, String> {
    let value = number(text)?;
    let possible = value > 0.0 && value <= 10_000.0;
    if possible {
        Ok(value)
    } else {
        Err("a size is above 0, at most 10000 mm".to_owned())
    }
}

fn rate(text: &str) -> Result<f64, String> {
    let value = number(text)?;
    if (1.0..=1_000.0).contains(&value) {
        Ok(value)
    } else {
        Err("a gauge sends 1 to 1000 values a second".to_owned())
    }
}

/// Plugs the gauge in, prints its path as the first line of standard output, and sends.
///
/// # Errors
/// [`Failure::Wrong`] for a form that is not there or a missing ring, [`Failure::Outside`] where
/// there is no pseudo-terminal or nobody reads it.
pub(super) fn run(args: Args) -> Result<Answer, Failure> {
    let form = Description::named(&args.form, args.gauges.as_deref()).map_err(Failure::wrong)?;
    if form.sends == Sends::Deviation && args.ring.is_none() {
        return Err(Failure::wrong(format!(
            "a gauge of the form {} sends deviations: say with --ring in which setting ring it \
             was zeroed, mm",
            form.name
        )));
    }
    if (form.sends == Sends::Angle) != args.swing.is_some() {
        return Err(Failure::wrong(
            "an angle gauge, such as --form plain-degrees, goes with --swing, and no other gauge does",
        ));
    }
    let form = Arc::new(form);
    let gauge = match &args.link {
        Some(link) => Simulator::open_at(form, link),
        None => Simulator::open(form),
    };
    let gauge = Arc::new(gauge.map_err(Failure::outside)?);

    // Sending waits, so it has a thread of its own, and signals are heard here meanwhile.
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(Failure::outside)?;
    let ending = Arc::new(AtomicBool::new(false));
    let session = Session {
        gauge: gauge.clone(),
        args,
        ending: ending.clone(),
    };
    let answer = runtime.block_on(async {
        let mut ended = std::pin::pin!(interrupted());
        // Who knows the path may end it at once: signals are heard before it is told.
        let early = std::future::poll_fn(|context| {
            std::task::Poll::Ready(ended.as_mut().poll(context).is_ready())
        });
        if early.await {
            return Ok(Answer::Done);
        }
        print(&format!("{}\n", gauge.path().display()))?;
        let sending = tokio::task::spawn_blocking(move || session.run());
        tokio::select! {
            sent = sending => sent.map_err(Failure::outside)?,
            () = ended => Ok(Answer::Done),
        }
    });
    ending.store(true, Ordering::Relaxed);
    runtime.shutdown_background();
    gauge.unlink();
    answer
}

/// One run of the simulated gauge, on a thread that may wait.
struct Session {
    gauge: Arc<Simulator>,
    args: Args,
    ending: Arc<AtomicBool>,
}

impl Session {
    fn run(self) -> Result<Answer, Failure> {
        let args = &self.args;
        let form = self.gauge.form();
        let bore = Bore {
            mean_mm: args.mean,
            oval_mm: args.oval.map_or(0.0, |oval| oval.size_mm),
            long_axis_deg: args.oval.map_or(0.0, |oval| oval.long_axis_deg),
            lobes: args.lobes.clone(),
            taper_mm_per_mm: args.taper,
            reamed: args.ream.map(Reamed::centred),
        };
        let mut hand = Hand::new(args.seed, args.noise);
        if let Some(arm) = args.swing {
            return self.swing(arm, &mut hand);
        }
        let step = form.contact.period_deg() / f64::from(args.angles);
        let mut round = 0;
        while args.times == 0 || round < args.times {
            round += 1;
            for depth in &args.depths {
                for angle in (0..args.angles).map(|index| f64::from(index) * step) {
                    if !self.wait(depth, angle)? {
                        return Ok(self.leave());
                    }
                    let seen = bore.seen_mm(form.contact, *depth, angle);
                    if let Some(rock) = args.rock {
                        eprintln!("depth {depth} mm, {angle}°: rocked");
                        if !self.rock(rock, seen, &mut hand)? {
                            return Ok(self.leave());
                        }
                        continue;
                    }
                    let frame = self.send(hand.reads_mm(seen))?;
                    eprintln!("depth {depth} mm, {angle}°: {}", frame.escape_ascii());
                }
            }
        }
        Ok(self.leave())
    }

    /// Sends what the gauge shows of a size.
    fn send(&self, size_mm: f64) -> Result<Vec<u8>, Failure> {
        let ring = Length::from_mm(self.args.ring.unwrap_or(0.0));
        let shown = Length::from_mm(size_mm)
            .zip(ring)
            .and_then(|(size, ring)| self.gauge.form().shown(size, ring))
            .ok_or_else(|| Failure::wrong("the bore has no finite size"))?;
        self.gauge.send_value(shown).map_err(sort)
    }

    /// Lets the arm swing out as often as it is asked for: a gauge with a button sends at each turning
    /// point.
    fn swing(&self, arm: Arm, hand: &mut Hand) -> Result<Answer, Failure> {
        let args = &self.args;
        let moment_nm = arm.mass_kg * FREE_FALL * arm.centre_mm / 1e3;
        let swinging = Swinging {
            moment_nm,
            // A slender arm's, from its end: 4/3 m r² with its centre in the middle.
            inertia_kgm2: 4.0 / 3.0 * arm.mass_kg * (arm.centre_mm / 1e3).powi(2),
            friction_nm: args.friction,
            release_deg: arm.release_deg,
            zero_deg: args.zero,
            values_per_s: args.rate,
        };
        let button = self.gauge.form().trigger == Trigger::Button;
        let mut round = 0;
        while args.times == 0 || round < args.times {
            round += 1;
            let values = if button {
                let turning = swinging.turning_deg().into_iter();
                turning.map(|deg| hand.reads_mm(deg + args.zero)).collect()
            } else {
                swinging.values_deg(hand)
            };
            for deg in values {
                let due = if button {
                    self.wait(&0.0, deg)?
                } else {
                    std::thread::sleep(swinging.every());
                    self.is_asked()?
                };
                if !due {
                    return Ok(self.leave());
                }
                let shown =
                    Angle::from_deg(deg).ok_or_else(|| Failure::wrong("no finite angle"))?;
                self.gauge.send_angle(shown).map_err(sort)?;
            }
            eprintln!("the arm has swung out");
        }
        Ok(self.leave())
    }

    /// Rocks the gauge at one station; false when it is to end.
    fn rock(&self, rock: Rock, seen_mm: f64, hand: &mut Hand) -> Result<bool, Failure> {
        let rocking = Rocking {
            free_mm: self.args.mean / self.gauge.form().contact.diameter_per_reading() + FREE_MM,
            tilt_deg: rock.tilt_deg,
            swings_per_s: rock.swings_per_s,
            values_per_s: self.args.rate,
            ..Rocking::default()
        };
        for value in rocking.values_mm(seen_mm, hand) {
            std::thread::sleep(rocking.every());
            if !self.is_asked()? {
                return Ok(false);
            }
            self.send(value)?;
        }
        Ok(true)
    }

    /// Waits until the reading at this station is due; false when there is nobody to wait for.
    fn wait(&self, depth: &f64, angle: f64) -> Result<bool, Failure> {
        if self.args.enter {
            if std::io::stdin().is_terminal() {
                eprintln!("next: depth {depth} mm, {angle}°. Enter sends.");
            }
            let mut line = String::new();
            let read = std::io::stdin().lock().read_line(&mut line);
            if read.map_err(Failure::outside)? == 0 {
                return Ok(false);
            }
        } else {
            std::thread::sleep(self.args.pace.0);
        }
        // A gauge that is rocked waits for a question before each value.
        if self.args.rock.is_some() {
            return Ok(!self.ending.load(Ordering::Relaxed));
        }
        self.is_asked()
    }

    /// Waits for a question, where the form needs one; false when it is to end.
    fn is_asked(&self) -> Result<bool, Failure> {
        if self.gauge.form().ask.is_some() {
            while !self.gauge.asked(LOOK).map_err(Failure::outside)? {
                if self.ending.load(Ordering::Relaxed) {
                    return Ok(false);
                }
            }
        }
        Ok(!self.ending.load(Ordering::Relaxed))
    }

    fn leave(&self) -> Answer {
        if self.args.leave {
            self.gauge.wait_until_read(LINGER);
        } else {
            eprintln!("all is sent; the gauge stays plugged in until Ctrl-C");
            while !self.ending.load(Ordering::Relaxed) {
                std::thread::sleep(LOOK);
            }
        }
        Answer::Done
    }
}

/// Whether the arguments or the outside are to blame.
fn sort(error: SimulateError) -> Failure {
    match error {
        SimulateError::CantSay(_) => Failure::wrong(error),
        _ => Failure::outside(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_on_the_command_line_is_understood() {
        let oval = Oval {
            size_mm: 0.1,
            long_axis_deg: 35.0,
        };
        assert_eq!("0.10@35".parse(), Ok(oval));
        let lobes = Lobes {
            count: 3,
            amplitude_mm: 0.012,
            peak_deg: 10.0,
        };
        assert_eq!("3:0.012@10".parse(), Ok(lobes));
        let rock = Rock {
            tilt_deg: 4.0,
            swings_per_s: 0.75,
        };
        assert_eq!("4@0.75".parse(), Ok(rock));
        assert_eq!("500ms".parse(), Ok(Pace(Duration::from_millis(500))));
        assert_eq!("1.5s".parse(), Ok(Pace(Duration::from_millis(1_500))));
        assert_eq!("0".parse(), Ok(Pace(Duration::ZERO)));
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        for wrong in ["", "4", "4@0", "31@1", "-4@1", "nan@1"] {
            assert!(wrong.parse::<Rock>().is_err(), "{wrong}");
        }
        for wrong in ["", "0.1", "-0.1@0", "nan@0", "0.1@inf"] {
            assert!(wrong.parse::<Oval>().is_err(), "{wrong}");
        }
        for wrong in ["", "3", "1:0.1", "3:x", "3:0.1@"] {
            assert!(wrong.parse::<Lobes>().is_err(), "{wrong}");
        }
        for wrong in ["", "-1s", "1h", "nan", "1e300s"] {
            assert!(wrong.parse::<Pace>().is_err(), "{wrong}");
        }
        for wrong in ["0", "-46", "inf", "x"] {
            assert!(size(wrong).is_err(), "{wrong}");
        }
    }
}
