//! A repeatability study gauged live, alone with the gauge or through the daemon, and what the
//! bench makes of it.
use std::io::{Read as _, Write as _};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use borewright::gauge::simulate::Simulator;
use borewright::units::Length;
use serde_json::{Value, json};

use super::consumers::{holds, schema};
use super::main_job::open_job;
use super::support::{Bench, PATIENCE, request};

/// `borewright study` as its own process.
struct Study {
    child: Child,
    said: Arc<Mutex<String>>,
    reading: JoinHandle<()>,
}

impl Study {
    fn start(arguments: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_borewright"))
            .arg("study")
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let said = Arc::new(Mutex::new(String::new()));
        let (mut errors, kept) = (child.stderr.take().unwrap(), Arc::clone(&said));
        let reading = std::thread::spawn(move || {
            let mut bytes = [0; 256];
            while let Ok(count @ 1..) = errors.read(&mut bytes) {
                *kept.lock().unwrap() += &String::from_utf8_lossy(&bytes[..count]);
            }
        });
        Self {
            child,
            said,
            reading,
        }
    }

    fn wait_for(&self, text: &str) {
        let deadline = Instant::now() + PATIENCE;
        while !self.said.lock().unwrap().contains(text) {
            assert!(
                Instant::now() < deadline,
                "waiting for `{text}`: {}",
                self.said.lock().unwrap()
            );
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    fn key(&mut self, keys: &str) {
        let keyboard = self.child.stdin.as_mut().unwrap();
        keyboard.write_all(keys.as_bytes()).unwrap();
    }

    /// Exit code, standard output and standard error.
    fn end(mut self) -> (Option<i32>, String, String) {
        let mut out = String::new();
        let mut stdout = self.child.stdout.take().unwrap();
        stdout.read_to_string(&mut out).unwrap();
        let code = self.child.wait().unwrap().code();
        self.reading.join().unwrap();
        let said = self.said.lock().unwrap().clone();
        (code, out, said)
    }
}

fn send(gauge: &Simulator, mm: f64) {
    gauge.send_value(Length::from_mm(mm).unwrap()).unwrap();
}

/// By hand: 46.001 and 46.003 in turn on a ring of 46.000, ten times: s = √(10/9) µm, bias 2 µm,
/// Cg = 0.2 x 25 µm / (6 s) = 0.7906.
const SIZES: [f64; 2] = [46.001, 46.003];

#[test]
fn ten_sends_in_the_ring_a_slip_taken_back_and_the_file_read_again() {
    let bench = Bench::new("plain-mm");
    let gauge = bench.plug_in();
    let file = bench.folder.path().join("study.csv");
    let (config, save) = (bench.config(), file.to_str().unwrap());
    let judged = ["--reference", "46", "--tolerance", "0.025", "--json"];
    let mut arguments = vec!["--config", config.to_str().unwrap(), "--repeats", "10"];
    arguments.extend(["--save", save]);
    arguments.extend(judged);
    let mut study = Study::start(&arguments);
    study.wait_for("1 of 10: ");
    for trial in 0..10 {
        if trial == 4 {
            send(&gauge, 46.3);
            study.wait_for("6 of 10: ");
            study.key("u\n");
            study.wait_for("46.3000 mm is taken back");
            // Inches: refused, the trial still due.
            send(&gauge, 1.811);
            study.wait_for("check the part and the gauge's unit");
            gauge.send_bytes(b"boot\r\n").unwrap();
            study.wait_for("not counted: ");
        }
        send(&gauge, SIZES[trial % 2]);
        if trial < 9 {
            study.wait_for(&format!("{} of 10: ", trial + 2));
        }
    }
    let (code, out, said) = study.end();
    assert_eq!(code, Some(0), "{said}");
    let found: Value = serde_json::from_str(&out).unwrap();
    holds(&schema("study"), &found, "a study");
    assert_eq!(found["gauge"], "bore-gauge");
    let near = |field: &str, expected: f64| {
        let value = found["short"][field].as_f64().unwrap();
        assert!((value - expected).abs() < 1e-6, "{field}: {value}");
    };
    near("repeatability_mm", 1e-3 * (10.0_f64 / 9.0).sqrt());
    near("bias_mm", 0.002);
    near("cg", 0.790_569_4);
    near("cgk", 0.158_113_9);

    let again = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["study", save])
        .args(judged)
        .output()
        .unwrap();
    let again: Value = serde_json::from_slice(&again.stdout).unwrap();
    assert_eq!(again["short"], found["short"]);

    let (code, _, said) = Study::start(&arguments).end();
    assert_eq!(code, Some(2), "a file that is there is not written over");
    assert!(said.contains("is there already"), "{said}");
}

#[test]
fn two_parts_by_two_operators_ended_early_keep_what_was_gauged() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let file = bench.folder.path().join("crossed.csv");
    let (port, save) = (bench.port(), file.to_str().unwrap());
    let mut arguments = vec![
        "--port",
        port.to_str().unwrap(),
        "--form",
        "plain-mm-stream",
    ];
    arguments.extend(["--parts", "2", "--operators", "2", "--trials", "2"]);
    arguments.extend(["--save", save]);
    let mut study = Study::start(&arguments);
    for (index, mm) in [46.001, 46.021, 46.002, 46.023, 46.001].iter().enumerate() {
        study.wait_for(&format!("{} of 8  operator ", index + 1));
        send(&gauge, *mm);
    }
    study.wait_for("6 of 8  operator 2, part 2, trial 1 of 2: ");
    study.key("q\n");
    let (code, _, said) = study.end();
    assert_eq!(code, Some(2), "half a study is none");
    assert!(said.contains("ended after 5"), "{said}");
    assert_eq!(
        std::fs::read_to_string(&file).unwrap(),
        "operator,part,trial,reading_mm\n1,1,1,46.001\n1,2,1,46.021\n1,1,2,46.002\n1,2,2,46.023\n2,1,1,46.001\n"
    );
}

