//! Two people at two pages: one is at work, the other watches.

use crate::bench::Bench;
use crate::chromium::{self, Page};
use crate::daemon::{TABLET, open_job};

/// Two people look at one bench.
#[tokio::test]
async fn one_is_at_work_and_the_other_watches_until_it_takes_over() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut tablet = Page::start(browser).await;
    let mut laptop = Page::start(browser).await;
    for page in [&mut tablet, &mut laptop] {
        page.fit(TABLET).await;
        page.go(&bench.url()).await;
        page.until("document.querySelector('#gauges .gauge:not(.gone)')")
            .await;
    }
    tablet
        .eval("localStorage.setItem('who', 'Tablet at the press')")
        .await;
    // The touch that opens the job takes the bench.
    open_job(&mut tablet, "Cargo tricycle", "pressfit-46").await;
    bench.send(45.963);
    tablet.reads("#next .angle", "30°").await;
    assert_eq!(
        tablet
            .eval("document.querySelector('#at-work').hidden")
            .await,
        true
    );

    laptop.reads("#reading output", "45.963").await;
    laptop
        .reads("#at-work", "Tablet at the press is at work; you watch.")
        .await;
    laptop
        .until("document.querySelector('#bar button:last-child').disabled")
        .await;
    assert_eq!(laptop.faults().await, Vec::<String>::new());
    assert_eq!(laptop.barriers().await, Vec::<String>::new());
    // Keys, as of a gauge that types, and a form sent all the same: refused aloud, nothing stored.
    laptop.keys("45.917\n").await;
    laptop
        .eval("document.querySelector('#typed').value = '45.917'; document.querySelector('#typing').requestSubmit()")
        .await;
    laptop
        .reads("#message", "Somebody else is at work. Take over first.")
        .await;
    laptop
        .until("document.body.dataset.heard === 'refused'")
        .await;
    laptop.reads("#next", "35 left, 1 done").await;
    tablet.reads("#next", "35 left, 1 done").await;
    // Another program without the token changes nothing either.
    let refused = laptop
        .eval(
            "fetch('/commands', {method: 'POST', headers: {'Content-Type': 'application/json'}, \
             body: '{\"command\":\"skip\"}'}).then(async a => a.status + ' ' + (await a.json()).refused)",
        )
        .await;
    let refused = refused.as_str().unwrap();
    assert!(
        refused.starts_with("409 ") && refused.contains("Tablet at the press"),
        "{refused}"
    );

    // One touch takes over; the other page watches then.
    laptop.touch("#at-work [data-take]").await;
    laptop
        .until("document.querySelector('#at-work').hidden")
        .await;
    laptop.touch("#bar button:last-child").await;
    laptop.reads("#next .angle", "60°").await;
    tablet.reads("#next .angle", "60°").await;
    tablet.reads("#at-work", "is at work; you watch.").await;
    tablet
        .until("document.querySelector('#bar button:last-child').disabled")
        .await;

    // A page that slept catches up without being loaded again.
    tablet.eval("window.same = true").await;
    tablet
        .call(
            "Page.setWebLifecycleState",
            serde_json::json!({"state": "frozen"}),
        )
        .await;
    bench.send(45.917);
    laptop.reads("#next .angle", "90°").await;
    tablet
        .call(
            "Page.setWebLifecycleState",
            serde_json::json!({"state": "active"}),
        )
        .await;
    tablet.reads("#reading output", "45.917").await;
    assert_eq!(tablet.eval("window.same").await, true);

    // A page that is closed leaves the bench to whoever touches it next.
    laptop.go("about:blank").await;
    tablet
        .until("document.querySelector('#at-work').hidden")
        .await;
    tablet.touch("#bar button:last-child").await;
    tablet.reads("#next .angle", "120°").await;
}

/// The copy of a tab is given the token with it.
#[tokio::test]
async fn the_copy_of_a_tab_watches_and_takes_nothing_with_it_when_it_is_closed() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = bench.at_job(browser).await;
    bench.send(45.963);
    page.reads("#next .angle", "30°").await;
    page.eval("window.copy = window.open(location.href); 0")
        .await;
    page.until("copy.document.body?.classList.contains('watching')")
        .await;
    page.until("copy.document.querySelector('#bar button:last-child').disabled")
        .await;
    assert_eq!(
        page.eval("copy.sessionStorage.getItem('bench-token')")
            .await,
        serde_json::Value::Null
    );
    let watches = "document.body.classList.contains('watching')";
    assert_eq!(page.eval(watches).await, false);
    page.eval("copy.close()").await;
    page.until("copy.closed").await;
    page.touch("#bar button:last-child").await;
    page.reads("#next .angle", "60°").await;
    let held = "document.querySelector('#bench').dataset.atWork !== ''";
    assert_eq!(page.eval(held).await, true, "the bench is still held");
    assert_eq!(page.faults().await, Vec::<String>::new());
}
