//! Where the pages are. Files are read on a thread that may wait for the disk.

use std::path::PathBuf;
use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use axum::routing::get;

use super::frame::{answer, failed};
use super::{job, learned, list};
use crate::display::compressed;
use crate::display::words::Language;
use crate::job::Shop;
use crate::memory::{Error, Lessons, Records, Shelf, Trouble};

/// What every answer is made from.
#[derive(Clone)]
struct Shelved {
    shelf: Arc<Shelf>,
    shop: Arc<Shop>,
    language: Option<Language>,
}

/// `GET /jobs`, `/jobs/ID` and `/learned`, of what stands on `shelf`. `shop` is what an open job's plan
/// rests on; `language` is the shop's, without it each browser's own is taken.
pub fn router(shelf: Arc<Shelf>, shop: Shop, language: Option<Language>) -> Router {
    let shelved = Shelved {
        shelf,
        shop: Arc::new(shop),
        language,
    };
    Router::new()
        .route("/jobs", get(jobs))
        .route("/jobs/{job}", get(one_job))
        .route("/learned", get(lessons))
        .with_state(shelved)
        .layer(compressed())
}

impl Shelved {
    fn language(&self, asked: &str, headers: &HeaderMap) -> Language {
        let wished = || {
            let header = headers.get(header::ACCEPT_LANGUAGE)?.to_str().ok()?;
            Language::accepted(header)
        };
        Language::by_tag(asked)
            .or(self.language)
            .or_else(wished)
            .unwrap_or_default()
    }

    /// Reads the shelf and makes an answer of it, where files may be read.
    async fn read(
        self,
        lang: Language,
        make: impl FnOnce(&Records, &Shop) -> Result<Response, Error> + Send + 'static,
    ) -> Response {
        let read = tokio::task::spawn_blocking(move || {
            let records = self.shelf.read()?;
            make(&records, &self.shop)
        });
        match read.await {
            Ok(Ok(response)) => response,
            Ok(Err(error)) => failed(lang, &error),
            Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
        }
    }
}

async fn jobs(
    State(shelved): State<Shelved>,
    Query(asked): Query<list::Asked>,
    headers: HeaderMap,
) -> Response {
    let lang = shelved.language(&asked.lang, &headers);
    let make = move |records: &Records, _: &Shop| {
        Ok(answer(StatusCode::OK, list::show(lang, records, &asked)))
    };
    shelved.read(lang, make).await
}

async fn one_job(
    State(shelved): State<Shelved>,
    Path(words): Path<String>,
    Query(asked): Query<job::Asked>,
    headers: HeaderMap,
) -> Response {
    let lang = shelved.language(&asked.lang, &headers);
    let make = move |records: &Records, shop: &Shop| {
        let entry = records.find(&words)?;
        let record = records.record(entry, shop)?;
        // A job whose events are lost still has its record.
        let (events, damaged) = match records.events(entry) {
            Ok(read) => read,
            Err(Error::Journal(error)) => (Vec::new(), vec![error]),
            Err(error) => return Err(error),
        };
        let troubles: Vec<Trouble> = damaged
            .iter()
            .map(|error| Trouble {
                file: PathBuf::from(entry.job.to_string()),
                why: error.to_string(),
            })
            .collect();
        let shown = job::Shown {
            entry,
            record: &record,
            events: &events,
            troubles: &troubles,
            older: records.revisions(entry).saturating_sub(1),
        };
        Ok(answer(StatusCode::OK, job::show(lang, &shown, &asked)))
    };
    shelved.read(lang, make).await
}

async fn lessons(
    State(shelved): State<Shelved>,
    Query(asked): Query<job::Asked>,
    headers: HeaderMap,
) -> Response {
    let lang = shelved.language(&asked.lang, &headers);
    let make = move |records: &Records, _: &Shop| {
        let lessons = Lessons::of(records.entries().iter().map(|entry| &**entry));
        let page = learned::show(lang, &lessons, records.troubles());
        Ok(answer(StatusCode::OK, page))
    };
    shelved.read(lang, make).await
}
