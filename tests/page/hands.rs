//! What a person does at a page, and what a person's eye finds wrong with it.

use std::path::Path;

use base64::Engine as _;
use serde_json::json;

use crate::chromium::Page;

impl Page {
    /// Waits until the element's text contains `words`.
    pub(crate) async fn reads(&mut self, selector: &str, words: &str) {
        self.until(&format!(
            "((document.querySelector({}) || {{}}).innerText || '').replace(/\\s+/g, ' ').includes({})",
            json!(selector),
            json!(words)
        ))
        .await;
    }

    /// A touch in the middle of an element, as a finger would: whatever lies on top gets it.
    pub(crate) async fn touch(&mut self, selector: &str) {
        self.until(&format!("document.querySelector({})", json!(selector)))
            .await;
        let place = self
            .eval(&format!(
                "(() => {{ const e = document.querySelector({}); e.scrollIntoView({{block: 'center'}}); \
                 const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; }})()",
                json!(selector)
            ))
            .await;
        for kind in ["mousePressed", "mouseReleased"] {
            self.call(
                "Input.dispatchMouseEvent",
                json!({"type": kind, "x": place[0], "y": place[1], "button": "left", "clickCount": 1}),
            )
            .await;
        }
    }

    /// Types as a keyboard does, into whatever has the focus; `\n` is Enter.
    pub(crate) async fn keys(&mut self, text: &str) {
        for letter in text.chars() {
            let (key, typed) = if letter == '\n' {
                ("Enter".to_owned(), "\r".to_owned())
            } else {
                (letter.to_string(), letter.to_string())
            };
            let code = if letter == '\n' { 13 } else { 0 };
            self.call(
                "Input.dispatchKeyEvent",
                json!({"type": "keyDown", "key": key, "text": typed, "windowsVirtualKeyCode": code}),
            )
            .await;
            self.call(
                "Input.dispatchKeyEvent",
                json!({"type": "keyUp", "key": key, "windowsVirtualKeyCode": code}),
            )
            .await;
        }
    }

    /// What is cut off, lies over something else, is too small to touch, or can't be read against
    /// its ground, as sentences; empty on a good page.
    pub(crate) async fn faults(&mut self) -> Vec<String> {
        let faults = self.eval(include_str!("faults.js")).await;
        serde_json::from_value(faults).unwrap()
    }

    /// A picture of what the screen shows.
    pub(crate) async fn picture(&mut self, file: &Path) {
        let shot = self
            .call("Page.captureScreenshot", json!({"format": "png"}))
            .await;
        let bytes = base64::engine::general_purpose::STANDARD
            .decode(shot["data"].as_str().unwrap())
            .unwrap();
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(file, bytes).unwrap();
    }
}
