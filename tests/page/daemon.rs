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

    /// Its page on a tablet, the gauge connected.
    pub(crate) async fn at_tablet(&self, browser: &str) -> Page {
        let mut page = Page::start(browser).await;
        page.fit(TABLET).await;
        page.go(&self.url()).await;
        page.until("document.querySelector('#gauges .gauge:not(.gone)')")
            .await;
        page
    }

    /// The same with a job of an invented tricycle open.
    pub(crate) async fn at_job(&self, browser: &str) -> Page {
        let mut page = self.at_tablet(browser).await;
        open_job(&mut page, "Cargo tricycle", "pressfit-46").await;
        page
    }

    pub(crate) fn pull_the_plug(&mut self) {
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
pub(crate) async fn sounded(page: &mut Page, name: &str) {
    page.until(&format!("document.body.dataset.heard === '{name}'"))
        .await;
}

/// Which of these the message lies on.
async fn under_the_message(page: &mut Page, selectors: &[&str]) -> Vec<String> {
    let under = page
        .eval(&format!(
            "(() => {{ const m = document.querySelector('#message').getBoundingClientRect(); \
             return {}.filter((s) => {{ const e = document.querySelector(s).getBoundingClientRect(); \
             return m.left < e.right && e.left < m.right && m.top < e.bottom && e.top < m.bottom; }}); }})()",
            serde_json::json!(selectors)
        ))
        .await;
    serde_json::from_value(under).unwrap()
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

    // On a telephone good news lies on neither button.
    page.fit(crate::looks::SCREENS[0]).await;
    page.touch("#menu").await;
    page.touch("#note").await;
    page.keys("Customer waits\n").await;
    page.until("document.querySelector('#message.good:not([hidden])')")
        .await;
    let over = under_the_message(&mut page, &["#bar", "#reading .value"]).await;
    assert_eq!(over, Vec::<String>::new());
    page.fit(TABLET).await;

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
    // That it is written is said in few words, over neither reading nor gauge, and goes by itself.
    page.reads("#message", "The record is written. Report")
        .await;
    let over = under_the_message(&mut page, &["#reading", "#gauges", "#where"]).await;
    assert_eq!(over, Vec::<String>::new());
    crate::looks::picture(&mut page, "closed").await;
    page.until("document.querySelector('#message').hidden")
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
    let mut page = bench.at_job(browser).await;
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

/// Ten depths of 360 angles.
const MANY: &str = r#"
name = "many"
title = "Many"
source = "made up"
landmark = "mark"
angles = 360
[[bore]]
name = "left"
nominal_mm = 46.0
lower_mm = 45.95
upper_mm = 46.0
target_mm = 45.975
out_of_round_limit_mm = 0.025
depths_mm = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]
"#;

/// What a tablet on a shop's slow radio has to fetch, and what another page could make of it.
#[tokio::test]
async fn the_page_is_light_kept_by_the_browser_and_closed_to_others() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let seats = tempfile::tempdir().unwrap();
    std::fs::write(seats.path().join("many.toml"), MANY).unwrap();
    let more = format!("[folders]\nseats = \"{}\"", seats.path().display());
    let bench = Bench::with(&more, "plain-mm");
    let mut page = bench.at_tablet(browser).await;
    open_job(&mut page, "with many stations", "many").await;
    page.reads("#next .angle", "0°").await;
    // A browser that was never here fetches the page with all that is on it.
    let mut page = Page::start(browser).await;
    page.go(&bench.url()).await;
    page.reads("#next .angle", "0°").await;
    let weighed = "performance.getEntries().filter(e => e.transferSize)";
    let bytes = page
        .eval(&format!(
            "{weighed}.reduce((sum, e) => sum + e.transferSize, 0)"
        ))
        .await;
    let bytes = bytes.as_f64().unwrap();
    assert!(
        (20e3..150e3).contains(&bytes),
        "{bytes} bytes over the wire"
    );
    let long = "performance.getEntriesByType('navigation')[0]";
    let sizes = page
        .eval(&format!("[{long}.encodedBodySize, {long}.decodedBodySize]"))
        .await;
    let [sent, page_itself] = [&sizes[0], &sizes[1]].map(|size| size.as_f64().unwrap());
    assert!(sent < page_itself / 3.0, "{sent} of {page_itself}");
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

/// A reading brings what it changed, and of the drawing the elements that it changed.
#[tokio::test]
async fn a_reading_sends_only_what_it_changed() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::with("", "plain-mm-stream");
    let mut page = bench.at_tablet(browser).await;
    // Without a ring the wall is drawn about its own mean, and every reading moves that.
    page.touch("#ring-size").await;
    page.keys("46.000\n").await;
    page.reads("#ring-gauge", "bore-gauge, set").await;
    page.eval("document.querySelector('#start [name=plan][value=full]').checked = true")
        .await;
    open_job(&mut page, "Cargo tricycle", "pressfit-46").await;
    // An oval of 0.03 mm within the limits, half a micrometre of scatter: the scale stays.
    let oval = Bore {
        mean_mm: 45.975,
        oval_mm: 0.03,
        long_axis_deg: 20.0,
        ..Bore::default()
    };
    let mut hand = Hand::new(3, 0.0005);
    let mut gauge = |deg: f64| bench.send(hand.reads_mm(oval.seen_mm(Contact::TwoPoint, 2.5, deg)));
    // The wall is drawn once no more than a third of the half turn lies open: from 120° on.
    (0..9).map(|n| 15.0 * f64::from(n)).for_each(&mut gauge);
    page.reads("#next", "63 left, 9 done").await;
    page.until(
        "document.querySelector('#bench').dataset.held && document.querySelector('#face-profile-2')",
    )
    .await;
    page.eval("window.held = document.querySelector('#bench').dataset.held; true")
        .await;
    let drawn = "document.querySelector('#face-profile-2').outerHTML";
    let before = page.eval(drawn).await;
    gauge(135.0);
    page.reads("#next", "62 left, 10 done").await;
    let sizes = page
        .eval(
            "(async () => { const get = async (held) => await (await fetch('/bench?lang=en&held=' + held)).text(); \
             const [all, only] = [await get(''), await get(window.held)]; \
             return [all.length, only.length, ['reading', 'next', 'face-at-135', 'face-profile-2', 'stations-0-9', \
               'stations-0-10', 'bar', 'face-band', 'face-marks', 'face-at-0', 'stations-0-8', 'stations-0-11'].filter((id) => only.includes('id=\"' + id + '\"'))]; })()",
        )
        .await;
    assert_eq!(
        sizes[2],
        serde_json::json!([
            "reading",
            "next",
            "face-at-135",
            "face-profile-2",
            "stations-0-9",
            "stations-0-10"
        ])
    );
    let (all, only) = (sizes[0].as_u64().unwrap(), sizes[1].as_u64().unwrap());
    assert!(only < all / 2, "{only} of {all} bytes");
    // And that is what is drawn: as on a page that is loaded anew.
    let shown = "document.querySelector('#drawing').outerHTML + document.querySelector('#stations').outerHTML";
    let kept = page.eval(shown).await;
    assert_ne!(page.eval(drawn).await, before);
    page.go(&bench.url()).await;
    assert_eq!(page.eval(shown).await, kept);
}

