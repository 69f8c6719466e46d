//! `borewright demo`: a whole job on a simulated gauge, over a real pseudo-terminal, through the
//! daemon that `run` starts. The scenario is invented.

use std::io::{IsTerminal as _, Write as _};
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use serde_json::Value;
use tokio::sync::broadcast;
use tokio_util::sync::CancellationToken;

use super::terminal::interrupted;
use super::{Answer, Failure, Outcome};
use crate::bench::Handle;
use crate::config::traits_of;
use crate::daemon::{Daemon, Settings};
use crate::feed::Batch;
use crate::fit::plan::{Reamer, Shop as Workshop, Work};
use crate::fit::{BearingSize, InsertAsked, Material};
use crate::gauge::simulate::{Bore, Hand, Lobes, Reamed, Simulator};
use crate::gauge::{Description, Gauge, Port};
use crate::job::{
    Command, EvidenceChange, Findings, Gauges, Phase, PlanKind, Role, Seats, Shop, Station,
    stations,
};
use crate::report::Style;
use crate::uncertainty::Decision;
use crate::units::Length;

/// Arguments of `borewright demo`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Run as fast as the line allows, print the summary and exit; so it is anyway where standard
    /// output is no terminal.
    #[arg(long)]
    once: bool,
    /// Where the page listens; port 0 picks a free one.
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:0")]
    page: SocketAddr,
}

/// The invented part.
const PART: &str = "cargo tricycle, welded 46 mm shell (invented)";
const SEAT: &str = "pressfit-46";
/// The setting ring, what the gauge shows in it, and the ring's expanded uncertainty, mm.
const RING: (f64, f64, f64) = (46.000, 46.0012, 0.001);
/// The reamer that mends it, by its name, mm.
const REAMER_MM: f64 = 45.984;
/// What it really does in this simulation, which nobody tells the bench: it cuts 3 µm over its
/// name and runs 4 µm off the axis.
const CUTS: Reamed = Reamed {
    diameter_mm: 45.987,
    off_mm: 0.004,
    towards_deg: 250.0,
};
/// How long a send and its reading take a person in the demo.
const PACE: Duration = Duration::from_millis(380);

/// The reamer, as the shop's configuration would list it.
fn reamer() -> Reamer {
    Reamer {
        name: "adjustable, set to 45.984".to_owned(),
        diameter_mm: REAMER_MM,
        greatest_stock_mm: 0.2,
        past_cuts_mm: Vec::new(),
    }
}

/// Runs the demo.
///
/// # Errors
/// [`Failure::Outside`] where a pseudo-terminal, a port or the disk fails.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    runtime.map_err(Failure::outside)?.block_on(show(args))
}

async fn show(args: &Args) -> Result<Answer, Failure> {
    let watched = std::io::stdout().is_terminal() && !args.once;
    let form = Arc::new(Description::named("plain-mm-stream", None).map_err(Failure::outside)?);
    let gauge = Simulator::open(Arc::clone(&form)).map_err(Failure::outside)?;
    let seats = Seats::built_in();
    let plan = seats
        .get(SEAT)
        .map(|seat| stations(seat, PlanKind::Seat, form.contact))
        .unwrap_or_default();
    let name: Arc<str> = "bore-gauge".into();
    let folder = std::env::temp_dir().join(format!("borewright-demo-{}", uuid::Uuid::now_v7()));
    let settings = Settings {
        folder: folder.clone(),
        page: args.page,
        tcp: SocketAddr::from(([127, 0, 0, 1], 0)),
        shop: Shop {
            seats,
            gauges: Gauges::from([(Arc::clone(&name), traits_of(&form, Role::Bore))]),
            workshop: Workshop {
                reamers: vec![reamer()],
                ..Workshop::default()
            },
        },
        gauges: vec![Gauge {
            name,
            port: Port::Path(gauge.path().to_owned()),
            form,
        }],
        language: None,
        report: Style::default(),
        print: false,
    };
    let stop = CancellationToken::new();
    let daemon = Daemon::start(settings, stop.clone())
        .await
        .map_err(Failure::outside)?;
    println!(
        "An invented job on a simulated gauge at {}.",
        gauge.path().display()
    );
    println!("The bench page is at http://{}/", daemon.page);
    println!();
    let bench = Bench {
        handle: daemon.handle.clone(),
        gauge,
        plan,
        hand: Hand::new(46, 0.0006),
        watched,
    };
    let record = tokio::select! {
        record = bench.whole_job() => record,
        () = interrupted() => {
            daemon.stop().await;
            return Ok(Answer::Done);
        }
    }?;
    println!();
    println!("The record is in {}", record.display());
    if watched {
        println!("The page stays up until Ctrl-C.");
        interrupted().await;
    }
    daemon.stop().await;
    Ok(Answer::Done)
}

/// The mechanic of the demo.
struct Bench {
    handle: Handle,
    gauge: Simulator,
    plan: Vec<Station>,
    hand: Hand,
    watched: bool,
}

