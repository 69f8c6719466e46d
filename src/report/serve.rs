//! The report on the daemon's page: `GET /report/JOB.html` and `GET /report/JOB.pdf`, where JOB is
//! what [`find`](super::find) takes; `?lang=` in another language than the shop's.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use super::{Report, Source, Style, find, html};
use crate::display::{Language, compressed};
use crate::job::Shop;
use crate::memory::{Error, Shelf};

struct Reports {
    shelf: Arc<Shelf>,
    shop: Shop,
    style: Style,
}

/// The routes; records are read from `shelf` when they are asked for. What `shop` owns the plans of
/// open jobs rest on.
pub fn router(shelf: Arc<Shelf>, shop: Shop, style: Style) -> Router {
    Router::new()
        .route("/report/{file}", get(serve))
        .with_state(Arc::new(Reports { shelf, shop, style }))
        .layer(compressed())
}

#[derive(serde::Deserialize)]
struct Asked {
    lang: Option<String>,
}

async fn serve(
    State(reports): State<Arc<Reports>>,
    Path(file): Path<String>,
    Query(asked): Query<Asked>,
) -> Response {
    let lang = asked.lang.as_deref().and_then(Language::by_tag);
    // Reading waits for the disk, and a PDF takes its time: neither on the daemon's one thread.
    let made = tokio::task::spawn_blocking(move || reports.make(&file, lang)).await;
    let (status, kind, body) = match made {
        Ok(Ok((kind, body))) => (StatusCode::OK, kind, body),
        Ok(Err((status, why))) => (status, TEXT, why.into_bytes()),
        Err(error) => (
            StatusCode::INTERNAL_SERVER_ERROR,
            TEXT,
            format!("The report can't be made: {error}.").into_bytes(),
        ),
    };
    let mut response = (status, body).into_response();
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    headers.insert(
        header::X_CONTENT_TYPE_OPTIONS,
        HeaderValue::from_static("nosniff"),
    );
    headers.insert(
        header::REFERRER_POLICY,
        HeaderValue::from_static("no-referrer"),
    );
    let policy = format!("{}; frame-ancestors 'none'", html::policy());
    if let Ok(policy) = HeaderValue::from_str(&policy) {
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    response
}

const TEXT: &str = "text/plain; charset=utf-8";

impl Reports {
    fn make(
        &self,
        file: &str,
        lang: Option<Language>,
    ) -> Result<(&'static str, Vec<u8>), (StatusCode, String)> {
        let style = Style {
            language: lang.unwrap_or(self.style.language),
            ..self.style.clone()
        };
        let unknown = || {
            let why = "Ask for /report/JOB.html or /report/JOB.pdf.".to_owned();
            (StatusCode::NOT_FOUND, why)
        };
        let (job, kind) = file.rsplit_once('.').ok_or_else(unknown)?;
        if !matches!(kind, "html" | "pdf") {
            return Err(unknown());
        }
        let records = self.shelf.read();
        let found = records.and_then(|records| find(&records, job, &self.shop));
        let found = found.map_err(|error| {
            let status = match error {
                Error::NoneFound { .. } | Error::NoFolder(_) => StatusCode::NOT_FOUND,
                Error::Several { .. } => StatusCode::CONFLICT,
                _ => StatusCode::INTERNAL_SERVER_ERROR,
            };
            (status, error.to_string())
        })?;
        let source = Source {
            record: &found.record,
            sha256: found.sha256.as_deref(),
        };
        let report = Report::of(&source, &style);
        if kind == "html" {
            return Ok(("text/html; charset=utf-8", report.html().into_bytes()));
        }
        #[cfg(feature = "pdf")]
        return report
            .pdf(style.paper)
            .map(|pdf| ("application/pdf", pdf))
            .map_err(|error| (StatusCode::INTERNAL_SERVER_ERROR, error.to_string()));
        #[cfg(not(feature = "pdf"))]
        Err((
            StatusCode::NOT_FOUND,
            "This program was built without PDF: ask for the .html.".to_owned(),
        ))
    }
}