/// How often the page has asked for its parts and was answered.
const ANSWERS: &str = "performance.getEntriesByType('resource') \
    .filter((e) => e.name.includes('/bench?') && e.responseEnd > 0).length";

/// The first reading makes the button that a finger is on anew.
#[tokio::test]
async fn a_touch_is_not_lost_to_a_reading_that_comes_in_between() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::new();
    let mut page = bench.at_job(browser).await;
    page.touch("#steps [data-step=found]").await;
    at_step(&mut page, "found").await;
    let skip = "#bar [data-command*=skip]";
    let place = page.press(skip).await;
    let before = page.eval(ANSWERS).await.as_u64().unwrap();
    bench.send(45.98);
    page.until(&format!("{ANSWERS} > {before}")).await;
    page.release(place).await;
    // The reading is at 0°, what was touched passes the next one over.
    page.reads("#next .angle", "60°").await;
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

pub(crate) async fn at_step(page: &mut Page, step: &str) {
    page.until(&format!(
        "document.querySelector('#bench').dataset.step === '{step}'"
    ))
    .await;
}

#[tokio::test]
async fn a_value_of_the_moment_is_no_reading_until_it_is_taken() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let bench = Bench::with("", "rocking-mm");
    let mut page = bench.at_job(browser).await;
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
