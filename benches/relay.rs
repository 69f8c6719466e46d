//! From the byte on the line to the line at a consumer, through the built daemon, beside a bare
//! relay that does nothing else: one task that reads, appends, syncs, writes. Both have a
//! pseudo-terminal, a file and a consumer of their own and are sent to in turn, so that both meet
//! the same disk. Then what the daemon costs when nothing is sent, and how soon it is ready.
//!
//! `cargo bench --bench relay [-- latency idle ready]`; `ROUNDS=9` rounds of each rate.
#![allow(
    clippy::expect_used,
    reason = "a benchmark stops at the first surprise"
)]

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use borewright::gauge::Description;
use borewright::gauge::simulate::Simulator;
use borewright::units::Length;

mod stored;

/// More stations than a round has readings, in sections of a size that a mechanic would gauge.
const SEAT: &str = r#"
name = "bench"
title = "For the benchmark"
source = "made up"
landmark = "mark"
angles = 12
"#;
const BORES: usize = 16;
const DEPTHS: usize = 12;

fn main() {
    let arguments: Vec<_> = std::env::args().skip(1).collect();
    if let [relay, port, file] = &arguments[..]
        && relay == "bare-relay"
    {
        return bare_relay(port, Path::new(file));
    }
    let asked: Vec<_> = arguments
        .iter()
        .filter(|text| !text.starts_with('-'))
        .collect();
    let parts: [(&str, fn()); 3] = [("latency", latency), ("idle", idle), ("ready", ready)];
    for (name, part) in parts {
        if asked.is_empty() || asked.iter().any(|asked| *asked == name) {
            part();
        }
    }
}

/// The yardstick.
fn bare_relay(port: &str, file: &Path) {
    use tokio::io::{AsyncReadExt, AsyncWriteExt as _};
    use tokio_serial::SerialPortBuilderExt as _;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    runtime.expect("a runtime").block_on(async {
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0")
            .await
            .expect("an address");
        let mut serial = tokio_serial::new(port, 115_200)
            .open_native_async()
            .expect("a port");
        println!("tcp://{}", listener.local_addr().expect("an address"));
        let (mut consumer, _) = listener.accept().await.expect("a consumer");
        consumer.set_nodelay(true).expect("an option");
        let mut file = fs::File::create(file).expect("a file");
        let mut bytes = [0; 4096];
        loop {
            let read = AsyncReadExt::read(&mut serial, &mut bytes)
                .await
                .expect("read");
            if read == 0 {
                return;
            }
            file.write_all(&bytes[..read])
                .and_then(|()| file.sync_data())
                .expect("stored");
            if consumer.write_all(&bytes[..read]).await.is_err() {
                return;
            }
        }
    });
}

/// Ends its process when dropped.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A gauge and who reads it.
struct Side {
    simulator: Arc<Simulator>,
    process: Running,
    consumer: BufReader<TcpStream>,
    page: Option<SocketAddr>,
}

fn simulator() -> Simulator {
    let form = Description::named("plain-mm-stream", None).expect("a form that ships");
    Simulator::open(Arc::new(form)).expect("a pseudo-terminal")
}

fn connect(address: &str) -> BufReader<TcpStream> {
    BufReader::new(TcpStream::connect(address).expect("a listener"))
}

fn relay(folder: &Path) -> Side {
    let simulator = simulator();
    let child = Command::new(std::env::current_exe().expect("this program"))
        .arg("bare-relay")
        .args([simulator.path(), &folder.join("relay.txt")])
        .stdout(Stdio::piped())
        .spawn();
    let mut process = Running(child.expect("a process"));
    let mut line = String::new();
    let output = process.0.stdout.take().expect("its output");
    BufReader::new(output)
        .read_line(&mut line)
        .expect("an address");
    let consumer = connect(line.trim().trim_start_matches("tcp://"));
    Side {
        simulator: Arc::new(simulator),
        process,
        consumer,
        page: None,
    }
}

/// Starts the built daemon and gives its process, page and feed once it is ready.
fn start(config: &Path, data: &Path) -> (Running, SocketAddr, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args([
            "run",
            "--page",
            "127.0.0.1:0",
            "--tcp",
            "127.0.0.1:0",
            "--config",
        ])
        .arg(config)
        .arg("--data")
        .arg(data)
        .env("NO_COLOR", "1")
        .env("BOREWRIGHT_LOG", "info")
        .stderr(Stdio::piped())
        .spawn()
        .expect("the daemon");
    let mut log = BufReader::new(child.stderr.take().expect("its log"));
    let mut line = String::new();
    while !line.contains("feed tcp://") {
        line.clear();
        assert!(
            log.read_line(&mut line).expect("a log") > 0,
            "the daemon did not start"
        );
    }
    // Read on, so that the log never fills its pipe.
    thread::spawn(move || log.lines().for_each(drop));
    let after = |mark: &str| {
        let (_, rest) = line.split_once(mark).expect("an address");
        rest.split([',', '/', '\n'])
            .next()
            .expect("an address")
            .to_owned()
    };
    (
        Running(child),
        after("page http://").parse().expect("an address"),
        after("feed tcp://"),
    )
}