impl Bench {
    async fn whole_job(mut self) -> Result<PathBuf, Failure> {
        let mut feed = Feed {
            from: self.handle.subscribe(),
            waiting: Vec::new(),
        };
        feed.gauge_connected(&self.handle).await?;
        let (ring_mm, shown_mm, uncertainty_mm) = RING;
        self.ask(Command::SetRing {
            gauge: "bore-gauge".into(),
            ring_mm,
            shown_mm: Some(shown_mm),
            ring_uncertainty_mm: Some(uncertainty_mm),
            ring_due: None,
        })
        .await?;
        self.ask(Command::OpenJob {
            part: PART.into(),
            seat: SEAT.into(),
            plan: PlanKind::Seat,
            material: Some(Material::Steel),
            wall_mm: Some(2.5),
            yield_mpa: None,
            finish: None,
            service_c: None,
        })
        .await?;
        self.ask(Command::SetEvidence {
            evidence: EvidenceChange {
                runs_tight: Some(Some(true)),
                free_once_out: Some(Some(true)),
                ..EvidenceChange::default()
            },
        })
        .await?;
        self.ask(Command::SetInsert {
            insert: InsertAsked {
                bearing: Some(BearingSize {
                    bore_mm: 30.0,
                    outside_mm: 42.0,
                    width_mm: 7.0,
                }),
                cup: Some(Material::Aluminium),
                outside_mm: Some(46.004),
                length_mm: Some(10.0),
                ..InsertAsked::default()
            },
        })
        .await?;
        println!("Part: {PART}. Seat: {SEAT}. Gauge set in the {ring_mm:.3} mm ring.");
        let egged = Bore {
            mean_mm: 45.931,
            oval_mm: 0.098,
            long_axis_deg: 125.0,
            lobes: vec![Lobes {
                count: 4,
                amplitude_mm: 0.0025,
                peak_deg: 20.0,
            }],
            taper_mm_per_mm: 0.0005,
            reamed: None,
        };
        let sound = Bore {
            mean_mm: 45.974,
            oval_mm: 0.010,
            long_axis_deg: 60.0,
            ..Bore::default()
        };
        println!("\nAs found: turn, send, turn, send …");
        self.gauge_all(&mut feed, &[&egged, &sound]).await?;
        self.judge(Phase::AsFound).await?;
        self.advise().await?;

        println!(
            "\nThe drive side is reamed (simulated): the {REAMER_MM:.3} mm reamer turns in a circle of \
             {:.3} mm, {:.3} mm off the axis, and takes away what stands inside it.",
            CUTS.diameter_mm, CUTS.off_mm
        );
        self.ask(Command::Choose {
            bore: "drive side".into(),
            work: Work::Ream,
            with: Some(reamer().name),
        })
        .await?;
        self.ask(Command::SetPhase {
            phase: Phase::AsLeft,
        })
        .await?;
        let reamed = Bore {
            reamed: Some(CUTS),
            ..egged
        };
        println!("\nAs left: the same stations again.");
        self.gauge_all(&mut feed, &[&reamed, &sound]).await?;
        self.judge(Phase::AsLeft).await?;
        self.held().await?;

        self.ask(Command::CloseJob {}).await?;
        feed.record().await
    }

    async fn ask(&self, command: Command) -> Result<(), Failure> {
        self.handle
            .command(command.into())
            .await
            .outside()?
            .outside()
            .map(|_| ())
    }

    /// Gauges every station of the plan: the bore named first in the seat is `bores[0]`.
    async fn gauge_all(&mut self, feed: &mut Feed, bores: &[&Bore]) -> Result<(), Failure> {
        let total = self.plan.len();
        let first = self.plan.first().map(|station| station.bore.clone());
        for (index, station) in self.plan.clone().iter().enumerate() {
            let bore = bores[usize::from(Some(&station.bore) != first.as_ref())];
            let contact = self.gauge.form().contact;
            let wall = bore.seen_mm(contact, station.depth_mm, station.angle_deg);
            // The gauge shows the ring a little too large, and so the bore too.
            let shown = self.hand.reads_mm(wall) + (RING.1 - RING.0);
            if self.watched {
                tokio::time::sleep(PACE).await;
            }
            let value = Length::from_mm(shown).ok_or_else(|| Failure::outside("not finite"))?;
            self.gauge.send_value(value).map_err(Failure::outside)?;
            let section = feed.section().await?;
            if self.watched {
                self.show(station, &section, index + 1, total)?;
            }
        }
        if self.watched {
            println!();
        }
        Ok(())
    }

    /// One line that is written over and over: where, what, and what it comes to.
    fn show(
        &self,
        station: &Station,
        section: &Value,
        done: usize,
        total: usize,
    ) -> Result<(), Failure> {
        let number = |field: &str| section[field].as_f64();
        let mm = |value: Option<f64>| value.map_or("—".to_owned(), |mm| format!("{mm:.3}"));
        let bar = "█".repeat(done * 20 / total);
        let mut out = std::io::stdout();
        write!(
            out,
            "\r  {bar:░<20} {done:>2}/{total}  {:<14} {:>4} mm {:>5.0}°   mean {} mm   out of round {} mm  ",
            station.bore,
            station.depth_mm,
            station.angle_deg,
            mm(number("mean_diameter_mm")),
            mm(number("out_of_round_mm")),
        )
        .outside()?;
        out.flush().outside()
    }

