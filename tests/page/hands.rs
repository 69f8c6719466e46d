//! What a person does at a page.

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

    /// Types as a keyboard does, into whatever has the focus; `\n` is Enter, `\t` Tab, `↓` the key.
    pub(crate) async fn keys(&mut self, text: &str) {
        for letter in text.chars() {
            let letter = letter.to_string();
            let (key, typed, code) = match letter.as_str() {
                "\n" => ("Enter", "\r", 13),
                "\t" => ("Tab", "", 9),
                "↓" => ("ArrowDown", "", 40),
                letter => (letter, letter, 0),
            };
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
}
