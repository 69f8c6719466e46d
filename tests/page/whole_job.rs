//! A whole job at the page, every touch counted.

use borewright::bore::Contact;
use borewright::gauge::simulate::{Bore, Hand};

use crate::bench::Bench;
use crate::chromium;
use crate::daemon::at_step;

/// A shop with the reamer that mends the tricycle.
const SHOP: &str =
    "[[workshop.reamer]]\nname = \"adjustable, set to 45.975\"\ndiameter_mm = 45.975\n";

/// Sends a whole phase of the seat's plan, as the gauge would show it in `bore` on the drive side and
/// in `other` opposite.
fn send_all(bench: &Bench, hand: &mut Hand, bore: &Bore, other: &Bore) {
    for bore in [bore, other] {
        for depth in [2.5, 6.0, 9.5] {
            for angle in [0.0, 30.0, 60.0, 90.0, 120.0, 150.0] {
                bench.send(hand.reads_mm(bore.seen_mm(Contact::TwoPoint, depth, angle)));
            }
        }
    }
}

#[tokio::test]
async fn from_the_complaint_to_the_last_reading_as_left_by_sends_and_five_touches() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::with(SHOP, "plain-mm-stream");
    let mut page = bench.at_job(browser).await;
    // Every touch from here on, whatever it is on: evidence, choices and ticks apart, then those that
    // put the keyboard into a form, then all others.
    page.eval(
        "window.touches = []; window.apart = []; window.typed = []; document.addEventListener('pointerdown', e => { \
           if (!e.isTrusted) return; \
           const on = e.target.closest('button, input, select, summary, label') || e.target; \
           const apart = /set_evidence|choose|tick/.test(on.dataset.command || ''); \
           const typed = on.matches('input, select, label'); \
           (apart ? window.apart : typed ? window.typed : window.touches).push(on.textContent.trim() || on.id || on.tagName); }, true); true",
    )
    .await;

    // Two pieces of evidence, one touch each.
    at_step(&mut page, "complaint").await;
    for question in [1, 2] {
        page.touch(&format!(
            ".question:nth-of-type({question}) .answers button:first-child"
        ))
        .await;
        page.until(&format!(
            "document.querySelector('.question:nth-of-type({question}) [aria-pressed=true]').textContent === 'Yes'"
        ))
        .await;
    }
    page.touch("#task .on").await;
    // What it goes into and what goes in: one touch on each form, the rest is keys.
    at_step(&mut page, "insert").await;
    page.touch("label[for=material]").await;
    page.keys("↓\t2.4\n").await;
    page.reads("#task", "Housing: aluminium, wall 2.4 mm").await;
    page.touch("#insert-bearing").await;
    page.keys("30x42x7\t\t↓\t46.020\t10\n").await;
    page.reads(
        "#task .said",
        "Cup of aluminium with bearing 30x42x7: 46.020 mm",
    )
    .await;
    page.touch("#task .on").await;
    // The gauge in its ring: what it shows there is sent, the ring's size typed.
    at_step(&mut page, "ring").await;
    page.touch(".begin-ring").await;
    page.reads("#reading", "is in its ring").await;
    for _ in 0..3 {
        bench.send(46.0);
    }
    page.reads("#reading", "Mean 46.0000 of 3.").await;
    page.touch("#ring-size").await;
    page.keys("46.000\n").await;
    page.reads("#task", "was set in a ring of 46.000 mm").await;

    let egg = Bore {
        mean_mm: 45.925,
        oval_mm: 0.11,
        long_axis_deg: 125.0,
        ..Bore::default()
    };
    let fair = Bore {
        mean_mm: 45.968,
        oval_mm: 0.008,
        ..Bore::default()
    };
    let reamed = Bore {
        mean_mm: 45.975,
        oval_mm: 0.004,
        ..Bore::default()
    };
    let mut hand = Hand::new(11, 0.0004);
    send_all(&bench, &mut hand, &egg, &fair);

    // Gauged through: the findings come by themselves, in words.
    at_step(&mut page, "findings").await;
    page.reads("#task .fault", "The seat is at fault").await;
    page.reads(
        "#task .said",
        "Drive side is 0.11 mm out of round and 0.025 mm under size.",
    )
    .await;
    page.reads(
        "#task .said",
        "Tight at 35°–215°. A bearing pressed in here loses all its clearance.",
    )
    .await;
    page.touch(".bore-found:nth-of-type(1) .advised button")
        .await;
    page.until("document.querySelector('.bore-found:nth-of-type(1) .chosen')")
        .await;
    page.touch(".bore-found:nth-of-type(2) .advised button")
        .await;
    at_step(&mut page, "work").await;
    page.reads("#task .chosen", "adjustable, set to 45.975")
        .await;
    page.reads("#task .cautions", "eye protection").await;
    page.touch("#task .tick:not([disabled])").await;
    page.until("document.querySelector('#task .tick[aria-checked=true]')")
        .await;
    page.touch("#task .on").await;
    at_step(&mut page, "left").await;
    page.reads("#next .angle", "0°").await;
    send_all(&bench, &mut hand, &reamed, &reamed);
    page.reads("#task", "Drive side: accepted").await;
    page.reads("#task", "The preview held.").await;

    let touches = page.eval("window.touches").await;
    assert!(touches.as_array().unwrap().len() <= 5, "{touches}");
    // Two answers, two choices, a tick.
    let apart = page.eval("window.apart").await;
    assert_eq!(apart.as_array().unwrap().len(), 5, "{apart}");
    // Housing, insert and ring are typed: one touch takes the keyboard to each.
    let typed = page.eval("window.typed").await;
    assert_eq!(typed.as_array().unwrap().len(), 3, "{typed}");
    assert_eq!(page.faults().await, Vec::<String>::new());
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}
