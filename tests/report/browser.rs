//! The report in a real browser: no barrier on a screen, nothing cut off on paper.

use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use base64::Engine as _;
use borewright::fit::plan::Shop as Workshop;
use borewright::job::{Gauges, Seats, Shop};
use borewright::memory::Shelf;
use borewright::report::router;
use serde_json::json;

use crate::chromium::{self, Page, Screen};
use crate::poppler::{count, have_poppler, run, words_inside};
use crate::served::data;
use crate::support::{WAYS, job, style, text};

const SCREENS: [Screen; 4] = [
    screen("phone-light", 390, 844, false),
    screen("phone-dark", 390, 844, true),
    screen("desk-light", 1920, 1080, false),
    screen("desk-dark", 1920, 1080, true),
];

const fn screen(name: &'static str, width: u32, height: u32, dark: bool) -> Screen {
    Screen {
        name,
        width,
        height,
        scale: 1,
        dark,
    }
}

/// The reports of the data folder in one way of writing.
async fn serve(folder: &Path, way: usize) -> SocketAddr {
    let shop = Shop {
        seats: Seats::built_in(),
        gauges: Gauges::new(),
        workshop: Workshop::default(),
    };
    let routes = router(Arc::new(Shelf::new(folder)), shop, style(WAYS[way]));
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    tokio::spawn(async move { axum::serve(listener, routes).await });
    address
}

/// With `BOREWRIGHT_PICTURES=1` what is looked at stays in `target/report/`.
fn kept(name: &str) -> Option<PathBuf> {
    std::env::var_os("BOREWRIGHT_PICTURES")?;
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/report");
    std::fs::create_dir_all(&folder).unwrap();
    Some(folder.join(name))
}

#[tokio::test]
async fn it_is_read_on_any_screen_without_a_barrier() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let data = data();
    let mut page = Page::start(browser).await;
    let mut faults = Vec::new();
    for (way, language) in [(0, "en"), (3, "de-inch")] {
        let address = serve(data.path(), way).await;
        for kind in ["clean", "repair", "no-ring", "swept"] {
            for screen in SCREENS {
                page.fit(screen).await;
                let id = job(kind).record.job;
                page.go(&format!("http://{address}/report/{id}.html")).await;
                let mut found = page.faults().await;
                found.extend(page.barriers().await);
                let of = |fault| format!("{kind}, {language}, {}: {fault}", screen.name);
                faults.extend(found.into_iter().map(of));
                if let Some(file) = kept(&format!("{kind}-{language}-{}.png", screen.name)) {
                    let height = page.eval("document.documentElement.scrollHeight").await;
                    let height = u32::try_from(height.as_u64().unwrap()).unwrap();
                    page.fit(Screen { height, ..screen }).await;
                    page.picture(&file).await;
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

/// Without white space, which a line's end may stand for.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

#[tokio::test]
async fn it_prints_on_as_many_pages_as_it_should_and_nothing_is_cut_off() {
    let Some(browser) = chromium::find().filter(|_| have_poppler()) else {
        return;
    };
    let data = data();
    let folder = tempfile::tempdir().unwrap();
    let mut page = Page::start(browser).await;
    // Inches, and the same in points: ISO 216, and ANSI/ASME Y14.1.
    for (paper, width, height) in [("a4", 8.27, 11.69), ("letter", 8.5, 11.0)] {
        for (way, language) in [(0, "en"), (1, "en-inch"), (2, "de")] {
            let address = serve(data.path(), way).await;
            for (kind, pages) in [("clean", 1), ("no-ring", 1), ("swept", 1), ("repair", 2)] {
                let job = job(kind);
                page.go(&format!("http://{address}/report/{}.html", job.record.job))
                    .await;
                let paper_size = json!({"paperWidth": width, "paperHeight": height});
                let printed = page.call("Page.printToPDF", paper_size).await;
                let bytes = base64::engine::general_purpose::STANDARD
                    .decode(printed["data"].as_str().unwrap())
                    .unwrap();
                let file = folder.path().join("printed.pdf");
                std::fs::write(&file, &bytes).unwrap();
                let name = format!("printed-{kind}-{language}-{paper}.pdf");
                if let Some(kept) = kept(&name) {
                    std::fs::write(kept, &bytes).unwrap();
                }
                assert_eq!(count(&file), pages, "{name}");
                let edge = 20.0;
                let inside = [edge, edge, width * 72.0 - edge, height * 72.0 - edge];
                assert!(words_inside(&file, inside) > 200, "{name}");
                let on_paper = squeezed(&run("pdftotext", &["-raw"], &file, &["-"]));
                let said = text(&job.report(WAYS[way]).html());
                let has_sign = |run: &&str| run.chars().any(char::is_alphanumeric);
                // A part's name may hold what no font shows.
                let runs = said
                    .lines()
                    .filter(has_sign)
                    .filter(|run| !run.contains('\u{25af}'));
                for run in runs {
                    assert!(
                        on_paper.contains(&squeezed(run)),
                        "{name}: {run}\n{on_paper}"
                    );
                }
            }
        }
    }
}
