//! `borewright listen`: what a port sends, as it comes, and what it is read as.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use schemars::JsonSchema;
use serde::Serialize;

use super::terminal::{interrupted, print};
use super::{Answer, Failure};
use crate::gauge::link::Wire;
use crate::gauge::{
    Content, Description, Flow, Level, Parity, Port, Raw, Reader, SerialLine, link,
};
use crate::units::{Angle, Length, Moment};

/// The schema name of the JSON lines.
pub(super) const SCHEMA: &str = "borewright.listen/1";

/// Bytes that come closer together than this are shown as one chunk.
const PAUSE: Duration = Duration::from_millis(20);
/// A chunk is shown at the latest when it has so many bytes.
const CHUNK: usize = 64;

/// Arguments of `borewright listen`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A device path, `usb:VENDOR:PRODUCT[:SERIAL]`, or `tcp://host:port`.
    port: Port,
    /// A gauge description: sets the line and shows what each frame is read as.
    #[arg(long, value_name = "NAME")]
    form: Option<String>,
    /// A folder of gauge descriptions of one's own.
    #[arg(long, value_name = "DIR", requires = "form")]
    gauges: Option<PathBuf>,
    /// Bits a second.
    #[arg(long, default_value_t = 9600, conflicts_with = "form",
          value_parser = clap::value_parser!(u32).range(50..=4_000_000))]
    baud: u32,
    /// Data bits.
    #[arg(long, default_value_t = 8, conflicts_with = "form",
          value_parser = clap::value_parser!(u8).range(5..=8))]
    data_bits: u8,
    /// The parity bit.
    #[arg(long, value_enum, default_value_t = Parity::None, conflicts_with = "form")]
    parity: Parity,
    /// Stop bits.
    #[arg(long, default_value_t = 1, conflicts_with = "form",
          value_parser = clap::value_parser!(u8).range(1..=2))]
    stop_bits: u8,
    /// Flow control.
    #[arg(long, value_enum, default_value_t = Flow::None, conflicts_with = "form")]
    flow: Flow,
    /// The DTR line at opening.
    #[arg(long, value_enum, default_value_t = Level::Leave, conflicts_with = "form")]
    dtr: Level,
    /// The RTS line at opening.
    #[arg(long, value_enum, default_value_t = Level::Leave, conflicts_with = "form")]
    rts: Level,
    /// End after so many seconds; left out: at Ctrl-C, or when the port is gone.
    #[arg(long, value_name = "SECONDS",
          value_parser = clap::value_parser!(u64).range(1..=86_400))]
    seconds: Option<u64>,
    /// JSON lines instead of text.
    #[arg(long)]
    json: bool,
}

/// One JSON line: bytes as they came, or what a frame is read as.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Line {
    /// Always `borewright.listen/1`.
    pub schema: &'static str,
    /// What this line is.
    pub kind: LineKind,
    /// When its last byte came, UTC.
    pub at: Moment,
    /// The same, in milliseconds since the port was opened.
    pub since_start_ms: f64,
    /// The bytes as text, escapes for bytes outside printable ASCII.
    pub text: String,
    /// The exact bytes, hexadecimal.
    pub hex: String,
    /// The value, mm, where this is a reading.
    pub value_mm: Option<f64>,
    /// The same from a gauge that states angles, degrees; absent else.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value_deg: Option<f64>,
    /// Why the bytes are no reading, where this is noise.
    pub why: Option<String>,
}

/// What a [`Line`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(super) enum LineKind {
    /// Bytes as they came, with their ends.
    Bytes,
    /// A frame that is a reading.
    Reading,
    /// Bytes that are no reading.
    Noise,
}

/// Listens until Ctrl-C, the end of `--seconds`, or the port is gone.
///
/// # Errors
/// [`Failure::Wrong`] for a form that is not there or can't be used, [`Failure::Outside`] where
/// the port can't be opened or is lost.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let form = match &args.form {
        Some(name) => Some(Arc::new(
            Description::named(name, args.gauges.as_deref()).map_err(Failure::wrong)?,
        )),
        None => None,
    };
    let line = form
        .as_ref()
        .map_or_else(|| line(args), |form| form.serial.clone());
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(Failure::outside)?;
    let answer = runtime.block_on(async {
        let (wire, port) = link::open(&args.port, &line)
            .await
            .map_err(Failure::outside)?;
        if !args.json {
            eprintln!("listening to {port} at {line}; Ctrl-C ends it");
        }
        let limit = async {
            match args.seconds {
                Some(seconds) => tokio::time::sleep(Duration::from_secs(seconds)).await,
                None => std::future::pending().await,
            }
        };
        tokio::select! {
            result = Listener::new(args.json, form).listen(wire, &port) => result,
            () = interrupted() => Ok(Answer::Done),
            () = limit => Ok(Answer::Done),
        }
    });
    runtime.shutdown_background();
    answer
}

fn line(args: &Args) -> SerialLine {
    SerialLine {
        baud: args.baud,
        data_bits: args.data_bits,
        parity: args.parity,
        stop_bits: args.stop_bits,
        flow: args.flow,
        dtr: args.dtr,
        rts: args.rts,
    }
}

/// What is made of bytes.
enum Says {
    Length(Length),
    Angle(Angle),
    Noise(String),
    Nothing,
}

