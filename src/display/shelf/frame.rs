//! What the pages of the shelf share: head, way back to the bench, how an answer is sent.

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};

use crate::display::words::{self, Language};
use crate::memory::{Error, Trouble};

/// What these pages may load and do: their own style sheet, their own forms, and no script at all.
const POLICY: &str = "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; \
    base-uri 'none'; frame-ancestors 'none'";

/// Which of the pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Here {
    Jobs,
    Job,
    Learned,
}

/// A whole page.
pub(super) fn page(lang: Language, here: Here, title: &str, main: &Markup) -> Markup {
    let to = |path: &str| format!("{path}?lang={}", lang.tag());
    let current = |of: Here| (here == of).then_some("page");
    html! {
        (DOCTYPE)
        html lang=(lang.tag()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · Borewright" }
                link rel="icon" href="/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/page.css";
                link rel="stylesheet" href="/shelf.css";
            }
            body.shelf {
                header {
                    div #where { h1 { (title) } }
                    nav aria-label=(lang.say("shelf.ways")) {
                        a href=(to("/")) { (lang.say("shelf.bench")) }
                        a href=(to("/jobs")) aria-current=[current(Here::Jobs)] { (lang.say("shelf.jobs")) }
                        a href=(to("/learned")) aria-current=[current(Here::Learned)] { (lang.say("shelf.learned")) }
                    }
                }
                main { (main) }
            }
        }
    }
}

/// The files that were passed over.
pub(super) fn troubles(lang: Language, troubles: &[Trouble]) -> Markup {
    /// Said by name; the rest is counted.
    const NAMED: usize = 5;
    html! {
        @if !troubles.is_empty() {
            section.trouble role="note" {
                h2 { (lang.fill("shelf.passed-over", &[("count", &troubles.len())])) }
                ul { @for trouble in troubles.iter().take(NAMED) { li { (trouble.file.display()) ": " (words::told_within(lang, &trouble.why)) } } }
            }
        }
    }
}

/// A page as an answer.
pub(super) fn answer(status: StatusCode, page: Markup) -> Response {
    let mut response = (status, page.into_string()).into_response();
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_TYPE, "text/html; charset=utf-8"),
        (header::CACHE_CONTROL, "no-store"),
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}

/// Why there is no page, as a page.
pub(super) fn failed(lang: Language, error: &Error) -> Response {
    let status = match error {
        Error::NoneFound { .. } | Error::Several { .. } => StatusCode::NOT_FOUND,
        Error::NoFolder(_) | Error::Unlisted(..) | Error::Trouble(_) | Error::Journal(_) => {
            StatusCode::INTERNAL_SERVER_ERROR
        }
    };
    let title = lang.say("shelf.failed");
    let main = html! { p.trouble { (words::told(lang, &error.to_string())) } };
    answer(status, page(lang, Here::Job, title, &main))
}

/// An address with its query, each value as it has to be written there (RFC 3986, 2.1).
pub(super) fn address(path: &str, query: &[(&str, &str)]) -> String {
    let mut text = path.to_owned();
    let given = query.iter().filter(|(_, value)| !value.is_empty());
    for (number, (key, value)) in given.enumerate() {
        text.push(if number == 0 { '?' } else { '&' });
        text.push_str(key);
        text.push('=');
        for byte in value.bytes() {
            if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
                text.push(char::from(byte));
            } else {
                text.push_str(&format!("%{byte:02X}"));
            }
        }
    }
    text
}

/// The way to the page before and the one after, of `pages` in all, counted from 1.
pub(super) fn turning(
    lang: Language,
    at: usize,
    pages: usize,
    to: impl Fn(usize) -> String,
) -> Markup {
    html! {
        @if pages > 1 {
            nav.turning aria-label=(lang.say("shelf.pages")) {
                @if at > 1 { a href=(to(at - 1)) rel="prev" { (lang.say("shelf.before")) } }
                span { (lang.fill("shelf.page", &[("at", &at), ("pages", &pages)])) }
                @if at < pages { a href=(to(at + 1)) rel="next" { (lang.say("shelf.after")) } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_says_what_was_given_and_nothing_breaks_out_of_it() {
        let query = [("q", "a&b=\"c\" ü"), ("seat", ""), ("page", "2")];
        assert_eq!(
            address("/jobs", &query),
            "/jobs?q=a%26b%3D%22c%22%20%C3%BC&page=2"
        );
    }
}
