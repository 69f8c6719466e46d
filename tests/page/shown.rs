//! What is shown beside a number, or in its place, without a browser.

use borewright::bore::Contact;
use borewright::job::{Command, EvidenceChange, Phase, PlanKind, Sends};

use crate::german::get;
use crate::looks::serve;
use crate::scenes::{self, Scene};

async fn page(scene: Scene, query: &str) -> String {
    get(&serve(scene).await, &format!("/bench?lang=en&{query}")).await
}

/// From the element with this id to its end.
fn section<'a>(html: &'a str, id: &str) -> &'a str {
    let (_, after) = html
        .split_once(&format!("id=\"{id}\""))
        .unwrap_or_else(|| panic!("{id}"));
    after.split("</section>").next().unwrap_or(after)
}

/// The text without its tags.
fn text(html: &str) -> String {
    let runs = html
        .split('<')
        .map(|run| run.split_once('>').map_or(run, |(_, text)| text));
    runs.collect::<Vec<_>>().join("|").replace('\u{a0}', " ")
}

fn without_a_ring(stations: usize) -> Scene {
    let mut scene = Scene::with_gauge(Contact::TwoPoint, Sends::Size);
    scene.open("Cargo tricycle, number 12", "pressfit-46", PlanKind::Seat);
    scene.gauge(stations)
}

/// A size that no ring stands behind is drawn as the report draws it: the form alone.
#[tokio::test]
async fn without_a_ring_no_size_is_drawn_against_limits() {
    let html = page(without_a_ring(6), "step=found").await;
    let drawing = section(&html, "drawing");
    let said = text(drawing);
    assert!(
        said.contains("size not set,") && said.contains("oval, tight"),
        "{said}"
    );
    assert!(!drawing.contains("class=\"band"), "{drawing}");
    assert!(!said.contains("45.9") && !said.contains("46.0"), "{said}");
    let html = page(without_a_ring(18), "step=found&view=along").await;
    assert!(section(&html, "drawing").contains("this view needs sizes"));
    let html = page(scenes::found(7), "step=found").await;
    assert!(section(&html, "drawing").contains("class=\"band"));
}

/// Three directions all round give an oval exactly: nothing says how far off it is. Three
/// neighbouring ones leave half of its period open, and give not even a mean.
#[tokio::test]
async fn what_nobody_knows_the_uncertainty_of_is_not_drawn_and_marked() {
    let mean = |html: &str| text(section(html, "numbers").split("</div>").next().unwrap());
    let mut all_round = scenes::found(1);
    for _ in [60.0, 120.0] {
        all_round.ask(Command::Skip {});
        all_round = all_round.gauge(1);
    }
    let html = page(all_round, "step=found").await;
    let said = text(section(&html, "drawing"));
    assert!(!said.contains("oval, "), "{said}");
    assert!(mean(&html).contains("45.9"), "{}", mean(&html));
    assert!(mean(&html).contains("± ?"), "{}", mean(&html));
    let html = page(scenes::found(3), "step=found").await;
    let said = text(section(&html, "drawing"));
    assert!(!said.contains("oval, "), "{said}");
    assert!(mean(&html).contains("—| gauge on"), "{}", mean(&html));
    let html = page(scenes::found(6), "step=found").await;
    assert!(text(section(&html, "drawing")).contains("oval, tight"));
    assert!(!section(&html, "numbers").contains("±\u{a0}?"));
}

/// While a section is gauged no sentence comes and goes beside its numbers.
#[tokio::test]
async fn what_waits_for_more_directions_says_so_in_two_words() {
    for gauged in 1..=4 {
        let html = page(scenes::found(gauged), "step=found").await;
        let numbers = text(section(&html, "numbers"));
        assert!(numbers.contains("gauge on"), "{gauged}: {numbers}");
        for sentence in ["arc of", "eeds 2 directions", "eeds 3 directions"] {
            assert!(!numbers.contains(sentence), "{gauged}: {numbers}");
        }
    }
}

/// A tick says that a step was done, and a step that was passed by has none.
#[tokio::test]
async fn a_step_that_was_passed_by_is_not_ticked() {
    let marks = |html: &str, step: &str| {
        let (_, after) = html
            .split_once(&format!("data-step=\"{step}\""))
            .unwrap_or_else(|| panic!("{step}"));
        after.split("</button>").next().unwrap().to_owned()
    };
    let html = page(without_a_ring(7), "step=found").await;
    let strip = html.split_once("id=\"step-list\"").unwrap().1;
    // The part is named with the job.
    let part = marks(strip, "complaint");
    assert!(part.contains('✓'), "{part}");
    for step in ["insert", "ring"] {
        let said = marks(strip, step);
        assert!(
            said.contains('–') && said.contains("not done"),
            "{step}: {said}"
        );
    }
    let html = page(scenes::mended(), "").await;
    let strip = html.split_once("id=\"step-list\"").unwrap().1;
    for step in ["complaint", "insert", "ring", "found", "findings", "work"] {
        let said = marks(strip, step);
        assert!(
            said.contains('✓') && !said.contains("not done"),
            "{step}: {said}"
        );
    }
}

#[tokio::test]
async fn the_section_that_is_drawn_is_named_at_the_drawing() {
    for (scene, step, said) in [
        (
            scenes::judged(),
            "findings",
            "Drive side, 2.5 mm deep, as found",
        ),
        (
            scenes::at_work(),
            "work",
            "Drive side, 2.5 mm deep, as found",
        ),
        (scenes::mended(), "left", "mm deep, as left"),
    ] {
        let html = page(scene, &format!("step={step}")).await;
        let drawing = text(section(&html, "drawing"));
        let (before, _) = drawing.split_once("0° ").unwrap();
        // Beside the drawing's own title, which nobody sees.
        assert!(before.matches(said).count() >= 1, "{before}");
        assert!(html.contains("<p class=\"caption\">"), "{step}");
    }
    let html = page(scenes::judged(), "step=findings&view=along").await;
    assert!(html.contains("<p class=\"caption\">The bores along their depth</p>"));
}

