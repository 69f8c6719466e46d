//! The page's own files, in the binary, named by their content to the browser's cache.

use axum::Router;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

struct Asset {
    path: &'static str,
    kind: &'static str,
    body: &'static str,
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

const ASSETS: [Asset; 10] = [
    Asset {
        path: "/page.css",
        kind: "text/css; charset=utf-8",
        body: include_str!("page.css"),
    },
    Asset {
        path: "/shelf.css",
        kind: "text/css; charset=utf-8",
        body: include_str!("shelf/shelf.css"),
    },
    Asset {
        path: "/page.js",
        kind: SCRIPT,
        body: include_str!("script/page.js"),
    },
    Asset {
        path: "/words.js",
        kind: SCRIPT,
        body: include_str!("script/words.js"),
    },
    Asset {
        path: "/place.js",
        kind: SCRIPT,
        body: include_str!("script/place.js"),
    },
    Asset {
        path: "/sound.js",
        kind: SCRIPT,
        body: include_str!("script/sound.js"),
    },
    Asset {
        path: "/feed.js",
        kind: SCRIPT,
        body: include_str!("script/feed.js"),
    },
    Asset {
        path: "/send.js",
        kind: SCRIPT,
        body: include_str!("script/send.js"),
    },
    Asset {
        path: "/work.js",
        kind: SCRIPT,
        body: include_str!("script/work.js"),
    },
    Asset {
        path: "/icon.svg",
        kind: "image/svg+xml",
        body: include_str!("icon.svg"),
    },
];

/// The script's own modules, so that the browser fetches them at once.
pub(super) const MODULES: [&str; 6] = [
    "/words.js",
    "/place.js",
    "/sound.js",
    "/feed.js",
    "/send.js",
    "/work.js",
];

pub(super) fn router() -> Router {
    ASSETS.iter().fold(Router::new(), |router, asset| {
        router.route(
            asset.path,
            get(move |headers: HeaderMap| serve(asset, headers)),
        )
    })
}

async fn serve(asset: &'static Asset, headers: HeaderMap) -> Response {
    let tag = format!(
        "\"{:08x}-{:x}\"",
        crc32fast::hash(asset.body.as_bytes()),
        asset.body.len()
    );
    let known = headers
        .get(header::IF_NONE_MATCH)
        .is_some_and(|held| held.as_bytes() == tag.as_bytes());
    let head = [
        (header::ETAG, tag),
        (header::CACHE_CONTROL, "no-cache".to_owned()),
        (header::CONTENT_TYPE, asset.kind.to_owned()),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff".to_owned()),
    ];
    if known {
        (StatusCode::NOT_MODIFIED, head).into_response()
    } else {
        (head, asset.body).into_response()
    }
}
