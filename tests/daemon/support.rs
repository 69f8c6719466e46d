//! A bench for tests: the built program as its own process, a simulated gauge on a real
//! pseudo-terminal, and consumers of the feed.
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::os::unix::process::ExitStatusExt as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use borewright::gauge::Description;
use borewright::gauge::simulate::Simulator;
use serde_json::Value;
use tempfile::TempDir;

/// How long anything may take before a test gives up. Generous: a slow machine is not a failure.
pub(crate) const PATIENCE: Duration = Duration::from_secs(30);

/// A seat of two bores, three depths and eight directions, invented.
pub(crate) const SEAT: &str = r#"
name = "two-by-three"
title = "two bores, three depths, eight directions (invented)"
source = "invented for tests"
landmark = "a mark"
angles = 8

[[bore]]
name = "left"
nominal_mm = 46.0
lower_mm = 45.95
upper_mm = 46.0
target_mm = 45.975
out_of_round_limit_mm = 0.025
depths_mm = [3.0, 8.0, 13.0]

[[bore]]
name = "right"
nominal_mm = 46.0
lower_mm = 45.95
upper_mm = 46.0
target_mm = 45.975
out_of_round_limit_mm = 0.025
depths_mm = [3.0, 8.0, 13.0]
"#;

/// The folders and the configuration of one bench, with a gauge called `bore-gauge`.
pub(crate) struct Bench {
    pub(crate) folder: TempDir,
    form: Arc<Description>,
}

impl Bench {
    /// A bench whose gauge speaks `form`.
    pub(crate) fn new(form: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self::in_folder(folder, Description::named(form, None).unwrap())
    }

    /// A bench whose gauge speaks as the text of a description of one's own, called `name`, says.
    pub(crate) fn with_gauge(name: &str, text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join(format!("{name}.toml")), text).unwrap();
        let form = Description::named(name, Some(folder.path())).unwrap();
        Self::in_folder(folder, form)
    }

    fn in_folder(folder: TempDir, form: Description) -> Self {
        let form = Arc::new(form);
        std::fs::create_dir(folder.path().join("seats")).unwrap();
        std::fs::write(folder.path().join("seats/two-by-three.toml"), SEAT).unwrap();
        let bench = Self { folder, form };
        let config = format!(
            "[folders]\nseats = \"{}\"\ngauges = \"{}\"\n\n[[gauge]]\nname = \"bore-gauge\"\nport = \"{}\"\nform = \"{}\"\n",
            bench.folder.path().join("seats").display(),
            bench.folder.path().display(),
            bench.port().display(),
            bench.form.name,
        );
        std::fs::write(bench.config(), config).unwrap();
        bench
    }

    /// The path at which the gauge is plugged in.
    pub(crate) fn port(&self) -> PathBuf {
        self.folder.path().join("gauge")
    }

    /// The configuration file.
    pub(crate) fn config(&self) -> PathBuf {
        self.folder.path().join("bench.toml")
    }

    /// The data folder.
    pub(crate) fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// Plugs the gauge in.
    pub(crate) fn plug_in(&self) -> Simulator {
        Simulator::open_at(Arc::clone(&self.form), &self.port()).unwrap()
    }

    /// Starts the daemon on this bench.
    pub(crate) fn start(&self) -> Daemon {
        Daemon::start(&self.config(), &self.data())
    }
}

/// The built program, running `run --print`.
pub(crate) struct Daemon {
    child: Child,
    lines: Receiver<Value>,
    seen: Vec<Value>,
    errors: Option<JoinHandle<String>>,
    pub(crate) page: SocketAddr,
    pub(crate) tcp: SocketAddr,
}

impl Daemon {
    /// Starts it and waits for its ready line.
    pub(crate) fn start(config: &Path, data: &Path) -> Self {
        Self::spawn(command(config, data))
    }

    /// Spawns `command`, which runs the daemon, and waits for its ready line.
    pub(crate) fn spawn(mut command: Command) -> Self {
        let mut child = command
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut errors = child.stderr.take().unwrap();
        let errors = std::thread::spawn(move || {
            let mut said = String::new();
            let _ = errors.read_to_string(&mut said);
            said
        });
        let output = BufReader::new(child.stdout.take().unwrap());
        let (sender, lines) = channel();
        std::thread::spawn(move || {
            for line in output.lines().map_while(Result::ok) {
                // Where the daemon is killed, the last line may be torn.
                let Ok(object) = serde_json::from_str(&line) else {
                    return;
                };
                if sender.send(object).is_err() {
                    return;
                }
            }
        });
        let ready: Value = lines.recv_timeout(PATIENCE).unwrap();
        assert_eq!(
            (&ready["kind"], &ready["about"]),
            (&"status".into(), &"daemon".into())
        );
        let address = |field: &str| ready[field].as_str().unwrap().parse().unwrap();
        let (page, tcp) = (address("page"), address("tcp"));
        Self {
            child,
            lines,
            seen: Vec::new(),
            errors: Some(errors),
            page,
            tcp,
        }
    }