/// One number is a taper or none, in the table as on the drawing.
#[tokio::test]
async fn table_and_drawing_say_the_same_of_a_taper() {
    let html = page(scenes::found(18), "step=found&view=along").await;
    let numbers = text(section(&html, "numbers"));
    let of_taper = numbers.split_once("Taper of this bore").unwrap().1;
    let mut said = of_taper.split('|').filter(|text| !text.is_empty());
    let (size, words) = (said.next().unwrap(), said.next().unwrap());
    assert!(size.contains(" ±"), "{size}");
    let (words, _) = words.split_once(", over 7 mm").unwrap();
    assert_eq!(words, "wider inside");
    let drawing = text(section(&html, "drawing"));
    assert!(
        drawing.contains(&format!("|{size}|")),
        "{size} in {drawing}"
    );
    assert!(
        drawing.contains(&format!("|{words}|")),
        "{words} in {drawing}"
    );
}

/// The headline says that nothing can be told; the sentences under it say of what, and what to do.
#[tokio::test]
async fn that_nothing_can_be_told_is_said_once() {
    let html = page(scenes::few(), "step=found&bore=drive+side&depth=2.5").await;
    let said = text(section(&html, "verdict"));
    assert!(said.contains("|Can’t be told|"), "{said}");
    assert!(said.contains("gauge 60° again"), "{said}");
    assert!(!said.contains("too close to tell:"), "{said}");
}

/// A drive side that is round and to size at each depth and 0.031 mm wider at 9.5 mm than at 2.5 mm, the
/// other bore not gauged. What is wrong stands in the sentences, and so does what nobody looked at.
#[tokio::test]
async fn a_taper_and_a_bore_not_gauged_are_said_in_words() {
    let tapered = || {
        let mut scene = scenes::found(0);
        for mean_mm in [45.960, 45.975, 45.991] {
            for off_mm in [0.0, 0.001, 0.0, -0.001, 0.0, 0.0] {
                scene.send(mean_mm + off_mm);
            }
        }
        scene
    };
    let said = text(&page(tapered(), "step=findings").await);
    assert!(
        said.contains("Drive side, each depth by itself: round and to size."),
        "{said}"
    );
    let taper = "Drive side: 0.031 mm wider inside over 7 mm of depth, limit 0.025 mm.";
    assert!(said.contains(taper), "{said}");
    assert!(said.contains("|Non-drive side was not gauged.|"), "{said}");
    let said = text(&page(tapered(), "step=done").await);
    assert!(said.contains("|Non-drive side was not gauged.|"), "{said}");
}

/// What is shown largest doesn't go on to be called stored once it is taken back.
#[tokio::test]
async fn a_reading_taken_back_is_not_called_stored() {
    let line = |html: &str| text(section(html, "reading"));
    let mut scene = scenes::found(3);
    let before = line(&page(scenes::found(3), "step=found").await);
    assert!(before.contains("Stored: drive side"), "{before}");
    scene.ask(Command::Undo {});
    let after = line(&page(scene, "step=found").await);
    assert!(after.contains("|Counts no more:| drive side"), "{after}");
    assert!(!after.contains("Stored"), "{after}");
}

/// One sign for a minus, in what the page counts and in what the daemon says.
#[tokio::test]
async fn a_minus_is_a_minus_in_every_sentence() {
    let html = page(scenes::judged(), "step=findings").await;
    let said = text(&html);
    let (before, _) = said.split_once(" µm of internal clearance where").unwrap();
    let range = before.rsplit('|').next().unwrap();
    assert!(range.starts_with('\u{2212}'), "{range}");
    let letters: Vec<char> = said.chars().collect();
    let hyphens = letters
        .windows(3)
        .filter(|w| matches!(w[0], ' ' | '(' | '|') && w[1] == '-' && w[2].is_ascii_digit());
    assert_eq!(hyphens.count(), 0, "{said}");
}

/// The headline of the findings names what is likely beside the seat at fault.
#[tokio::test]
async fn what_is_likely_beside_the_seat_stands_in_the_headline() {
    let mut scene = scenes::judged();
    scene.ask(Command::SetEvidence {
        evidence: EvidenceChange {
            gritty: Some(Some(true)),
            ..EvidenceChange::default()
        },
    });
    let url = serve(scene).await;
    for (lang, said) in [
        ("en", "The seat is at fault; also likely: dirt"),
        ("de", "Der Sitz ist schuld; wahrscheinlich auch: Schmutz"),
    ] {
        let html = get(&url, &format!("/bench?lang={lang}&step=findings")).await;
        assert!(text(&html).contains(said), "{html}");
    }
}

/// A bore gauged only after the work is judged, and nothing is read into what changed.
#[tokio::test]
async fn a_bore_not_gauged_as_found_is_said_to_be_compared_with_nothing() {
    let mut scene = scenes::complaint().gauge(18);
    scene.ask(Command::SetPhase {
        phase: Phase::AsLeft,
    });
    let url = serve(scene.gauge(36)).await;
    for step in ["left", "done"] {
        let html = get(&url, &format!("/bench?lang=en&step={step}")).await;
        let said = "Non-drive side was not gauged as found: what the work changed is not known.";
        assert!(text(&html).contains(said), "{html}");
    }
}
