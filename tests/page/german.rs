//! The page in German, without a browser: no sentence of the daemon is left in English on any step
//! of a job, and no number in it with a decimal point.

use serde_json::Value;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};

use borewright::display::Language;

use crate::looks::serve;
use crate::scenes::{self, Scene};

fn states() -> [(&'static str, Scene); 13] {
    [
        ("start", scenes::start()),
        ("empty", scenes::empty()),
        ("under way", scenes::found(2)),
        ("found", scenes::left(21)),
        ("not set", scenes::not_set()),
        ("few", scenes::few()),
        ("refused", scenes::refused()),
        ("three points", scenes::three_point()),
        ("unplugged", scenes::unplugged()),
        ("judged", scenes::judged()),
        ("mended", scenes::mended()),
        ("fitting", scenes::fitting()),
        ("done", scenes::done()),
    ]
}

const STEPS: [&str; 9] = [
    "complaint",
    "insert",
    "ring",
    "found",
    "findings",
    "work",
    "left",
    "fitting",
    "done",
];

pub(crate) async fn get(address: &str, path: &str) -> String {
    let host = address.trim_start_matches("http://").trim_end_matches('/');
    let mut stream = tokio::net::TcpStream::connect(host).await.unwrap();
    let ask = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    stream.write_all(ask.as_bytes()).await.unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await.unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    assert!(head.starts_with("HTTP/1.1 200"), "{path}: {answer}");
    body.to_owned()
}

#[tokio::test]
async fn no_step_of_a_job_shows_a_sentence_in_english() {
    let mut left = Vec::new();
    for (name, scene) in states() {
        let address = serve(scene).await;
        for step in STEPS {
            let html = get(&address, &format!("/bench?lang=de&step={step}")).await;
            for part in html.split("<span lang=\"en\">").skip(1) {
                let text = part.split("</span>").next().unwrap_or_default();
                left.push(format!("{name}, {step}: {text}"));
            }
        }
    }
    left.sort();
    left.dedup();
    assert!(left.is_empty(), "{}", left.join("\n"));
}

/// Whether it stands on the page or not: every sentence of the state has its German.
#[test]
fn every_sentence_of_the_state_has_its_german() {
    let (mut seen, mut left) = (0, Vec::new());
    for (name, scene) in states() {
        let state: Value = serde_json::from_str(&scene.state()).unwrap();
        sentences(&state, "", &mut |english| {
            seen += 1;
            match Language::De.told(english) {
                Some(german) if !has_point(&german) => {}
                Some(german) => left.push(format!("{name}: {german}")),
                None => left.push(format!("{name}: {english}")),
            }
        });
    }
    left.sort();
    left.dedup();
    assert!(seen > 500, "{seen}");
    assert!(left.is_empty(), "{}", left.join("\n"));
}

fn has_point(text: &str) -> bool {
    let bytes = text.replace("adjustable, set to 45.975", "").into_bytes();
    bytes
        .windows(3)
        .any(|w| w[0].is_ascii_digit() && w[1] == b'.' && w[2].is_ascii_digit())
}

/// The strings under the names that sentences have.
fn sentences(value: &Value, name: &str, see: &mut impl FnMut(&str)) {
    const NAMES: [&str; 8] = [
        "why", "summary", "reasons", "refused", "for", "against", "no_fit", "assumes",
    ];
    match value {
        Value::String(text) if NAMES.contains(&name) => see(text),
        Value::Array(values) => values.iter().for_each(|value| sentences(value, name, see)),
        Value::Object(fields) => {
            for (name, value) in fields {
                sentences(value, name, see);
            }
        }
        _ => {}
    }
}

#[tokio::test]
async fn the_script_is_told_a_refusal_in_german() {
    let address = serve(scenes::empty()).await;
    let of = |lang: &str| {
        format!("/said?lang={lang}&text=no+job+is+on+the+bench%3A+open+one%2C+or+take+one+up+again")
    };
    assert_eq!(
        get(&address, &of("de")).await,
        "kein Auftrag am Platz: einen eröffnen oder wieder aufnehmen"
    );
    assert_eq!(
        get(&address, &of("en")).await,
        "no job is on the bench: open one, or take one up again"
    );
    // What the book lacks comes back as it is.
    assert_eq!(get(&address, "/said?lang=de&text=moon").await, "moon");
}
