//! The page before the built daemon, which reads a simulated gauge on a pseudo-terminal.

use std::path::Path;

use borewright::bore::Contact;
use borewright::gauge::simulate::{Bore, Hand};

use crate::bench::Bench;
use crate::chromium::{self, Page, Screen};

pub(crate) const TABLET: Screen = Screen {
    name: "tablet-light",
    width: 1280,
    height: 800,
    scale: 1,
    dark: false,
};

impl Bench {
    pub(crate) fn new() -> Self {
        Self::with("", "plain-mm")
    }

    fn pull_the_plug(&mut self) {
        self.gauge.take().unwrap().close();
    }
}

pub(crate) async fn open_job(page: &mut Page, part: &str, seat: &str) {
    page.until("document.querySelector('#bench').dataset.screen === 'start'")
        .await;
    page.touch("#part").await;
    page.keys(part).await;
    page.eval(&format!("document.querySelector('#seat').value = '{seat}'"))
        .await;
    page.touch("#start button[type=submit]").await;
    page.reads("#where", part).await;
}

/// What the page sounded last: `stored`, `refused`, …
async fn sounded(page: &mut Page, name: &str) {
    page.until(&format!("document.body.dataset.heard === '{name}'"))
        .await;
}

#[tokio::test]
async fn a_job_from_opening_to_closing() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = Page::start(browser).await;
    page.fit(TABLET).await;
    page.go(&bench.url()).await;
    page.reads("#gauges", "bore-gauge").await;
    open_job(&mut page, "Cargo tricycle", "pressfit-46").await;
    page.reads("#next", "0°").await;

    // A reading on the line is on the page, stored, at its station.
    bench.send(45.963);
    page.reads("#reading output", "45.963").await;
    page.reads("#reading", "Stored: drive side, 2.5 mm deep, 0°")
        .await;
    page.reads("#next .angle", "30°").await;
    sounded(&mut page, "stored").await;
    bench.send(45.921);
    page.reads("#reading output", "45.921").await;
    page.reads("#next .angle", "60°").await;
    page.reads("#next .clock", "2 o’clock, seat tube at 12")
        .await;

    // One touch takes it back.
    page.touch("#bar button:first-child").await;
    page.reads("#next .angle", "30°").await;
    page.reads("#next", "35 left, 1 done").await;

    // A gauge that types like a keyboard needs no touch at all.
    page.keys("45,917\n").await;
    page.reads("#reading output", "45.917").await;
    page.reads("#next .angle", "60°").await;
    assert_eq!(
        page.eval("document.querySelector('#typed').value").await,
        ""
    );

    // What cannot belong is refused aloud and uses up no station.
    bench.send(12.305);
    page.reads("#reading .refusal", "Refused").await;
    sounded(&mut page, "refused").await;
    page.reads("#next .angle", "60°").await;
    // What isn't a number stays in the field, to be put right.
    page.keys("45.9l\n").await;
    page.until("!document.querySelector('#message').hidden")
        .await;
    assert_eq!(
        page.eval("document.querySelector('#typed').value").await,
        "45.9l"
    );
    page.eval("document.querySelector('#typed').value = ''")
        .await;

    // Skip; and a touch on a station makes it the next.
    page.touch("#bar button:nth-child(2)").await;
    page.reads("#next .angle", "90°").await;
    page.touch("#stations .row:nth-of-type(1) button:last-of-type")
        .await;
    page.reads("#next .angle", "150°").await;

    // Aside and back.
    page.touch("#menu").await;
    page.touch("#more [data-command*=put_aside]").await;
    page.touch("#open-jobs [data-command*=take_up]").await;
    page.reads("#next", "2 done").await;

    // Closing asks first.
    page.touch("#menu").await;
    page.touch("#more [data-open=close]").await;
    page.reads("#close", "stations to do").await;
    page.touch("#close .strong").await;
    page.until("document.querySelector('#bench').dataset.screen === 'start'")
        .await;
    // The browser's console notes the one refusal above; nothing else.
    page.complaints
        .retain(|complaint| !complaint.contains("409 (Conflict)"));
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

