//! Arguments in, exit code out.

use std::io::IsTerminal as _;
use std::process::ExitCode;

use borewright::commands::{Cli, Failure};
use clap::Parser as _;
use tracing_subscriber::EnvFilter;

fn main() -> ExitCode {
    let cli = Cli::parse();
    log_to_stderr(cli.log_json, cli.command.log_filter());
    match cli.command.run() {
        Ok(answer) => answer.into(),
        Err(failure) => {
            report(&failure);
            failure.exit_code()
        }
    }
}

/// The failure and the chain of its causes, one sentence a line.
fn report(failure: &Failure) {
    let mut error = failure.cause();
    eprintln!("borewright: {error}");
    while let Some(cause) = error.source() {
        eprintln!("  because: {cause}");
        error = cause;
    }
}

fn log_to_stderr(json: bool, quiet: &str) {
    let filter =
        EnvFilter::try_from_env("BOREWRIGHT_LOG").unwrap_or_else(|_| EnvFilter::new(quiet));
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr);
    // A second initialisation can only fail in a process that has one already; then that one
    // stands.
    if json {
        let _ = log.json().try_init();
    } else {
        let _ = log
            .with_ansi(std::io::stderr().is_terminal())
            .with_target(false)
            .try_init();
    }
}
