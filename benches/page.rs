//! The page's own time in a real browser: from the gauge's send to the number painted, through the
//! built daemon, and the frames that the browser keeps up meanwhile, beside the frames of the same
//! browser on the same page when nothing is sent.
//!
//! `cargo bench --bench page`; says so where chromium is missing.
#![allow(
    clippy::unwrap_used,
    reason = "a benchmark stops at the first surprise"
)]

#[path = "../tests/page/bench.rs"]
mod bench;
#[path = "../tests/page/chromium.rs"]
mod chromium;

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use bench::Bench;
use chromium::{Page, Screen};

const SCREEN: Screen = Screen {
    name: "tablet",
    width: 1280,
    height: 800,
    scale: 1,
    dark: false,
};
const A_SECOND: f64 = 20.0;
const READINGS: usize = 100;

/// A seat with so many stations: ten depths of one bore.
fn seat(angles: usize) -> String {
    format!(
        "name = \"many\"\ntitle = \"Many\"\nsource = \"made up\"\nlandmark = \"mark\"\n\
         angles = {angles}\n[[bore]]\nname = \"left\"\nnominal_mm = 46.0\nlower_mm = 45.95\n\
         upper_mm = 46.0\ntarget_mm = 45.975\nout_of_round_limit_mm = 0.025\n\
         depths_mm = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]\n"
    )
}

fn now_ms() -> f64 {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap()
        .as_secs_f64()
        * 1e3
}

#[tokio::main(flavor = "current_thread")]
async fn main() {
    let Some(browser) = chromium::find() else {
        return;
    };
    for angles in [6, 360] {
        measure(browser, angles).await;
    }
}

async fn measure(browser: &str, angles: usize) {
    let seats = tempfile::tempdir().unwrap();
    std::fs::write(seats.path().join("many.toml"), seat(angles)).unwrap();
    let more = format!("[folders]\nseats = \"{}\"", seats.path().display());
    let bench = Bench::with(&more, "plain-mm-stream");
    let mut page = Page::start(browser).await;
    page.fit(SCREEN).await;
    page.go(&bench.url()).await;
    let open = r#"fetch("/commands", {method: "POST", headers: {"Content-Type": "application/json"},
        body: JSON.stringify({command: "open_job", part: "p", seat: "many"})}).then(a => a.status)"#;
    assert_eq!(page.eval(open).await, 200);
    page.until("document.querySelector('#next .angle')").await;
    // Every number that comes up, with the time of the frame after it.
    page.eval(
        "window.painted = {}; window.frames_seen = 0; \
         const count = () => { window.frames_seen++; requestAnimationFrame(count); }; count(); \
         new MutationObserver(() => requestAnimationFrame(() => { \
           const n = document.querySelector('#reading output')?.textContent; \
           if (n && !(n in window.painted)) window.painted[n] = Date.now(); \
         })).observe(document.body, {childList: true, subtree: true}); true",
    )
    .await;
    let idle = frames(&mut page, Duration::from_secs(2)).await;
    let mut sent = Vec::new();
    page.eval("window.frames_seen = 0").await;
    let start = std::time::Instant::now();
    for index in 0..READINGS {
        let mm = 45.95 + f64::from(u32::try_from(index).unwrap()) / 1e3;
        sent.push((format!("{mm:.3}"), now_ms()));
        bench.send(mm);
        tokio::time::sleep(Duration::from_secs_f64(1.0 / A_SECOND)).await;
    }
    let took = start.elapsed().as_secs_f64();
    let busy = page.eval("window.frames_seen").await.as_f64().unwrap() / took;
    let painted = page.eval("window.painted").await;
    let mut times: Vec<f64> = sent
        .iter()
        .filter_map(|(text, at)| {
            let shown = painted
                .as_object()
                .unwrap()
                .iter()
                .find(|(n, _)| n.starts_with(text.as_str()))?;
            Some(shown.1.as_f64()? - at)
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!(
        "{}, {} stations: send to paint {:.0} ms median, {:.0} ms 95th percentile, {} of {READINGS} shown \
         one by one; {busy:.0} frames/s (idle {idle:.0})",
        SCREEN.name,
        angles * 10,
        times[times.len() / 2],
        times[times.len() * 95 / 100],
        times.len(),
    );
}

async fn frames(page: &mut Page, time: Duration) -> f64 {
    page.eval("window.frames_seen = 0").await;
    tokio::time::sleep(time).await;
    page.eval("window.frames_seen").await.as_f64().unwrap() / time.as_secs_f64()
}