#[tokio::test]
async fn what_is_gone_is_said_and_never_shown_as_live() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let mut bench = Bench::new();
    let mut page = Page::start(browser).await;
    page.fit(TABLET).await;
    page.go(&bench.url()).await;
    open_job(&mut page, "Cargo tricycle", "pressfit-46").await;
    bench.send(45.963);
    page.reads("#reading output", "45.963").await;

    bench.pull_the_plug();
    page.reads("#gauges .gone", "not connected").await;
    page.reads("#reading.stale", "Not live").await;
    bench.plug_in();
    page.until("!document.querySelector('#gauges .gone, #reading.stale')")
        .await;

    bench.kill();
    page.reads("#gone", "Nothing below is live").await;
    page.until("document.body.classList.contains('gone')").await;
    // A command now says that nothing was stored.
    page.touch("#bar button:nth-child(2)").await;
    page.reads("#message", "nothing was stored").await;
    bench.start();
    page.until(
        "document.querySelector('#gone').hidden && !document.body.classList.contains('gone')",
    )
    .await;
    page.reads("#reading output", "45.963").await;
    page.reads("#next .angle", "30°").await;
    page.until("!document.querySelector('#gauges .gone')").await;
    bench.send(45.921);
    page.reads("#reading output", "45.921").await;
}

/// What a tablet on a shop's slow radio has to fetch, and what another page could make of it.
#[tokio::test]
async fn the_page_is_light_kept_by_the_browser_and_closed_to_others() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = Page::start(browser).await;
    page.go(&bench.url()).await;
    let bytes = page
        .eval(
            "performance.getEntries().filter(e => e.transferSize).reduce((sum, e) => sum + e.transferSize, 0)",
        )
        .await;
    assert!(
        (1.0..150e3).contains(&bytes.as_f64().unwrap()),
        "{bytes} bytes over the wire"
    );
    for file in ["/page.css", "/page.js", "/icon.svg"] {
        let again = format!(
            "fetch('{file}', {{cache: 'no-store'}}).then(a => fetch('{file}', {{cache: 'no-store', \
             headers: {{'If-None-Match': a.headers.get('ETag')}}}})).then(b => b.status)"
        );
        assert_eq!(page.eval(&again).await, 304, "{file}");
    }
    let policy = page
        .eval("fetch('/').then(a => a.headers.get('Content-Security-Policy'))")
        .await;
    let policy = policy.as_str().unwrap();
    assert!(policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"));
    assert!(!policy.contains("unsafe"), "{policy}");
    // An inline script, as an injected one would be, does not run.
    page.eval("document.body.append(Object.assign(document.createElement('script'), {textContent: 'window.hurt = true'}))").await;
    assert_eq!(page.eval("window.hurt === undefined").await, true);
}

/// What people write is text, never HTML.
#[tokio::test]
async fn a_part_called_like_markup_stays_a_name() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = Page::start(browser).await;
    page.fit(TABLET).await;
    page.go(&bench.url()).await;
    open_job(
        &mut page,
        "<b onclick=x>\"tube\" & 'shell'</b>",
        "pressfit-46",
    )
    .await;
    assert_eq!(
        page.eval("document.querySelector('#where b') === null")
            .await,
        true
    );
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

/// The picture in the README: the egged shell of a cargo tricycle, half gauged.
#[tokio::test]
async fn an_egged_shell_is_called_out_of_round() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = Page::start(browser).await;
    page.fit(Screen { scale: 2, ..TABLET }).await;
    page.go(&bench.url()).await;
    // The gauge is set in its ring first.
    page.until("document.querySelector('#ring-gauge')").await;
    page.eval("document.querySelector('#ring-gauge').value = 'bore-gauge'")
        .await;
    page.touch("#ring-size").await;
    page.keys("46,000\n").await;
    page.reads("#ring-gauge", "bore-gauge, set").await;
    open_job(&mut page, "Cargo tricycle, welded shell", "pressfit-46").await;

    let egg = Bore {
        mean_mm: 45.93,
        oval_mm: 0.09,
        long_axis_deg: 125.0,
        taper_mm_per_mm: 0.002,
        ..Bore::default()
    };
    let mut hand = Hand::new(7, 0.0008);
    let angles = [0.0, 30.0, 60.0, 90.0, 120.0, 150.0];
    for (depth, angles) in [(2.5, &angles[..]), (6.0, &angles[..]), (9.5, &angles[..5])] {
        for &angle in angles {
            let mm = hand.reads_mm(egg.seen_mm(Contact::TwoPoint, depth, angle));
            bench.send((mm * 1000.0).round() / 1000.0);
        }
    }
    page.reads("#next", "19 left, 17 done").await;
    page.reads("#verdict .headline", "Out of round").await;
    page.until("document.querySelector('#drawing .tight-label')")
        .await;
    // The tight axis lies a quarter turn from the long one, which is at 125°.
    let tight = page
        .eval("Number(document.querySelector('.tight-axis').dataset.deg)")
        .await;
    assert!((tight.as_f64().unwrap() - 35.0).abs() < 2.0, "{tight}");
    // One drawing code: alone it is the same as on the page.
    page.until(
        "fetch('/drawing.svg').then(r => r.text()).then(t => \
         new DOMParser().parseFromString(t, 'image/svg+xml').querySelector('.profile').getAttribute('d') \
         === document.querySelector('.face .profile').getAttribute('d'))",
    )
    .await;
    assert_eq!(page.faults().await, Vec::<String>::new());
    if std::env::var_os("BOREWRIGHT_PICTURES").is_some() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/pictures");
        page.picture(&folder.join("bench.png")).await;
    }
}

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