fn configuration(folder: &Path, port: Option<&Path>) -> PathBuf {
    let seats = folder.join("seats");
    fs::create_dir_all(&seats).expect("a folder");
    let depths: Vec<_> = (1..=DEPTHS).map(|depth| format!("{depth}.0")).collect();
    let bores = (0..BORES).map(|bore| {
        format!(
            "[[bore]]\nname = \"bore {bore}\"\nnominal_mm = 46.0\nlower_mm = 45.9\n\
             upper_mm = 46.1\ntarget_mm = 46.0\nout_of_round_limit_mm = 0.1\ndepths_mm = [{}]\n",
            depths.join(",")
        )
    });
    let seat: String = std::iter::once(SEAT.to_owned()).chain(bores).collect();
    fs::write(seats.join("bench.toml"), seat).expect("a seat");
    let mut config = format!("[folders]\nseats = {:?}\n", seats);
    if let Some(port) = port {
        config += &format!(
            "[[gauge]]\nname = \"bore-gauge\"\nport = {port:?}\nform = \"plain-mm-stream\"\n"
        );
    }
    let path = folder.join("bench.toml");
    fs::write(&path, config).expect("a configuration");
    path
}

fn daemon(folder: &Path) -> Side {
    let simulator = simulator();
    let config = configuration(folder, Some(simulator.path()));
    let (process, page, tcp) = start(&config, &folder.join("data"));
    let consumer = connect(&tcp);
    // A consumer that asks for nothing is followed after a moment.
    thread::sleep(Duration::from_millis(500));
    Side {
        simulator: Arc::new(simulator),
        process,
        consumer,
        page: Some(page),
    }
}

