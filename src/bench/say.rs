//! Events and numbers as lines of the feed, errors as sentences.

use crate::feed::{Line, News};
use crate::job::{Body, Derived, Event};

/// A gauge that came or went, as news of the moment: it is true even where it can't be stored.
pub(super) fn link_news(event: &Event) -> Option<Line> {
    let (gauge, port, why) = match &event.body {
        Body::GaugeOpened { gauge, port, .. } => (gauge, port, None),
        Body::GaugeLost { gauge, port, why } => (gauge, port, Some(why.clone())),
        _ => return None,
    };
    let (gauge, port) = (gauge.clone(), port.clone());
    Some(
        News::Gauge {
            gauge,
            port,
            connected: why.is_none(),
            why,
        }
        .into(),
    )
}

/// Derived objects as lines of the feed.
pub(super) fn lines(derived: &[Derived]) -> Vec<Line> {
    let line = |object: &Derived| match serde_json::to_string(object) {
        Ok(json) => Some(Line::derived(object.seq, &json)),
        Err(error) => {
            tracing::error!("numbers can't be written as JSON: {error}");
            None
        }
    };
    derived.iter().filter_map(line).collect()
}

/// An error and its causes as one sentence.
pub(super) fn with_causes(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        text.push_str(": ");
        text.push_str(&error.to_string());
        cause = error.source();
    }
    text
}
