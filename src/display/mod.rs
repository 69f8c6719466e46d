//! The bench page: what the mechanic looks at.
//!
//! All wording happens here, in Rust: `GET /` is the whole page, `GET /bench` its
//! moving parts as HTML made from the present state. The script puts those parts in place, sends
//! commands to `POST /commands`, and makes sounds; it computes no number. The feed tells it that
//! something changed, and the news of the moment that no state holds (a disk that is full).
//!
//! | path | what |
//! | --- | --- |
//! | `GET /` | the page |
//! | `GET /bench?step=&bore=&depth_mm=&phase=&view=&lang=&held=` | the moving parts; the query pins step and section; of those that the answer `held` has, none |
//! | `GET /said?text=&lang=` | a sentence of the daemon in the page's language, for the script |
//! | `GET /drawing.svg?bore=&depth_mm=&phase=&view=` | a drawing alone: `face`, `unrolled`, `along` |
//! | `GET /page.css`, `/page.js` and its modules, `/icon.svg` | what the page needs, nothing from elsewhere |

mod assets;
mod bench;
mod delta;
mod drawn;
mod findings;
mod health;
mod parts;
mod screens;
mod sentences;
pub mod shelf;
mod step;
mod suspect;
mod words;

pub use words::Language;
pub(crate) use words::tied;

use std::fmt::Display;
use std::sync::{Arc, Mutex, PoisonError};

use axum::Router;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use futures_util::future::{BoxFuture, FutureExt as _};
use tower_http::CompressionLevel;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::SizeAbove;

use self::bench::Look;
use self::delta::Sent;
use crate::job::View;
use crate::units::Moment;

/// What the page may load and do: its own files, its own daemon, nothing else; nobody may frame it.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
    connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'";

/// Where the present state comes from.
type Source = Arc<dyn Fn() -> BoxFuture<'static, Result<Arc<str>, Unshown>> + Send + Sync>;

/// What every answer is made from.
#[derive(Clone)]
struct Page {
    source: Source,
    /// The shop's language; none: as each browser prefers.
    language: Option<Language>,
    /// What pages were sent.
    sent: Arc<Mutex<Sent>>,
}

/// Why the page can't be made.
#[derive(Debug, thiserror::Error)]
enum Unshown {
    #[error("The bench does not answer: {0}.")]
    Gone(String),
    #[error("The present state can't be read ({0}): restart the daemon, then load the page again.")]
    Unreadable(#[from] serde_json::Error),
    #[error("There is nothing to draw: open a job, or name a bore and depth of its seat.")]
    Nothing,
}

/// The page's routes. `state` gives the present state, the JSON of `GET /state`: the page reads
/// what every other program can read, and nothing else.
/// `language` is the shop's; without it each browser's own is taken.
pub fn router<F, E>(
    state: impl Fn() -> F + Send + Sync + 'static,
    language: Option<Language>,
) -> Router
where
    F: Future<Output = Result<Arc<str>, E>> + Send + 'static,
    E: Display,
{
    let source: Source = Arc::new(move || {
        let state = state();
        async move { state.await.map_err(|gone| Unshown::Gone(gone.to_string())) }.boxed()
    });
    Router::new()
        .route("/", get(page))
        .route("/bench", get(moving_parts))
        .route("/drawing.svg", get(drawing_alone))
        .route("/said", get(said))
        .with_state(Page {
            source,
            language,
            sent: Arc::default(),
        })
        .merge(assets::router())
        .layer(compressed())
}

/// Long answers are compressed for a tablet on a slow radio; short ones, such as follow each reading,
/// go as they are.
pub(crate) fn compressed() -> CompressionLayer<SizeAbove> {
    CompressionLayer::new()
        .quality(CompressionLevel::Fastest)
        .compress_when(SizeAbove::new(8 * 1024))
}

impl Page {
    async fn read(&self) -> Result<View, Unshown> {
        Ok(serde_json::from_str(&(self.source)().await?)?)
    }

    /// The language asked for in the address, else the shop's, else the browser's, else English.
    fn language(&self, asked: Option<Language>, headers: &HeaderMap) -> Language {
        let wished = || {
            let header = headers.get(header::ACCEPT_LANGUAGE)?.to_str().ok()?;
            Language::accepted(header)
        };
        asked.or(self.language).or_else(wished).unwrap_or_default()
    }
}

async fn page(State(page): State<Page>, Query(look): Query<Look>, headers: HeaderMap) -> Response {
    let lang = page.language(look.language(), &headers);
    let read = page.read().await;
    let page = read.map(|view| bench::page(lang, &view, &look, Moment::now()).into_string());
    answer(lang, page, "text/html; charset=utf-8")
}

/// What the script is told in English: a refusal, the news of the moment.
#[derive(serde::Deserialize)]
struct Said {
    lang: Option<String>,
    text: String,
}

async fn said(State(page): State<Page>, Query(said): Query<Said>, headers: HeaderMap) -> Response {
    let asked = said.lang.as_deref().and_then(Language::by_tag);
    let lang = page.language(asked, &headers);
    let told = lang.reason(&said.text);
    answer(lang, Ok(told), "text/plain; charset=utf-8")
}

async fn moving_parts(
    State(page): State<Page>,
    Query(look): Query<Look>,
    headers: HeaderMap,
) -> Response {
    let lang = page.language(look.language(), &headers);
    let read = page.read().await;
    let parts = read.map(|view| {
        let parts = bench::moving_parts(lang, &view, &look, Moment::now()).into_string();
        // What is remembered is whole after every change, so a panic elsewhere did it no harm.
        let mut sent = page.sent.lock().unwrap_or_else(PoisonError::into_inner);
        sent.answer(&parts, look.held.as_deref())
    });
    answer(lang, parts, "text/html; charset=utf-8")
}

async fn drawing_alone(
    State(page): State<Page>,
    Query(look): Query<Look>,
    headers: HeaderMap,
) -> Response {
    let lang = page.language(look.language(), &headers);
    let drawing = page.read().await.and_then(|view| {
        let job = view.on_bench.as_ref().ok_or(Unshown::Nothing)?;
        let shown = bench::focus(&view, job, &look).ok_or(Unshown::Nothing)?;
        let drawing =
            findings::drawn(lang, job, &shown, look.view, None).ok_or(Unshown::Nothing)?;
        Ok(drawing.into_string())
    });
    answer(lang, drawing, "image/svg+xml")
}

fn answer(lang: Language, body: Result<String, Unshown>, kind: &'static str) -> Response {
    let (status, kind, body) = match body {
        Ok(body) => (StatusCode::OK, kind, body),
        Err(why) => {
            let status = match why {
                Unshown::Nothing => StatusCode::NOT_FOUND,
                Unshown::Gone(_) => StatusCode::SERVICE_UNAVAILABLE,
                Unshown::Unreadable(_) => StatusCode::INTERNAL_SERVER_ERROR,
            };
            (
                status,
                "text/plain; charset=utf-8",
                lang.reason(&why.to_string()),
            )
        }
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
