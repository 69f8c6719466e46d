//! How the page looks in each state of the bench, at each size of screen, light and dark: nothing
//! overlaps, is cut off, too small to touch or too faint to read, and axe-core finds no barrier.
//! Pictures go to `target/pictures/` when `BOREWRIGHT_PICTURES=1`.

use std::convert::Infallible;
use std::future::ready;
use std::path::Path;
use std::sync::Arc;

use axum::body::Body;
use axum::http::header;
use axum::routing::get;
use serde_json::json;

use crate::chromium::{self, Page, Screen};
use crate::scenes::{self, Scene};

pub(crate) const SCREENS: [Screen; 7] = [
    Screen {
        name: "phone-light",
        width: 390,
        height: 844,
        scale: 1,
        dark: false,
    },
    Screen {
        name: "phone-dark",
        width: 390,
        height: 844,
        scale: 1,
        dark: true,
    },
    Screen {
        name: "tablet-light",
        width: 1280,
        height: 800,
        scale: 1,
        dark: false,
    },
    Screen {
        name: "tablet-dark",
        width: 1280,
        height: 800,
        scale: 1,
        dark: true,
    },
    Screen {
        name: "desk-light",
        width: 1920,
        height: 1080,
        scale: 1,
        dark: false,
    },
    Screen {
        name: "desk-dark",
        width: 1920,
        height: 1080,
        scale: 1,
        dark: true,
    },
    // The tablet at 200 % zoom.
    Screen {
        name: "tablet-twice",
        width: 640,
        height: 400,
        scale: 2,
        dark: false,
    },
];

/// The least that a page lays out side by side.
const SMALL_TABLET: Screen = Screen {
    name: "small-tablet",
    width: 1024,
    height: 768,
    scale: 1,
    dark: false,
};

/// Wide and short: a notebook at 200 % zoom, and a small one.
const SHORT: [Screen; 2] = [
    Screen {
        name: "desk-twice",
        width: 960,
        height: 540,
        scale: 2,
        dark: false,
    },
    Screen {
        name: "netbook",
        width: 1024,
        height: 600,
        scale: 1,
        dark: false,
    },
];

/// Where axe-core looks: what it finds depends on layout and colours, not on the size alone.
const CHECKED: [&str; 3] = ["phone-light", "tablet-light", "tablet-dark"];

/// Whether only other scenes are wished for: `BOREWRIGHT_SCENE=found,left`.
fn left_aside(only: Option<&str>, name: &str) -> bool {
    only.is_some_and(|only| only.split(',').all(|only| only != name))
}

/// A daemon that only ever shows one state.
pub(crate) async fn serve(scene: Scene) -> String {
    let state: Arc<str> = scene.state().into();
    let page = borewright::display::router(move || ready(Ok::<_, Infallible>(state.clone())), None);
    let quiet = || async {
        let silence = futures_util::stream::pending::<Result<&[u8], Infallible>>();
        (
            [(header::CONTENT_TYPE, "text/event-stream")],
            Body::from_stream(silence),
        )
    };
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    tokio::spawn(async move { axum::serve(listener, page.route("/feed", get(quiet))).await });
    format!("http://{address}/")
}

