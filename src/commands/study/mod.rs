//! `borewright study`: how well a gauge repeats, from a file or live from the gauge.

mod file;
mod live;
mod session;
mod source;
mod text;

use std::path::PathBuf;
use std::sync::Arc;

use self::file::Readings;
use self::live::{Asked, Gauged};
use self::session::Plan;
use self::source::Source;
use super::daemon::{self, Address};
use super::profile::positive;
use super::{Answer, Failure, Outcome as _, input, print};
use crate::bore::Contact;
use crate::config::{Config, traits_of};
use crate::gauge::{Description, Gauge, Port, Sends};
use crate::job::{Command, GaugeStudy, Role, Traits, possible_ring_uncertainty};
use crate::uncertainty::study::{Factors, Reference, SCHEMA, Study, crossed, short};
use crate::units::Moment;

/// Arguments of `borewright study`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// CSV with a header: `operator,part,reading_mm` for a crossed study, `reading_mm` alone for
    /// repeats on one part (`reading_in` where they are inches); `-` is standard input. Left out:
    /// gauge live.
    file: Option<PathBuf>,
    /// Write JSON.
    #[arg(long)]
    json: bool,
    /// How the gauge touched, where FILE holds its readings; live, the gauge says. Of a gauge that
    /// reads radii the tolerance counts half.
    #[arg(long, value_enum, requires = "file")]
    contact: Option<Contact>,
    /// Upper minus lower limit of the diameter that the gauge is to judge, mm.
    #[arg(long, value_name = "MM", value_parser = positive)]
    tolerance: Option<f64>,
    /// The known size of the one part as the gauge reads it, such as a setting ring's, mm: of a gauge
    /// that reads radii half of it. Of a crossed study the nominal size, by which readings in another
    /// unit are found.
    #[arg(long, value_name = "MM", value_parser = finite, allow_negative_numbers = true)]
    reference: Option<f64>,
    /// The expanded uncertainty of that from its certificate (k = 2), mm: of a gauge that reads radii
    /// half of the ring's. Left out: it counts as none.
    #[arg(long, value_name = "MM", value_parser = positive, requires = "reference")]
    reference_uncertainty: Option<f64>,
    #[command(flatten)]
    factors: FactorArgs,
    #[command(flatten)]
    live: LiveArgs,
    /// Hand the result to the daemon whose page is at this address: it stands behind the
    /// uncertainty of every section that the gauge measures from then on.
    #[arg(long, value_name = "http://ADDR", value_parser = daemon::page)]
    to: Option<String>,
}

/// The factors of Cg and Cgk.
#[derive(Debug, clap::Args)]
#[command(
    next_help_heading = "Cg = share T / (sigmas s), Cgk = (share T/2 - |bias|) / (sigmas s/2)"
)]
struct FactorArgs {
    /// The share of the tolerance.
    #[arg(long, value_name = "SHARE", default_value_t = Factors::default().share,
          requires = "tolerance")]
    cg_share: f64,
    /// The number of standard deviations.
    #[arg(long, value_name = "N", default_value_t = Factors::default().sigmas,
          requires = "tolerance")]
    cg_sigmas: f64,
    /// What both must reach.
    #[arg(long, value_name = "C", default_value_t = 1.33, requires = "tolerance")]
    cg_least: f64,
}

/// What is gauged live, and with what.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Live")]
struct LiveArgs {
    /// The gauge's name: in the configuration, or at the bench that --from and --to mean.
    #[arg(long, value_name = "NAME")]
    gauge: Option<String>,
    /// The configuration that lists the gauge.
    #[arg(long, value_name = "FILE", env = "BOREWRIGHT_CONFIG")]
    config: Option<PathBuf>,
    /// A gauge that no configuration lists: where it is.
    #[arg(long, value_name = "PORT", requires = "form", conflicts_with_all = ["file", "from"])]
    port: Option<Port>,
    /// The description of that gauge.
    #[arg(long, value_name = "NAME", requires = "port")]
    form: Option<String>,
    /// A folder of gauge descriptions of one's own.
    #[arg(long, value_name = "DIR", requires = "form")]
    gauges: Option<PathBuf>,
    /// Read from a running daemon, which holds the port: its page's address (http://) or its
    /// feed's (tcp://).
    #[arg(long, value_name = "ADDR", conflicts_with = "file")]
    from: Option<Address>,
    /// Repeats on one part, 10 to 99.
    #[arg(long, value_name = "N", default_value_t = 25, conflicts_with = "file",
          value_parser = clap::value_parser!(u32).range(10..=99))]
    repeats: u32,
    /// A crossed study of so many parts, 2 to 99.
    #[arg(long, value_name = "N", conflicts_with_all = ["file", "repeats", "reference"],
          value_parser = clap::value_parser!(u32).range(2..=99))]
    parts: Option<u32>,
    /// With --parts: so many operators.
    #[arg(long, value_name = "N", default_value_t = 1, requires = "parts",
          value_parser = clap::value_parser!(u32).range(1..=20))]
    operators: u32,
    /// With --parts: how often each operator gauges each part.
    #[arg(long, value_name = "N", default_value_t = 3, requires = "parts",
          value_parser = clap::value_parser!(u32).range(2..=20))]
    trials: u32,
    /// Keep the readings in this new file, as this command reads them.
    #[arg(long, value_name = "FILE", conflicts_with = "file")]
    save: Option<PathBuf>,
}

