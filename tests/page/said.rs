//! What the page says, without a browser.

use borewright::bore::Contact;
use borewright::job::{Command, PlanKind, Sends};

use borewright::fit::plan::Work;

use crate::german::get;
use crate::looks::serve;
use crate::scenes::{self, Scene};

async fn page(scene: Scene, query: &str) -> String {
    get(&serve(scene).await, &format!("/bench?{query}")).await
}

/// The text of the element with this id, up to where the next part begins.
fn part<'a>(html: &'a str, id: &str) -> &'a str {
    let (_, after) = html
        .split_once(&format!("id=\"{id}\""))
        .unwrap_or_else(|| panic!("no {id} in {html}"));
    after.split(" data-part").nth(1).unwrap_or(after)
}

/// A mechanic who opens a job sees no reading that he took at the last one.
#[tokio::test]
async fn a_reading_of_another_job_is_not_shown_as_this_ones() {
    let mut scene = scenes::found(2);
    assert!(
        part(&page(scenes::found(2), "lang=en").await, "reading").contains("Stored: drive side")
    );
    scene.ask(Command::PutAside {});
    scene.open("Blue tandem", "pressfit-46", PlanKind::Seat);
    let html = page(scene, "lang=en").await;
    let reading = part(&html, "reading");
    assert!(reading.contains("No reading yet."), "{reading}");
    assert!(!reading.contains("Stored"), "{reading}");
}

/// Six directions leave three degrees of freedom: the one that lies furthest off is asked for again,
/// and neither gauge nor patience is blamed.
#[tokio::test]
async fn below_four_degrees_of_freedom_the_furthest_reading_is_one_touch_from_being_gauged_again() {
    let html = page(scenes::few(), "lang=en").await;
    assert!(
        html.contains("Too few directions to call it wrong"),
        "{html}"
    );
    assert!(
        html.contains("Drive side, 2.5 mm, 60° lies furthest off."),
        "{html}"
    );
    let touch = "{&quot;angle_deg&quot;:60.0,&quot;bore&quot;:&quot;drive side&quot;,&quot;command&quot;:&quot;go_to&quot;";
    assert!(part(&html, "suspects").contains(touch), "{html}");
    for advice in ["times better", "times in all"] {
        assert!(!html.contains(advice), "{advice}");
    }
}

#[tokio::test]
async fn a_german_word_means_one_thing() {
    let html = page(scenes::found(2), "lang=de").await;
    assert!(part(&html, "bar").contains(">Rückgängig<"));
    assert!(part(&html, "more").contains(">Zurück<"));
    // Days as they are written there.
    let html = page(scenes::crowded(1), "lang=de").await;
    assert!(
        html.contains("31.05.2024") && !html.contains("2024-05-31"),
        "{html}"
    );
    // A page that nobody named, opened in English, watched in German.
    let html = page(scenes::found(2).watched_from("The computer 42"), "lang=de").await;
    assert!(
        part(&html, "at-work").contains("Der Rechner 42"),
        "{}",
        part(&html, "at-work")
    );
    // The customer's report speaks as the page does.
    let html = page(scenes::done(), "lang=de&step=done").await;
    assert!(html.contains(".html?lang=de") && html.contains(".pdf?lang=de"));
}

/// What the field shows is of the bore that is next, whatever its size.
#[tokio::test]
async fn the_field_for_a_reading_shows_the_next_bores_target() {
    let mut scene = scenes::found(0);
    scene.ask(Command::PutAside {});
    scene.open("Hub", "hub-17x30x7", PlanKind::Quick);
    let target = scene.shop.seats.get("hub-17x30x7").unwrap().bores[0].target_mm;
    let html = page(scene, "lang=en&step=found").await;
    assert!(
        html.contains(&format!("placeholder=\"{target:.3}\"")),
        "{target}"
    );
    assert!(!html.contains("45.963"));
}

#[tokio::test]
async fn a_gauge_out_of_date_has_a_mark_of_its_own_and_a_bore_outside_is_nowhere_a_seat() {
    let html = page(scenes::crowded(1), "lang=en").await;
    let gauges = part(&html, "gauges");
    assert!(gauges.contains("class=\"gauge past\""), "{gauges}");
    assert!(gauges.contains("class=\"gauge\""), "{gauges}");
    let html = page(scenes::far(), "lang=en").await;
    assert!(html.contains("nowhere within limits"), "{html}");
    assert!(!html.contains("over 0.0 mm"));
}

/// The way on from what was gauged as left: to the fitting only where every bore is accepted.
#[tokio::test]
async fn a_bore_not_accepted_does_not_invite_to_the_fitting() {
    let strong = |html: &str| {
        let (_, after) = html.split_once("class=\"strong on\"").unwrap();
        after.split('>').next().unwrap().to_owned()
    };
    let html = page(scenes::mended(), "lang=en").await;
    assert!(strong(&html).contains("data-step=\"fitting\""), "{html}");
    let html = page(scenes::spoilt(), "lang=en").await;
    assert!(html.contains("not accepted"), "{html}");
    assert!(strong(&html).contains("data-step=\"findings\""), "{html}");
    assert!(
        html.contains("<button type=\"button\" data-step=\"fitting\">Go on: fitting<"),
        "{html}"
    );
}

/// A three-point gauge shows no oval, however often it turns.
#[tokio::test]
async fn a_three_point_gauge_is_followed_by_a_two_point_gauge() {
    let html = page(scenes::three_point_all(), "lang=en").await;
    assert!(
        html.contains("Gauge again with a two-point gauge"),
        "{html}"
    );
    let chosen = part(&html, "task");
    assert!(chosen.contains("needs a job of its own"), "{chosen}");
    assert!(!chosen.contains("second_turn"), "{chosen}");
    let html = page(scenes::few(), "lang=en&step=findings").await;
    assert!(html.contains("<h4>Gauge again</h4>"), "{html}");
}

/// No touch more: the page shows the stations of the bore that is gauged again, the first of them next.
#[tokio::test]
async fn to_gauge_again_shows_the_first_of_the_stations() {
    let mut scene = scenes::judged();
    scene.choose("drive side", Work::GaugeAgain, None);
    let html = page(scene, "lang=en").await;
    let next = part(&html, "next");
    assert!(next.contains("180°"), "{next}");
    assert!(next.contains("Drive side"), "{next}");
}

/// Half of the directions are too few; of more it is said what is missing.
#[tokio::test]
async fn a_section_on_the_way_says_what_is_missing_where_it_is_not_the_number() {
    let gauged = |count| {
        let mut scene = Scene::with_gauge(Contact::TwoPoint, Sends::Size);
        scene.open("Cargo tricycle, number 12", "pressfit-46", PlanKind::Full);
        for _ in 0..count {
            scene.send(45.975);
        }
        scene
    };
    let few = page(gauged(6), "lang=en").await;
    assert!(part(&few, "verdict").contains("Too few to judge."), "{few}");
    let most = page(gauged(7), "lang=en").await;
    let verdict = part(&most, "verdict");
    assert!(verdict.contains("7 of 12 gauged here"), "{verdict}");
    assert!(!verdict.contains("Too few"), "{verdict}");
    assert!(
        verdict.contains("was not gauged: gauge all round"),
        "{verdict}"
    );
}
