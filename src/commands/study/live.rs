//! A study gauged live: the mechanic presses send, this asks for the next one.

use std::io::{BufRead as _, Write as _};
use std::path::{Path, PathBuf};

use tokio::sync::mpsc;

use super::session::{Plan, Session};
use super::source::{Source, in_the_way};
use crate::bore::Contact;
use crate::commands::Failure;
use crate::commands::terminal::interrupted;
use crate::job::{Body, Event};

/// What is gauged, and where it is kept.
pub(super) struct Asked {
    pub plan: Plan,
    /// The known size of the one part, mm.
    pub reference: Option<f64>,
    pub save: Option<PathBuf>,
    /// Which gauge; left out: the first that sends.
    pub gauge: Option<String>,
}

/// What was gauged, and by which gauge.
pub(super) struct Gauged {
    pub session: Session,
    pub gauge: Option<String>,
    /// How it touched; `None` where it doesn't say.
    pub contact: Option<Contact>,
    /// The step of its last digit as it reads, mm; `None` before a value.
    pub step_mm: Option<f64>,
}

/// What the keyboard asks for.
const KEYS: &str = "u and Enter takes the last value back, q and Enter ends early";

/// Asks for value after value until all are there, or until `q` or Ctrl-C. Every value is in the
/// file at once.
pub(super) async fn gauge(asked: Asked, source: &mut Source) -> Result<Gauged, Failure> {
    if let Some(file) = &asked.save {
        reserve(file)?;
    }
    let mut live = Live {
        session: Session::new(asked.plan, asked.reference),
        save: asked.save,
        gauge: asked.gauge,
        contact: None,
        step_mm: None,
        opened: false,
    };
    let mut typed = keyboard();
    let mut typing = true;
    say(&match asked.plan {
        Plan::OnePart { repeats } => format!(
            "{repeats} repeats on one part: take the gauge out and seat it again each time, then send; {KEYS}\n"
        ),
        Plan::Crossed {
            parts,
            operators,
            trials,
        } => format!(
            "{operators} operators gauge {parts} parts {trials} times each, at one marked place; {KEYS}\n"
        ),
    });
    let mut interrupt = Box::pin(interrupted());
    live.ask();
    while live.session.due().is_some() {
        tokio::select! {
            event = source.next() => live.hear(&event?)?,
            line = typed.recv(), if typing => match line.as_deref().map(str::trim) {
                None => typing = false,
                Some("u") => live.take_back()?,
                Some("q") => break,
                Some("") => live.take_now(source).await,
                Some(other) => live.aside(&format!("`{other}` means nothing here; {KEYS}")),
            },
            () = &mut interrupt => break,
        }
    }
    if live.session.due().is_some() {
        say(&format!("\nended after {}\n", live.session.len()));
    }
    Ok(Gauged {
        session: live.session,
        gauge: live.gauge,
        contact: live.contact,
        step_mm: live.step_mm,
    })
}

struct Live {
    session: Session,
    save: Option<PathBuf>,
    gauge: Option<String>,
    contact: Option<Contact>,
    step_mm: Option<f64>,
    opened: bool,
}

impl Live {
    fn ask(&self) {
        if let Some(due) = self.session.due() {
            say(&format!("{due}: "));
        }
    }

    /// Says something beside, and asks again.
    fn aside(&self, what: &str) {
        say(&format!("{what}\n"));
        self.ask();
    }

