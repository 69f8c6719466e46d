//! A bench of its own for each test: a data folder, a simulated gauge on a pseudo-terminal, and the
//! built daemon.

use std::io::{BufRead as _, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;

use borewright::gauge::Description;
use borewright::gauge::simulate::Simulator;
use borewright::units::Length;
use serde_json::Value;

/// A bench of its own: folder, gauge and daemon.
pub(crate) struct Bench {
    folder: tempfile::TempDir,
    form: Arc<Description>,
    pub(crate) gauge: Option<Simulator>,
    daemon: Option<Child>,
    address: String,
}

impl Bench {
    /// With more in its configuration, and a gauge of another form.
    pub(crate) fn with(more: &str, form: &str) -> Self {
        let mut bench = Self {
            folder: tempfile::tempdir().unwrap(),
            form: Arc::new(Description::named(form, None).unwrap()),
            gauge: None,
            daemon: None,
            address: "127.0.0.1:0".into(),
        };
        bench.plug_in();
        let config = format!(
            "{more}\n[[gauge]]\nname = \"bore-gauge\"\nrole = \"bore\"\nport = \"{}\"\nform = \"{form}\"\n",
            bench.path("gauge").display()
        );
        std::fs::write(bench.path("bench.toml"), config).unwrap();
        bench.start();
        bench
    }

    fn path(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn plug_in(&mut self) {
        let gauge = Simulator::open_at(Arc::clone(&self.form), &self.path("gauge")).unwrap();
        self.gauge = Some(gauge);
    }

    pub(crate) fn send(&self, mm: f64) {
        self.gauge
            .as_ref()
            .unwrap()
            .send_value(Length::from_mm(mm).unwrap())
            .unwrap();
    }

    /// Starts the daemon where it was before, and waits until it says that it is ready.
    pub(crate) fn start(&mut self) {
        let mut daemon = Command::new(env!("CARGO_BIN_EXE_borewright"))
            .arg("run")
            .arg("--config")
            .arg(self.path("bench.toml"))
            .arg("--data")
            .arg(self.path("data"))
            .args(["--page", &self.address, "--tcp", "127.0.0.1:0", "--print"])
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(daemon.stdout.take().unwrap()).lines();
        let ready: Value = serde_json::from_str(&lines.next().unwrap().unwrap()).unwrap();
        self.address = ready["page"].as_str().unwrap().to_owned();
        std::thread::spawn(move || lines.for_each(drop));
        self.daemon = Some(daemon);
    }

    /// As the power failing would.
    pub(crate) fn kill(&mut self) {
        let mut daemon = self.daemon.take().unwrap();
        daemon.kill().unwrap();
        daemon.wait().unwrap();
    }

    pub(crate) fn url(&self) -> String {
        format!("http://{}/", self.address)
    }
}

impl Drop for Bench {
    fn drop(&mut self) {
        if self.daemon.is_some() {
            self.kill();
        }
    }
}
