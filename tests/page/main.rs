//! The bench page in a real browser: how it looks in every state, and the daemon behind it.

mod chromium;
mod looks;
mod scenes;
