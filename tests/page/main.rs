//! The bench page in a real browser: how it looks in every state, and the daemon behind it.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod bench;
mod chromium;
mod daemon;
mod hands;
mod looks;
mod ring;
mod scenes;
