//! `borewright ports`: what is plugged in, and why it can't be opened.

use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;

use super::{Answer, Failure};
use crate::gauge::UsbIdentity;
use crate::gauge::ports::{self, SerialPort};

/// The schema name of the JSON output.
pub(super) const SCHEMA: &str = "borewright.ports/1";

/// Arguments of `borewright ports`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// One JSON object instead of text.
    #[arg(long)]
    json: bool,
}

/// The JSON output.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Ports {
    /// Always `borewright.ports/1`.
    pub schema: &'static str,
    /// The serial ports, sorted by path.
    pub ports: Vec<SerialPort>,
}

/// Lists the serial ports; opens none.
///
/// # Errors
/// [`Failure::Outside`] where standard output can't be written.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let ports = ports::list(Path::new("/"));
    let text = if args.json {
        let answer = Ports {
            schema: SCHEMA,
            ports,
        };
        serde_json::to_string_pretty(&answer).map_err(Failure::outside)? + "\n"
    } else {
        table(&ports)
    };
    super::terminal::print(&text)?;
    Ok(Answer::Done)
}

fn table(ports: &[SerialPort]) -> String {
    if ports.is_empty() {
        return "No serial port is plugged in. A gauge that types like a keyboard needs none; a \
                pseudo-terminal is not listed, but its path can be configured.\n"
            .to_owned();
    }
    let mut text = String::new();
    for port in ports {
        text += &format!("{}\n", port.path.display());
        let mut line = |name: &str, value: &str| text += &format!("  {name:<9}{value}\n");
        if let Some(usb) = &port.usb {
            let words = [&usb.maker, &usb.product_name].map(|word| word.as_deref().unwrap_or(""));
            line("device", words.join(" ").trim());
            let identity = UsbIdentity {
                vendor: usb.vendor,
                product: usb.product,
                serial: usb.serial.clone(),
            };
            line("identity", &identity.to_string());
        }
        if let Some(link) = &port.by_id {
            line("link", &link.display().to_string());
        }
        if let Some(driver) = &port.driver {
            line("driver", driver);
        }
        line("use", port.unusable.as_deref().unwrap_or("can be opened"));
    }
    text
}
