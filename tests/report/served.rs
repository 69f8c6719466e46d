//! `borewright report` and `GET /report/JOB.html`.

use std::io::{Read as _, Write as _};
use std::path::Path;
use std::process::{Command, Output};
use std::sync::Arc;

use borewright::fit::plan::Shop as Workshop;
use borewright::job::{Gauges, Seats, Shop};
use borewright::memory::Shelf;
use borewright::report::router;

use crate::support::{WAYS, fixture, job, style};

/// A data folder that holds the fixtures as closed jobs.
pub(crate) fn data() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for kind in crate::support::KINDS.into_iter().chain(["swept"]) {
        let jobs = folder
            .path()
            .join("jobs")
            .join(job(kind).record.job.to_string());
        std::fs::create_dir_all(&jobs).unwrap();
        std::fs::copy(fixture(kind), jobs.join("record.json")).unwrap();
    }
    folder
}

fn report(data: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_borewright"))
        .arg("report")
        .args(arguments)
        .arg("--data")
        .arg(data)
        .env_remove("BOREWRIGHT_CONFIG")
        .output()
        .unwrap()
}

#[test]
fn a_job_is_named_by_its_id_or_by_words_of_its_part() {
    let data = data();
    let id = job("repair").record.job.to_string();
    let html = data.path().join("out.html");
    let html = html.to_str().unwrap();
    for words in [id.as_str(), "one side EGGED"] {
        let output = report(data.path(), &[words, "--html", html]);
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        assert!(std::fs::read_to_string(html).unwrap().contains(&id));
        std::fs::remove_file(html).unwrap();
    }
    let several = report(data.path(), &["tricycle"]);
    assert_eq!(several.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&several.stderr).contains(&id));
    let none = report(data.path(), &["tandem"]);
    assert_eq!(none.status.code(), Some(2));
}

#[test]
fn without_files_named_it_is_written_beside_the_record() {
    let data = data();
    let id = job("clean").record.job.to_string();
    let output = report(data.path(), &[&id]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let said = String::from_utf8(output.stdout).unwrap();
    let folder = data.path().join("jobs").join(&id);
    for line in said.lines() {
        assert!(Path::new(line).starts_with(&folder), "{line}");
        assert!(Path::new(line).exists());
    }
    assert!(folder.join("report.html").exists());
    let pdf = std::fs::read(folder.join("report.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7"));
}

#[test]
fn a_job_that_is_not_closed_is_reported_only_when_asked_for() {
    // The daemon's journal of an open job: opened and gauged by commands, then stopped.
    let data = tempfile::tempdir().unwrap();
    let mut daemon = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args([
            "run",
            "--page",
            "127.0.0.1:0",
            "--tcp",
            "127.0.0.1:0",
            "--print",
            "--data",
        ])
        .arg(data.path())
        .env_remove("BOREWRIGHT_CONFIG")
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let mut ready = String::new();
    let mut lines = std::io::BufReader::new(daemon.stdout.take().unwrap());
    std::io::BufRead::read_line(&mut lines, &mut ready).unwrap();
    let ready: serde_json::Value = serde_json::from_str(&ready).unwrap();
    let page: std::net::SocketAddr = ready["page"].as_str().unwrap().parse().unwrap();
    let command = r#"{"command":"open_job","part":"pedal car","seat":"pressfit-46"}"#;
    let mut stream = std::net::TcpStream::connect(page).unwrap();
    write!(
        stream,
        "POST /commands HTTP/1.1\r\nHost: {page}\r\nContent-Type: application/json\r\n\
         Content-Length: {}\r\nConnection: close\r\n\r\n{command}",
        command.len()
    )
    .unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    let html = data.path().join("out.html");
    let html = html.to_str().unwrap();
    let refused = report(data.path(), &["pedal car", "--html", html]);
    assert_eq!(refused.status.code(), Some(2), "{refused:?}");
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--open-job"));
    let made = report(data.path(), &["pedal car", "--open-job", "--html", html]);
    daemon.kill().unwrap();
    daemon.wait().unwrap();
    assert_eq!(made.status.code(), Some(0), "{made:?}");
    let text = crate::support::text(&std::fs::read_to_string(html).unwrap());
    assert!(text.contains("Not closed: the work goes on.") && text.contains("Nothing was gauged."));
}

fn get(address: std::net::SocketAddr, path: &str) -> (String, Vec<u8>) {
    let mut stream = std::net::TcpStream::connect(address).unwrap();
    write!(
        stream,
        "GET {path} HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"
    )
    .unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    let end = answer.windows(4).position(|w| w == b"\r\n\r\n").unwrap();
    let head = String::from_utf8(answer[..end].to_vec()).unwrap();
    (head.to_lowercase(), answer[end + 4..].to_vec())
}

#[tokio::test]
async fn the_page_offers_it_under_a_strict_policy() {
    let data = data();
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let shop = Shop {
        seats: Seats::built_in(),
        gauges: Gauges::new(),
        workshop: Workshop::default(),
    };
    let routes = router(Arc::new(Shelf::new(data.path())), shop, style(WAYS[0]));
    tokio::spawn(async move { axum::serve(listener, routes).await });
    let repair = job("repair");
    let id = repair.record.job.to_string();
    let ask = move |path: String| tokio::task::spawn_blocking(move || get(address, &path));
    let (head, body) = ask(format!("/report/{id}.html")).await.unwrap();
    assert!(head.starts_with("http/1.1 200"), "{head}");
    assert!(
        head.contains("style-src 'sha256-") && !head.contains("unsafe"),
        "{head}"
    );
    assert!(head.contains("frame-ancestors 'none'"), "{head}");
    assert_eq!(
        String::from_utf8(body).unwrap(),
        repair.report(WAYS[0]).html()
    );
    let (head, body) = ask(format!("/report/{id}.pdf")).await.unwrap();
    assert!(head.contains("content-type: application/pdf"), "{head}");
    assert!(body.starts_with(b"%PDF"));
    for (path, status) in [
        ("/report/00000000.html", "404"),
        ("/report/tricycle.html", "409"),
        ("/report/x", "404"),
        ("/report/..%2f..%2fx.html", "404"),
    ] {
        let (head, _) = ask(path.to_owned()).await.unwrap();
        assert!(
            head.starts_with(&format!("http/1.1 {status}")),
            "{path}: {head}"
        );
    }
}
