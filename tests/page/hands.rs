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
        let place = self.press(selector).await;
        self.release(place).await;
    }

    /// The finger goes down in the middle of an element; gives where.
    pub(crate) async fn press(&mut self, selector: &str) -> [f64; 2] {
        self.until(&format!("document.querySelector({})", json!(selector)))
            .await;
        let place = self
            .eval(&format!(
                "(() => {{ const e = document.querySelector({}); e.scrollIntoView({{block: 'center'}}); \
                 const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; }})()",
                json!(selector)
            ))
            .await;
        let place = serde_json::from_value(place).unwrap();
        self.mouse("mousePressed", place).await;
        place
    }

    /// The finger goes up again.
    pub(crate) async fn release(&mut self, place: [f64; 2]) {
        self.mouse("mouseReleased", place).await;
    }

    async fn mouse(&mut self, kind: &str, [x, y]: [f64; 2]) {
        self.call(
            "Input.dispatchMouseEvent",
            json!({"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1}),
        )
        .await;
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
