//! `borewright run`: the daemon.

use std::net::SocketAddr;
use std::path::PathBuf;

use tokio_util::sync::CancellationToken;

use super::terminal::interrupted;
use super::{Answer, Failure, Outcome as _};
use crate::config::{Config, calibration_warnings};
use crate::daemon::{Daemon, Settings};
use crate::job::Shop;
use crate::units::Moment;

/// Arguments of `borewright run`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The configuration file; left out: no gauge, every default.
    #[arg(long, value_name = "FILE", env = "BOREWRIGHT_CONFIG")]
    config: Option<PathBuf>,
    /// The data folder, instead of the configured one.
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
    /// Where the page listens, instead of the configured address; port 0 picks a free one.
    #[arg(long, value_name = "ADDR")]
    page: Option<SocketAddr>,
    /// Where the NDJSON feed listens, instead of the configured address; port 0 picks a free one.
    #[arg(long, value_name = "ADDR")]
    tcp: Option<SocketAddr>,
    /// Write the feed to standard output too, after one line that says which addresses are open.
    #[arg(long)]
    print: bool,
}

/// Runs the daemon until SIGINT or SIGTERM.
///
/// # Errors
/// [`Failure::Wrong`] for the configuration, [`Failure::Outside`] for ports and disk.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let config = match &args.config {
        Some(file) => Config::read(file).map_err(Failure::wrong)?,
        None => Config::default(),
    };
    let folder = match &args.data {
        Some(folder) => folder.clone(),
        None => config.data_folder().map_err(Failure::wrong)?,
    };
    let (gauges, traits) = config.gauges().map_err(Failure::wrong)?;
    for warning in calibration_warnings(&traits, Moment::now()) {
        tracing::warn!("{warning}");
    }
    let report = config.report_style().map_err(Failure::wrong)?;
    let settings = Settings {
        folder,
        page: args.page.unwrap_or(config.page.listen),
        tcp: args.tcp.unwrap_or(config.feed.tcp),
        shop: Shop {
            seats: config.seats().map_err(Failure::wrong)?,
            gauges: traits,
            workshop: config.workshop,
        },
        gauges,
        language: config.shop.language,
        report,
        print: args.print,
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    runtime.outside()?.block_on(serve(settings))
}

async fn serve(settings: Settings) -> Result<Answer, Failure> {
    let stop = CancellationToken::new();
    let daemon = Daemon::start(settings, stop).await.outside()?;
    interrupted().await;
    daemon.stop().await;
    Ok(Answer::Done)
}
