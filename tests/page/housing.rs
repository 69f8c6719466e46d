//! The forms that say what the housing is and what was felt: what they show, and what they send.

use borewright::job::PlanKind;
use serde_json::json;

use crate::chromium::{self, Page};
use crate::german::get;
use crate::looks::serve;
use crate::scene::Scene;
use crate::scenes;

/// A seat of aluminium with walls of 3.0 and 1.6 mm.
fn two_walls() -> Scene {
    let mut scene = Scene::new();
    let text = include_str!("../../config/seats/pressfit-46.toml")
        .replace("\"pressfit-46\"", "\"two-walls\"")
        .replace("angles = 6", "angles = 6\nmaterial = \"aluminium\"")
        .replace("face_mm = 0.0", "face_mm = 0.0\nwall_mm = 3.0")
        .replace("face_mm = 68.0", "face_mm = 68.0\nwall_mm = 1.6");
    scene.shop.seats.add("two-walls.toml", &text).unwrap();
    scene.open("Cargo tricycle", "two-walls", PlanKind::Seat);
    scene
}

#[tokio::test]
async fn a_wall_that_differs_by_bore_is_not_shown_as_one() {
    let html = get(&serve(two_walls()).await, "/bench?step=insert&lang=en").await;
    let (_, wall) = html.split_once("<input id=\"wall\"").unwrap();
    let (wall, _) = wall.split_once('>').unwrap();
    assert!(wall.contains("placeholder=\"differs by bore\""), "{wall}");
    assert!(!wall.contains("value="), "{wall}");
}

/// What nobody touched is not said again, what was emptied is taken back.
#[tokio::test]
async fn the_form_sends_what_was_changed() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let url = serve(two_walls()).await;
    let mut page = Page::start(browser).await;
    page.go(&format!("{url}?step=insert&lang=en")).await;
    page.until("document.querySelector('#housing form')").await;
    let mut sends = async |change: &str| {
        page.eval(&format!(
            "import('/send.js').then(({{ commandOf }}) => {{ const form = document.querySelector('#housing form'), \
             of = form.elements; {change}; return commandOf(form); }})"
        ))
        .await
    };
    let only = json!({"command": "set_housing", "yield_mpa": 400});
    assert_eq!(sends("of.yield_mpa.value = '400'").await, only);
    let both = json!({"command": "set_housing", "yield_mpa": 400, "service_c": [-10, 60]});
    let service = "of['service_c/0'].value = '-10'; of['service_c/1'].value = '60'";
    assert_eq!(sends(service).await, both);
    let taken_back = json!({
        "command": "set_housing", "material": null, "wall_mm": 2.5, "yield_mpa": null, "service_c": null,
    });
    let emptied = "for (const name of ['yield_mpa', 'service_c/0', 'service_c/1']) { \
         of[name].defaultValue = '9'; of[name].value = ''; } \
         of.material.value = ''; of.wall_mm.value = '2.5'";
    assert_eq!(sends(emptied).await, taken_back);
}

/// Each touch, and the angle that is typed, says its own alone: what else was noted meanwhile stays.
#[tokio::test]
async fn what_was_felt_is_sent_bit_by_bit() {
    let Some(browser) = chromium::find() else {
        return;
    };
    let url = serve(scenes::complaint()).await;
    let mut page = Page::start(browser).await;
    page.go(&format!("{url}?step=complaint&lang=en")).await;
    page.until("document.querySelector('form.degrees')").await;
    let felt = |evidence| json!({"command": "set_evidence", "evidence": evidence});
    let typed = "import('/send.js').then(({ commandOf }) => { const form = \
                 document.querySelector('form.degrees'); form.elements[0].value = '42,5'; \
                 return commandOf(form); })";
    assert_eq!(
        page.eval(typed).await,
        felt(json!({"tight_towards_deg": 42.5}))
    );
    for (touched, evidence) in [
        (
            ".question:nth-of-type(3) .answers button:first-child",
            json!({"gritty": true}),
        ),
        (
            ".question:nth-of-type(1) .answers button:last-child",
            json!({"runs_tight": null}),
        ),
        (
            ".hours button:first-child",
            json!({"tight_towards_deg": 0.0}),
        ),
        (".hours .wide", json!({"tight_towards_deg": null})),
    ] {
        let sent = page
            .eval(&format!(
                "document.querySelector('{touched}').dataset.command"
            ))
            .await;
        let sent: serde_json::Value = serde_json::from_str(sent.as_str().unwrap()).unwrap();
        assert_eq!(sent, felt(evidence));
    }
}
