//! The command line: one file a subcommand, each with its `Args` and its `run`.

mod check;
mod columns;
mod daemon;
mod data;
mod demo;
mod export;
mod fit;
mod gauged;
mod jobs;
mod limits;
mod listen;
mod ports;
mod profile;
mod report;
mod run;
mod schema;
mod simulate;
mod study;
mod table;
mod terminal;

use std::io::{Read as _, Write as _};
use std::path::Path;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// The bench's bore reader.
#[derive(Debug, Parser)]
#[command(name = "borewright", version, about, long_about = None)]
pub struct Cli {
    /// Write the log as JSON lines instead of text.
    #[arg(long, global = true)]
    pub log_json: bool,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Check a configuration and say what is wrong with it, by file, line and key.
    Check(check::Args),
    /// Run the daemon: read the gauges, keep the journal, serve the page and the feed.
    Run(run::Args),
    /// Show a whole job on a simulated gauge.
    Demo(demo::Args),
    /// Readings of jobs as CSV, records as JSON.
    Export(Box<export::Args>),
    /// The fit of an insert in measured bores, what is at fault, and what to do.
    Fit(Box<fit::Args>),
    /// The jobs that were done and those still open; one job's story; what they teach.
    Jobs(Box<jobs::Args>),
    /// ISO 286 limits of a size and class, or the fit of a hole and a shaft.
    Limits(limits::Args),
    /// What a port sends, as text and hex with times, and what it is read as.
    Listen(listen::Args),
    /// What is plugged in, and why it can't be opened.
    Ports(ports::Args),
    /// How well a gauge repeats, live from the gauge or from a file of readings.
    Study(Box<study::Args>),
    /// A file of readings to a bore profile.
    Profile(profile::Args),
    /// The customer's report on a job, as HTML and PDF.
    Report(report::Args),
    /// The JSON Schema of what the program writes or takes.
    Schema(schema::Args),
    /// A simulated gauge on a pseudo-terminal, held into a described bore.
    Simulate(simulate::Args),
}

impl Command {
    /// What is logged where nobody says: the daemon tells where it listens, the rest is quiet.
    pub const fn log_filter(&self) -> &'static str {
        match self {
            Self::Run(_) => "borewright=info,warn",
            _ => "warn",
        }
    }

    /// Does it.
    ///
    /// # Errors
    /// A [`Failure`], which knows its exit code.
    pub fn run(self) -> Result<Answer, Failure> {
        match self {
            Self::Check(args) => check::run(&args),
            Self::Run(args) => run::run(&args),
            Self::Demo(args) => demo::run(&args),
            Self::Export(args) => export::run(&args),
            Self::Jobs(args) => jobs::run(&args),
            Self::Fit(args) => fit::run(&args),
            Self::Limits(args) => limits::run(&args),
            Self::Listen(args) => listen::run(&args),
            Self::Ports(args) => ports::run(&args),
            Self::Profile(args) => profile::run(&args),
            Self::Report(args) => report::run(&args),
            Self::Study(args) => study::run(&args),
            Self::Schema(args) => schema::run(&args),
            Self::Simulate(args) => simulate::run(args),
        }
    }
}

/// How a command that ran to its end answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// Done: exit code 0.
    Done,
    /// It ran, and the answer is no: exit code 1.
    No,
}

impl From<Answer> for ExitCode {
    fn from(answer: Answer) -> Self {
        match answer {
            Answer::Done => Self::SUCCESS,
            Answer::No => Self::from(1),
        }
    }
}

/// Why a command could not run to its end.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// The arguments, an input file or the configuration are wrong: exit code 2.
    #[error("{0}")]
    Wrong(#[source] Cause),
    /// The outside failed, a port, a disk or the network: exit code 3.
    #[error("{0}")]
    Outside(#[source] Cause),
}

/// Turns the error of a call on the outside into a [`Failure`].
trait Outcome<T> {
    fn outside(self) -> Result<T, Failure>;
}

impl<T, E: Into<Cause>> Outcome<T> for Result<T, E> {
    fn outside(self) -> Result<T, Failure> {
        self.map_err(Failure::outside)
    }
}

/// Any error of the rooms below, with its own causes.
pub type Cause = Box<dyn std::error::Error + Send + Sync>;

impl Failure {
    /// The arguments or the configuration are wrong, as `error` says.
    pub fn wrong(error: impl Into<Cause>) -> Self {
        Self::Wrong(error.into())
    }

    /// The outside failed, as `error` says.
    pub fn outside(error: impl Into<Cause>) -> Self {
        Self::Outside(error.into())
    }

    /// The sentence itself, with the chain of its causes.
    pub fn cause(&self) -> &(dyn std::error::Error + 'static) {
        match self {
            Self::Wrong(cause) | Self::Outside(cause) => cause.as_ref(),
        }
    }

    /// The exit code of this failure.
    pub fn exit_code(&self) -> ExitCode {
        ExitCode::from(match self {
            Self::Wrong(_) => 2,
            Self::Outside(_) => 3,
        })
    }
}

/// The file's name for messages, and its text.
fn input(file: &Path) -> Result<(String, Vec<u8>), Failure> {
    if file == Path::new("-") {
        let mut text = Vec::new();
        std::io::stdin()
            .read_to_end(&mut text)
            .map_err(Failure::outside)?;
        return Ok(("standard input".to_owned(), text));
    }
    let name = file.display().to_string();
    match std::fs::read(file) {
        Ok(text) => Ok((name, text)),
        Err(error) => Err(Failure::wrong(format!("{name} can't be read: {error}"))),
    }
}

/// To standard output; a reader that went away is no failure.
fn print(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Failure::outside(error))
        }
        _ => Ok(()),
    }
}
