//! The bench page: what the mechanic looks at, and the drawing that page and report share.
//!
//! All wording and all drawing happens here, in Rust: `GET /` is the whole page, `GET /bench` its
//! moving parts as HTML made from the present state. The script puts those parts in place, sends
//! commands to `POST /commands`, and makes sounds; it knows no event and computes no number. The
//! feed only tells it that something changed.
//!
//! | path | what |
//! | --- | --- |
//! | `GET /` | the page |
//! | `GET /bench?bore=&depth_mm=&phase=` | the moving parts; the query pins the section shown |
//! | `GET /drawing.svg?bore=&depth_mm=&phase=` | the drawing alone |
//! | `GET /page.css`, `/page.js`, `/icon.svg` | what the page needs, nothing from elsewhere |

pub mod drawing;

mod assets;
mod bench;
mod forms;
mod parts;
mod state;
mod words;

use std::sync::Arc;

use axum::Router;
use axum::extract::{Query, State as Shared};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use self::bench::Look;
use self::state::State;

/// What the page may load and do: its own files, its own daemon, nothing else; nobody may frame it.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
    connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'";

/// Where the present state comes from: the JSON of `GET /state`.
type Source = Arc<dyn Fn() -> Arc<str> + Send + Sync>;

/// The page's routes. `state` returns the present state as `GET /state` serves it.
pub fn router(state: impl Fn() -> Arc<str> + Send + Sync + 'static) -> Router {
    let source: Source = Arc::new(state);
    Router::new()
        .route("/", get(page))
        .route("/bench", get(moving_parts))
        .route("/drawing.svg", get(drawing_alone))
        .with_state(source)
        .merge(assets::router())
}

/// The present state as the page reads it; a sentence where it can't.
fn read(source: &Source) -> Result<State, String> {
    serde_json::from_str(&source()).map_err(|error| {
        format!("The present state can't be shown ({error}). Page and daemon are of different versions: restart the daemon, then load the page again.")
    })
}

async fn page(Shared(source): Shared<Source>) -> Response {
    answer(
        read(&source).map(|state| bench::page(&state).into_string()),
        "text/html; charset=utf-8",
    )
}

async fn moving_parts(Shared(source): Shared<Source>, Query(look): Query<Look>) -> Response {
    answer(
        read(&source).map(|state| bench::moving_parts(&state, &look).into_string()),
        "text/html; charset=utf-8",
    )
}

async fn drawing_alone(Shared(source): Shared<Source>, Query(look): Query<Look>) -> Response {
    let svg = read(&source).and_then(|state| {
        state
            .on_bench
            .as_ref()
            .and_then(|job| bench::face(job, &bench::focus(&state, job, &look)?))
            .map(|face| face.svg().into_string())
            .ok_or_else(|| {
                "There is nothing to draw: open a job, or name a bore and depth of its seat.".into()
            })
    });
    answer(svg, "image/svg+xml")
}

fn answer(body: Result<String, String>, kind: &'static str) -> Response {
    let (status, kind, body) = match body {
        Ok(body) => (StatusCode::OK, kind, body),
        Err(why) => (StatusCode::NOT_FOUND, "text/plain; charset=utf-8", why),
    };
    let mut response = (status, body).into_response();
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    headers.insert(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(POLICY),
    );
    headers.insert(
        header::X_CONTENT_TYPE_OPTIONS,
        HeaderValue::from_static("nosniff"),
    );
    headers.insert(
        header::REFERRER_POLICY,
        HeaderValue::from_static("no-referrer"),
    );
    response
}