fn finite(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
    number.ok_or_else(|| "state a length in millimetres".to_owned())
}

/// Computes and prints the study.
///
/// # Errors
/// [`Failure::Wrong`] where the file can't be used, with the place, or a gauge is not named as it
/// should be; [`Failure::Outside`] where the gauge or the daemon fails.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    if args.to.is_some() && args.file.is_some() && args.live.gauge.is_none() {
        return Err(Failure::wrong(
            "say with --gauge whose study it is, by its name at the bench".to_owned(),
        ));
    }
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .outside()?;
    let answer = runtime.block_on(async {
        let study = match &args.file {
            Some(file) => {
                let (name, text) = input(file)?;
                let (readings, step_mm) = file::read(&name, &text).map_err(Failure::wrong)?;
                readings
                    .check_unit(&name, args.reference)
                    .map_err(Failure::wrong)?;
                let about = About {
                    gauge: args.live.gauge.clone(),
                    contact: args.contact,
                    studied_at: None,
                    step_mm,
                };
                args.study(readings, about)?
            }
            None => args.gauge_live().await?,
        };
        if args.json {
            print(&(serde_json::to_string_pretty(&study).outside()? + "\n"))?;
        } else {
            print(&text::text_of(&study, args.factors.cg_least))?;
        }
        args.hand_over(&study).await
    });
    // The thread at the keyboard can't be waited for.
    runtime.shutdown_background();
    answer.map(|()| Answer::Done)
}

/// What stands behind the readings of a study.
struct About {
    gauge: Option<String>,
    contact: Option<Contact>,
    studied_at: Option<Moment>,
    /// The gauge's digit step as it reads, mm.
    step_mm: Option<f64>,
}

impl Args {
    fn study(&self, readings: Readings, about: About) -> Result<Study, Failure> {
        if let Some(uncertainty) = self.reference_uncertainty {
            possible_ring_uncertainty(uncertainty)
                .map_err(|why| Failure::wrong(format!("--reference-uncertainty: {why}")))?;
        }
        let About {
            gauge,
            contact,
            studied_at,
            step_mm,
        } = about;
        // The limits are of a diameter, the readings of a swept gauge are radii.
        let across = contact.map_or(1.0, Contact::diameter_per_reading);
        let tolerance = self.tolerance.map(|tolerance| tolerance / across);
        let factors = Factors {
            share: self.factors.cg_share,
            sigmas: self.factors.cg_sigmas,
        };
        let mut study = Study {
            schema: SCHEMA.to_owned(),
            gauge,
            contact,
            studied_at,
            short: None,
            crossed: None,
        };
        match readings {
            Readings::OnePart(readings) => {
                let reference = self.reference.map(|size_mm| Reference {
                    size_mm,
                    uncertainty_mm: self.reference_uncertainty,
                    step_mm,
                });
                let short = short(&readings, reference, tolerance, factors);
                study.short = Some(short.map_err(Failure::wrong)?);
            }
            Readings::Crossed(trials) => {
                study.crossed = Some(crossed(&trials, tolerance).map_err(Failure::wrong)?);
            }
        }
        Ok(study)
    }

