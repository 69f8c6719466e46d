//! How the list of jobs, a job's story and what the shop learns look at each size of screen, light
//! and dark: nothing overlaps, is cut off or too faint to read, and axe-core finds no barrier.

use std::convert::Infallible;
use std::future::ready;
use std::sync::Arc;

use axum::Router;
use borewright::display;
use borewright::job::{Command, JobId};
use borewright::memory::Shelf;
use tempfile::TempDir;

use crate::chromium::{self, Page, Screen};
use crate::looks::{SCREENS, picture};
use crate::support::{Invented, SEAT, shop};

/// A shop's folder of jobs: on four seats, with a reamer, a gauge that drifts, one job open; its
/// pages; and a job to look at.
fn some_jobs() -> (TempDir, Router, JobId) {
    let mut bench = Invented::new();
    bench.set_ring();
    for (part, seat, mean_mm, oval_mm) in [
        ("steel frame, blue", SEAT, 45.98, 0.004),
        ("cargo tricycle, number 12", SEAT, 45.95, 0.110),
        ("tandem", SEAT, 45.97, 0.031),
        ("frame of the hire fleet", "pressfit-41-92", 40.98, 0.018),
        ("hub of the hire fleet", "hub-17x30x7", 29.98, 0.012),
        ("old road frame", "pressfit-46", 45.96, 0.044),
    ] {
        bench.job(part, seat, mean_mm, oval_mm);
    }
    for over_um in [4.0, 6.0, 8.0] {
        bench.reamed_job("reamed", over_um / 1e3);
    }
    let mut looked_at = None;
    for shown in [46.003, 46.001, 46.0045] {
        bench.set_ring();
        let part = "Grandmother’s Donaudampfschifffahrtstandem, second owner, number 00471199";
        looked_at = Some(bench.open_job(part, SEAT));
        bench.ask(Command::Note {
            text: "Runs tight on the drive side, says the customer".into(),
        });
        bench.gauge_all(45.98, 0.02);
        bench.send(12.305);
        bench.check_ring(shown);
        bench.ask(Command::CloseJob {});
        bench.state();
    }
    bench.open_job("still open", SEAT);
    bench.state();
    bench.stop();
    let pages = display::shelf::router(Arc::new(Shelf::new(bench.path())), shop(), None);
    (bench.folder, pages, looked_at.unwrap())
}

async fn serve(shelf: Router) -> String {
    let state = || ready(Ok::<_, Infallible>("{}".into()));
    let pages = display::router(state, None).merge(shelf);
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    tokio::spawn(async move { axum::serve(listener, pages).await });
    format!("http://{address}")
}

#[tokio::test]
async fn the_shops_memory_is_read_on_any_screen_without_a_barrier() {
    let Some(browser) = chromium::find() else {
        return;
    };
    // The bench blocks on a runtime of its own.
    let jobs = tokio::task::spawn_blocking(some_jobs);
    let (_folder, pages, job) = jobs.await.unwrap();
    let address = serve(pages).await;
    let mut page = Page::start(browser).await;
    let mut faults = Vec::new();
    for (name, path) in [
        ("jobs", "/jobs?lang=en".to_owned()),
        ("jobs-de", "/jobs?lang=de&q=frame".to_owned()),
        ("job", format!("/jobs/{job}?lang=en")),
        ("learned", "/learned?lang=en".to_owned()),
        ("learned-de", "/learned?lang=de".to_owned()),
    ] {
        for screen in SCREENS {
            page.fit(screen).await;
            page.go(&format!("{address}{path}")).await;
            let mut found = page.faults().await;
            if ["phone", "tablet"]
                .iter()
                .any(|of| screen.name.starts_with(of))
            {
                found.extend(page.barriers().await);
            }
            let of = |fault| format!("{name}, {}: {fault}", screen.name);
            faults.extend(found.into_iter().map(of));
            let height = page.eval("document.documentElement.scrollHeight").await;
            let height = u32::try_from(height.as_u64().unwrap()).unwrap();
            page.fit(Screen { height, ..screen }).await;
            picture(&mut page, &format!("shelf-{name}-{}", screen.name)).await;
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}
