//! What the page says to the ear, what it keeps when it is loaded again, and what it shows after it
//! slept.

use serde_json::json;

use crate::bench::Bench;
use crate::chromium::{self, Page};
use crate::daemon::{TABLET, at_step, open_job, sounded};

/// Notes every tone and every word that the page gives, in place of a loudspeaker.
const EARS: &str = "
    window.tones = [];
    const begin = OscillatorNode.prototype.start;
    OscillatorNode.prototype.start = function (at) { window.tones.push(this.frequency.value); begin.call(this, at); };
    window.spoken = [];
    speechSynthesis.speak = (said) => window.spoken.push([said.text, said.lang]);
    speechSynthesis.cancel = () => window.spoken.push('cut short');
";

async fn page_with_ears(browser: &str) -> Page {
    let mut page = Page::start(browser).await;
    page.call(
        "Page.addScriptToEvaluateOnNewDocument",
        json!({"source": EARS}),
    )
    .await;
    page.fit(TABLET).await;
    page
}

/// The tones since the last look.
async fn tones(page: &mut Page) -> Vec<f64> {
    let tones = page.eval("window.tones.splice(0)").await;
    serde_json::from_value(tones).unwrap()
}

#[tokio::test]
async fn stored_refused_and_done_sound_differently_until_one_touch_mutes_them() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = page_with_ears(browser).await;
    page.go(&bench.url()).await;
    page.until("document.querySelector('#gauges .gauge:not(.gone)')")
        .await;
    // The touch that opens the job wakes the sound.
    page.reads("#sound", "Touch for sound").await;
    page.touch("[name=plan][value=quick]").await;
    open_job(&mut page, "Cargo tricycle", "hub-17x30x7").await;
    page.reads("#sound", "Sound on").await;
    tones(&mut page).await;

    let mut heard = Vec::new();
    for (mm, name) in [
        (29.98, "stored"),
        (12.305, "refused"),
        (29.981, "stored"),
        (29.979, "stored"),
        (29.982, "section-done"),
    ] {
        page.eval("document.body.dataset.heard = ''").await;
        bench.send(mm);
        sounded(&mut page, name).await;
        heard.push((name, tones(&mut page).await));
    }
    // No two things sound alike: a refusal is lower than anything else, a section done goes up.
    let of = |name: &str| &heard.iter().find(|(heard, _)| *heard == name).unwrap().1;
    assert_eq!(of("stored").len(), 1, "{heard:?}");
    assert!(
        of("refused")
            .iter()
            .all(|tone| *tone < of("stored")[0] / 2.0),
        "{heard:?}"
    );
    let done = of("section-done");
    assert!(
        done.len() > 1 && done.windows(2).all(|two| two[0] < two[1]),
        "{heard:?}"
    );

    // One touch mutes; what is heard goes on being shown. It stays so when the page is loaded again.
    page.touch("#sound").await;
    page.reads("#sound", "Sound off").await;
    page.eval("document.body.dataset.heard = ''").await;
    bench.send(29.983);
    sounded(&mut page, "stored").await;
    assert_eq!(tones(&mut page).await, Vec::<f64>::new());
    page.go(&bench.url()).await;
    page.reads("#sound", "Sound off").await;
    page.touch("#sound").await;
    page.reads("#sound", "Sound on").await;
    for (mm, name) in [(29.981, "stored"), (29.979, "stored"), (29.982, "all-done")] {
        page.eval("document.body.dataset.heard = ''").await;
        bench.send(mm);
        sounded(&mut page, name).await;
    }
    assert!(
        tones(&mut page).await.len() > 2 + done.len(),
        "the last is heard as such"
    );
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

/// What the gauge's form doesn't know.
const UNREADABLE: &[u8] = b"45,963 mm?\r\n";

#[tokio::test]
async fn what_cannot_be_read_is_heard_and_said_where_the_reading_stands() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = page_with_ears(browser).await;
    page.go(&bench.url()).await;
    page.until("document.querySelector('#gauges .gauge:not(.gone)')")
        .await;
    open_job(&mut page, "Cargo tricycle", "pressfit-46").await;
    page.reads("#sound", "Sound on").await;
    let unreadable = || {
        bench
            .gauge
            .as_ref()
            .unwrap()
            .send_bytes(UNREADABLE)
            .unwrap()
    };
    unreadable();
    page.reads("#reading", "Unreadable Is the form of bore-gauge right?")
        .await;
    sounded(&mut page, "refused").await;
    assert_eq!(tones(&mut page).await, [196.0, 156.0]);
    let said = page.text("#reading").await;
    assert!(!said.contains("No reading yet"), "{said}");
    page.until("document.querySelector('#gauges .gauge.past .cut')")
        .await;
    assert_eq!(page.faults().await, Vec::<String>::new());

    // The next good reading is all that counts; what it was is kept in sight when noise comes again.
    bench.send(45.963);
    page.reads("#reading output", "45.963").await;
    page.until("!document.querySelector('#reading .refusal, #gauges .gauge.past')")
        .await;
    unreadable();
    page.reads("#reading", "Unreadable Is the form of bore-gauge right?")
        .await;
    page.reads("#reading output", "45.963").await;
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

