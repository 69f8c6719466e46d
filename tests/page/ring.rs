//! A gauge in its ring without a number typed but the ring's own, and a page that is loaded again.

use crate::bench::Bench;
use crate::chromium;
use crate::daemon::at_step;

#[tokio::test]
async fn a_gauge_is_set_and_checked_by_what_it_sends_in_its_ring() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = bench.at_job(browser).await;
    page.touch("#steps [data-step=ring]").await;
    at_step(&mut page, "ring").await;

    // Loaded again before the first reading, the page is at the same step.
    page.go(&bench.url()).await;
    at_step(&mut page, "ring").await;

    page.touch(".begin-ring").await;
    page.reads(
        "#reading",
        "bore-gauge is in its ring: no station is filled.",
    )
    .await;
    for mm in [46.003, 46.002, 46.004] {
        bench.send(mm);
        page.reads("#reading output", &format!("{mm:.3}")).await;
    }
    // 46.003 mm by hand.
    page.reads("#reading", "Mean 46.0030 of 3.").await;
    page.reads("#reading", "They are 0.002 mm apart.").await;
    at_step(&mut page, "ring").await;
    assert_eq!(page.faults().await, Vec::<String>::new());
    assert_eq!(page.barriers().await, Vec::<String>::new());
    page.touch("#ring-size").await;
    page.keys("46.000").await;
    page.touch(".ring button[type=submit]").await;
    page.reads("#task", "was set in a ring of 46.000 mm").await;

    // It showed 0.003 mm more than the ring, and that is off its readings now.
    page.touch("#steps [data-step=found]").await;
    at_step(&mut page, "found").await;
    bench.send(45.963);
    page.reads("#reading output", "45.960").await;

    // Who leaves with the gauge still in the ring takes it out.
    page.touch("#steps [data-step=done]").await;
    at_step(&mut page, "done").await;
    page.touch(".begin-ring").await;
    page.reads("#reading", "is in its ring").await;
    page.touch("#steps [data-step=found]").await;
    at_step(&mut page, "found").await;
    bench.send(45.921);
    page.reads("#reading output", "45.918").await;

    page.touch("#steps [data-step=done]").await;
    at_step(&mut page, "done").await;
    page.touch(".begin-ring").await;
    page.reads("#reading", "Rock it to the turning point").await;
    bench.send(46.004);
    page.reads("#reading", "Mean 46.0040 of 1.").await;
    page.touch(".ring button[type=submit]").await;
    page.until("document.querySelector('#message').classList.contains('good')")
        .await;
    page.reads("#message", "its drift is taken off").await;
    // Of the state, not of the page alone: the drift is in it.
    page.until("document.querySelector('.begin-ring') !== null")
        .await;
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}