    async fn gauge_live(&self) -> Result<Study, Failure> {
        let live = &self.live;
        let plan = match live.parts {
            Some(parts) => Plan::Crossed {
                parts,
                operators: live.operators,
                trials: live.trials,
            },
            None => Plan::OnePart {
                repeats: live.repeats,
            },
        };
        let mut asked = Asked {
            plan,
            reference: self.reference,
            save: live.save.clone(),
            gauge: live.gauge.clone(),
        };
        let (mut source, elsewhere) = match &live.from {
            Some(address) => (Source::follow(address).await?, None),
            None => {
                let (gauge, traits, page) = live.find()?;
                asked.gauge = Some(gauge.name.to_string());
                (Source::open(gauge, traits)?, Some(page))
            }
        };
        let gauged = live::gauge(asked, &mut source).await;
        source.end().await;
        let Gauged {
            session,
            gauge,
            contact,
            step_mm,
        } = gauged.map_err(|failure| match (failure, elsewhere) {
            (Failure::Outside(why), Some(page)) => Failure::outside(format!(
                "{why}; where a running borewright has the port, read from that: --from {page}"
            )),
            (failure, _) => failure,
        })?;
        let readings = match session.trials() {
            Some(trials) => Readings::Crossed(trials),
            None => Readings::OnePart(session.values().to_vec()),
        };
        let about = About {
            gauge,
            contact,
            studied_at: Some(Moment::now()),
            step_mm,
        };
        self.study(readings, about)
    }

    async fn hand_over(&self, study: &Study) -> Result<(), Failure> {
        let (Some(host), Some(gauge)) = (&self.to, &study.gauge) else {
            return Ok(());
        };
        let Some(found) = GaugeStudy::of(study, self.reference) else {
            return Ok(());
        };
        let command = Command::SetStudy {
            gauge: gauge.clone(),
            study: found,
        };
        daemon::command(host, &command)
            .await
            .map_err(|failure| self.not_handed_over(&failure, host, gauge))?;
        eprintln!(
            "handed to the bench at http://{host}/: it stands behind each section of `{gauge}` \
             whose readings know less"
        );
        Ok(())
    }
}

impl Args {
    /// The study stands above, and its readings in a file where they were kept: what is left to do.
    fn not_handed_over(&self, failure: &Failure, host: &str, gauge: &str) -> Failure {
        let file = self.file.as_ref().or(self.live.save.as_ref());
        let again = file.map_or_else(String::new, |file| {
            let file = file.display();
            format!(
                "; hand it over again with `borewright study {file} --gauge {gauge} --to http://{host}`"
            )
        });
        let why = format!("the study was not handed over: {failure}{again}");
        match failure {
            Failure::Wrong(_) => Failure::wrong(why),
            Failure::Outside(_) => Failure::outside(why),
        }
    }
}

impl LiveArgs {
    /// The gauge to open, and where the page of a daemon that has it would be.
    fn find(&self) -> Result<(Gauge, Traits, String), Failure> {
        let config = match &self.config {
            Some(file) => Config::read(file).map_err(Failure::wrong)?,
            None => Config::default(),
        };
        let page = format!("http://{}", config.page.listen);
        if let (Some(port), Some(form)) = (&self.port, &self.form) {
            let form =
                Arc::new(Description::named(form, self.gauges.as_deref()).map_err(Failure::wrong)?);
            if form.sends == Sends::Angle {
                return Err(Failure::wrong(format!(
                    "`{}` states angles: name the form of a gauge for lengths",
                    form.name
                )));
            }
            let traits = traits_of(&form, Role::Bore);
            let name = self.gauge.as_deref().unwrap_or("gauge").into();
            let port = port.clone();
            return Ok((Gauge { name, port, form }, traits, page));
        }
        let (mut links, mut traits) = config.gauges().map_err(Failure::wrong)?;
        let names: Vec<String> = links.iter().map(|link| link.name.to_string()).collect();
        let at = match &self.gauge {
            Some(name) => names.iter().position(|known| known == name),
            None if links.len() == 1 => Some(0),
            None => None,
        };
        let Some(at) = at else {
            return Err(Failure::wrong(if names.is_empty() {
                "name a FILE of readings, a gauge with --config FILE --gauge NAME or --port PORT \
                 --form NAME, or a running daemon with --from ADDR"
                    .to_owned()
            } else {
                format!(
                    "say which gauge with --gauge; the configuration lists {}",
                    names.join(", ")
                )
            }));
        };
        let gauge = links.swap_remove(at);
        match traits.remove(&gauge.name) {
            Some(traits) => Ok((gauge, traits, page)),
            None => Err(Failure::wrong(format!(
                "nothing is known of {}",
                gauge.name
            ))),
        }
    }
}