#[tokio::test]
async fn nothing_is_cut_off_or_overlaps_in_any_state_on_any_screen() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let mut page = Page::start(browser).await;
    let states = [
        ("start", scenes::start()),
        ("empty", scenes::empty()),
        ("first", scenes::found(1)),
        ("found", scenes::found(10)),
        ("found-all", scenes::found(36)),
        ("refused", scenes::refused()),
        ("unreadable", scenes::unreadable()),
        ("unplugged", scenes::unplugged()),
        ("not-set", scenes::not_set()),
        ("three-point", scenes::three_point()),
        ("out-of-turn", scenes::out_of_turn()),
        ("left", scenes::left(21)),
        ("left-all", scenes::left(36)),
        ("long", scenes::long_words()),
        ("complaint", scenes::complaint()),
        ("insert", scenes::complaint()),
        ("ring", scenes::complaint()),
        ("rocked", scenes::rocked()),
        ("doubtful", scenes::doubtful(14)),
        ("crowded", scenes::crowded(14)),
        ("few", scenes::few()),
        ("few-rocked", scenes::few().rocked()),
        ("watched", scenes::crowded(14).watched()),
        ("doubtful-findings", scenes::doubtful(72)),
        ("left-out", scenes::left_out()),
        ("health", scenes::known_gauge()),
        ("swept", scenes::swept()),
        ("far", scenes::far()),
        ("unknown", scenes::unknown_housing()),
        ("hung", scenes::hung()),
        ("findings", scenes::judged()),
        ("work", scenes::at_work()),
        ("mended", scenes::mended()),
        ("spoilt", scenes::spoilt()),
        ("fitting", scenes::fitting()),
        ("done", scenes::done()),
    ];
    let only = std::env::var("BOREWRIGHT_SCENE").ok();
    let mut faults = Vec::new();
    for (name, state) in states {
        if left_aside(only.as_deref(), name) {
            continue;
        }
        let address = serve(state).await;
        for screen in SCREENS {
            page.fit(screen).await;
            // A step that the job has not reached by itself is asked for.
            let step = ["complaint", "insert", "ring"].contains(&name);
            let query = if step {
                format!("?step={name}")
            } else {
                String::new()
            };
            page.go(&format!("{address}{query}")).await;
            page.until(
                "document.querySelector('#sound') && document.querySelector('#gone').hidden",
            )
            .await;
            for fault in page.faults().await {
                faults.push(format!("{name}, {}: {fault}", screen.name));
            }
            picture(&mut page, &format!("{name}-{}", screen.name)).await;
            if CHECKED.contains(&screen.name) {
                for barrier in page.barriers().await {
                    faults.push(format!("{name}, {}: {barrier}", screen.name));
                }
            }
            if ["left", "not-set", "first"].contains(&name) {
                faults.extend(views(&mut page, name, screen).await);
            }
            if [
                "complaint",
                "insert",
                "ring",
                "findings",
                "doubtful-findings",
                "left-out",
                "unknown",
                "hung",
                "work",
                "mended",
                "fitting",
                "done",
            ]
            .contains(&name)
            {
                faults.extend(whole(&mut page, name, screen).await);
            }
            if name == "found"
                && ["tablet-light", "desk-light", "tablet-twice"].contains(&screen.name)
            {
                faults.extend(below_the_fold(&mut page, screen.name).await);
            }
            if name == "swept" {
                faults.extend(off_the_wall(&mut page, screen).await);
            }
            if ["found", "long"].contains(&name) {
                faults.extend(dialogs(&mut page, name, screen, &["more", "close"]).await);
            }
            if ["health", "unplugged"].contains(&name) {
                faults.extend(dialogs(&mut page, name, screen, &["gauge-0"]).await);
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

/// What is left in English, or with a decimal point, on a page that isn't English, outside what
/// somebody wrote down or named.
const ENGLISH_LEFT: &str = r"(() => {
    const copy = document.querySelector('#bench').cloneNode(true);
    copy.querySelectorAll('.notes, small, b').forEach(e => e.remove());
    const said = copy.textContent + [...copy.querySelectorAll('[aria-label]')].map(e => e.ariaLabel).join(' ');
    // A day has points in German too.
    const named = said.replaceAll('adjustable, set to 45.975', '').replace(/\d\d\.\d\d\.\d{4}/g, '');
    const english = /\b(the|and|of|is|it|are|not|from|to|side|seat|mm wide)\b|\d\.\d/gi;
    return [...copy.querySelectorAll('span[lang=en]')].map(e => e.textContent).concat(named.match(english) ?? []).join(', ');
})()";

/// The same in the other language, and in a system's own colours: neither cuts off a word.
#[tokio::test]
async fn the_other_language_and_forced_colours_fit_too() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let mut page = Page::start(browser).await;
    let mut faults = Vec::new();
    let states = [
        ("start", scenes::start()),
        ("left", scenes::left(21)),
        ("left-all", scenes::left(36)),
        ("doubtful", scenes::doubtful(14)),
        ("crowded", scenes::crowded(14)),
        ("few", scenes::few()),
        ("few-rocked", scenes::few().rocked()),
        ("watched", scenes::left(21).watched()),
        ("not-reached", scenes::found(2)),
        ("not-set", scenes::not_set()),
        ("unreadable", scenes::unreadable()),
        ("three-point-findings", scenes::three_point_all()),
        ("complaint", scenes::complaint()),
        ("insert", scenes::complaint()),
        ("ring", scenes::complaint()),
        ("rocked", scenes::rocked()),
        ("findings", scenes::judged()),
        ("work", scenes::at_work()),
        ("mended", scenes::mended()),
        ("spoilt", scenes::spoilt()),
        ("fitting", scenes::fitting()),
        ("done", scenes::done()),
    ];
    let only = std::env::var("BOREWRIGHT_SCENE").ok();
    for (name, state) in states {
        if left_aside(only.as_deref(), name) {
            continue;
        }
        let address = serve(state).await;
        let forced = [
            ("forced-colors", "active"),
            ("prefers-reduced-motion", "reduce"),
        ];
        for (look, screen, wishes) in [
            ("german", SCREENS[0], &[][..]),
            ("german", SCREENS[2], &[]),
            ("german", SMALL_TABLET, &[]),
            ("german", SHORT[0], &[]),
            ("german", SHORT[1], &[]),
            ("forced", SCREENS[3], &forced),
            ("large", SCREENS[0], &[]),
            ("large", SCREENS[2], &[]),
            ("large", SCREENS[4], &[]),
        ] {
            let lang = if look == "german" { "de" } else { "en" };
            let step = match name {
                "complaint" | "insert" | "ring" => format!("&step={name}"),
                "not-reached" => "&step=work".to_owned(),
                _ => String::new(),
            };
            page.fit_with(screen, wishes).await;
            // Who reads badly sets the browser's own type twice as large: 16 px is usual.
            let type_px = if look == "large" { 32 } else { 16 };
            page.call(
                "Page.setFontSizes",
                json!({"fontSizes": {"standard": type_px, "fixed": type_px}}),
            )
            .await;
            page.go(&format!("{address}?lang={lang}{step}")).await;
            page.until(
                "document.querySelector('#sound') && document.querySelector('#gone').hidden",
            )
            .await;
            for fault in page.faults().await {
                faults.push(format!("{name}, {look}, {}: {fault}", screen.name));
            }
            if name == "left" && look == "large" && screen.name == "tablet-light" {
                faults.extend(below_the_fold(&mut page, look).await);
            }
            if look == "german" {
                let left = page.eval(ENGLISH_LEFT).await;
                let left = left.as_str().unwrap_or("no answer");
                if !left.is_empty() {
                    faults.push(format!(
                        "{name}, {look}, {}: still English: {left}",
                        screen.name
                    ));
                }
            }
            picture(&mut page, &format!("{name}-{}-{look}", screen.name)).await;
            if look == "german" && ["left", "crowded", "watched"].contains(&name) {
                faults.extend(views(&mut page, &format!("{name}, {look}"), screen).await);
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(page.complaints.is_empty(), "{:?}", page.complaints);
}

/// The next station where one has to scroll for it.
async fn below_the_fold(page: &mut Page, screen: &str) -> Option<String> {
    let ends =
        "document.querySelector('#next .clock').getBoundingClientRect().bottom - innerHeight";
    let below = page.eval(ends).await.as_f64().unwrap();
    (below > 0.0).then(|| format!("the next station ends {below} px below the screen, {screen}"))
}

/// Stations that don't lie on the wall that was fitted to them. The oval's own scatter is nought.
async fn off_the_wall(page: &mut Page, screen: Screen) -> Vec<String> {
    let apart = page
        .eval(
            "(() => { const wall = document.querySelector('.face .profile:not([id$=legend])'), all = wall.getTotalLength(); \
             const on = Array.from({length: 721}, (_, i) => wall.getPointAtLength(all * i / 720)); \
             return Math.max(...[...document.querySelectorAll('.face .measured')].map((dot) => \
               Math.min(...on.map((p) => Math.hypot(p.x - dot.cx.baseVal.value, p.y - dot.cy.baseVal.value))))); })()",
        )
        .await;
    let apart = apart.as_f64().unwrap_or(f64::MAX);
    (apart > 2.0)
        .then(|| {
            format!(
                "swept, {}: a station {apart} units off the wall",
                screen.name
            )
        })
        .into_iter()
        .collect()
}

/// The other two drawings.
async fn views(page: &mut Page, name: &str, screen: Screen) -> Vec<String> {
    let mut faults = Vec::new();
    for view in ["unrolled", "along"] {
        page.touch(&format!("[data-view={view}]")).await;
        page.until(&format!(
            "document.querySelector('[data-view={view}][aria-pressed=true]')"
        ))
        .await;
        for fault in page.faults().await {
            faults.push(format!("{name}, {view}, {}: {fault}", screen.name));
        }
        picture(page, &format!("{name}-{}-{view}", screen.name)).await;
    }
    faults
}

/// A step's whole length, everything opened.
async fn whole(page: &mut Page, name: &str, screen: Screen) -> Vec<String> {
    page.eval("document.querySelectorAll('details').forEach(d => d.open = true)")
        .await;
    let mut faults = page.faults().await;
    if CHECKED.contains(&screen.name) {
        faults.extend(page.barriers().await);
    }
    let height = page
        .eval(
            "document.documentElement.scrollHeight + Math.max(0, ...[...document.querySelectorAll('.body')]\
             .map(e => e.scrollHeight - e.clientHeight))",
        )
        .await
        .as_f64()
        .unwrap();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a page's height"
    )]
    let tall = Screen {
        height: height as u32,
        ..screen
    };
    page.fit(tall).await;
    picture(page, &format!("{name}-{}-whole", screen.name)).await;
    page.fit(screen).await;
    faults
        .into_iter()
        .map(|fault| format!("{name}, all of it, {}: {fault}", screen.name))
        .collect()
}

/// What is below the first screen, and the dialogs.
async fn dialogs(page: &mut Page, name: &str, screen: Screen, all: &[&str]) -> Vec<String> {
    let mut faults = Vec::new();
    page.eval("scrollTo(0, document.body.scrollHeight)").await;
    picture(page, &format!("{name}-{}-below", screen.name)).await;
    for dialog in all {
        page.eval(&format!("document.querySelector('#{dialog}').showModal()"))
            .await;
        for fault in page.faults().await {
            faults.push(format!("{name}, {dialog}, {}: {fault}", screen.name));
        }
        if CHECKED.contains(&screen.name) {
            for barrier in page.barriers().await {
                faults.push(format!("{name}, {dialog}, {}: {barrier}", screen.name));
            }
        }
        picture(page, &format!("{name}-{}-{dialog}", screen.name)).await;
        page.eval(&format!("document.querySelector('#{dialog}').close()"))
            .await;
    }
    faults
}

pub(crate) async fn picture(page: &mut Page, name: &str) {
    if std::env::var_os("BOREWRIGHT_PICTURES").is_some() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pictures");
        page.picture(&folder.join(format!("{name}.png"))).await;
    }
}
