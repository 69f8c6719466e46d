//! A headless Chromium driven over its DevTools protocol, as little of it as the tests need.

use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use futures_util::{SinkExt as _, StreamExt as _};
use serde_json::{Value, json};
use tokio::net::TcpStream;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream, connect_async};

/// How long anything that should appear on a page may take before a test calls it missing.
const PATIENCE: Duration = Duration::from_secs(20);

/// The browser's path; none, with a word about it, where it isn't installed and the run does not
/// insist (`BOREWRIGHT_REQUIRE_ALL=1`).
pub(crate) fn find() -> Option<&'static str> {
    let found = [
        "/usr/bin/chromium",
        "/usr/bin/chromium-browser",
        "/usr/bin/google-chrome",
    ]
    .into_iter()
    .find(|path| Path::new(path).exists());
    if found.is_none() {
        assert!(
            std::env::var_os("BOREWRIGHT_REQUIRE_ALL").is_none(),
            "chromium not found: apt-get install chromium"
        );
        eprintln!("skipped: chromium not found (apt-get install chromium)");
    }
    found
}

/// A size of screen, and light or dark.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Screen {
    pub(crate) name: &'static str,
    pub(crate) width: u32,
    pub(crate) height: u32,
    /// Device pixels a page pixel: the same screen with text twice as large is half the size at
    /// twice the scale.
    pub(crate) scale: u32,
    pub(crate) dark: bool,
}

/// A page in a browser of its own.
pub(crate) struct Page {
    child: Child,
    socket: WebSocketStream<MaybeTlsStream<TcpStream>>,
    session: String,
    sent: u64,
    /// What the page complained of: errors of its script, refused loads, broken policy.
    pub(crate) complaints: Vec<String>,
    _profile: tempfile::TempDir,
}

impl Page {
    /// Starts a browser with an empty page.
    pub(crate) async fn start(browser: &str) -> Self {
        let profile = tempfile::tempdir().unwrap();
        let child = Command::new(browser)
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--hide-scrollbars",
                "--remote-debugging-port=0",
            ])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .arg("about:blank")
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let active = profile.path().join("DevToolsActivePort");
        let address = patiently("the browser's DevTools port", || {
            let text = std::fs::read_to_string(&active).ok()?;
            let (port, path) = text.split_once('\n')?;
            Some(format!("ws://127.0.0.1:{port}{}", path.trim_end()))
        })
        .await;
        let (socket, _) = connect_async(address).await.unwrap();
        let mut page = Self {
            child,
            socket,
            session: String::new(),
            sent: 0,
            complaints: Vec::new(),
            _profile: profile,
        };
        let target = page
            .call("Target.createTarget", json!({"url": "about:blank"}))
            .await;
        let attached = page
            .call(
                "Target.attachToTarget",
                json!({"targetId": target["targetId"], "flatten": true}),
            )
            .await;
        page.session = attached["sessionId"].as_str().unwrap().to_owned();
        for domain in [
            "Page.enable",
            "Runtime.enable",
            "Log.enable",
            "Network.enable",
        ] {
            page.call(domain, json!({})).await;
        }
        page
    }

    /// One DevTools call and its answer.
    pub(crate) async fn call(&mut self, method: &str, params: Value) -> Value {
        self.sent += 1;
        let id = self.sent;
        let mut message = json!({"id": id, "method": method, "params": params});
        if !self.session.is_empty() {
            message["sessionId"] = json!(self.session);
        }
        self.socket
            .send(Message::text(message.to_string()))
            .await
            .unwrap();
        loop {
            let Some(Ok(message)) = self.socket.next().await else {
                panic!("the browser went away during {method}");
            };
            let Message::Text(text) = message else {
                continue;
            };
            let answer: Value = serde_json::from_str(&text).unwrap();
            if answer["id"] == id {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].clone();
            }
            self.note(&answer);
        }
    }

    fn note(&mut self, event: &Value) {
        let params = &event["params"];
        match event["method"].as_str() {
            Some("Runtime.exceptionThrown") => {
                self.complaints.push(params["exceptionDetails"].to_string());
            }
            Some("Log.entryAdded") if params["entry"]["level"] == "error" => {
                self.complaints.push(format!(
                    "{} {}",
                    params["entry"]["text"].as_str().unwrap_or_default(),
                    params["entry"]["url"].as_str().unwrap_or_default()
                ));
            }
            Some("Network.requestWillBeSent") => {
                let url = params["request"]["url"].as_str().unwrap_or_default();
                if !["http://127.0.0.1:", "about:", "data:"]
                    .iter()
                    .any(|own| url.starts_with(own))
                {
                    self.complaints
                        .push(format!("a request to the outside: {url}"));
                }
            }
            _ => {}
        }
    }

    /// Takes on the size and the colours of a screen.
    pub(crate) async fn fit(&mut self, screen: Screen) {
        self.fit_with(screen, &[]).await;
    }

    /// The same with more that a person may have set, such as `forced-colors`, `active`.
    pub(crate) async fn fit_with(&mut self, screen: Screen, wishes: &[(&str, &str)]) {
        self.call(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": screen.width, "height": screen.height,
                   "deviceScaleFactor": screen.scale, "mobile": false}),
        )
        .await;
        let scheme = if screen.dark { "dark" } else { "light" };
        let features: Vec<Value> = [("prefers-color-scheme", scheme)]
            .iter()
            .chain(wishes)
            .map(|(name, value)| json!({"name": name, "value": value}))
            .collect();
        self.call("Emulation.setEmulatedMedia", json!({"features": features}))
            .await;
    }

    /// Loads an address and waits until it is there.
    pub(crate) async fn go(&mut self, url: &str) {
        self.call("Page.navigate", json!({"url": url})).await;
        self.until("document.readyState === 'complete'").await;
    }

    /// The value of an expression.
    pub(crate) async fn eval(&mut self, expression: &str) -> Value {
        let answer = self
            .call(
                "Runtime.evaluate",
                json!({"expression": expression, "returnByValue": true, "awaitPromise": true}),
            )
            .await;
        assert!(
            answer["exceptionDetails"].is_null(),
            "{expression}: {}",
            answer["exceptionDetails"]
        );
        answer["result"]["value"].clone()
    }

    /// The text of the first element that matches, white space made single; empty where none does.
    pub(crate) async fn text(&mut self, selector: &str) -> String {
        let text = self
            .eval(&format!(
                "(document.querySelector({}) || {{}}).innerText || ''",
                json!(selector)
            ))
            .await;
        text.as_str()
            .unwrap_or_default()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Waits until an expression is true; says the page's words where it never is.
    pub(crate) async fn until(&mut self, expression: &str) {
        let start = Instant::now();
        while self.eval(&format!("Boolean({expression})")).await != json!(true) {
            if start.elapsed() > PATIENCE {
                let words = self.text("body").await;
                panic!(
                    "never came true: {expression}\nthe page says: {words}\n{:?}",
                    self.complaints
                );
            }
            tokio::time::sleep(Duration::from_millis(25)).await;
        }
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

async fn patiently<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let start = Instant::now();
    loop {
        if let Some(found) = look() {
            return found;
        }
        assert!(start.elapsed() < PATIENCE, "{what} never came");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}