struct Listener {
    json: bool,
    form: Option<Arc<Description>>,
    reader: Option<Reader>,
    start: Instant,
    held: Vec<u8>,
    /// The time of the last byte in `held`.
    last: (Moment, Duration),
}

impl Listener {
    fn new(json: bool, form: Option<Arc<Description>>) -> Self {
        let reader = form.clone().map(Reader::new);
        let last = (Moment::now(), Duration::ZERO);
        Self {
            json,
            form,
            reader,
            start: Instant::now(),
            held: Vec::new(),
            last,
        }
    }

    async fn listen(mut self, mut wire: Wire, port: &str) -> Result<Answer, Failure> {
        let ask = self.form.as_ref().and_then(|form| form.ask.clone());
        let mut questions = ask.as_ref().map(|ask| tokio::time::interval(ask.every));
        let mut buffer = [0; 1024];
        loop {
            let patience = self.reader.as_ref().and_then(Reader::patience);
            let gap = self.form.as_ref().and_then(|form| form.frame.idle);
            let pause = gap.map_or(PAUSE, |gap| gap.min(PAUSE));
            let chunk_ends = (!self.held.is_empty()).then_some(pause);
            tokio::select! {
                biased;
                read = wire.read(&mut buffer) => match read {
                    Ok(count) if count > 0 => self.take(&buffer[..count])?,
                    ended => {
                        self.show_held()?;
                        return Err(Failure::outside(link::lost(port, ended.err().as_ref())));
                    }
                },
                () = after(chunk_ends) => self.show_held()?,
                () = after(patience) => self.quiet()?,
                () = tick(&mut questions) => {
                    let send = ask.as_ref().map_or(&[][..], |ask| &ask.send);
                    wire.write_within(send, Duration::from_secs(1)).await
                        .map_err(|error| Failure::outside(link::lost(port, Some(&error))))?;
                }
            }
        }
    }

    fn take(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        self.last = (Moment::now(), self.start.elapsed());
        self.held.extend_from_slice(bytes);
        if self.held.len() >= CHUNK || bytes.ends_with(b"\n") {
            self.show_held()?;
        }
        Ok(())
    }

    /// Shows the bytes held, and then what they complete.
    fn show_held(&mut self) -> Result<(), Failure> {
        let bytes = std::mem::take(&mut self.held);
        if bytes.is_empty() {
            return Ok(());
        }
        let mut contents = Vec::new();
        if let Some(reader) = &mut self.reader {
            reader.push(&bytes, &mut contents);
        }
        self.show(LineKind::Bytes, &Raw(bytes), Says::Nothing)?;
        self.show_all(contents)
    }

    fn quiet(&mut self) -> Result<(), Failure> {
        let mut contents = Vec::new();
        if let Some(reader) = &mut self.reader {
            reader.quiet(&mut contents);
        }
        self.show_all(contents)
    }

    fn show_all(&self, contents: Vec<Content>) -> Result<(), Failure> {
        for content in contents {
            match content {
                Content::Reading { raw, value } => {
                    self.show(LineKind::Reading, &raw, Says::Length(value))?;
                }
                Content::Angle { raw, value } => {
                    self.show(LineKind::Reading, &raw, Says::Angle(value))?;
                }
                Content::Noise { raw, why } => {
                    self.show(LineKind::Noise, &raw, Says::Noise(why))?;
                }
                Content::Opened { .. } | Content::Lost { .. } => {}
            }
        }
        Ok(())
    }

    fn show(&self, kind: LineKind, raw: &Raw, says: Says) -> Result<(), Failure> {
        let (at, since_start) = self.last;
        let since_start_ms = (since_start.as_secs_f64() * 1e6).round() / 1e3;
        let text = if self.json {
            let (text, hex) = (raw.text(), raw.hex());
            let (value_mm, value_deg, why) = match says {
                Says::Length(value) => (Some(value.mm()), None, None),
                Says::Angle(value) => (None, Some(value.deg()), None),
                Says::Noise(why) => (None, None, Some(why)),
                Says::Nothing => (None, None, None),
            };
            let line = Line {
                schema: SCHEMA,
                kind,
                at,
                since_start_ms,
                text,
                hex,
                value_mm,
                value_deg,
                why,
            };
            serde_json::to_string(&line).map_err(Failure::outside)?
        } else {
            match says {
                Says::Length(value) => format!("{:14}reading {} mm", "", value.mm()),
                Says::Angle(value) => format!("{:14}reading {}°", "", value.deg()),
                Says::Noise(why) => format!("{:14}noise `{}`: {why}", "", raw.text()),
                Says::Nothing => format!("{since_start_ms:>12.3}  {}  {}", raw.text(), pairs(raw)),
            }
        };
        print(&(text + "\n"))
    }
}

/// The bytes in hexadecimal, apart from each other.
fn pairs(raw: &Raw) -> String {
    raw.0
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect::<Vec<_>>()
        .join(" ")
}

async fn after(time: Option<Duration>) {
    match time {
        Some(time) => tokio::time::sleep(time).await,
        None => std::future::pending().await,
    }
}

async fn tick(questions: &mut Option<tokio::time::Interval>) {
    match questions {
        Some(questions) => {
            questions.tick().await;
        }
        None => std::future::pending().await,
    }
}
