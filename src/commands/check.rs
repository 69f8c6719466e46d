//! `borewright check`: is this configuration usable?

use std::path::PathBuf;

use super::{Answer, Failure};
use crate::config::{Config, calibration_warnings};
use crate::units::Moment;

/// Arguments of `borewright check`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The configuration file.
    #[arg(default_value = "borewright.toml")]
    file: PathBuf,
}

/// Reads the configuration and all that it names, and says what it comes to.
///
/// # Errors
/// [`Failure::Wrong`] with the first mistake found.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let config = Config::read(&args.file).map_err(Failure::wrong)?;
    let seats = config.seats().map_err(Failure::wrong)?;
    let (gauges, traits) = config.gauges().map_err(Failure::wrong)?;
    let folder = config.data_folder().map_err(Failure::wrong)?;
    let warnings = calibration_warnings(&traits, Moment::now());
    let said = if warnings.is_empty() {
        "nothing wrong"
    } else {
        "can be used, but mind:"
    };
    println!("{}: {said}", args.file.display());
    for warning in warnings {
        println!("  {warning}");
    }
    println!("  data folder   {}", folder.display());
    println!("  page          http://{}/", config.page.listen);
    println!("  feed          tcp://{}", config.feed.tcp);
    println!("  seats         {}", seats.iter().count());
    for gauge in &gauges {
        println!(
            "  gauge         {} on {} speaks {}",
            gauge.name, gauge.port, gauge.form.name
        );
    }
    if gauges.is_empty() {
        println!("  gauges        none: readings can only be typed");
    }
    Ok(Answer::Done)
}