    /// Says what is at fault and what is advised for each bore.
    async fn advise(&self) -> Result<(), Failure> {
        let state: Value = serde_json::from_str(&self.handle.state().await.outside()?)
            .map_err(Failure::outside)?;
        let findings = &state["on_bench"]["findings"];
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        println!("  {}", text(&findings["diagnosis"]["summary"]));
        for bore in findings["bores"].as_array().into_iter().flatten() {
            let plan = &bore["plan"];
            println!(
                "  {:<14} {}: {}",
                text(&bore["bore"]),
                text(&plan["advice"]).replace('_', " "),
                text(&plan["why"])
            );
        }
        Ok(())
    }

    /// Says how the preview of each reamed bore compares with what came out.
    async fn held(&self) -> Result<(), Failure> {
        let state: Value = serde_json::from_str(&self.handle.state().await.outside()?)
            .map_err(Failure::outside)?;
        let findings = state["on_bench"]["findings"].clone();
        let findings: Findings = serde_json::from_value(findings).map_err(Failure::outside)?;
        for outcome in findings.outcomes {
            let Some(preview) = outcome.preview else {
                continue;
            };
            let said = if preview.mean_held() {
                "held"
            } else {
                "did not hold"
            };
            println!(
                "  {:<14} the preview {said}: mean {:.4} mm foreseen, {:.4} mm as left, within \
                 {:.4} mm of each other",
                outcome.bore, preview.predicted_mm, preview.measured_mm, preview.within_mm
            );
            if let Some(form) = preview.out_of_round {
                println!(
                    "  {:<14} out of round {:.4} mm foreseen, {:.4} mm as left, within {:.4} mm",
                    "", form.predicted_mm, form.measured_mm, form.within_mm
                );
            }
        }
        Ok(())
    }

    /// Says of each section of `phase` what it comes to.
    async fn judge(&self, phase: Phase) -> Result<(), Failure> {
        let state: Value = serde_json::from_str(&self.handle.state().await.outside()?)
            .map_err(Failure::outside)?;
        let phase = serde_json::to_value(phase).map_err(Failure::outside)?;
        let sections = state["on_bench"]["sections"]
            .as_array()
            .cloned()
            .unwrap_or_default();
        let mut worst = Decision::Conforms;
        for section in sections.iter().filter(|section| section["phase"] == phase) {
            let verdict = &section["verdict"];
            for judged in [&verdict["size"], &verdict["form"]] {
                let decision = serde_json::from_value(judged["decision"].clone());
                worst = worst.max(decision.map_err(Failure::outside)?);
            }
            println!(
                "  {:<14} {:>4} mm: {}; {}",
                section["bore"].as_str().unwrap_or_default(),
                section["depth_mm"],
                verdict["size"]["why"].as_str().unwrap_or_default(),
                verdict["form"]["why"].as_str().unwrap_or_default(),
            );
        }
        println!(
            "  {}: {worst}",
            phase.as_str().unwrap_or_default().replace('-', " ")
        );
        Ok(())
    }
}

/// The feed, as any other program sees it.
struct Feed {
    from: broadcast::Receiver<Batch>,
    waiting: Vec<Value>,
}

impl Feed {
    /// The next object that `wanted` takes; those before it are passed over.
    async fn next(&mut self, wanted: impl Fn(&Value) -> bool) -> Result<Value, Failure> {
        loop {
            while !self.waiting.is_empty() {
                let object = self.waiting.remove(0);
                if object["kind"] == "reading_refused" {
                    let why = object["why"].as_str().unwrap_or_default();
                    return Err(Failure::outside(format!("a reading was refused: {why}")));
                }
                if wanted(&object) {
                    return Ok(object);
                }
            }
            let limit = Duration::from_secs(10);
            let batch = tokio::time::timeout(limit, self.from.recv()).await;
            let batch = batch.map_err(|_| Failure::outside("the daemon said nothing for 10 s"))?;
            let objects = batch.outside()?;
            let objects = objects.iter().map(|line| serde_json::from_str(line.json()));
            self.waiting = objects
                .collect::<Result<_, _>>()
                .map_err(Failure::outside)?;
        }
    }

    async fn gauge_connected(&mut self, handle: &Handle) -> Result<(), Failure> {
        let state: Value =
            serde_json::from_str(&handle.state().await.outside()?).map_err(Failure::outside)?;
        if state["gauges"][0]["connected"] == true {
            return Ok(());
        }
        self.next(|object| object["kind"] == "gauge_opened")
            .await
            .map(|_| ())
    }

    async fn section(&mut self) -> Result<Value, Failure> {
        self.next(|object| object["kind"] == "section").await
    }

    async fn record(&mut self) -> Result<PathBuf, Failure> {
        let object = self.next(|object| object["about"] == "record").await?;
        match object["file"].as_str() {
            Some(file) => Ok(file.into()),
            None => Err(Failure::outside(
                object["why"].as_str().unwrap_or_default().to_owned(),
            )),
        }
    }
}
