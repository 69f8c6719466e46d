//! Keeps other pages in the same browser away from the job.
//!
//! A page from elsewhere can make the browser send requests here. It is told apart in three ways:
//! the name in `Host` must be one that only this machine can have (a name that an attacker's own
//! name server points here is not), an `Origin` must be the very address that is asked, and what
//! the browser itself says about the asking page (`Sec-Fetch-Site`) must not be another site.

use std::net::{IpAddr, SocketAddr};

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, Method, StatusCode, header, uri::Authority};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// By which names the daemon may be addressed.
#[derive(Debug, Clone)]
pub struct Guard {
    loopback_only: bool,
    names: Vec<String>,
}

impl Guard {
    /// For a daemon that listens on `listen`. Beside `localhost` and addresses, `names` are
    /// accepted, such as the machine's name in the workshop's network.
    pub fn new(listen: SocketAddr, names: &[String]) -> Self {
        let names = names.iter().map(|name| name.to_ascii_lowercase()).collect();
        Self {
            loopback_only: listen.ip().is_loopback(),
            names,
        }
    }

    /// Why a request is refused; `Ok` where it isn't.
    fn judge(&self, request: &Request) -> Result<(), &'static str> {
        let headers = request.headers();
        let host = one(headers, &header::HOST)?.ok_or("a request must say which host it is for")?;
        let host: Authority = host
            .parse()
            .map_err(|_| "the host that was asked for is no name")?;
        if !self.is_ours(&host)
            || request
                .uri()
                .authority()
                .is_some_and(|asked| *asked != host)
        {
            return Err(
                "this is not the name of this daemon: use the address that it printed at \
                        its start, or list the name in the configuration",
            );
        }
        if let Some(origin) = one(headers, &header::ORIGIN)? {
            let asked = origin
                .strip_prefix("http://")
                .or_else(|| origin.strip_prefix("https://"));
            if !asked.is_some_and(|asked| asked.eq_ignore_ascii_case(host.as_str())) {
                return Err("requests from other sites' pages are refused");
            }
        }
        let site = one(headers, &HeaderName::from_static("sec-fetch-site"))?;
        let mode = one(headers, &HeaderName::from_static("sec-fetch-mode"))?;
        // A link on another page may lead here: that is a person who follows it.
        let followed = mode == Some("navigate") && request.method() == Method::GET;
        if matches!(site, Some("cross-site" | "same-site")) && !followed {
            return Err("requests from other sites' pages are refused");
        }
        Ok(())
    }

    fn is_ours(&self, host: &Authority) -> bool {
        let name = host.host().to_ascii_lowercase();
        // An address as such can't be pointed elsewhere: a page that uses it came from it.
        let address = name
            .trim_start_matches('[')
            .trim_end_matches(']')
            .parse::<IpAddr>();
        match address {
            Ok(address) => address.is_loopback() || !self.loopback_only,
            Err(_) => name == "localhost" || self.names.contains(&name),
        }
    }
}

/// The value of a header that may come once.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Result<Option<&'a str>, &'static str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next().map(|value| value.to_str());
    match (value, values.next()) {
        (None, _) => Ok(None),
        (Some(Ok(value)), None) => Ok(Some(value)),
        _ => Err("a header that says who asks is there twice or unreadable"),
    }
}

/// The middleware: lay it over the whole router with
/// `axum::middleware::from_fn_with_state(guard, guard::check)`.
pub async fn check(State(guard): State<Guard>, request: Request, next: Next) -> Response {
    match guard.judge(&request) {
        Ok(()) => next.run(request).await,
        Err(why) => {
            tracing::warn!("{} {}: {why}", request.method(), request.uri().path());
            (StatusCode::FORBIDDEN, format!("{why}\n")).into_response()
        }
    }
}