    fn hear(&mut self, event: &Event) -> Result<(), Failure> {
        match &event.body {
            Body::Reading {
                gauge,
                value_mm,
                contact,
                corrected_mm,
                deviation_mm,
                resolution_mm,
                ..
            } if self.is_ours(gauge) => {
                if event.job.is_some() {
                    return Err(Failure::wrong(in_the_way("a job")));
                }
                self.gauge = Some(gauge.clone());
                self.contact = *contact;
                self.step_mm = Some(*resolution_mm);
                // A comparator that was never set in a ring is taken as zeroed on the part.
                let reference = self.session.reference().unwrap_or(0.0);
                let against = deviation_mm.map(|deviation| reference + deviation);
                // A study is of readings, so a gauge that reads radii is studied in radii.
                let across = contact.map_or(1.0, Contact::diameter_per_reading);
                let as_read = corrected_mm.map(|size| size / across);
                self.count(as_read.or(against).unwrap_or(*value_mm))
            }
            Body::ReadingRefused { gauge, why, .. } | Body::Noise { gauge, why, .. }
                if self.is_ours(gauge) =>
            {
                self.aside(&format!("not counted: {why}"));
                Ok(())
            }
            Body::Bounce { gauge, .. } if self.is_ours(gauge) => {
                self.aside("not counted: the button bounced");
                Ok(())
            }
            Body::GaugeOpened { gauge, .. } if self.is_ours(gauge) => {
                if std::mem::replace(&mut self.opened, true) {
                    self.aside("the gauge is back");
                }
                Ok(())
            }
            Body::GaugeLost { gauge, why, .. } if self.is_ours(gauge) => {
                if !self.opened {
                    return Err(Failure::outside(why.clone()));
                }
                self.aside(&format!("{why}; the study goes on when it is back"));
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn is_ours(&self, gauge: &str) -> bool {
        self.gauge.as_deref().is_none_or(|ours| ours == gauge)
    }

    fn count(&mut self, mm: f64) -> Result<(), Failure> {
        match self.session.take(mm) {
            Ok(()) => {
                say(&format!("{mm:.4} mm\n"));
                self.keep()?;
                self.ask();
            }
            Err(why) => self.aside(&format!("not counted: {why}")),
        }
        Ok(())
    }

    fn take_back(&mut self) -> Result<(), Failure> {
        match self.session.take_back() {
            Some((_, mm)) => {
                self.keep()?;
                self.aside(&format!("{mm:.4} mm is taken back"));
            }
            None => self.aside("there is nothing to take back"),
        }
        Ok(())
    }

    async fn take_now(&self, source: &Source) {
        let Some(gauge) = &self.gauge else {
            return self.aside("name the gauge with --gauge, so that its value can be taken");
        };
        if let Err(why) = source.take(gauge).await {
            self.aside(&why);
        }
    }

    fn keep(&self) -> Result<(), Failure> {
        let Some(file) = &self.save else {
            return Ok(());
        };
        std::fs::write(file, self.session.csv(self.step_mm))
            .map_err(|error| Failure::outside(format!("{}: {error}", file.display())))
    }
}

/// Makes sure that the file is new and can be written, before anybody gauges anything.
fn reserve(file: &Path) -> Result<(), Failure> {
    let name = file.display();
    match std::fs::File::create_new(file) {
        Ok(_) => Ok(()),
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => Err(Failure::wrong(
            format!("{name} is there already: name another file for --save"),
        )),
        Err(error) => Err(Failure::outside(format!(
            "{name} can't be written: {error}"
        ))),
    }
}

/// To standard error, as standard output is for the result. A terminal that went away is no
/// failure: the values are kept.
fn say(text: &str) {
    let mut out = std::io::stderr().lock();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// The lines that are typed. A thread of its own: reading a terminal can't be cancelled, and the
/// thread ends with the program.
fn keyboard() -> mpsc::Receiver<String> {
    let (sender, lines) = mpsc::channel(16);
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().lines().map_while(Result::ok) {
            if sender.blocking_send(line).is_err() {
                return;
            }
        }
    });
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A reading of a swept gauge, as the bench says it, is studied as a radius, and the study knows.
    #[test]
    fn the_gauge_says_that_it_reads_radii() {
        let mut live = Live {
            session: Session::new(Plan::OnePart { repeats: 10 }, None),
            save: None,
            gauge: None,
            contact: None,
            step_mm: None,
            opened: false,
        };
        let event = serde_json::json!({
            "schema": "borewright.feed/1", "seq": 7, "at": "2026-03-02T09:00:00Z", "job": null,
            "phase": null, "kind": "reading", "gauge": "indicator", "raw": "", "raw_hex": "",
            "value_mm": 23.001, "contact": "radius", "corrected_mm": 46.002, "size_set": true,
            "resolution_mm": 0.001, "deviation_mm": null, "station": null,
        });
        live.hear(&serde_json::from_value(event).unwrap()).unwrap();
        assert_eq!(live.contact, Some(Contact::Radius));
        assert_eq!(live.step_mm, Some(0.001));
        assert_eq!(live.session.values(), [23.001]);
    }
}
