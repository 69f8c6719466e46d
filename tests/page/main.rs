//! The pages in a real browser: how they look in every state, and the daemon behind them.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod bench;
mod chromium;
mod daemon;
mod eye;
mod german;
mod hands;
mod housing;
mod looks;
mod ring;
mod said;
mod scene;
mod scenes;
mod senses;
mod shelf;
mod shown;
#[path = "../memory/support.rs"]
mod support;
mod suspect;
mod watch;
mod whole_job;
