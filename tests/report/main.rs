//! The customer's report: its numbers are the record's, it says no more than the record carries,
//! it needs nothing from elsewhere, and it survives what people write.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

mod browser;
#[allow(dead_code, reason = "the bench page asks more of it")]
#[path = "../page/chromium.rs"]
mod chromium;
mod gauges;
#[allow(dead_code, reason = "the bench page asks more of it")]
#[path = "../page/hands.rs"]
mod hands;
mod html;
mod numbers;
#[cfg(feature = "pdf")]
mod pdf;
mod poppler;
mod served;
mod support;