#[tokio::test]
async fn readings_are_read_aloud_in_the_pages_language_where_that_is_wished() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = page_with_ears(browser).await;
    page.go(&format!("{}?lang=de", bench.url())).await;
    page.until("document.querySelector('#gauges .gauge:not(.gone)')")
        .await;
    open_job(&mut page, "Cargo tricycle", "pressfit-46").await;
    bench.send(45.963);
    page.reads("#reading output", "45,963").await;
    assert_eq!(
        page.eval("window.spoken").await,
        json!([]),
        "nobody wished it"
    );

    page.touch("#menu").await;
    page.touch("#voice").await;
    page.until("document.querySelector('#voice[aria-pressed=true]')")
        .await;
    page.touch("#more [data-close]").await;
    bench.send(45.917);
    page.reads("#reading output", "45,917").await;
    page.until("window.spoken.length === 2").await;
    bench.send(12.305);
    page.until("window.spoken.length === 4").await;
    // Each cuts short what is still being said.
    assert_eq!(
        page.eval("window.spoken").await,
        json!([
            "cut short",
            ["45,9170", "de"],
            "cut short",
            ["abgelehnt", "de"]
        ])
    );
    bench
        .gauge
        .as_ref()
        .unwrap()
        .send_bytes(UNREADABLE)
        .unwrap();
    page.until("window.spoken.length === 6").await;
    assert_eq!(
        page.eval("window.spoken[5]").await,
        json!(["unlesbar", "de"])
    );
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

#[tokio::test]
async fn a_page_that_is_loaded_again_goes_on_where_it_was_and_stays_at_work() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = bench.at_job(browser).await;
    bench.send(45.963);
    page.reads("#next .angle", "30°").await;
    page.go(&bench.url()).await;
    page.reads("#reading output", "45.963").await;
    page.reads("#next", "35 left, 1 done").await;
    // It took the bench before, and has it still.
    page.touch("#bar button:last-child").await;
    page.reads("#next .angle", "60°").await;
    page.touch("#bar button:first-child").await;
    page.reads("#next .angle", "30°").await;
    assert_eq!(
        page.eval("document.querySelector('#at-work').hidden").await,
        true
    );
    bench.send(45.917);
    page.reads("#next .angle", "60°").await;
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

/// The device slept a minute: its clock goes on, nothing of the page did. Until the daemon was heard
/// again nothing is shown as live, though the answer takes its time.
#[tokio::test]
async fn a_page_that_slept_shows_nothing_as_live_before_it_has_caught_up() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = bench.at_job(browser).await;
    bench.send(45.963);
    page.reads("#reading output", "45.963").await;
    page.until("!document.body.classList.contains('gone')")
        .await;
    page.eval(
        "window.same = true; window.fetched = window.fetch; window.held = []; \
         window.fetch = (...asked) => new Promise((give) => window.held.push(() => give(fetched(...asked)))); \
         const now = Date.now; Date.now = () => now() + 60000; \
         document.dispatchEvent(new Event('resume')); true",
    )
    .await;
    page.until("document.body.classList.contains('gone')").await;
    bench.send(45.917);
    page.until("window.held.length > 0").await;
    assert_eq!(
        page.eval("document.body.classList.contains('gone')").await,
        true,
        "an answer that is awaited is none"
    );
    page.eval("window.fetch = window.fetched; window.held.forEach((go) => go()); true")
        .await;
    page.reads("#reading output", "45.917").await;
    page.until("!document.body.classList.contains('gone')")
        .await;
    assert_eq!(
        page.eval("window.same").await,
        true,
        "it was not loaded again"
    );
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

/// A feed that takes a while to open, and how often the page said that the daemon is gone.
const SLOW_FEED: &str = "
    window.EventSource = class extends EventSource {
        get readyState() { return performance.now() < 1000 ? EventSource.CONNECTING : super.readyState; }
    };
    window.toldGone = 0;
    document.addEventListener('readystatechange', () => {
        const gone = document.querySelector('#gone');
        const look = () => { if (!gone.hidden) window.toldGone += 1; };
        new MutationObserver(look).observe(gone, { attributes: true });
    }, { once: true });
";

/// A strip that comes and goes would move what a finger is just reaching for.
#[tokio::test]
async fn a_page_that_is_loaded_again_stands_still() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = bench.at_job(browser).await;
    page.touch("#steps [data-step=ring]").await;
    at_step(&mut page, "ring").await;
    let watch = json!({"source": SLOW_FEED});
    page.call("Page.addScriptToEvaluateOnNewDocument", watch)
        .await;
    page.go(&bench.url()).await;
    at_step(&mut page, "ring").await;
    page.until("performance.now() > 1500").await;
    assert_eq!(page.eval("window.toldGone").await, 0);
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}