#[test]
fn a_study_through_the_daemon_stands_behind_the_next_sections_and_in_the_record() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    let config = bench.config();

    // The daemon holds the port.
    let alone = Study::start(&["--config", config.to_str().unwrap()]);
    let (code, _, said) = alone.end();
    assert_eq!(code, Some(3), "{said}");
    assert!(said.contains("--from http://"), "{said}");

    let page = format!("http://{}", daemon.page);
    let feed = daemon.tcp.to_string();
    for (from, hand_over) in [(&page, true), (&feed, false)] {
        let mut arguments = vec!["--from", from, "--repeats", "12", "--reference", "46"];
        if hand_over {
            arguments.extend(["--to", &page]);
        }
        let study = Study::start(&arguments);
        for trial in 0..12 {
            study.wait_for(&format!("{} of 12: ", trial + 1));
            send(&gauge, SIZES[trial % 2]);
        }
        let (code, out, said) = study.end();
        assert_eq!(code, Some(0), "{said}");
        assert!(out.contains("12 readings on one part"), "{out}");
        assert_eq!(said.contains("handed to the bench"), hand_over, "{said}");
    }
    let studied = daemon.wait_for_kind("gauge_studied");
    assert_eq!(studied["gauge"], "bore-gauge");
    assert_eq!(studied["study"]["readings"], 12);

    daemon.must(open_job());
    let (code, _, said) = Study::start(&["--from", &page]).end();
    assert_eq!(code, Some(2));
    assert!(said.contains("put that job aside"), "{said}");
    // Three directions leave no degree of freedom of their own.
    for mm in [45.97, 45.96, 45.975] {
        send(&gauge, mm);
    }
    let section = daemon.wait_for("3 directions", |object| {
        object["kind"] == "section" && object["stations"] == 3
    });
    assert_eq!(section["scatter_from"], "study");
    let largest = &section["uncertainty"]["largest_mm"];
    assert!(largest["degrees_of_freedom"].as_f64() >= Some(11.0));
    daemon.must(json!({"command": "close_job"}));
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let record = std::fs::read_to_string(news["file"].as_str().unwrap()).unwrap();
    let record: Value = serde_json::from_str(&record).unwrap();
    assert_eq!(record["studies"]["bore-gauge"], studied["study"]);
}

/// A page that holds the bench is not disturbed by a study while no job is on it; with one, the
/// study is refused with what to do, and nothing is lost.
#[test]
fn a_study_reaches_a_bench_that_a_page_holds() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(json!({"command": "take_bench", "who": "tablet at the press"}));
    let page = format!("http://{}", daemon.page);
    let file = bench.folder.path().join("study.csv");
    let save = file.to_str().unwrap();
    let mut arguments = vec!["--from", &page, "--to", &page, "--repeats", "10"];
    arguments.extend(["--save", save]);
    let study = Study::start(&arguments);
    for trial in 0..10 {
        study.wait_for(&format!("{} of 10: ", trial + 1));
        send(&gauge, SIZES[trial % 2]);
    }
    let (code, _, said) = study.end();
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("handed to the bench"), "{said}");
    daemon.wait_for_kind("gauge_studied");

    // The page opens a job.
    let (status, answer) = daemon.ask(&open_job());
    assert_eq!(status, 409, "other commands need its token: {answer}");
    let token = {
        let taken = daemon.must(json!({"command": "take_bench", "who": "laptop"}));
        taken["token"].as_str().unwrap().to_owned()
    };
    let headers = [("Bench-Token", token.as_str())];
    let (status, _) = request(
        daemon.page,
        "POST",
        "/commands",
        &headers,
        Some(&open_job()),
    );
    assert_eq!(status, 200);
    let again = Study::start(&[save, "--gauge", "bore-gauge", "--to", &page]);
    let (code, out, said) = again.end();
    assert_eq!(code, Some(2), "{said}");
    assert!(out.contains("10 readings on one part"), "{out}");
    for what in [
        "laptop is at work",
        "put the job on it aside",
        "hand it over again",
        save,
    ] {
        assert!(said.contains(what), "{what}: {said}");
    }
}