pub(crate) async fn at_step(page: &mut Page, step: &str) {
    page.until(&format!(
        "document.querySelector('#bench').dataset.step === '{step}'"
    ))
    .await;
}

#[tokio::test]
async fn from_the_complaint_to_the_last_reading_as_left_by_sends_and_five_touches() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::with(SHOP, "plain-mm-stream");
    let mut page = Page::start(browser).await;
    page.fit(TABLET).await;
    page.go(&bench.url()).await;
    page.until("document.querySelector('#gauges .gauge:not(.gone)')")
        .await;
    page.touch("#ring-size").await;
    page.keys("46.000\n").await;
    page.reads("#ring-gauge", "bore-gauge, set").await;
    page.touch("#wall").await;
    page.keys("2.4").await;
    page.eval("document.querySelector('#material').value = 'aluminium'")
        .await;
    open_job(&mut page, "Cargo tricycle", "pressfit-46").await;
    // Every touch from here on, but for evidence, the choice of an option and ticks, which are one
    // each.
    page.eval(
        "window.touches = []; document.addEventListener('click', e => { \
           const b = e.target.closest('button'); \
           if (e.isTrusted && b && !/set_evidence|choose|tick/.test(b.dataset.command || '')) \
             window.touches.push(b.textContent.trim()); }, true); true",
    )
    .await;

    at_step(&mut page, "complaint").await;
    page.touch(".question:nth-of-type(1) .answers button:first-child")
        .await;
    page.until("document.querySelector('.question:nth-of-type(1) [aria-pressed=true]').textContent === 'Yes'")
        .await;
    page.touch(".question:nth-of-type(2) .answers button:first-child")
        .await;
    page.until("document.querySelector('.question:nth-of-type(2) [aria-pressed=true]').textContent === 'Yes'")
        .await;
    page.touch("#task .on").await;
    at_step(&mut page, "insert").await;
    page.eval("document.querySelector('#insert-cup').value = 'aluminium'")
        .await;
    page.eval("document.querySelector('#insert-outside').value = '46.020'")
        .await;
    page.eval("document.querySelector('#insert-length').value = '10'")
        .await;
    page.eval("document.querySelector('#insert-bearing').focus()")
        .await;
    page.keys("30x42x7\n").await;
    page.reads(
        "#task .said",
        "Cup of aluminium with bearing 30x42x7: 46.020 mm",
    )
    .await;
    page.touch("#task .on").await;
    at_step(&mut page, "ring").await;
    page.reads("#task", "was set in a ring of 46.000 mm").await;
    page.touch("#task .on").await;
    at_step(&mut page, "found").await;

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
    assert_eq!(page.faults().await, Vec::<String>::new());
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

#[tokio::test]
async fn a_value_of_the_moment_is_no_reading_until_it_is_taken() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::with("", "rocking-mm");
    let mut page = Page::start(browser).await;
    page.fit(TABLET).await;
    page.go(&bench.url()).await;
    page.until("document.querySelector('#gauges .gauge:not(.gone)')")
        .await;
    open_job(&mut page, "Cargo tricycle", "pressfit-46").await;
    page.touch("[data-step=found]").await;
    at_step(&mut page, "found").await;
    page.until("!document.querySelector('.live.fresh')").await;
    bench.send(45.981);
    page.reads(".live.fresh output", "45.981").await;
    page.reads("#next", "36 left").await;
    page.touch(".live .take").await;
    page.reads("#reading output", "45.981").await;
    page.reads("#next", "35 left, 1 done").await;
    // What the gauge showed a while ago is not shown as if it still did.
    page.until("!document.querySelector('.live.fresh')").await;
}

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
    // Another program without the token changes nothing either.
    let refused = laptop
        .eval(
            "fetch('/commands', {method: 'POST', headers: {'Content-Type': 'application/json'}, \
             body: '{\"command\":\"skip\"}'}).then(a => a.status)",
        )
        .await;
    assert_eq!(refused, 409);

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
}