    /// The next printed object that `wanted` takes; those before it are kept in [`Self::seen`].
    pub(crate) fn wait_for(&mut self, what: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        let deadline = Instant::now() + PATIENCE;
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            match self.lines.recv_timeout(left) {
                Ok(object) => {
                    self.seen.push(object.clone());
                    if wanted(&object) {
                        return object;
                    }
                }
                Err(error) => panic!("waiting for {what}: {error}; seen: {:#?}", self.seen),
            }
        }
    }

    /// The next printed object of `kind`.
    pub(crate) fn wait_for_kind(&mut self, kind: &str) -> Value {
        self.wait_for(kind, |object| object["kind"] == kind)
    }

    /// Everything printed so far.
    pub(crate) fn seen(&mut self) -> &[Value] {
        self.seen.extend(self.lines.try_iter());
        &self.seen
    }

    /// Sends a command; gives status and answer.
    pub(crate) fn ask(&self, command: &Value) -> (u16, Value) {
        let (status, body) = request(self.page, "POST", "/commands", &[], Some(command));
        (status, serde_json::from_str(&body).unwrap())
    }

    /// Sends a command that must be carried out.
    pub(crate) fn must(&self, command: Value) -> Value {
        let (status, answer) = self.ask(&command);
        assert_eq!(status, 200, "{command}: {answer}");
        answer
    }

    /// The present state.
    pub(crate) fn state(&self) -> Value {
        let (status, body) = request(self.page, "GET", "/state", &[], None);
        assert_eq!(status, 200);
        serde_json::from_str(&body).unwrap()
    }

    /// Ends it at once, as a power cut would.
    pub(crate) fn kill(self) {
        self.kill_and_read();
    }

    /// The same; gives what it printed and nobody waited for.
    pub(crate) fn kill_and_read(mut self) -> Vec<Value> {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        // Ends when the reading thread has seen the end of the output.
        self.lines.iter().collect()
    }

    /// Asks it to end; gives what it said on standard error.
    pub(crate) fn stop_and_read_errors(mut self) -> String {
        let errors = self.errors.take().unwrap();
        self.stop();
        errors.join().unwrap()
    }

    /// Asks it to end, and waits.
    pub(crate) fn stop(mut self) -> ExitStatus {
        let id = self.child.id().to_string();
        assert!(Command::new("kill").arg(&id).status().unwrap().success());
        let deadline = Instant::now() + PATIENCE;
        while Instant::now() < deadline {
            if let Some(status) = self.child.try_wait().unwrap() {
                assert_eq!(status.signal(), None, "it ends by itself");
                return status;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        panic!("the daemon does not end");
    }

    /// Its process.
    pub(crate) fn id(&self) -> u32 {
        self.child.id()
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The program with `run --print` on free ports, not yet started.
pub(crate) fn command(config: &Path, data: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_borewright"));
    command.args([
        "run",
        "--print",
        "--page",
        "127.0.0.1:0",
        "--tcp",
        "127.0.0.1:0",
    ]);
    command.arg("--config").arg(config).arg("--data").arg(data);
    command
}

/// One HTTP request; gives status and body.
pub(crate) fn request(
    to: SocketAddr,
    method: &str,
    path: &str,
    headers: &[(&str, &str)],
    body: Option<&Value>,
) -> (u16, String) {
    let body = body.map(Value::to_string).unwrap_or_default();
    let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
    let given = |name: &str| {
        headers
            .iter()
            .any(|(key, _)| key.eq_ignore_ascii_case(name))
    };
    if !given("Host") {
        head += &format!("Host: {to}\r\n");
    }
    if !body.is_empty() && !given("Content-Type") {
        head += "Content-Type: application/json\r\n";
    }
    for (key, value) in headers {
        head += &format!("{key}: {value}\r\n");
    }
    let mut stream = TcpStream::connect(to).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    let length = body.len();
    write!(stream, "{head}Content-Length: {length}\r\n\r\n{body}").unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    assert!(
        !head.to_lowercase().contains("transfer-encoding: chunked"),
        "{head}"
    );
    (status, body.to_owned())
}