fn post(page: SocketAddr, body: &str) {
    let mut stream = TcpStream::connect(page).expect("the page");
    let request = format!(
        "POST /commands HTTP/1.1\r\nHost: {page}\r\nContent-Type: application/json\r\n\
         Connection: close\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(request.as_bytes()).expect("sent");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("an answer");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
}

/// Sends `count` readings at `rate` a second and gives each one's time from write to line, in µs.
fn round(side: &mut Side, job: bool, rate: u32, count: usize) -> Vec<f64> {
    let page = side.page.filter(|_| job);
    if let Some(page) = page {
        post(
            page,
            r#"{"command":"open_job","part":"b","seat":"bench","plan":"seat"}"#,
        );
    }
    let (sent, times) = mpsc::channel();
    let simulator = Arc::clone(&side.simulator);
    let sender = thread::spawn(move || {
        let start = Instant::now();
        for number in 0..count {
            let due = Duration::from_secs(1) * u32::try_from(number).expect("small") / rate;
            thread::sleep(due.saturating_sub(start.elapsed()));
            let size = 46.0 + f64::from(u32::try_from(number % 400).expect("small")) * 1e-4;
            let size = Length::from_mm(size).expect("finite");
            let at = Instant::now();
            simulator.send_value(size).expect("sent");
            sent.send(at).expect("a receiver");
        }
    });
    let mut taken = Vec::with_capacity(count);
    let mut line = String::new();
    while taken.len() < count {
        line.clear();
        assert!(
            side.consumer.read_line(&mut line).expect("a line") > 0,
            "cut"
        );
        let arrived = Instant::now();
        if side.page.is_none() || line.contains(r#""kind":"reading""#) {
            let at = times.recv().expect("sent");
            taken.push(arrived.duration_since(at).as_secs_f64() * 1e6);
        }
    }
    sender.join().expect("sent");
    if let Some(page) = page {
        post(page, r#"{"command":"close_job"}"#);
    }
    taken
}

fn latency() {
    let rounds = std::env::var("ROUNDS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(9);
    let folder = stored::folder();
    let mut ours = daemon(folder.path());
    let mut theirs = relay(folder.path());
    println!("byte on the line to line at a TCP consumer, sync included, µs");
    println!(
        "{:<36} {:>12} {:>12} {:>7}",
        "", "borewright", "bare relay", "ratio"
    );
    for (job, rate, count) in [
        (true, 100, 150),
        (true, 1_000, 1_500),
        (false, 100, 150),
        (false, 1_000, 1_500),
    ] {
        round(&mut ours, job, rate, count / 5);
        round(&mut theirs, job, rate, count / 5);
        let rounds: Vec<_> = (0..rounds)
            .map(|_| {
                (
                    round(&mut ours, job, rate, count),
                    round(&mut theirs, job, rate, count),
                )
            })
            .collect();
        let what = if job {
            "job, live numbers"
        } else {
            "no job open"
        };
        for (name, part) in [("p50", 0.50), ("p99", 0.99)] {
            let each = || {
                rounds
                    .iter()
                    .map(|(a, b)| (quantile(a, part), quantile(b, part)))
            };
            println!(
                "{:<36} {:>12.0} {:>12.0} {:>7.2}",
                format!("{what}, {rate}/s, {name}"),
                median(each().map(|(a, _)| a)),
                median(each().map(|(_, b)| b)),
                median(each().map(|(a, b)| a / b)),
            );
        }
    }
    drop((ours.process, theirs.process));
}

/// A gauge connected, no page, no consumer.
fn idle() {
    let folder = stored::folder();
    let simulator = simulator();
    let config = configuration(folder.path(), Some(simulator.path()));
    let (process, ..) = start(&config, &folder.path().join("data"));
    // The runtime keeps the thread that read the closed jobs for ten seconds.
    thread::sleep(Duration::from_secs(12));
    let before = usage(process.0.id());
    let wait = Duration::from_secs(10);
    thread::sleep(wait);
    let after = usage(process.0.id());
    println!("idle, gauge connected, {} s", wait.as_secs());
    println!("  resident, kB (aim 10,000)    {:>10}", after.resident);
    println!(
        "  wake-ups (aim 0)             {:>10}",
        after.wakeups - before.wakeups
    );
    println!(
        "  processor time, ticks (1/100 s) {:>7}",
        after.ticks - before.ticks
    );
}

struct Usage {
    resident: u64,
    wakeups: u64,
    ticks: u64,
}

/// From proc(5).
fn usage(process: u32) -> Usage {
    let folder = PathBuf::from(format!("/proc/{process}"));
    let read = |path: PathBuf| fs::read_to_string(path).expect("proc");
    let field = |text: &str, name: &str| -> u64 {
        let line = text
            .lines()
            .find(|line| line.starts_with(name))
            .expect("a field");
        line.split_whitespace()
            .nth(1)
            .and_then(|text| text.parse().ok())
            .expect("a number")
    };
    let tasks = fs::read_dir(folder.join("task"))
        .expect("proc")
        .map(|task| {
            let status = read(task.expect("a task").path().join("status"));
            field(&status, "voluntary_ctxt_switches:")
                + field(&status, "nonvoluntary_ctxt_switches:")
        });
    let wakeups = tasks.sum();
    let stat = read(folder.join("stat"));
    let (_, rest) = stat.rsplit_once(')').expect("a name");
    let times = rest.split_whitespace().skip(11).take(2);
    Usage {
        resident: field(&read(folder.join("status")), "VmRSS:"),
        wakeups,
        ticks: times
            .map(|text| text.parse::<u64>().expect("a number"))
            .sum(),
    }
}

/// From the start of the process to ready, with 1,000 closed jobs and one open of 200 readings.
fn ready() {
    let folder = stored::folder();
    let config = configuration(folder.path(), None);
    let empty = folder.path().join("empty");
    let full = folder.path().join("full");
    stored::many_jobs(&full, 1_000, 200);
    let time = |data: &Path| {
        median((0..15).map(|_| {
            let begin = Instant::now();
            let started = start(&config, data);
            let taken = begin.elapsed().as_secs_f64() * 1e3;
            drop(started);
            taken
        }))
    };
    let version = median((0..15).map(|_| {
        let begin = Instant::now();
        let child = Command::new(env!("CARGO_BIN_EXE_borewright"))
            .arg("--version")
            .stdout(Stdio::piped())
            .output();
        child.expect("the program");
        begin.elapsed().as_secs_f64() * 1e3
    }));
    println!("start of the process to ready, ms (aim 10)");
    println!("  1,000 closed jobs, one open  {:>10.1}", time(&full));
    println!("  nothing stored               {:>10.1}", time(&empty));
    println!("  borewright --version         {version:>10.1}");
}

fn quantile(times: &[f64], part: f64) -> f64 {
    let mut times = times.to_vec();
    times.sort_by(f64::total_cmp);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small index"
    )]
    let at = ((times.len() - 1) as f64 * part).round() as usize;
    times[at]
}

fn median(times: impl Iterator<Item = f64>) -> f64 {
    quantile(&times.collect::<Vec<_>>(), 0.5)
}
