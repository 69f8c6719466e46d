//! What a person's eye sees of a page, and finds wrong with it.

use std::path::Path;
use std::sync::LazyLock;

use base64::Engine as _;
use serde_json::json;

use crate::chromium::Page;

/// The text of axe-core, which `tests/all` installs; none, with a word about it, where it isn't and the
/// run does not insist.
fn axe() -> Option<&'static str> {
    static AXE: LazyLock<Option<String>> = LazyLock::new(|| {
        let file = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("target/axe/node_modules/axe-core/axe.min.js");
        let text = std::fs::read_to_string(file).ok();
        if text.is_none() {
            let how = "npm install --prefix target/axe axe-core";
            assert!(
                std::env::var_os("BOREWRIGHT_REQUIRE_ALL").is_none(),
                "axe-core not found: {how}"
            );
            eprintln!("skipped: the check by axe-core ({how})");
        }
        text
    });
    AXE.as_deref()
}

impl Page {
    /// What is cut off, lies over something else, is too small to touch, or can't be read against
    /// its ground, as sentences; empty on a good page.
    pub(crate) async fn faults(&mut self) -> Vec<String> {
        let faults = self.eval(include_str!("faults.js")).await;
        serde_json::from_value(faults).unwrap()
    }

    /// What axe-core finds against WCAG 2.2 A and AA and its own good practice, as sentences; empty
    /// on a good page, and where axe-core isn't installed.
    pub(crate) async fn barriers(&mut self) -> Vec<String> {
        let Some(axe) = axe() else {
            return Vec::new();
        };
        if self.eval("typeof axe").await == "undefined" {
            self.eval(&format!("{axe}; true")).await;
        }
        let found = self
            .eval(
                "axe.run(document, {resultTypes: ['violations'], runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', \
                 'wcag21aa', 'wcag22aa', 'best-practice']}).then(r => r.violations.flatMap(v => \
                 v.nodes.map(n => v.id + ': ' + n.html.slice(0, 120) + ' ' + n.failureSummary)))",
            )
            .await;
        serde_json::from_value(found).unwrap()
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
