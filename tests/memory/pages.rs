//! The pages of the shelf, served by the built program on a folder that a bench left.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{self, Child, Stdio};
use std::time::Duration;

use borewright::job::{Command, JobId};
use borewright::units::Moment;
use serde_json::Value;

use super::support::{Invented, SEAT};

/// The daemon, ended when dropped.
struct Daemon {
    child: Child,
    page: String,
}

impl Daemon {
    fn on(folder: &Path) -> Self {
        let mut child = process::Command::new(env!("CARGO_BIN_EXE_borewright"))
            .args([
                "run",
                "--print",
                "--page",
                "127.0.0.1:0",
                "--tcp",
                "127.0.0.1:0",
            ])
            .arg("--data")
            .arg(folder)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut ready = String::new();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        out.read_line(&mut ready).unwrap();
        let ready: Value = serde_json::from_str(&ready).unwrap();
        let page = ready["page"].as_str().unwrap().to_owned();
        Self { child, page }
    }

    /// Status, head and body.
    fn get(&self, path: &str) -> (u16, String, String) {
        let mut stream = TcpStream::connect(&self.page).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(60)))
            .unwrap();
        let host = &self.page;
        write!(
            stream,
            "GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"
        )
        .unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        (status, head.to_lowercase(), body.to_owned())
    }

    fn page(&self, path: &str) -> String {
        let (status, head, body) = self.get(path);
        assert_eq!(status, 200, "{path}: {body}");
        assert!(
            head.contains("content-security-policy: default-src 'none'"),
            "{head}"
        );
        assert!(!head.contains("unsafe-inline"), "{head}");
        for inline in ["style=", "<style", "<script", "onclick"] {
            assert!(!body.contains(inline), "{path}: {inline}");
        }
        body
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn the_list_a_job_and_what_is_learned_are_pages() {
    let mut bench = Invented::new();
    bench.set_ring();
    let blue = bench.job("frame <blue>", SEAT, 45.98, 0.004);
    bench.reamed_job("frame, red", 0.004);
    bench.stop();
    let daemon = Daemon::on(bench.path());

    let list = daemon.page("/jobs");
    assert!(
        list.contains("frame &lt;blue&gt;") && list.contains("frame, red"),
        "{list}"
    );
    let found = daemon.page("/jobs?q=blue&seat=&verdict=&since=&until=");
    assert!(
        found.contains("blue") && !found.contains("frame, red"),
        "{found}"
    );
    let bad = daemon.page("/jobs?q=&verdict=does-not-conform&open=");
    assert!(
        !bad.contains("frame &lt;blue&gt;"),
        "as left counts where it was gauged: {bad}"
    );
    assert!(daemon.page("/jobs?lang=de").contains("entspricht"));

    let job = daemon.page(&format!("/jobs/{blue}"));
    for said in [
        "frame &lt;blue&gt;",
        "6 readings",
        "Closed.",
        &format!("/report/{blue}.html"),
    ] {
        assert!(job.contains(said), "{said} in {job}");
    }
    // Days as they are written there.
    let german = daemon.page(&format!("/jobs/{blue}?lang=de"));
    let day = |form: &str| Moment::now().day_here().0.strftime(form).to_string();
    assert!(job.contains(&format!(">{} ", day("%Y-%m-%d"))), "{job}");
    assert!(
        german.contains(&format!(">{} ", day("%d.%m.%Y"))),
        "{german}"
    );
    assert!(
        !german.contains(&format!(">{} ", day("%Y-%m-%d"))),
        "{german}"
    );
    let (status, _, body) = daemon.get("/jobs/none-such");
    assert_eq!(status, 404, "{body}");

    let learned = daemon.page("/learned");
    assert!(
        learned.contains("<svg") && learned.contains(SEAT),
        "{learned}"
    );
    assert!(
        learned.contains("too few"),
        "two bores of a reamer: {learned}"
    );
}

#[test]
fn a_page_holds_fifty_jobs_and_the_next_page_asks_for_the_same() {
    let mut bench = Invented::new();
    let job = bench.job("frame", SEAT, 45.98, 0.004);
    bench.stop();
    // The same record under other identities: the list looks at nothing else.
    let jobs = bench.path().join("jobs");
    let folder = jobs.join(job.to_string());
    let record = std::fs::read_to_string(folder.join("record.json")).unwrap();
    let mut id = job.to_string();
    for number in 0..59 {
        id.replace_range(28.., &format!("{number:08x}"));
        std::fs::create_dir(jobs.join(&id)).unwrap();
        let copy = record.replace(&job.to_string(), &id);
        std::fs::write(jobs.join(&id).join("record.json"), copy).unwrap();
    }
    let daemon = Daemon::on(bench.path());
    let first = daemon.page("/jobs?q=frame");
    let rows = |page: &str| page.matches("<th scope=\"row\">").count();
    assert_eq!(rows(&first), 50);
    assert!(first.contains("/jobs?q=frame&amp;page=2"), "{first}");
    assert_eq!(rows(&daemon.page("/jobs?q=frame&page=2")), 10);
    assert_eq!(rows(&daemon.page("/jobs?q=frame&page=999")), 10);
}

/// A note is added to the record of a closed job.
fn amend(bench: &Invented, job: JobId, note: &str) {
    bench.ask(Command::AmendJob {
        job,
        note: Some(note.to_owned()),
        part: None,
        evidence: None,
    });
    // The answer comes before the revision is written; this comes after it.
    bench.state();
}

/// What was added once a job was closed is a part of its story.
#[test]
fn a_story_goes_on_with_its_amendments() {
    let mut bench = Invented::new();
    let id = bench.job("frame", SEAT, 45.98, 0.004);
    amend(&bench, id, "creaks again");
    // The journal moves them out of the way with the next job that is closed.
    bench.job("another", SEAT, 45.98, 0.004);
    amend(&bench, id, "grease was missing");
    bench.stop();
    let daemon = Daemon::on(bench.path());
    let job = daemon.page(&format!("/jobs/{id}"));
    let story = job.split_once("Closed.").unwrap().1;
    let first = story.find("The record was amended, revision 2. Note: creaks again");
    let second = story.find("revision 3. Note: grease was missing");
    assert!(first.is_some() && first < second, "{story}");
    let german = daemon.page(&format!("/jobs/{id}?lang=de"));
    assert!(german.contains("wurde ergänzt, Fassung 2."), "{german}");
}
